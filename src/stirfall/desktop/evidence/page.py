"""The evidence page: a switch of five sections, of which one is in front."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QApplication, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, TARGET, page_sheet
from stirfall.desktop.evidence.benches_section import BenchesSection
from stirfall.desktop.evidence.compare_section import CompareSection
from stirfall.desktop.evidence.drift_section import DriftSection
from stirfall.desktop.evidence.rivals_section import RivalsSection
from stirfall.desktop.evidence.why_section import WhySection
from stirfall.desktop.labelled import name_control
from stirfall.desktop.switch import Switch
from stirfall.desktop.theme import Theme, wear_sheet
from stirfall.desktop.workspace import Workspace

SECTIONS = ("compare", "drift", "why", "rivals", "benches")
_WORDS = {
    "compare": ("Is it chance?", "Whether two groups of attempts differ by more than chance"),
    "drift": ("Drift", "The attempts in time, and whether something has changed"),
    "why": ("Why", "What was different about an attempt that surprised, and at which gate it failed"),
    "rivals": ("Rival explanations", "What the attempts say of each explanation, and the pair that would tell"),
    "benches": ("Other benches", "Whether it holds for others: each bench of a pooled session, and a new one"),
}


class EvidencePage(QWidget):
    """Five sections: is it chance, drift, why, the rival explanations, and other benches.

    Signals:
        section_shown(str): the name of the section that is in front now.
    """

    section_shown = Signal(str)

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("evidence_page")
        self.workspace = workspace
        self.compare = CompareSection(workspace)
        self.drift = DriftSection(workspace)
        self.why = WhySection(workspace)
        self.rivals = RivalsSection(workspace)
        self.benches = BenchesSection(workspace)
        self.switch = Switch()
        self.stack = QStackedWidget()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self._on_document_opened()

    def _lay_out(self) -> None:
        self.switch.setObjectName("evidence_switch")
        for name in SECTIONS:
            word, description = _WORDS[name]
            made = self.switch.add_button(name, word)
            made.setObjectName(f"evidence_section_{name}")
            made.setMinimumHeight(TARGET)
            made.setToolTip(description)
            name_control(made, word, description)
        self.switch.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        for section in (self.compare, self.drift, self.why, self.rivals, self.benches):
            self.stack.addWidget(section)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        whole.addWidget(self.switch)
        whole.addWidget(self.stack, 1)

    def _connect(self) -> None:
        self.switch.chosen.connect(self.show_section)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self._on_document_opened)
        self.workspace.why_requested.connect(self.show_why)
        self.compare.front_wanted.connect(self.show_compare)
        self.drift.front_wanted.connect(self.show_drift)

    @property
    def section(self) -> str:
        """The name of the section in front."""
        return SECTIONS[self.stack.currentIndex()]

    def show_section(self, name: str) -> None:
        """Bring a section to the front."""
        self.stack.setCurrentIndex(SECTIONS.index(name))
        self.switch.show_current(name)
        if (front := QApplication.focusWidget()) is not None and self.switch.isAncestorOf(front):
            self.switch.button(name).setFocus(Qt.FocusReason.OtherFocusReason)  # not left on another section
        self.section_shown.emit(name)

    def show_why(self, attempt_id: str) -> None:
        """Say why an attempt came out as it did."""
        self.why.model.choose(attempt_id)
        self.show_section("why")

    def show_compare(self) -> None:
        """Bring the comparison to the front, for an act from the menus."""
        if self.section != "compare":
            self.show_section("compare")

    def show_drift(self) -> None:
        """Bring the drift to the front, for an act from the menus."""
        if self.section != "drift":
            self.show_section("drift")

    def _on_document_opened(self) -> None:
        self.show_section("compare")

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        wear_sheet(self, page_sheet, theme)
