"""The side of the run page: the large time, the thermometer, and what was marked."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from stirfall.bench.running import Step
from stirfall.desktop.run.look import GAP, SMALL, WIDE_GAP
from stirfall.desktop.run.middle import UNTIMED, Column, quiet_scroll
from stirfall.desktop.run.reading_part import ReadingPart
from stirfall.desktop.run.signs_part import Lines
from stirfall.desktop.run.timer_part import StepTime, TimerPart
from stirfall.desktop.run.words import mark_words
from stirfall.desktop.shown import Shown
from stirfall.session.run_shown import RunView

NO_THERMOMETER = (Step.CHECKS, *UNTIMED)


class Side(QWidget):
    """The time never scrolls away; what stands below or beside it may."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_side")
        self.timer, self.reading = TimerPart(), ReadingPart()
        self.marks = Lines(SMALL, "run_mark")
        rest = Column()
        column = QVBoxLayout(rest)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(WIDE_GAP)
        column.addWidget(self.reading)
        column.addWidget(self.marks)
        column.addStretch(1)
        self.rest = quiet_scroll(rest, "run_side_scroll")
        self._box = QBoxLayout(QBoxLayout.Direction.TopToBottom, self)
        self._box.setContentsMargins(0, 0, 0, 0)
        self._box.setSpacing(WIDE_GAP)
        self._box.addWidget(self.timer, 0, Qt.AlignmentFlag.AlignTop)
        self._box.addWidget(self.rest, 1)

    def stand(self, *, beside: bool) -> None:
        """Stand as a column beside the words, or as a row above them."""
        directions = QBoxLayout.Direction
        self._box.setDirection(directions.TopToBottom if beside else directions.LeftToRight)
        self._box.setSpacing(WIDE_GAP if beside else 4 * GAP)

    def show_view(self, view: RunView, shown: Shown) -> None:
        """Show time, thermometer and marks; only what changed is drawn."""
        self.setVisible(view.step not in UNTIMED)
        self.timer.show_time(StepTime.of(view))
        has_reading = view.step not in NO_THERMOMETER
        self.reading.setVisible(has_reading)
        if has_reading:
            self.reading.show_view(view, shown)
        self.marks.show_texts([mark_words(mark) for mark in reversed(view.marks)])
