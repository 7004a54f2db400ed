"""The map: probability over two factors as a landscape of ten steps with labelled contour lines."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.marks import spread
from stirfall.desktop.odds.outlines import contour_segments, hatch_lines
from stirfall.desktop.odds.phrases import PERCENT
from stirfall.desktop.odds.picture_plot import HANDLE_PX, MARK_PX, PicturePlot, hatch_spacing, path_item, set_path
from stirfall.desktop.odds.ramp import landscape
from stirfall.desktop.odds.state import Floats, MapPicture, drawn_text
from stirfall.desktop.theme import Theme
from stirfall.reporting.axis_ticks import from_axis
from stirfall.reporting.shares import percent

CONTOURS = tuple(share / 100 for share in range(10, 100, 10))
_IMAGE_SIZE = 360
_LATE_OPACITY = 0.4


class MapPlot(PicturePlot):
    """The probability over two number factors; ``moved`` carries a pair of axis positions."""

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.setObjectName("odds_map")
        self.picture: MapPicture | None = None
        self.at: tuple[float, float] | None = None
        self.estimate: Estimate | None = None
        self._drawn: tuple[object, ...] = ()
        self._labels: list[pg.TextItem] = []
        self._image = pg.ImageItem(axisOrder="row-major")
        self._image.setZValue(-5)
        self.view_box.addItem(self._image, ignoreBounds=True)
        self._contours = path_item(self, 1)
        self._hatch = path_item(self, 2)
        self._outline = path_item(self, 3)
        self._cross = path_item(self, 10)
        self._handle = pg.ScatterPlotItem(pxMode=True)
        self._handle.setZValue(27)
        self.view_box.addItem(self._handle, ignoreBounds=True)
        self._tag = self.label_item("", theme.text, (0.0, 1.0), halo=True)
        self._tag.setZValue(28)
        self.view_box.addItem(self._tag, ignoreBounds=True)
        self.apply_theme(theme)

    # -- what is shown ---------------------------------------------------------------------------------

    def show_picture(self, picture: MapPicture | None, *, late: bool, decimal: str = ".") -> None:
        """Show a map; what is drawn already is left alone. ``late`` greys it."""
        wanted = (picture, decimal)
        if any(new is not old for new, old in zip(wanted, self._drawn or (0, 0), strict=True)):
            self._drawn = wanted
            self.picture, self.decimal = picture, decimal
            self._redraw()
        for item in (self._image, self._contours, *self._labels):
            item.setOpacity(_LATE_OPACITY if late else 1.0)

    def show_mark(self, at: tuple[float, float] | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at a pair of axis positions with its estimate, or hide it."""
        self.at, self.estimate = at, estimate
        visible = at is not None and self.picture is not None
        for item in (self._cross, self._handle, self._tag):
            item.setVisible(visible)
            item.setOpacity(_LATE_OPACITY if late else 1.0)
        if visible and at is not None:
            self._draw_mark(at, estimate)

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        super().apply_theme(theme)
        self._redraw()
        self.show_mark(self.at, self.estimate)

    def relayout(self) -> None:
        """Fit ticks, hatching and labels to the present size."""
        if getattr(self, "_tag", None) is not None:
            self._redraw()
            self.show_mark(self.at, self.estimate)

    def position_of(self, x: float, y: float) -> tuple[float, float]:
        """Return the axis positions of a click."""
        return x, y

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        for item in self._labels:
            self.view_box.removeItem(item)
        self._labels = []
        if self.picture is None:
            self._image.clear()
            for path in (self._contours, self._hatch, self._outline):
                set_path(path, QPainterPath())
            self.show_spots((), np.empty((0, 2)))
            return
        self._fit(self.picture)
        self._draw_landscape(self.picture)
        self._place_spots(self.picture)
        self._draw_contours(self.picture)
        self._draw_untried(self.picture)

    def _fit(self, picture: MapPicture) -> None:
        x_low, x_high = float(picture.x[0]), float(picture.x[-1])
        y_low, y_high = float(picture.y[0]), float(picture.y[-1])
        self.view_box.setRange(xRange=(x_low, x_high), yRange=(y_low, y_high), padding=0)
        for name, factor, low, high, length in (
            ("bottom", picture.x_factor, x_low, x_high, self.view_box.width()),
            ("left", picture.y_factor, y_low, y_high, self.view_box.height()),
        ):
            self.set_number_axis(name, factor, from_axis(factor, low), from_axis(factor, high), length)
        self.plot_item.getAxis("left").setWidth(
            self.metrics().horizontalAdvance("30 weeks") + self.metrics().height() + 14
        )

    def _draw_landscape(self, picture: MapPicture) -> None:
        fine = _finer(picture.mean, _IMAGE_SIZE)
        steps = np.clip((fine * 10).astype(int), 0, 9)
        self._image.setImage(landscape(self.theme.raised, self.theme.accent)[steps], levels=None)
        x, y = picture.x, picture.y
        self._image.setRect(QRectF(float(x[0]), float(y[0]), float(x[-1] - x[0]), float(y[-1] - y[0])))

    def _draw_contours(self, picture: MapPicture) -> None:
        path = QPainterPath()
        taken: list[tuple[float, float]] = []
        for level in CONTOURS:
            pieces = contour_segments(picture.x, picture.y, picture.mean, level)
            for x1, y1, x2, y2 in pieces:
                path.moveTo(x1, y1)
                path.lineTo(x2, y2)
            place = self._label_place(pieces, taken)
            if place is not None:
                taken.append(place)
                self._add_label(f"{round(100 * level)}{PERCENT}", *place)
        set_path(self._contours, path)
        self._contours.setPen(self.pen(self.theme.text, width=1))

    def _label_place(self, pieces: Floats, taken: list[tuple[float, float]]) -> tuple[float, float] | None:
        """Return a place on a contour well inside the picture and away from other labels, or None."""
        if len(pieces) < 4:
            return None
        per_x, per_y = self.pixel_size()
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        x, y = 0.5 * (pieces[:, 0] + pieces[:, 2]), 0.5 * (pieces[:, 1] + pieces[:, 3])
        rim = np.minimum.reduce(
            [(x - x_low) / per_x, (x_high - x) / per_x, (y - y_low) / per_y, (y_high - y) / per_y]
        )
        free = np.minimum(rim, 60.0)
        for other_x, other_y in taken:
            free = np.minimum(free, np.hypot((x - other_x) / per_x, (y - other_y) / per_y))
        for spot_x, spot_y in self.spot_points:
            free = np.minimum(free, 12 + np.hypot((x - spot_x) / per_x, (y - spot_y) / per_y))
        best = int(np.argmax(free))
        return (float(x[best]), float(y[best])) if free[best] >= 26 else None

    def _add_label(self, text: str, x: float, y: float, anchor: tuple[float, float] = (0.5, 0.5)) -> None:
        item = self.label_item(text, self.theme.text, anchor, halo=True)
        self.view_box.addItem(item, ignoreBounds=True)
        item.setPos(x, y)
        self._labels.append(item)

    def _draw_untried(self, picture: MapPicture) -> None:
        """Hatch what lies outside the hull of the graded attempts, outline the hull, and say what it means."""
        per_x, per_y = self.pixel_size()
        left, bottom = float(picture.x[0]), float(picture.y[0])
        width, height = (picture.x[-1] - left) / per_x, (picture.y[-1] - bottom) / per_y
        hole = [((x - left) / per_x, (y - bottom) / per_y) for x, y in picture.hull]
        path = QPainterPath()
        for (x1, y1), (x2, y2) in hatch_lines(width, height, hatch_spacing(), hole):
            path.moveTo(left + x1 * per_x, bottom + y1 * per_y)
            path.lineTo(left + x2 * per_x, bottom + y2 * per_y)
        set_path(self._hatch, path)
        colour = QColor(self.theme.text)
        colour.setAlphaF(0.28)
        self._hatch.setPen(self.pen(colour, width=1))
        outline = QPainterPath()
        for index, (x, y) in enumerate((*picture.hull, *picture.hull[:1])):
            (outline.lineTo if index else outline.moveTo)(x, y)
        set_path(self._outline, outline)
        self._outline.setPen(self.pen(self.theme.text, width=1.4, style=Qt.PenStyle.DashLine))
        self._label_untried(picture)

    def _label_untried(self, picture: MapPicture) -> None:
        """Write "not tried" into the corner that is farthest from the hull."""
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        per_x, per_y = self.pixel_size()
        pad_x, pad_y = 8 * per_x, 8 * per_y
        corners = [
            (x, y, (float(at_right), float(not at_top)))
            for at_right, x in enumerate((x_low + pad_x, x_high - pad_x))
            for at_top, y in enumerate((y_low + pad_y, y_high - pad_y))
        ]

        def distance(corner: tuple[float, float, tuple[float, float]]) -> float:
            return min(
                (float(np.hypot((corner[0] - x) / per_x, (corner[1] - y) / per_y)) for x, y in picture.hull),
                default=0.0,
            )

        x, y, anchor = max(corners, key=distance)
        if not picture.hull or distance((x, y, anchor)) > 40:
            self._add_label("not tried", x, y, anchor)

    def _place_spots(self, picture: MapPicture) -> None:
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        shares = [((s.x - x_low) / (x_high - x_low), (s.y - y_low) / (y_high - y_low)) for s in picture.spots]
        gap = MARK_PX / max(self.view_box.width(), 200.0)
        per_x, per_y = self.pixel_size()
        points = np.array(
            [
                (spot.x + dx * MARK_PX * per_x, spot.y + dy * MARK_PX * per_y)
                for spot, (dx, dy) in zip(picture.spots, spread(shares, gap=gap), strict=True)
            ]
        ).reshape(-1, 2)
        self.show_spots(picture.spots, points)
        if picture.not_drawn:
            self._add_label(drawn_text(picture), x_high, y_high, (1.0, 0.0))

    def _draw_mark(self, at: tuple[float, float], estimate: Estimate | None) -> None:
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        path = QPainterPath()
        path.moveTo(at[0], y_low)
        path.lineTo(at[0], y_high)
        path.moveTo(x_low, at[1])
        path.lineTo(x_high, at[1])
        set_path(self._cross, path)
        self._cross.setPen(self.pen(self.theme.text, width=1.5))
        ink, surface = self.pen(self.theme.text, width=3), QBrush(QColor(self.theme.raised))
        self._handle.setData([at[0]], [at[1]], symbol="o", size=HANDLE_PX * self.ink, pen=ink, brush=surface)
        font = self.text_font()
        font.setBold(True)
        self._tag.setFont(font)
        self._tag.setText(percent(estimate.mean) if estimate else "", color=QColor(self.theme.text))
        self._tag.fill = QBrush(QColor(self.theme.raised))
        at_right = at[0] > x_low + 0.86 * (x_high - x_low)
        at_top = at[1] > y_low + 0.86 * (y_high - y_low)
        offset = (HANDLE_PX * 0.5 + 5) * self.pixel_size()[0]
        self._tag.setAnchor((1.0 if at_right else 0.0, 0.0 if at_top else 1.0))
        self._tag.setPos(at[0] - offset if at_right else at[0] + offset, at[1])


def _finer(values: Floats, size: int) -> Floats:
    """Return the table interpolated bilinearly to ``size`` x ``size``."""
    rows, columns = values.shape
    along = _weights(columns, size)
    return _weights(rows, size) @ values @ along.T


def _weights(count: int, size: int) -> Floats:
    places = np.linspace(0, count - 1, size)
    return np.maximum(0.0, 1.0 - np.abs(places[:, None] - np.arange(count)[None, :]))
