"""What opens in the run on a key: a note, and the question whether the run is given up."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLineEdit, QVBoxLayout

from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.look import APART, GAP, SMALL, TITLE, WIDE_GAP, RunLabel


class WordsPanel(QFrame):
    """One line of words with two buttons, far apart; closing it keeps what was typed for the next time.

    Signals:
        given(str): the words were given.
        opened(), closed(): the panel was opened, closed.
    """

    given = Signal(str)
    opened = Signal()
    closed = Signal()

    def __init__(self, name: str, title: str, says: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setProperty("runFrame", "raised")
        self.title = RunLabel(TITLE, bold=True)
        self.title.setText(title)
        self.says = RunLabel(SMALL)
        self.says.setText(says)
        self.line = QLineEdit()
        self.line.setObjectName(f"{name}_line")
        self.line.setProperty("runField", "true")
        self.line.setAccessibleName(title)
        self.line.returnPressed.connect(self.give)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(WIDE_GAP, WIDE_GAP, WIDE_GAP, WIDE_GAP)
        self._column.setSpacing(GAP)
        for part in (self.title, self.says, self.line):
            self._column.addWidget(part)
        self.hide()

    def add_buttons(self, first: BigButton, last: BigButton) -> None:
        """Put two buttons below the line, with more than the usual gap between them."""
        row = QHBoxLayout()
        row.setSpacing(4 * APART)
        row.addWidget(first, 1)
        row.addWidget(last, 1)
        self._column.addLayout(row)

    def open(self) -> None:
        """Show the panel and give it the keyboard."""
        self.show()
        self.line.setFocus()
        self.opened.emit()

    def close_panel(self) -> None:
        """Hide the panel; what was typed stays in it."""
        if not self.isHidden():
            self.hide()
            self.closed.emit()

    def give(self) -> None:
        """Give the words, unless there are none."""
        text = self.line.text().strip()
        if text:
            self.line.clear()
            self.close_panel()
            self.given.emit(text)


class NotePanel(WordsPanel):
    """A note for the record of the run."""

    def __init__(self) -> None:
        super().__init__("run_note_panel", "Note", "It is kept with the time of this moment.")
        self.back = BigButton("Back to the step", "run_note_close", key="Esc")
        self.keep = BigButton("Keep the note", "run_note_keep", key="Enter", kind="primary")
        self.back.clicked.connect(self.close_panel)
        self.keep.clicked.connect(self.give)
        self.add_buttons(self.back, self.keep)


class GiveUpPanel(WordsPanel):
    """Asks once before a run is given up, and says what that means."""

    def __init__(self) -> None:
        super().__init__(
            "run_give_up_panel",
            "Give up this run?",
            "What is on record stays, the attempt is recorded as aborted, and the closing list comes next. Why?",
        )
        self.go_on = BigButton("Go on with the run", "run_go_on", key="Esc", kind="primary")
        self.give_up = BigButton("Give up the run", "run_give_up_now", kind="danger")
        self.give_up.setEnabled(False)
        self.line.textChanged.connect(lambda text: self.give_up.setEnabled(bool(text.strip())))
        self.line.returnPressed.disconnect(self.give)  # Enter must not end a run
        self.go_on.clicked.connect(self.close_panel)
        self.give_up.clicked.connect(self.give)
        self.add_buttons(self.go_on, self.give_up)
