"""Who stirred and with which tool: two short lines that remember their words and are never required."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtWidgets import QCompleter, QGridLayout, QWidget

from stirfall.bench.campaign import CampaignState
from stirfall.desktop.bench_form.form import Form
from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.labelled import labelled
from stirfall.session.drift_marks import known_words

_LINES = (("operator", "Who"), ("tool", "Tool"))


class WhoEdit(QWidget):
    """Two lines beside each other; what was typed before in this session is offered while typing.

    Signals:
        typed(str, str): "operator" or "tool", and its text.
    """

    typed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        self.edits: dict[str, ValueEdit] = {}
        self._offers: dict[str, QStringListModel] = {}
        self._campaign: CampaignState | None = None
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        grid.setColumnStretch(3, 1)
        for place, (name, word) in enumerate(_LINES):
            edit = ValueEdit(name)
            edit.setPlaceholderText("not noted")
            offer = QStringListModel(edit)
            completer = QCompleter(offer, edit)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            edit.setCompleter(completer)
            edit.textChanged.connect(partial(self._tell, name))
            grid.addWidget(labelled(word, edit, description="Kept for the next attempt"), 0, 2 * place)
            grid.addWidget(edit, 0, 2 * place + 1)
            self.edits[name], self._offers[name] = edit, offer

    def _tell(self, name: str, text: str) -> None:
        # A word taken from the list is no typing, so every change counts; what is shown by the state is the same.
        self.typed.emit(name, text)

    def show_state(self, form: Form, campaign: CampaignState) -> None:
        """Show both lines, and offer the words that the session knows."""
        for name, edit in self.edits.items():
            edit.show_text(str(getattr(form, name)))
        if campaign is not self._campaign:
            self._campaign = campaign
            for name, words in known_words(campaign).items():
                self._offers[name].setStringList(list(words))


def words_in_short(form: Form) -> str:
    """Return who and tool in a few words, so that what is remembered is seen while it is folded away."""
    return ", ".join(word for word in (form.operator.strip(), form.tool.strip()) if word)
