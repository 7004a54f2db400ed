"""The plan page: a switch of three sections, of which one is in front."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, TARGET, button, page_sheet
from stirfall.desktop.labelled import name_control
from stirfall.desktop.plan.proof_section import ProofSection
from stirfall.desktop.plan.rehearsal_section import RehearsalSection
from stirfall.desktop.plan.tonight_section import TonightSection
from stirfall.desktop.switch import Switch
from stirfall.desktop.theme import Theme, wear_sheet
from stirfall.desktop.workspace import Workspace

SECTIONS = ("tonight", "proof", "rehearsal")
_WORDS = {
    "tonight": ("Tonight", "Which jars to open in which order, and which to start"),
    "proof": ("Proof", "Show that a recipe keeps what it promises"),
    "rehearsal": ("Rehearsal", "How many attempts and weeks to expect"),
}


class PlanPage(QWidget):
    """Three sections in the order of their use: tonight, the proof, the rehearsal.

    Signals:
        section_shown(str): the name of the section that is in front now.
    """

    section_shown = Signal(str)

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("plan_page")
        self.workspace = workspace
        self.tonight = TonightSection(workspace)
        self.proof = ProofSection(workspace)
        self.rehearsal = RehearsalSection(workspace)
        self.switch = Switch()
        self.stack = QStackedWidget()
        self.how_you_work = button("How you work…", "plan_working")
        name_control(
            self.how_you_work, "How you work", "Hours, bench days, the target, and how well factors are held"
        )
        self.dialog: QDialog | None = None
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self._on_document_opened()

    def _lay_out(self) -> None:
        self.switch.setObjectName("plan_switch")
        for name in SECTIONS:
            word, description = _WORDS[name]
            made = self.switch.add_button(name, word)
            made.setObjectName(f"plan_section_{name}")
            made.setMinimumHeight(TARGET)
            made.setToolTip(description)
            name_control(made, word, description)
        self.switch.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        head = QWidget()
        row = FlowLayout(head)
        row.addWidget(self.switch)
        row.addWidget(self.how_you_work)
        for section in (self.tonight, self.proof, self.rehearsal):
            self.stack.addWidget(section)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        whole.addWidget(head)
        whole.addWidget(self.stack, 1)

    def _connect(self) -> None:
        self.switch.chosen.connect(self.show_section)
        self.how_you_work.clicked.connect(self.open_working)
        self.proof.front_wanted.connect(lambda: self.show_section("proof"))
        self.rehearsal.model.front_wanted.connect(lambda: self.show_section("rehearsal"))
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self._on_document_opened)

    @property
    def section(self) -> str:
        """The name of the section in front."""
        return SECTIONS[self.stack.currentIndex()]

    def show_section(self, name: str) -> None:
        """Bring a section to the front."""
        self.stack.setCurrentIndex(SECTIONS.index(name))
        self.switch.show_current(name)
        self.section_shown.emit(name)

    def open_working(self) -> None:
        """Open the dialog that asks how the person works."""
        from stirfall.desktop.plan.working_dialog import WorkingDialog

        if self.workspace.document is not None:
            self.dialog = WorkingDialog(self.workspace, self.window())
            self.dialog.open()

    def _on_document_opened(self) -> None:
        self.show_section("tonight")
        document = self.workspace.document
        self.how_you_work.setEnabled(document is not None and not document.read_only)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        wear_sheet(self, page_sheet, theme)
