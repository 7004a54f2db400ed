"""A picture to look at: axes, grid, lines and direct labels in the theme's colours; nothing in it moves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainterPath, QPen
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor
from stirfall.desktop.odds.picture_plot import PicturePlot, path_item, set_path
from stirfall.desktop.theme import Theme
from stirfall.reporting.axis_ticks import axis_title, ticks, to_axis

LATE_OPACITY = 0.4


@dataclass(frozen=True)
class Axes:
    """The two axes of a picture as factors: their unit, scale and range."""

    across: Factor
    upward: Factor


class StillPlot(PicturePlot):
    """Curves over ``Axes``; subclasses draw in ``_redraw``, which is called after each change of size or theme."""

    _is_built = False
    _below_zero = False

    def __init__(self, theme: Theme, name: str, parent: QWidget | None = None) -> None:
        super().__init__(theme, parent)
        self.setObjectName(name)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setMinimumSize(280, 160)
        self.axes: Axes | None = None
        self._items: list[pg.GraphicsObject] = []
        self._grid = path_item(self, -10)
        self._shade = path_item(self, -9)

    def sizeHint(self) -> QSize:
        """Ask for no more than the least: the picture takes what room there is."""
        return self.minimumSize()

    def _redraw(self) -> None:
        raise NotImplementedError

    def position_of(self, x: float, y: float) -> object:
        """Return the place itself; nobody moves anything here."""
        return x, y

    def relayout(self) -> None:
        """Fit ticks and labels to the present size."""
        if self._is_built:
            self.draw()

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        super().apply_theme(theme)
        self.relayout()

    def draw(self) -> None:
        """Draw the whole picture anew."""
        for item in self._items:
            self.view_box.removeItem(item)
        self._items = []
        set_path(self._grid, QPainterPath())
        set_path(self._shade, QPainterPath())
        for name in ("left", "bottom"):
            self.plot_item.getAxis(name).setTicks([[]])
        self._redraw()

    # -- parts ---------------------------------------------------------------------------------------

    def fit_axes(self, axes: Axes) -> None:
        """Take these axes, with round ticks, and draw the lines of the grid."""
        self.axes = axes
        upward = axes.upward
        low, high = (to_axis(upward, value) for value in upward.bounds)
        self.view_box.setYRange(low, high, padding=0)
        start, end = (to_axis(axes.across, value) for value in axes.across.bounds)
        self.view_box.setXRange(start, end, padding=0)
        self.set_number_axis("bottom", axes.across, *axes.across.bounds, self.view_box.width())
        path = QPainterPath()
        for at in self._fit_left(upward):
            path.moveTo(start, at)
            path.lineTo(end, at)
        set_path(self._grid, path)
        self._grid.setPen(self.pen(self.theme.grid))

    def _fit_left(self, factor: Factor) -> list[float]:
        """Put ticks at the left and return where."""
        places = self._left_ticks(factor)
        axis = self.plot_item.getAxis("left")
        axis.setTicks([places])
        widest = max((self.metrics().horizontalAdvance(label) for _, label in places), default=0.0)
        axis.setWidth(widest + self.metrics().height() + 16)
        title = axis_title(factor, decimal=self.decimal)
        height = max(self.view_box.height(), 1.0)
        self.set_axis_title("left", title if self.metrics().horizontalAdvance(title) < height else "")
        return [at for at, _label in places]

    def _left_ticks(self, factor: Factor) -> list[tuple[float, str]]:
        """Return place and label of the ticks at the left; one at the very edge goes, its label would be cut."""
        height = max(self.view_box.height(), 1.0)
        low, high = factor.bounds
        most = max(2, int(height / (1.7 * self.metrics().height())))
        start, end = to_axis(factor, low), to_axis(factor, high)
        edge = 0.55 * self.metrics().height() * (end - start) / height
        places = [
            (to_axis(factor, tick.value), tick.label)
            for tick in ticks(factor, low, high, most=most, decimal=self.decimal)
            if tick.value >= 0 or self._below_zero  # elsewhere only the room for labels is below zero
        ]
        return [(at, label) for at, label in places if start + edge <= at <= end - edge]

    def add(self, item: pg.GraphicsObject, z: float = 5) -> pg.GraphicsObject:
        """Keep an item until the next drawing."""
        item.setZValue(z)
        self.view_box.addItem(item, ignoreBounds=True)
        self._items.append(item)
        return item

    def add_curve(self, x: np.ndarray, y: np.ndarray, pen: QPen) -> None:
        """Draw a curve through values (n,) in the units of the axes."""
        assert self.axes is not None
        across = [to_axis(self.axes.across, float(value)) for value in x]
        log = self.axes.upward
        upward = [to_axis(log, float(value)) if math.isfinite(value) else math.nan for value in y]
        item = pg.PlotCurveItem(np.array(across), np.array(upward), pen=pen, antialias=True, connect="finite")
        self.add(item)

    def add_band(self, x: np.ndarray, low: np.ndarray, high: np.ndarray, colour: str) -> None:
        """Fill between two curves (n,) in the units of the axes."""
        assert self.axes is not None
        across = [to_axis(self.axes.across, float(value)) for value in x]
        path = QPainterPath()
        ends = [to_axis(self.axes.upward, float(value)) for value in (*high, *low[::-1])]
        for index, (at, up) in enumerate(zip((*across, *across[::-1]), ends, strict=True)):
            if index:
                path.lineTo(at, up)
            else:
                path.moveTo(at, up)
        path.closeSubpath()
        item = path_item(self, 2)
        fill = QColor(colour)
        fill.setAlphaF(0.55)
        item.setBrush(fill)
        item.setPath(path)
        self._items.append(item)

    def shade(self, low: float, high: float, colour: str) -> None:
        """Shade the whole height between two values of the lower axis."""
        assert self.axes is not None
        start, end = (to_axis(self.axes.across, value) for value in (low, high))
        (left, right), (bottom, top) = self.view_box.viewRange()
        path = QPainterPath()
        start, end = max(start, left), min(end, right)
        if end > start:
            path.addRect(start, bottom, end - start, top - bottom)
        set_path(self._shade, path)
        fill = QColor(colour)
        fill.setAlphaF(0.6)
        self._shade.setBrush(fill)

    def add_upright(self, value: float, pen: QPen) -> None:
        """Draw a line over the whole height at a value of the lower axis."""
        assert self.axes is not None
        at = to_axis(self.axes.across, value)
        _, (bottom, top) = self.view_box.viewRange()
        self.add(pg.PlotCurveItem(np.array([at, at]), np.array([bottom, top]), pen=pen), 4)

    def add_level(self, value: float, pen: QPen) -> None:
        """Draw a line over the whole width at a value of the left axis."""
        assert self.axes is not None
        at = to_axis(self.axes.upward, value)
        (left, right), _ = self.view_box.viewRange()
        self.add(pg.PlotCurveItem(np.array([left, right]), np.array([at, at]), pen=pen), 4)

    def add_dot(self, x: float, y: float, colour: str, *, symbol: str = "o", size: float = 11.0) -> None:
        """Draw a mark at values of the two axes."""
        assert self.axes is not None
        at, up = to_axis(self.axes.across, x), to_axis(self.axes.upward, y)
        item = pg.ScatterPlotItem(
            x=[at], y=[up], symbol=symbol, size=size, brush=QColor(self.theme.raised), pen=self.pen(colour, width=2)
        )
        self.add(item, 12)

    def add_text(self, text: str, place: QPointF, anchor: tuple[float, float], colour: str = "") -> pg.TextItem:
        """Write a label at a place in pixels of the view, measured from its upper left corner."""
        item = self.label_item(text, colour or self.theme.text, anchor, halo=True)
        per_x, per_y = self.pixel_size()
        (left, _), (_, top) = self.view_box.viewRange()
        self.add(item, 15)
        item.setPos(left + place.x() * per_x, top - place.y() * per_y)
        return item

    def pixels_of(self, x: float, y: float | None = None) -> QPointF:
        """Return where values of the axes are, in pixels from the upper left corner of the view."""
        assert self.axes is not None
        per_x, per_y = self.pixel_size()
        (left, _), (_, top) = self.view_box.viewRange()
        down = 0.0 if y is None else (top - to_axis(self.axes.upward, y)) / per_y
        return QPointF((to_axis(self.axes.across, x) - left) / per_x, down)

    # -- nothing to press ------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Leave the mouse to the page."""
        event.ignore()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Leave the mouse to the page."""
        event.ignore()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Leave the mouse to the page."""
        event.ignore()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the keys to the page."""
        event.ignore()
