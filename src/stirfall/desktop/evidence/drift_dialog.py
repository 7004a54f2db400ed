"""The dialog "Mark a change": since when, what, and in which words."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.bench.issued import MarkKind
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, page_sheet, text_label
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.evidence.drift_model import DriftModel
from stirfall.desktop.labelled import labelled
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.shelf.forms import moment, read_moment, show_moment
from stirfall.desktop.theme import wear_sheet
from stirfall.reporting.drift_words import KIND_WORDS
from stirfall.reporting.sentences import sentence


class MarkDialog(FramedDialog):
    """One command when the person marks; Escape leaves without a change."""

    def __init__(self, model: DriftModel, parent: QWidget | None = None) -> None:
        super().__init__("Mark a change", parent)
        self.setObjectName("drift_mark_dialog")
        self.model = model
        self._kind = MarkKind.OIL.value
        self.when = moment("drift_mark_when", self._changed)
        self.when.setMinimumHeight(TARGET)
        self.kinds = ChoiceRow("What was changed", "drift_mark_kind")
        self.words = ValueEdit("drift_mark_words")
        self.words.setPlaceholderText("such as: new bottle of oil, from the second can")
        content = QWidget()
        wear_sheet(content, page_sheet, model.workspace.theme)
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, GAP, 0)
        column.setSpacing(HALF_GAP)
        column.addWidget(text_label(sentence("drift.mark_about"), "muted"))
        for words, editor in (
            ("In words", self.words),
            ("What was changed", self.kinds),
            ("Since", self.when),
        ):
            column.addSpacing(GAP)
            column.addWidget(labelled(words, editor))
            column.addWidget(editor)
        column.addStretch(1)
        self.kinds.chosen.connect(self._choose)
        self._choose(self._kind)
        if (now := model.now()) is not None:
            show_moment(self.when, now)
        self.verb = self.build(content, "&Mark")
        self.verb.clicked.connect(self._mark)
        self.words.textChanged.connect(self._changed)
        self._changed()
        self.fit(64 * GAP)
        self.words.setFocus()

    def _choose(self, kind: str) -> None:
        self._kind = kind
        self.kinds.show_choices(tuple(KIND_WORDS.items()), kind)

    def _changed(self, *_unused: object) -> None:
        if hasattr(self, "verb"):
            self.verb.setEnabled(bool(self.words.text().strip()))
            self.show_problem("")

    def _mark(self) -> None:
        if self.model.mark(read_moment(self.when), self._kind, self.words.text()):
            self.accept()
