"""The curve: probability along one factor, with its band, the attempts on rails, and the mark in hand."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPolygonF
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.marks import LANE_WORDS, lanes_in_use
from stirfall.desktop.odds.outlines import hatch_lines
from stirfall.desktop.odds.phrases import PERCENT
from stirfall.desktop.odds.picture_plot import HANDLE_PX, MARK_PX, PicturePlot, hatch_spacing, path_item, set_path
from stirfall.desktop.odds.rails import Rails
from stirfall.desktop.odds.state import CurvePicture, Floats
from stirfall.desktop.odds.time_axis import axis_title, from_axis, to_axis
from stirfall.desktop.theme import Theme
from stirfall.reporting.shares import percent

_SHARES = (0, 20, 40, 60, 80, 100)
_Y_TITLES = ("probability of clean separation", "clean separation")
_X_PAD = 0.025
_CHOICE_PAD = 0.6
_GATE_STYLES = (Qt.PenStyle.DashDotLine, Qt.PenStyle.DotLine)
_LATE_OPACITY = 0.4


class CurvePlot(PicturePlot):
    """The probability of clean separation along one factor; ``moved`` carries an axis position."""

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.setObjectName("odds_curve")
        self.picture: CurvePicture | None = None
        self.show_gates = False
        self.at: float | None = None
        self.estimate: Estimate | None = None
        self._drawn: tuple[object, ...] = ()
        self._band_label: pg.TextItem | None = None
        self._rails = Rails((), (), 1.0, 1.0)
        self._labels: list[pg.TextItem] = []
        self._gate_lines: list[pg.PlotCurveItem] = []
        self._grid = path_item(self, -10)
        self._band = path_item(self, 0)
        self._band_outside = path_item(self, 0)
        self._hatch = path_item(self, 1)
        self._bars = path_item(self, 4)
        self._line = self._add(pg.PlotCurveItem(antialias=True), 5)
        self._dashes = self._add(pg.PlotCurveItem(antialias=True), 5)
        self._points = self._add(pg.ScatterPlotItem(pxMode=True), 6)
        self._stem = self._add(pg.PlotCurveItem(), 25)
        self._whisker = self._add(pg.PlotCurveItem(), 26)
        self._handle = self._add(pg.ScatterPlotItem(pxMode=True), 27)
        self._tag = self.label_item("", theme.text, (0.0, 0.5), halo=True)
        self._tag.setZValue(28)
        self.view_box.addItem(self._tag, ignoreBounds=True)
        self.apply_theme(theme)

    def _add(self, item: pg.GraphicsObject, z: float) -> pg.GraphicsObject:
        item.setZValue(z)
        self.view_box.addItem(item, ignoreBounds=True)
        return item

    # -- what is shown ---------------------------------------------------------------------------------

    def show_picture(
        self, picture: CurvePicture | None, *, show_gates: bool, late: bool, decimal: str = "."
    ) -> None:
        """Show a curve; what is drawn already is left alone. ``late`` greys it."""
        wanted = (picture, show_gates, decimal)
        if any(new is not old for new, old in zip(wanted, self._drawn or (0, 0, 0), strict=True)):
            self._drawn = wanted
            self.picture, self.show_gates, self.decimal = picture, show_gates, decimal
            self._redraw()
        opacity = _LATE_OPACITY if late else 1.0
        for item in (self._band, self._band_outside, self._line, self._dashes, self._points, self._bars):
            item.setOpacity(opacity)
        for item in (*self._gate_lines, *self._labels):
            item.setOpacity(opacity)

    def place(self, at: float | None) -> None:
        """Say where the mark in hand will stand, so that labels keep away from it."""
        self.at = at

    def show_mark(self, at: float | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at an axis position with its estimate, or hide it."""
        self.at, self.estimate = at, estimate
        visible = at is not None and self.picture is not None
        for item in (self._stem, self._whisker, self._handle, self._tag):
            item.setVisible(visible)
            item.setOpacity(_LATE_OPACITY if late else 1.0)
        if visible and at is not None:
            self._free_band_label(at)
            self._draw_mark(at, estimate)

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        super().apply_theme(theme)
        self._redraw()
        self.show_mark(self.at, self.estimate)

    def relayout(self) -> None:
        """Fit lanes, ticks, hatching and labels to the present size."""
        if getattr(self, "_tag", None) is not None:
            self._redraw()
            self.show_mark(self.at, self.estimate)

    def position_of(self, x: float, y: float) -> float:
        """Return the axis position of a click; the height of the click does not matter."""
        del y
        return x

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        for item in (*self._labels, *self._gate_lines):
            self.view_box.removeItem(item)
        self._labels, self._gate_lines, self._band_label = [], [], None
        self._fit_y()
        self._draw_grid()
        if self.picture is None:
            self._clear()
            return
        self._fit_x(self.picture)
        self._place_spots(self.picture)
        if self.picture.factor.is_choice:
            self._draw_levels(self.picture)
        else:
            self._draw_line(self.picture)
            self._draw_untried(self.picture)
        if self.show_gates and self.picture.gates:
            self._draw_gates(self.picture)

    def _clear(self) -> None:
        for item in (self._line, self._dashes, self._points):
            item.setData([], [])
        for path in (self._band, self._band_outside, self._hatch, self._bars):
            set_path(path, QPainterPath())
        self.show_spots((), np.empty((0, 2)))
        self.plot_item.getAxis("bottom").setTicks([[]])
        self.set_axis_title("bottom", "")

    def _lane_px(self) -> float:
        roomy = max(self.metrics().height() + 4, MARK_PX * 2.2)
        return roomy if self.view_box.height() > 240 else max(self.metrics().height() - 1, MARK_PX * 1.3)

    def _fit_y(self) -> None:
        height = max(self.view_box.height(), 1.0)
        above, below = lanes_in_use(self.picture.spots if self.picture else ())
        self._rails = Rails(above, below, height, self._lane_px())
        self._per_px = per_px = self._rails.per_px
        self.view_box.setYRange(*self._rails.span, padding=0)
        dense = 20 / per_px >= self.metrics().height() * 1.1
        shares = [(share, f"{share}{PERCENT}") for share in (_SHARES if dense else (0, 50, 100))]
        marks = [
            (self._rails.centre(outcome), f"{self.theme.mark(outcome).glyph} {LANE_WORDS[outcome]}")
            for outcome in (*above, *below)
        ]
        axis = self.plot_item.getAxis("left")
        axis.setTicks([shares, []])
        axis.setTicks([shares + marks])
        words = [text for _, text in shares + marks]
        axis.setWidth(max(self.metrics().horizontalAdvance(word) for word in words) + self.metrics().height() + 18)
        fitting = [title for title in _Y_TITLES if self.metrics().horizontalAdvance(title) < 0.85 * height]
        self.set_axis_title("left", fitting[0] if fitting else "")

    def _fit_x(self, picture: CurvePicture) -> None:
        factor = picture.factor
        if factor.is_choice:
            self.view_box.setXRange(-_CHOICE_PAD, len(factor.levels) - 1 + _CHOICE_PAD, padding=0)
            self.plot_item.getAxis("bottom").setTicks([list(enumerate(factor.levels))])
            self.set_axis_title("bottom", "" if self.is_compact else axis_title(factor))
            return
        places = [to_axis(factor, float(value)) for value in (picture.x[0], picture.x[-1])]
        places += [spot.x for spot in picture.spots]
        if self.at is not None:
            places.append(self.at)
        low, high = min(places), max(places)
        pad = (high - low) * _X_PAD
        self.view_box.setXRange(low - pad, high + pad, padding=0)
        self.set_number_axis(
            "bottom",
            factor,
            from_axis(factor, low - pad / 2),
            from_axis(factor, high + pad / 2),
            self.view_box.width(),
        )

    def _draw_grid(self) -> None:
        path = QPainterPath()
        (low, high), _ = self.view_box.viewRange()
        for share in _SHARES:
            path.moveTo(low, share)
            path.lineTo(high, share)
        set_path(self._grid, path)
        self._grid.setPen(self.pen(self.theme.grid, width=1))

    def _tried_axis(self, picture: CurvePicture) -> tuple[float, float] | None:
        if picture.tried is None:
            return None
        low, high = (to_axis(picture.factor, value) for value in picture.tried)
        return low, high

    def _draw_line(self, picture: CurvePicture) -> None:
        self._points.setData([], [])
        set_path(self._bars, QPainterPath())
        x = np.array([to_axis(picture.factor, float(value)) for value in picture.x])
        tried = self._tried_axis(picture)
        inside, outside = _split(x, tried)
        pen = self.pen(self.theme.accent, width=2.5)
        dashed = self.pen(self.theme.accent, width=2, style=Qt.PenStyle.DashLine)
        mean = 100 * picture.mean
        _set_pieces(self._line, x, mean, inside, pen)
        _set_pieces(self._dashes, x, mean, outside, dashed)
        band, faint = QColor(self.theme.band), QColor(self.theme.band)
        band.setAlphaF(0.75)
        faint.setAlphaF(0.35)
        for item, pieces, colour in ((self._band, inside, band), (self._band_outside, outside, faint)):
            set_path(item, _band_path(x, 100 * picture.lower, 100 * picture.upper, pieces))
            item.setBrush(QBrush(colour))
        self._label_band(picture, x)

    def _label_band(self, picture: CurvePicture, x: Floats) -> None:
        """Name the band where the words fit best inside it, away from the mark in hand."""
        text = f"{round(100 * picture.level)}{PERCENT} interval"
        half = 0.5 * self.metrics().horizontalAdvance(text) * self.pixel_size()[0]
        needed = self.metrics().height() * 1.05 * self._per_px
        best: tuple[float, float | None, float] = (needed, None, 0.0)
        first, last = self._tried_axis(picture) or (x[0], x[-1])
        if last - first < 4 * half:
            first, last = x[0], x[-1]
        for index in range(0, len(x), 3):
            place = x[index]
            near_mark = self.at is not None and abs(place - self.at) < 2 * half
            if place - half < first or place + half > last or near_mark:
                continue
            here = np.abs(x - place) <= half
            gates = [100 * line[here] for _, line in picture.gates] if self.show_gates else []
            for low, high in ((picture.lower, picture.mean), (picture.mean, picture.upper)):
                floor, ceiling = 100 * low[here].max(), 100 * high[here].min()
                middle = 0.5 * (floor + ceiling)
                crossed = any(np.abs(line - middle).min() < 0.75 * needed for line in gates)
                if ceiling - floor > best[0] and not crossed:
                    best = (ceiling - floor, place, middle)
        if best[1] is not None:
            self._band_label = self._add_label(text, best[1], best[2], (0.5, 0.5))

    def _add_label(
        self, text: str, x: float, y: float, anchor: tuple[float, float], *, halo: bool = False
    ) -> pg.TextItem:
        item = self.label_item(text, self.theme.text, anchor, halo=halo)
        self.view_box.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._labels.append(item)
        return item

    def _free_band_label(self, at: float) -> None:
        """Give the name of the band another place when the mark in hand comes near it."""
        label, picture = self._band_label, self.picture
        if label is None or picture is None:
            return
        near = 0.75 * self.metrics().horizontalAdvance(label.toPlainText()) * self.pixel_size()[0]
        if abs(label.pos().x() - at) < near:
            self._band_label = None
            self._labels.remove(label)
            self.view_box.removeItem(label)
            self._label_band(picture, np.array([to_axis(picture.factor, float(value)) for value in picture.x]))

    def _draw_untried(self, picture: CurvePicture) -> None:
        """Hatch what no graded attempt brackets, and say so where there is room."""
        (low, high), _ = self.view_box.viewRange()
        tried = self._tried_axis(picture)
        gaps = [(low, high)] if tried is None else [(low, tried[0]), (tried[1], high)]
        per_x, per_y = self.pixel_size()
        path = QPainterPath()
        for start, end in gaps:
            width, height = (end - start) / per_x, 100.0 / per_y
            if width < 2:
                continue
            for (x1, y1), (x2, y2) in hatch_lines(width, height, hatch_spacing()):
                path.moveTo(start + x1 * per_x, y1 * per_y)
                path.lineTo(start + x2 * per_x, y2 * per_y)
            if width > self.metrics().horizontalAdvance("not tried") + 12:
                middle = (start + end) / 2
                self._add_label("not tried", middle, self._emptiest(picture, middle), (0.5, 0.5), halo=True)
        set_path(self._hatch, path)
        colour = QColor(self.theme.line)
        colour.setAlphaF(0.35)
        self._hatch.setPen(self.pen(colour, width=1))

    def _emptiest(self, picture: CurvePicture, place: float) -> float:
        """Return the height, low, middle or high, that is farthest from every line at a place."""
        x = np.array([to_axis(picture.factor, float(value)) for value in picture.x])
        lines = [picture.mean, *((shares for _, shares in picture.gates) if self.show_gates else ())]
        here = [100 * float(np.interp(place, x, line)) for line in lines]
        edge = self.metrics().height() * self._per_px
        return max((100 - edge, edge, 50.0), key=lambda height: min(abs(height - y) for y in here))

    def _draw_levels(self, picture: CurvePicture) -> None:
        """Draw one point with its interval for each level of a choice."""
        for item in (self._line, self._dashes):
            item.setData([], [])
        for path_of in (self._band, self._band_outside, self._hatch):
            set_path(path_of, QPainterPath())
        path, cap = QPainterPath(), 7 * self.pixel_size()[0]
        for x, low, high in zip(picture.x, 100 * picture.lower, 100 * picture.upper, strict=True):
            path.moveTo(x, low)
            path.lineTo(x, high)
            for end in (low, high):
                path.moveTo(x - cap, end)
                path.lineTo(x + cap, end)
        set_path(self._bars, path)
        self._bars.setPen(self.pen(self.theme.accent, width=2))
        tried = [level in picture.tried_levels for level in picture.factor.levels]
        self._points.setData(
            x=picture.x,
            y=100 * picture.mean,
            size=11 * self.ink,
            symbol="o",
            pen=self.pen(self.theme.accent, width=2),
            brush=[QBrush(QColor(self.theme.accent if known else self.theme.raised)) for known in tried],
        )
        for x, known in zip(picture.x, tried, strict=True):
            if not known:
                self._add_label("not tried", x, 100.0, (0.5, 0.0), halo=True)

    def _draw_gates(self, picture: CurvePicture) -> None:
        x = np.array(
            [float(v) if picture.factor.is_choice else to_axis(picture.factor, float(v)) for v in picture.x]
        )
        last = picture.gates[0][1], picture.gates[-1][1]
        at_right = abs(last[0][-1] - last[1][-1]) >= abs(last[0][0] - last[1][0])
        end, anchor = (-1, (1.0, 0.5)) if at_right else (0, (0.0, 0.5))
        ends: list[tuple[float, str]] = []
        for (word, shares), style in zip(picture.gates, _GATE_STYLES, strict=False):
            pen = self.pen(self.theme.text, width=1.3, style=style)
            line = self._add(pg.PlotCurveItem(x, 100 * shares, pen=pen, antialias=True), 4)
            self._gate_lines.append(line)
            ends.append((float(100 * shares[end]), word))
        apart = self.metrics().height() * 1.15 * self._per_px
        previous = -np.inf
        for y, word in sorted(ends):
            previous = min(max(y, previous + apart, apart / 2), 100 - apart / 2)
            self._add_label(word, x[end], previous, anchor, halo=True)

    def _place_spots(self, picture: CurvePicture) -> None:
        (low, high), _ = self.view_box.viewRange()
        width = self.view_box.width()
        points = self._rails.places(
            picture.spots, (low, high), width_px=width, mark_px=MARK_PX, fan_out=picture.factor.is_choice
        )
        self.show_spots(picture.spots, points)

    def _draw_mark(self, at: float, estimate: Estimate | None) -> None:
        (low, high), (bottom, top) = self.view_box.viewRange()
        ink = self.pen(self.theme.text, width=1.5)
        self._stem.setData([at, at], [bottom, top], pen=ink)
        if estimate is None:
            self._whisker.setData([], [])
            self._handle.setData([], [])
            self._tag.setText("")
            return
        y = 100 * estimate.mean
        self._whisker.setData(
            [at, at], [100 * estimate.lower, 100 * estimate.upper], pen=self.pen(self.theme.text, width=4)
        )
        self._handle.setData(
            [at],
            [y],
            symbol="o",
            size=HANDLE_PX * self.ink,
            pen=self.pen(self.theme.text, width=3),
            brush=QBrush(QColor(self.theme.raised)),
        )
        at_right = at > low + 0.86 * (high - low)
        offset = (HANDLE_PX * 0.5 + 6) * self.pixel_size()[0]
        self._tag.setAnchor((1.0, 0.5) if at_right else (0.0, 0.5))
        self._tag.setText(percent(estimate.mean), color=QColor(self.theme.text))
        font = self.text_font()
        font.setBold(True)
        self._tag.setFont(font)
        self._tag.fill = QBrush(QColor(self.theme.raised))
        self._tag.setPos(at - offset if at_right else at + offset, y)


def _split(x: Floats, tried: tuple[float, float] | None) -> tuple[list[slice], list[slice]]:
    """Return the pieces of the curve inside and outside the tried range; neighbours share a point."""
    if tried is None:
        return [], [slice(0, len(x))]
    inside = np.flatnonzero((x >= tried[0] - 1e-9) & (x <= tried[1] + 1e-9))
    if not inside.size:
        return [], [slice(0, len(x))]
    first, last = int(inside[0]), int(inside[-1])
    outside = [slice(0, first + 1)] if first else []
    if last < len(x) - 1:
        outside.append(slice(last, len(x)))
    return [slice(first, last + 1)], outside


def _set_pieces(item: pg.PlotCurveItem, x: Floats, y: Floats, pieces: list[slice], pen: object) -> None:
    gap = np.array([np.nan])
    xs = [part for piece in pieces for part in (x[piece], gap)]
    ys = [part for piece in pieces for part in (y[piece], gap)]
    if not xs:
        item.setData([], [])
        return
    item.setData(np.concatenate(xs), np.concatenate(ys), pen=pen, connect="finite")


def _band_path(x: Floats, lower: Floats, upper: Floats, pieces: list[slice]) -> QPainterPath:
    path = QPainterPath()
    for piece in pieces:
        along, low, high = x[piece], lower[piece], upper[piece]
        corners = [QPointF(a, b) for a, b in zip(along, high, strict=True)]
        corners += [QPointF(a, b) for a, b in zip(along[::-1], low[::-1], strict=True)]
        path.addPolygon(QPolygonF(corners))
        path.closeSubpath()
    return path
