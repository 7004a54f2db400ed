"""The foot of the run page: what was last said, what stands in the way, and every act as a large button."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from stirfall.bench.running import FIRST_MERGING, FIRST_POWDER, SMOKE, SPILL, Step
from stirfall.desktop.bench_form.look import unbroken
from stirfall.desktop.run.big_button import BigButton, ButtonGrid
from stirfall.desktop.run.look import GAP, SMALL, RunLabel
from stirfall.desktop.run.shapes import Shape, ShapeSign
from stirfall.desktop.run.words import clock_time, said, step_name
from stirfall.session.run_shown import RunView

MARK_KEYS = {Qt.Key.Key_P: FIRST_POWDER, Qt.Key.Key_M: FIRST_MERGING, Qt.Key.Key_S: SMOKE, Qt.Key.Key_L: SPILL}
_SEEN_STEPS = (Step.HEAT, Step.HOLD, Step.ADDITIVE, Step.STIR, Step.SETTLE, Step.COOL, Step.LIFT)


class Foot(QWidget):
    """Holds the buttons; which of them a step has follows from the view."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_foot")
        self.blocked_sign = ShapeSign(Shape.CAUTION, "caution", 28)
        self.blocked = RunLabel(SMALL, bold=True, name="run_blocked")
        self.last = RunLabel(SMALL, bold=True, name="run_last_done")
        self._said = ""
        self.back = BigButton("Back", "run_back", key="Backspace")
        self.marks = {
            FIRST_POWDER: BigButton("First powder", "run_powder", key="P"),
            FIRST_MERGING: BigButton("First merging", "run_merging", key="M"),
            SMOKE: BigButton("Smoke", "run_smoke", key="S"),
            SPILL: BigButton("Spill", "run_spill", key="L"),
        }
        self.note = BigButton("Note", "run_note", key="N")
        self.mark = BigButton("Mark", "run_mark", key="Enter")
        self.next = BigButton("Next", "run_next", key="Space", kind="primary")
        self.grid = ButtonGrid((self.back, *self.marks.values(), self.note, self.mark, self.next))
        self._way = QWidget()
        blocked = QHBoxLayout(self._way)
        blocked.setContentsMargins(0, 0, 0, 0)
        blocked.setSpacing(GAP)
        blocked.addWidget(self.blocked_sign)
        blocked.addWidget(self.blocked, 1)
        self._lines = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._lines.setSpacing(GAP // 2)
        self._lines.addWidget(self.last, 2)
        self._lines.addWidget(self._way, 3)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP // 2)
        column.addLayout(self._lines)
        column.addWidget(self.grid)
        for part in (self._way, self.last):
            part.hide()

    def show_view(self, view: RunView, typed: str, undo: str, decimal: str) -> None:
        """Show the acts of the step; ``typed`` is the number that Enter would take, ``undo`` what can be undone."""
        done = view.last_done
        last = f"{clock_time(done.at)}  {said(done.what, decimal)}" if done is not None else ""
        self.last.say(f"{last}\nCtrl+Z: undo {undo}" if undo and not self.next.is_low else last)
        # A question in front says by itself that it comes first.
        blocked = self._said or ("" if view.questions else _blocked(view, decimal))
        self.blocked.say(blocked)
        self._way.setVisible(bool(blocked))
        changed = [
            self.back.want(view.previous_step is not None and not view.given_up),
            self.mark.want(bool(typed) or (bool(view.next_mark) and view.step in _SEEN_STEPS)),
            *(self.marks[word].want(view.step in _SEEN_STEPS or word in (SMOKE, SPILL)) for word in self.marks),
        ]
        is_low = self.next.is_low
        back = f"Back to {view.previous_step.value}" if view.previous_step and not is_low else "Back"
        mark = "Mark" if is_low else f"Mark {view.next_mark or 'it'}"
        words = (
            (self.back, back),
            (self.mark, f"Take {unbroken(typed)}" if typed else mark),
            (self.next, next_words(view, is_low=is_low)),
        )
        for button, word in words:
            if button.text() != word:
                button.say(word)
                changed.append(True)
        if any(changed):
            self.grid.place()

    def stand(self, *, beside: bool) -> None:
        """Put what stands in the way beside what was done last, or below it."""
        directions = QBoxLayout.Direction
        self._lines.setDirection(directions.LeftToRight if beside else directions.TopToBottom)
        for place, share in enumerate((2, 3) if beside else (0, 0)):
            self._lines.setStretch(place, share)

    def set_low(self, is_low: bool) -> None:
        """Take less height: the keys beside the words, and fewer words."""
        for button in self.grid.buttons:
            button.set_low(is_low)
        self.grid.place()

    def say(self, text: str) -> None:
        """Show a sentence in place of what stands in the way, "" for none, when the view is shown next."""
        self._said = text


def _blocked(view: RunView, decimal: str) -> str:
    if view.blocked is not None and view.blocked.code == "bench.missing.reason":
        return "Say why it is right all the same: it is kept with the attempt."
    return said(view.blocked, decimal)


def next_words(view: RunView, *, is_low: bool = False) -> str:
    """Return what the next step is called on its button; shorter where there is little room."""
    if view.step is Step.WEIGH:
        return "Record"
    if view.next_step is None:
        return "End the run"
    return "Next" if is_low else f"Next: {step_name(view.next_step)}"
