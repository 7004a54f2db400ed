"""The curve: probability along one factor, with its band, the attempts on rails, and the mark in hand."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPolygonF
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.along_plot import LATE_OPACITY, AlongPlot
from stirfall.desktop.odds.phrases import PERCENT
from stirfall.desktop.odds.picture_plot import HANDLE_PX, path_item, set_path
from stirfall.desktop.odds.state import CurvePicture, Floats
from stirfall.desktop.theme import Theme
from stirfall.reporting.axis_ticks import to_axis
from stirfall.reporting.shares import percent

_GATE_STYLES = (Qt.PenStyle.DashDotLine, Qt.PenStyle.DotLine)


class CurvePlot(AlongPlot):
    """The probability of clean separation along one factor; ``moved`` carries an axis position."""

    y_titles = ("probability of clean separation", "clean separation")
    picture: CurvePicture | None

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.setObjectName("odds_curve")
        self.show_gates = False
        self._band_label: pg.TextItem | None = None
        self._gate_lines: list[pg.PlotCurveItem] = []
        self._band = path_item(self, 0)
        self._band_outside = path_item(self, 0)
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
        self._is_built = True
        self.apply_theme(theme)

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
        opacity = LATE_OPACITY if late else 1.0
        for item in (self._band, self._band_outside, self._line, self._dashes, self._points, self._bars):
            item.setOpacity(opacity)
        for item in (*self._gate_lines, *self._labels):
            item.setOpacity(opacity)

    def show_mark(self, at: float | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at an axis position with its estimate, or hide it."""
        self.at, self.estimate = at, estimate
        visible = at is not None and self.picture is not None
        for item in (self._stem, self._whisker, self._handle, self._tag):
            item.setVisible(visible)
            item.setOpacity(LATE_OPACITY if late else 1.0)
        if visible and at is not None:
            self._free_band_label(at)
            self._draw_mark(at, estimate)

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        self._clear_labels()
        for item in self._gate_lines:
            self.view_box.removeItem(item)
        self._gate_lines, self._band_label = [], None
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
        self._clear_axis()

    def _draw_line(self, picture: CurvePicture) -> None:
        self._points.setData([], [])
        set_path(self._bars, QPainterPath())
        x = np.array([to_axis(picture.factor, float(value)) for value in picture.x])
        tried = self._tried_axis(picture)
        inside, outside = split_tried(x, tried)
        pen = self.pen(self.theme.accent, width=2.5)
        dashed = self.pen(self.theme.accent, width=2, style=Qt.PenStyle.DashLine)
        mean = 100 * picture.mean
        set_pieces(self._line, x, mean, inside, pen)
        set_pieces(self._dashes, x, mean, outside, dashed)
        band, faint = QColor(self.theme.band), QColor(self.theme.band)
        band.setAlphaF(0.75)
        faint.setAlphaF(0.35)
        for item, pieces, colour in ((self._band, inside, band), (self._band_outside, outside, faint)):
            set_path(item, band_path(x, 100 * picture.lower, 100 * picture.upper, pieces))
            item.setBrush(QBrush(colour))
        self._label_band(picture, x)

    def _label_band(self, picture: CurvePicture, x: Floats) -> None:
        """Name the band where the words fit best inside it, away from the mark in hand."""
        text = f"{round(100 * picture.level)}{PERCENT} interval"
        half = 0.5 * self.metrics().horizontalAdvance(text) * self.pixel_size()[0]
        beside_mark = self._beside_mark()
        needed = self.metrics().height() * 1.05 * self._per_px
        best: tuple[float, float | None, float] = (needed, None, 0.0)
        first, last = self._tried_axis(picture) or (x[0], x[-1])
        if last - first < 4 * half:
            first, last = x[0], x[-1]
        for index in range(0, len(x), 3):
            place = x[index]
            near_mark = self.at is not None and abs(place - self.at) < half + beside_mark
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

    def _beside_mark(self) -> float:
        """Return the room that the mark in hand and the number beside it take, along the axis."""
        return (
            self.metrics().horizontalAdvance(f"100{PERCENT}") + 2 * self.metrics().height()
        ) * self.pixel_size()[0]

    def _free_band_label(self, at: float) -> None:
        """Give the name of the band another place when the mark in hand comes near it."""
        label, picture = self._band_label, self.picture
        if label is None or picture is None:
            return
        near = (
            0.5 * self.metrics().horizontalAdvance(label.toPlainText()) * self.pixel_size()[0] + self._beside_mark()
        )
        if abs(label.pos().x() - at) < near:
            self._band_label = None
            self._labels.remove(label)
            self.view_box.removeItem(label)
            self._label_band(picture, np.array([to_axis(picture.factor, float(value)) for value in picture.x]))

    def _emptiest(self, place: float) -> float:
        """Return the height, low, middle or high, that is farthest from every line at a place."""
        picture = self.picture
        if picture is None:
            return 50.0
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


def split_tried(x: Floats, tried: tuple[float, float] | None) -> tuple[list[slice], list[slice]]:
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


def set_pieces(item: pg.PlotCurveItem, x: Floats, y: Floats, pieces: list[slice], pen: object) -> None:
    """Show the pieces of a line, apart from each other."""
    gap = np.array([np.nan])
    xs = [part for piece in pieces for part in (x[piece], gap)]
    ys = [part for piece in pieces for part in (y[piece], gap)]
    if not xs:
        item.setData([], [])
        return
    item.setData(np.concatenate(xs), np.concatenate(ys), pen=pen, connect="finite")


def band_path(x: Floats, lower: Floats, upper: Floats, pieces: list[slice]) -> QPainterPath:
    """Return the outline of a band over the pieces of its axis."""
    path = QPainterPath()
    for piece in pieces:
        along, low, high = x[piece], lower[piece], upper[piece]
        corners = [QPointF(a, b) for a, b in zip(along, high, strict=True)]
        corners += [QPointF(a, b) for a, b in zip(along[::-1], low[::-1], strict=True)]
        path.addPolygon(QPolygonF(corners))
        path.closeSubpath()
    return path
