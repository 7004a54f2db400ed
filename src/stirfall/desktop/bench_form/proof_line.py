"""The line of the bench form that says whether the attempt counts for the running proof."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox, QFrame, QHBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET
from stirfall.desktop.bench_form.proof_mark import ProofMark
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.theme import set_surface_role
from stirfall.reporting.sentences import sentence


class _WholeBox(QCheckBox):
    """A box that takes a click anywhere in its rectangle, for fingers in gloves."""

    def hitButton(self, pos: QPoint) -> bool:
        """Take the whole height."""
        return self.rect().contains(pos)


class ProofLine(QFrame):
    """A box to tick before the outcome is known, and one sentence; gone while no proof is running.

    Signals:
        chosen(bool): the attempt shall count, or shall not.
    """

    chosen = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("proof_line")
        self.setAccessibleName("The running proof")
        set_surface_role(self, "note")
        self.box = _WholeBox("Counts for the proof")
        self.box.setObjectName("counts_for_proof")
        self.box.setMinimumHeight(TARGET)
        self.said = wrapped_label("proof_said")
        row = QHBoxLayout(self)
        row.setContentsMargins(GAP + HALF_GAP, 0, GAP, 0)
        row.setSpacing(GAP)
        row.addWidget(self.box)
        row.addWidget(self.said, 1)
        self.box.toggled.connect(self.chosen)
        self.setVisible(False)

    def show_state(self, mark: ProofMark | None, decimal: str) -> None:
        """Show the mark; showing it twice changes nothing."""
        self.setVisible(mark is not None)
        if mark is None:
            return
        with QSignalBlocker(self.box):
            self.box.setChecked(mark.counts)
        self.box.setEnabled(not mark.locked)
        self.said.setText(sentence(mark.said.code, mark.said.params, decimal=decimal))
        self.box.setAccessibleDescription(self.said.text())
