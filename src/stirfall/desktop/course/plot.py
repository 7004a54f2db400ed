"""The temperature over the minutes from the start: steps as bands with their words, marks as labelled uprights."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainterPath
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor
from stirfall.desktop.odds.picture_plot import path_item
from stirfall.desktop.physics.still_plot import Axes, StillPlot
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import Theme
from stirfall.session.course import Course, thinned

_MOST_POINTS = 4000
_PAD_PX = 6.0
_BELOW = 0.1
_LEAST_SPAN_C = 20.0


class CoursePlot(StillPlot):
    """Draws a Course."""

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, "course_plot", parent)
        self.ink = ink
        self.course: Course | None = None
        self.setAccessibleName("Course of the attempt")
        self._is_built = True
        self.apply_theme(theme)

    def show_course(self, course: Course, description: str, *, decimal: str = ".") -> None:
        """Draw a course; ``description`` holds its numbers for people who cannot see the picture."""
        self.course, self.decimal = course, decimal
        self.setAccessibleName(f"Course of attempt {course.number}")
        self.setAccessibleDescription(description)
        self.draw()

    def _redraw(self) -> None:
        course = self.course
        if course is None or course.is_empty:
            return
        # Above the highest temperature there is room for its label and for the words of the steps.
        rows = (2 * self.metrics().height() + 4 * _PAD_PX) / max(self.view_box.height(), 1.0)
        self.fit_axes(axes_of(course, above=min(rows, 0.5)))
        self._draw_bands(course)
        if course.melting_c is not None and self._holds(course.melting_c):
            self.add_level(course.melting_c, self.pen(self.theme.muted, style=Qt.PenStyle.DotLine))
            place = self.pixels_of(0.0, course.melting_c)
            text = f"melts {Shown.of(self.decimal).text(course.melting_c, 'C')}"
            self.add_text(text, QPointF(4, place.y() + 1), (0.0, 0.0))
        for at, value in course.readings:
            self.add_dot(at, value, self.theme.text, symbol="s", size=9.0)
        if len(course.minutes):
            minutes, celsius = thinned(course.minutes, course.celsius, _MOST_POINTS)
            self.add_curve(minutes, celsius, self.pen(self.theme.accent, width=2.2))
        self._draw_marks(course)
        if course.peak is not None:
            self._draw_peak(*course.peak)

    def _holds(self, value: float) -> bool:
        assert self.axes is not None
        low, high = self.axes.upward.bounds
        return low < value < high

    # -- steps -------------------------------------------------------------------------------------

    def _draw_bands(self, course: Course) -> None:
        (_, _), (bottom, top) = self.view_box.viewRange()
        right = 0.0
        for place, band in enumerate(course.bands):
            if place % 2 == 0:
                self._fill(QRectF(band.start_min, bottom, band.end_min - band.start_min, top - bottom))
            if band.target_c is not None:
                pen = self.pen(self.theme.text, width=1.6, style=Qt.PenStyle.DashLine)
                ends = np.array([band.start_min, band.end_min])
                self.add_curve(ends, np.array([band.target_c, band.target_c]), pen)
            start, end = self.pixels_of(band.start_min).x(), self.pixels_of(band.end_min).x()
            word = band.word[:1].upper() + band.word[1:]
            width = self.metrics().horizontalAdvance(word) + 2 * _PAD_PX
            if end - start >= width and start >= right:
                self.add_text(word, QPointF((start + end) / 2, 2), (0.5, 0.0), self.theme.muted)
                right = (start + end + width) / 2
        targets = [band for band in course.bands if band.target_c is not None]
        if targets and targets[0].target_c is not None:
            self._label_level("set point", targets[0].target_c, self.pixels_of(targets[0].start_min).x())
        elif course.recorded_c is not None and self._holds(course.recorded_c):
            self.add_level(course.recorded_c, self.pen(self.theme.text, width=1.6, style=Qt.PenStyle.DashLine))
            self._label_level("recorded", course.recorded_c, 0.0)

    def _fill(self, rectangle: QRectF) -> None:
        path = QPainterPath()
        path.addRect(rectangle)
        item = path_item(self, -9)
        fill = QColor(self.theme.grid)
        fill.setAlphaF(0.55 if not self.theme.is_dark else 0.4)
        item.setBrush(fill)
        item.setPath(path)
        self._items.append(item)

    def _label_level(self, word: str, value: float, from_px: float) -> None:
        """Name a level above its left end, where the metal is still cold."""
        text = f"{word} {Shown.of(self.decimal).text(value, 'C')}"
        self.add_text(text, QPointF(max(from_px, 0.0) + 4, self.pixels_of(0.0, value).y() - 1), (0.0, 1.0))

    # -- marks -------------------------------------------------------------------------------------

    def _draw_marks(self, course: Course) -> None:
        """Draw each mark as an upright with its word, in as many rows from below as keep the words apart."""
        height = self.metrics().height() + 3
        rights: list[float] = []
        for mark in sorted(course.marks, key=lambda each: each.at_min):
            self._upright(mark.at_min)
            if mark.temperature_c is not None:
                self.add_dot(mark.at_min, mark.temperature_c, self.theme.text)
            at = self.pixels_of(mark.at_min).x()
            width = self.metrics().horizontalAdvance(mark.word) + 2 * _PAD_PX
            is_left = at + width > self.view_box.width()
            start = at - width if is_left else at
            row = next((each for each, right in enumerate(rights) if right <= start), len(rights))
            rights[row : row + 1] = [start + width]
            down = self.view_box.height() - 2 - row * height
            anchor = (1.0, 1.0) if is_left else (0.0, 1.0)
            self.add_text(mark.word, QPointF(at - 2 if is_left else at + 2, down), anchor)

    def _upright(self, at_min: float) -> None:
        """Draw a line from below up to the words of the steps."""
        (_, _), (bottom, top) = self.view_box.viewRange()
        high = top - (self.metrics().height() + 2 * _PAD_PX) * self.pixel_size()[1]
        self.add_curve(np.array([at_min, at_min]), np.array([bottom, high]), self.pen(self.theme.text, width=1.4))

    def _draw_peak(self, at_min: float, value: float) -> None:
        self.add_dot(at_min, value, self.theme.accent, symbol="t1")
        place = self.pixels_of(at_min, value)
        text = f"highest {Shown.of(self.decimal).text(value, 'C', digits=4)}"
        half = self.metrics().horizontalAdvance(text) / 2 + _PAD_PX
        across = min(max(place.x(), half), self.view_box.width() - half)
        self.add_text(text, QPointF(across, place.y() - 8), (0.5, 1.0), self.theme.accent)


def axes_of(course: Course, *, above: float) -> Axes:
    """Return axes that hold everything, with this share of the height free above for words."""
    low_min, high_min = course.span_min
    values = [
        *((float(course.celsius.min()), float(course.celsius.max())) if len(course.celsius) else ()),
        *(value for _, value in course.readings),
        *(band.target_c for band in course.bands if band.target_c is not None),
    ]
    if not values:
        values = [20.0, course.recorded_c or 100.0]
    low, high = min(values), max(values)
    span = max(high - low, _LEAST_SPAN_C)
    upward = Factor("temperature", "C", low - _BELOW * span, high + (1.0 + _BELOW) * span * above / (1.0 - above))
    return Axes(Factor("time from the start", "min", low_min, high_min), upward)
