"""Asks for a note before a recipe is issued, and says what issuing means."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, TARGET, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import labelled

_WORDS = (
    "The recipe is kept in the session with its number and its evidence, and stays as it is whatever is recorded "
    "later. Issued recipes can be shown again and compared."
)
_WIDTH = 560


class IssueDialog(FramedDialog):
    """One line for the note.

    Signals:
        agreed(str): issue it, with this note.
    """

    agreed = Signal(str)

    def __init__(self, chance: str, parent: QWidget | None) -> None:
        super().__init__("Issue this recipe", parent)
        self.setObjectName("issue_dialog")
        self.note = QLineEdit()
        self.note.setObjectName("issue_note")
        self.note.setMinimumHeight(TARGET)
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(text_label(f"Chance of a clean separation: {chance}."))
        column.addWidget(text_label(_WORDS, "muted"))
        column.addWidget(labelled("&Note, such as why it is issued", self.note))
        column.addWidget(self.note)
        self.build(content, "&Issue").clicked.connect(self._agree)
        self.fit(_WIDTH)
        self.note.setFocus()

    def _agree(self) -> None:
        self.agreed.emit(self.note.text())
        self.accept()
