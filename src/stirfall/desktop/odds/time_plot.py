"""The expected time to a clean batch along an age: its band, its lowest place, and the jars that age now."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Factor, Scale
from stirfall.desktop.odds.along_plot import LATE_OPACITY, AlongPlot
from stirfall.desktop.odds.curve_plot import band_path, set_pieces, split_tried
from stirfall.desktop.odds.phrases import PERCENT
from stirfall.desktop.odds.picture_plot import HANDLE_PX, MARK_PX, path_item, set_path
from stirfall.desktop.odds.state import Floats, JarMark, TimePicture
from stirfall.desktop.odds.time_picture import hours_text
from stirfall.desktop.theme import Theme
from stirfall.reporting.axis_ticks import ticks, to_axis

_TITLES = ("time to a clean batch, on average", "time, on average", "time")
_JARS = "jars now"


class TimePlot(AlongPlot):
    """Times on a log scale on the left, from 0 to 100 between the ends that are drawn, so that it shares its ways.

    What is said of it stands above, the jars below.
    """

    picture: TimePicture | None

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.setObjectName("odds_time")
        self._ends_h = (1.0, 100.0)
        self._grid_at: list[float] = []
        self._band = path_item(self, 0)
        self._band_outside = path_item(self, 0)
        self._best_line = path_item(self, 3)
        self._line = self._add(pg.PlotCurveItem(antialias=True), 5)
        self._dashes = self._add(pg.PlotCurveItem(antialias=True), 5)
        self._jars = self._add(pg.ScatterPlotItem(pxMode=True), 20)
        self._stem = self._add(pg.PlotCurveItem(), 25)
        self._handle = self._add(pg.ScatterPlotItem(pxMode=True), 27)
        self._tag = self.label_item("", theme.text, (0.0, 0.5), halo=True)
        self._tag.setZValue(28)
        self.view_box.addItem(self._tag, ignoreBounds=True)
        self._is_built = True
        self.apply_theme(theme)

    # -- what is shown ---------------------------------------------------------------------------------

    def show_picture(self, picture: TimePicture | None, *, late: bool, decimal: str = ".") -> None:
        """Show a picture; what is drawn already is left alone. ``late`` greys it."""
        wanted = (picture, decimal)
        if any(new is not old for new, old in zip(wanted, self._drawn or (0, 0), strict=True)):
            self._drawn = wanted
            self.picture, self.decimal = picture, decimal
            self._redraw()
        opacity = LATE_OPACITY if late else 1.0
        for item in (self._band, self._band_outside, self._line, self._dashes, self._best_line, *self._labels):
            item.setOpacity(opacity)

    def show_mark(self, at: float | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at an axis position, with the time that the curve has there, or hide it."""
        self.at, self.estimate = at, estimate
        visible = at is not None and self.picture is not None
        for item in (self._stem, self._handle, self._tag):
            item.setVisible(visible)
            item.setOpacity(LATE_OPACITY if late else 1.0)
        if visible and at is not None and self.picture is not None:
            self._draw_mark(at, self.picture)

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        self._clear_labels()
        self._fit_y()
        self._draw_grid()
        if self.picture is None:
            self._clear()
            return
        self._fit_x(self.picture)
        self._draw_line(self.picture)
        self._draw_best(self.picture)
        self._draw_untried(self.picture)
        self._draw_jars(self.picture)

    def _clear(self) -> None:
        for item in (self._line, self._dashes, self._jars):
            item.setData([], [])
        for path in (self._band, self._band_outside, self._hatch, self._best_line):
            set_path(path, QPainterPath())
        self._clear_axis()

    def _fit_y(self) -> None:
        """Leave a line above for each sentence that fits, and a lane below for the jars."""
        picture = self.picture
        height, lane = max(self.view_box.height(), 1.0), self._lane_px()
        above = self.metrics().height() * 1.2 * len(self._fitting_words()) + 4
        self._per_px = 100.0 / max(height - lane - above, 40.0)
        self.view_box.setYRange(-lane * self._per_px, 100.0 + above * self._per_px, padding=0)
        if picture is not None:
            self._ends_h = float(picture.lower.min()) / 1.1, float(picture.upper.max()) * 1.1
        axis_of_time = Factor("time", "h", *self._ends_h, Scale.LOG)
        most = max(2, int((height - lane - above) / (self.metrics().height() * 1.6)))
        found = ticks(axis_of_time, *self._ends_h, most=most, decimal=self.decimal)
        marks = [(float(self._share(np.array([tick.value]))[0]), tick.label) for tick in found]
        self._grid_at = [place for place, _ in marks]
        axis = self.plot_item.getAxis("left")
        marks = [*marks, (-0.5 * lane * self._per_px, _JARS)]
        axis.setTicks([marks, []])
        axis.setTicks([marks])
        widest = max(self.metrics().horizontalAdvance(label) for _, label in marks)
        axis.setWidth(widest + self.metrics().height() + 18)
        fitting = [title for title in _TITLES if self.metrics().horizontalAdvance(title) < 0.85 * height]
        self.set_axis_title("left", fitting[0] if fitting else "")

    def _fitting_words(self) -> list[str]:
        """Return what is said above the picture: where it is soonest, and how the person works."""
        said = (self.picture.best, self.picture.words) if self.picture is not None else ()
        room = self.view_box.width() - 12
        return [text for text in said if text and self.metrics().horizontalAdvance(text) < room]

    def _draw_grid(self) -> None:
        path = QPainterPath()
        (low, high), _ = self.view_box.viewRange()
        for place in self._grid_at:
            path.moveTo(low, place)
            path.lineTo(high, place)
        set_path(self._grid, path)
        self._grid.setPen(self.pen(self.theme.grid, width=1))

    def _share(self, hours: Floats) -> Floats:
        low, high = (np.log(end) for end in self._ends_h)
        return np.asarray(100.0 * (np.log(hours) - low) / (high - low))

    def _draw_line(self, picture: TimePicture) -> None:
        x = self._places(picture)
        inside, outside = split_tried(x, self._tried_axis(picture))
        mean, lower, upper = (self._share(part) for part in (picture.mean, picture.lower, picture.upper))
        pen = self.pen(self.theme.accent, width=2.5)
        dashed = self.pen(self.theme.accent, width=2, style=Qt.PenStyle.DashLine)
        set_pieces(self._line, x, mean, inside, pen)
        set_pieces(self._dashes, x, mean, outside, dashed)
        for item, pieces, strength in ((self._band, inside, 0.75), (self._band_outside, outside, 0.35)):
            colour = QColor(self.theme.band)
            colour.setAlphaF(strength)
            set_path(item, band_path(x, lower, upper, pieces))
            item.setBrush(QBrush(colour))
        self._label_band(picture, x, mean, upper)

    def _label_band(self, picture: TimePicture, x: Floats, mean: Floats, upper: Floats) -> None:
        """Name the band above the line, where there is the most room."""
        text = f"{round(100 * picture.level)}{PERCENT} interval"
        half = 0.5 * self.metrics().horizontalAdvance(text) * self.pixel_size()[0]
        away = [at for at in (self.at, self._best_place(picture)) if at is not None]
        room = np.where((x - half > x[0]) & (x + half < x[-1]), upper - mean, -np.inf)
        for at in away:
            room = np.where(np.abs(x - at) > 2.2 * half, room, -np.inf)
        index = int(np.argmax(room))
        if room[index] > 1.6 * self.metrics().height() * self._per_px:
            self._add_label(text, x[index], mean[index] + 0.5 * room[index], (0.5, 0.5))

    def _best_place(self, picture: TimePicture) -> float | None:
        return None if picture.best_x is None else to_axis(picture.factor, picture.best_x)

    def _draw_best(self, picture: TimePicture) -> None:
        """Mark the age with the shortest time, and write above the picture what is said of it."""
        (low, high), (_, top) = self.view_box.viewRange()
        path, place = QPainterPath(), self._best_place(picture)
        if place is not None:
            path.moveTo(place, 0.0)
            path.lineTo(place, 100.0)
        set_path(self._best_line, path)
        self._best_line.setPen(self.pen(self.theme.text, width=1.3, style=Qt.PenStyle.DotLine))
        line = self.metrics().height() * 1.2 * self._per_px
        for down, text in enumerate(self._fitting_words()):
            self._add_label(text, 0.5 * (low + high), top - down * line, (0.5, 0.0))

    def _draw_jars(self, picture: TimePicture) -> None:
        """Put a mark for each jar at its present age, with its name where there is room for it."""
        (low, high), (bottom, _) = self.view_box.viewRange()
        middle = 0.5 * bottom
        jars = [jar for jar in picture.jars if low <= jar.x <= high]
        self._jars.setData(
            x=[jar.x for jar in jars],
            y=[middle] * len(jars),
            symbol="d",
            size=MARK_PX * self.ink,
            pen=self.pen(self.theme.raised),
            brush=QBrush(QColor(self.theme.text)),
        )
        self._name_jars(picture, jars, middle, high)

    def _name_jars(self, picture: TimePicture, jars: list[JarMark], height: float, high: float) -> None:
        """Write each jar's name beside its mark where it meets no other; say how many are older than the axis."""
        per_x = self.pixel_size()[0]
        half = 0.6 * MARK_PX * per_x
        older = sum(jar.x > high for jar in picture.jars)
        if older:
            label = f"{older} older →"
            self._add_label(label, high, height, (1.0, 0.5))
            high -= self.metrics().horizontalAdvance(f"{label}  ") * per_x
        heaps = _heaped(jars, MARK_PX * per_x)
        for heap, after in zip(heaps, [*(each[0].x - half for each in heaps[1:]), high], strict=False):
            name = heap[0].jar_id if len(heap) == 1 else f"{heap[0].jar_id} +{len(heap) - 1}"
            start = heap[-1].x + half
            if start + self.metrics().horizontalAdvance(f"{name} ") * per_x < min(after, high):
                self._add_label(name, start, height, (0.0, 0.5))

    def _draw_mark(self, at: float, picture: TimePicture) -> None:
        (_, high), _ = self.view_box.viewRange()
        hours = float(np.interp(at, self._places(picture), picture.mean))
        y = float(self._share(np.array([hours]))[0])
        self._stem.setData([at, at], [0.0, 100.0], pen=self.pen(self.theme.text, width=1.5))
        self._handle.setData(
            [at],
            [y],
            symbol="o",
            size=HANDLE_PX * self.ink,
            pen=self.pen(self.theme.text, width=3),
            brush=QBrush(QColor(self.theme.raised)),
        )
        text = hours_text(hours, decimal=self.decimal)
        offset = (HANDLE_PX * 0.5 + 6) * self.pixel_size()[0]
        width = self.metrics().horizontalAdvance(text) * 1.2 * self.pixel_size()[0]
        at_right = at + offset + width > high
        self._tag.setAnchor((1.0, 0.5) if at_right else (0.0, 0.5))
        self._tag.setText(text, color=QColor(self.theme.text))
        font = self.text_font()
        font.setBold(True)
        self._tag.setFont(font)
        self._tag.fill = QBrush(QColor(self.theme.raised))
        self._tag.setPos(at - offset if at_right else at + offset, y)

    def _places(self, picture: TimePicture) -> Floats:
        return np.array([to_axis(picture.factor, float(value)) for value in picture.x])

    def _emptiest(self, place: float) -> float:
        """Return the height, high, low or middle, that is farthest from the line at a place."""
        if self.picture is None:
            return 50.0
        here = float(np.interp(place, self._places(self.picture), self._share(self.picture.mean)))
        edge = self.metrics().height() * self._per_px
        return max((100.0 - edge, edge, 50.0), key=lambda height: abs(height - here))


def _heaped(jars: list[JarMark], apart: float) -> list[list[JarMark]]:
    """Put jars whose marks lie over each other into one heap; ``jars`` are in the order of their places."""
    heaps: list[list[JarMark]] = []
    for jar in jars:
        if heaps and jar.x - heaps[-1][-1].x < apart:
            heaps[-1].append(jar)
        else:
            heaps.append([jar])
    return heaps
