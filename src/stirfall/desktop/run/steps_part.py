"""You are here: all steps of the run in their order, done, now and next, each with a shape and its word."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.desktop.run.look import GAP, SMALL, font
from stirfall.desktop.run.shapes import Shape, draw_shape
from stirfall.desktop.theme import LIGHT, Theme

_ROOM = 10  # between two steps, at least


@dataclass(frozen=True)
class Here:
    """The names of the steps in order, and the place of the one that is on; -1 before the first."""

    names: tuple[str, ...] = ()
    now: int = -1

    def sentence(self) -> str:
        """Return the same in words, for people who do not see the line."""
        if not 0 <= self.now < len(self.names):
            return "The run has not begun"
        after = self.names[self.now + 1] if self.now + 1 < len(self.names) else "the end of the run"
        return f"Step {self.now + 1} of {len(self.names)}: {self.names[self.now]} now, next {after}"


class StepsLine(QWidget):
    """Draws the steps; where the words do not all fit, those far from the present step give way to their shapes."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_steps")
        self._here = Here()
        self._theme = LIGHT
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_here(self, here: Here) -> None:
        """Show where the run is; the same again draws nothing."""
        if here != self._here:
            self._here = here
            self.setAccessibleName(here.sentence())
            self.update()

    def dress(self, theme: Theme) -> None:
        """Take the colours of a theme and the text scale of the moment."""
        self._theme = theme
        self.setFixedHeight(self.sizeHint().height())
        self.update()

    def sizeHint(self) -> QSize:
        """Return one line of text with some air."""
        return QSize(400, QFontMetrics(font(SMALL, bold=True)).height() + 2 * GAP)

    def shown_words(self, width: int) -> tuple[str, ...]:
        """Return what is written beside each shape at a width; "" where only the shape is drawn."""
        names, now = self._here.names, self._here.now
        by_distance = sorted(range(len(names)), key=lambda place: (abs(place - now), place < now))
        words = list(names)
        while by_distance and self._length(words) > width and by_distance[-1] not in (now, now + 1):
            words[by_distance.pop()] = ""
        if self._length(words) > width and 0 <= now < len(names):
            words = ["" if place != now else name for place, name in enumerate(names)]
        return tuple(words)

    def _length(self, words: list[str]) -> int:
        return sum(self._step_width(word, place == self._here.now) for place, word in enumerate(words))

    def _side(self) -> int:
        return QFontMetrics(font(SMALL)).ascent()

    def _step_width(self, word: str, is_now: bool) -> int:
        metrics = QFontMetrics(font(SMALL, bold=is_now))
        wide = metrics.horizontalAdvance(word) + GAP if word else 0
        return self._side() + wide + _ROOM + (2 * GAP if is_now else 0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the steps from left to right, spread over the width."""
        del event
        words = self.shown_words(self.width())
        if not words:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        spare = max(self.width() - self._length(list(words)), 0)
        air = min(spare / max(len(words) - 1, 1), 4 * GAP)
        left = 0.0
        for place, word in enumerate(words):
            left += self._draw_step(painter, place, word, left) + air
        painter.end()

    def _draw_step(self, painter: QPainter, place: int, word: str, left: float) -> float:
        now, theme, side = self._here.now, self._theme, self._side()
        is_now = place == now
        wide = self._step_width(word, is_now)
        ink = theme.colour("text")
        if is_now:
            painter.setPen(QPen(theme.colour("accent"), 2))
            painter.setBrush(theme.colour("accent"))
            painter.drawRoundedRect(QRectF(left, 1, wide - _ROOM, self.height() - 2), 6, 6)
            ink = theme.colour("on_accent")
        inset = left + (GAP if is_now else 0)
        shape = Shape.NOW if is_now else Shape.DONE if place < now else Shape.TO_COME
        draw_shape(painter, shape, QRectF(inset, (self.height() - side) / 2, side, side), ink, ink)
        painter.setPen(ink)
        painter.setFont(font(SMALL, bold=is_now))
        room = QRectF(inset + side + GAP, 0, wide, self.height())
        painter.drawText(room, int(Qt.AlignmentFlag.AlignVCenter), word)
        return wide
