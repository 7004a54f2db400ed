"""The middle of the run page: what to do now, in large words; it scrolls where there is little room."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from stirfall.bench.running import Step
from stirfall.desktop.run.ask_part import AskPart
from stirfall.desktop.run.grade_part import GradePart
from stirfall.desktop.run.list_part import ListPart
from stirfall.desktop.run.look import APART, GAP, SENTENCE, SMALL, TITLE, WIDE_GAP, RunLabel
from stirfall.desktop.run.panels import GiveUpPanel, NotePanel
from stirfall.desktop.run.reached_part import ReachedPart
from stirfall.desktop.run.signs_part import Lines
from stirfall.desktop.run.weigh_part import WeighPart
from stirfall.desktop.run.why_part import WhyPart
from stirfall.desktop.run.words import said
from stirfall.session.run_shown import RunView

if TYPE_CHECKING:
    from stirfall.desktop.bench_form.state import FormState
    from stirfall.desktop.workspace import Workspace


UNTIMED = (Step.GRADE, Step.WEIGH, Step.CLOSE)
"""The steps that have no time to keep."""


class Column(QWidget):
    """The inside of a scroll area: as high as its words are at its width, and no higher.

    Without this the area would make room for the words at their narrowest, and scroll where nothing is hidden.
    """

    def minimumSizeHint(self) -> QSize:
        """Return the least width alone; the height follows from the width."""
        return QSize(super().minimumSizeHint().width(), 0)


def quiet_scroll(content: QWidget, name: str) -> QScrollArea:
    """Return a frameless area that scrolls up and down only and never takes the keyboard."""
    area = QScrollArea()
    area.setObjectName(name)
    area.setWidget(content)
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setMinimumHeight(1)  # it takes what the others leave
    area.viewport().setAutoFillBackground(False)
    content.setAutoFillBackground(False)
    return area


class Middle(QWidget):
    """Title, sentences, and the part that the step needs; a question or a panel comes before all else."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.setObjectName("run_middle")
        self.title = RunLabel(TITLE, bold=True, name="run_title")
        self.whole_cautions = Lines(SMALL, "run_whole_caution")
        self.sentences = Lines(SENTENCE, "run_sentence")
        self.notes = Lines(SMALL, "run_note_line", bold=True)
        self.note, self.give_up, self.ask = NotePanel(), GiveUpPanel(), AskPart()
        self.list, self.grades = ListPart(), GradePart(workspace)
        self.weigh, self.reached, self.why = WeighPart(), ReachedPart(), WhyPart()
        inner = Column()
        column = QVBoxLayout(inner)
        column.setContentsMargins(0, 0, WIDE_GAP, GAP)
        column.setSpacing(APART)
        parts = (self.note, self.give_up, self.ask, self.title, self.notes, self.grades, self.sentences)
        for part in (*parts, self.weigh, self.why, self.list, self.reached, self.whole_cautions):
            column.addWidget(part)
        column.addStretch(1)
        self.scroller = quiet_scroll(inner, "run_scroll")
        around = QVBoxLayout(self)
        around.setContentsMargins(0, 0, 0, 0)
        around.addWidget(self.scroller)
        self._step: Step | None = None
        self._is_low = False

    def set_low(self, is_low: bool) -> None:
        """Take less height."""
        self._is_low = is_low
        self.grades.set_low(is_low)

    @property
    def panel(self) -> NotePanel | GiveUpPanel | None:
        """The panel that is open."""
        return next((panel for panel in (self.note, self.give_up) if not panel.isHidden()), None)

    def show_view(self, view: RunView, decimal: str) -> None:
        """Show the step; only what changed is drawn."""
        self.ask.show_questions(view.questions, decimal)
        is_asking = bool(view.questions)
        # Where there is little room, a step without a timer is named by the head of the page alone.
        has_title = not is_asking and not (self._is_low and view.step in UNTIMED)
        jar = f" · jar {view.jar_id}" if view.jar_id else ""
        self.title.say(said(view.title, decimal) + jar if has_title else "")
        self.sentences.show_texts([said(each, decimal) for each in view.instructions] if not is_asking else [])
        self.notes.show_texts([said(each, decimal) for each in view.notes] if not is_asking else [])
        before = self.list.open_line
        self.list.show_lines(view.closing if not is_asking else (), decimal)
        waiting = self.list.open_line
        if waiting is not None and before is not None and waiting.key != before.key:
            QTimer.singleShot(0, self, partial(self._bring, self.list.lines[waiting.key]))
        self._show_step(view, is_asking)
        if view.step is not self._step:
            self._step = view.step
            self.scroller.verticalScrollBar().setValue(0)

    def _bring(self, part: QWidget) -> None:
        """Scroll to what is to be done next."""
        self.scroller.ensureWidgetVisible(part, 0, GAP)

    def _show_step(self, view: RunView, is_asking: bool) -> None:
        is_grade = view.step is Step.GRADE and not is_asking
        if is_grade and self.grades.isHidden():
            self.grades.load_photos()
        self.grades.setVisible(is_grade)
        self.grades.show_grade(view.grade)
        self.weigh.setVisible(view.step is Step.WEIGH and not is_asking)

    def show_form(self, view: RunView, form: FormState | None, workspace: Workspace) -> None:
        """Show what the form holds: the masses, and the conditions that were reached."""
        wants = view.step is Step.WEIGH and not view.questions
        self.reached.show_reached(view.reached if wants else (), form, workspace.shown)
        if form is not None:
            self.weigh.show_state(form)
            self.why.show_state(form, is_wanted=wants)
