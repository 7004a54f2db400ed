"""What a run must ask when it is taken up again: one question at a time, with large answers."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.run.big_button import BigButton, ButtonGrid
from stirfall.desktop.run.look import APART, GAP, SENTENCE, SMALL, TITLE, RunLabel
from stirfall.desktop.run.words import said
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.session.run_shown import Question


class AskPart(QWidget):
    """Shows the first question that is open.

    Signals:
        answered(str, str): key of the question, and the answer.
    """

    answered = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_questions")
        self._question: Question | None = None
        self._theme: Theme = LIGHT
        self.count = RunLabel(SMALL, name="run_question_count")
        self.text = RunLabel(TITLE, bold=True, name="run_question")
        self.problem = RunLabel(SENTENCE, bold=True, name="run_question_problem")
        self.buttons: list[BigButton] = []
        self.grid = ButtonGrid(most=4)
        self.time = QLineEdit()
        self.time.setObjectName("run_answer_time")
        self.time.setProperty("runField", "true")
        self.time.setPlaceholderText("or how long, such as 2 min")
        self.time.returnPressed.connect(self._take_time)
        self.take = BigButton("Take this time", "run_answer_take", key="Enter")
        self.take.clicked.connect(self._take_time)
        self._time_row = QWidget()
        row = QHBoxLayout(self._time_row)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(APART)
        row.addWidget(self.time, 2)
        row.addWidget(self.take, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * GAP)
        for part in (self.count, self.text, self.problem, self.grid, self._time_row):
            column.addWidget(part)
        self.hide()

    def dress(self, theme: Theme) -> None:
        """Remember the theme for answers to come."""
        self._theme = theme
        self.problem.dress(theme, role="danger")

    def show_questions(self, questions: tuple[Question, ...], decimal: str) -> None:
        """Show the first question; the same again leaves what is being typed."""
        question = questions[0] if questions else None
        self.setVisible(question is not None)
        if question is None or question == self._question:
            self._question = question
            return
        is_new = self._question is None or self._question.key != question.key
        self._question = question
        left = len(questions)
        self.count.say(f"The run was interrupted. {left} {'question' if left == 1 else 'questions'} first.")
        self.text.say(said(question.text, decimal))
        self.setAccessibleName(self.text.text())
        self.problem.say(said(question.problem, decimal))
        self._show_answers(question)
        self._time_row.setVisible(question.takes_time)
        self.time.setAccessibleName(f"{self.text.text()} A time, such as 2 min")
        if is_new:
            self.time.clear()

    def _show_answers(self, question: Question) -> None:
        while len(self.buttons) < len(question.answers):
            place = len(self.buttons)
            button = BigButton("", f"run_answer_{place + 1}", key=str(place + 1), base=SENTENCE)
            button.dress(self._theme)
            button.clicked.connect(lambda _on=False, chosen=place: self.choose(chosen))
            self.buttons.append(button)
        for place, button in enumerate(self.buttons):
            is_used = place < len(question.answers)
            if is_used:
                button.say(titled(question.answers[place]))
            button.want(is_used)
        self.grid.hold(tuple(self.buttons))

    def choose(self, place: int) -> bool:
        """Give the answer at a place, as its button does; False when there is none."""
        if self._question is None or not 0 <= place < len(self._question.answers):
            return False
        self.answered.emit(self._question.key, self._question.answers[place])
        return True

    def _take_time(self) -> None:
        if self._question is not None and self.time.text().strip():
            self.answered.emit(self._question.key, self.time.text().strip())
