"""The second part: every word of the outcome, and what it means."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, text_label
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.importing.state import ImportState, result_choices
from stirfall.desktop.labelled import labelled
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import show_text

if TYPE_CHECKING:
    from stirfall.desktop.importing.model import ImportModel

MOST_SHOWN = 200
_CHOOSE = "choose what it means"
_NONE = (
    "No column is an outcome that is told in words. Choose the column of the outcome, of gate 1 or of the"
    " clean ones "
    "in the first part."
)
_ABOUT = (
    "What each word of the table says of the outcome. “Clean” and “not clean” without gates are kept as "
    "counts: they "
    "do not say which gate failed."
)


class WordsPart(QWidget):
    """One row for each word: the word, how often it stands there, and a chooser."""

    def __init__(self, model: ImportModel) -> None:
        super().__init__()
        self._model = model
        self.about = wrapped_label("import_words_about", "muted")
        self.more = wrapped_label("import_words_more")
        self.choosers: dict[tuple[int, str], CalmCombo] = {}
        self._shown: tuple[object, ...] = ()
        self._holder = QWidget()
        self._grid = QGridLayout(self._holder)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._grid.setColumnStretch(3, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        for part in (self.about, self._holder, self.more):
            column.addWidget(part)
        column.addStretch(1)

    def render_state(self, state: ImportState) -> None:
        """Show the words of the outcome columns."""
        plan = state.plan
        words = () if plan is None else plan.words[:MOST_SHOWN]
        self.about.setText(_ABOUT if words else _NONE)
        hidden = 0 if plan is None else len(plan.words) - len(words)
        show_text(self.more, f"And {hidden} more: that many words are hardly outcomes." if hidden > 0 else "")
        shown = tuple((each.key, each.count, result_choices(state, each.place)) for each in words)
        if shown != self._shown:
            self._build(state)
            self._shown = shown
        for each in words:
            chooser = self.choosers[each.key]
            with QSignalBlocker(chooser):
                chooser.setCurrentIndex(max(0, chooser.findData("" if each.result is None else str(each.result))))

    def _build(self, state: ImportState) -> None:
        while (item := self._grid.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        self.choosers = {}
        if state.plan is None:
            return
        several = len({each.place for each in state.plan.words}) > 1
        for row, each in enumerate(state.plan.words[:MOST_SHOWN]):
            chooser = CalmCombo()
            chooser.setObjectName(f"import_word_{row}")
            chooser.setMinimumHeight(TARGET)
            chooser.setMinimumContentsLength(26)
            chooser.addItem(_CHOOSE, "")
            for key, words in result_choices(state, each.place):
                chooser.addItem(words, key)
            heading = state.plan.column(each.place).heading
            title = f"{heading}: “{each.word[:40]}”" if several else f"“{each.word[:40]}”"
            rows = "1 row" if each.count == 1 else f"{each.count} rows"
            self._grid.addWidget(
                labelled(title.replace("&", "&&"), chooser, description=f"What it means, in {rows}"), row, 0
            )
            self._grid.addWidget(text_label(rows, "muted", wrap=False), row, 1)
            self._grid.addWidget(chooser, row, 2)
            chooser.activated.connect(partial(self._chosen, each.place, each.word, chooser))
            self.choosers[each.key] = chooser

    def _chosen(self, place: int, word: str, chooser: CalmCombo, _at: int) -> None:
        self._model.set_word(place, word, str(chooser.currentData() or ""))
