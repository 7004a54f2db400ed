"""The dialogs of the paper sheet and of the card of acts: the paper, how many records, and the preview."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QSignalBlocker, Signal
from PySide6.QtWidgets import QLabel, QSpinBox, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import TARGET, guard_from_wheel
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled
from stirfall.desktop.printing.jobs import PrintJob
from stirfall.desktop.printing.preview_model import PreviewModel
from stirfall.desktop.printing.print_dialog import PrintingDialog
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.label_sheet import PAPERS

if TYPE_CHECKING:
    from stirfall.desktop.printing.evening_drawing import EveningSheet
    from stirfall.desktop.workspace import Workspace

_MOST_COPIES = 50
_PAPER_WORDS = (
    "One attempt on each record, with the fields in the order of the bench form, so that it is typed in from top "
    "to bottom later. The last page holds all cautions."
)
_EVENING_WORDS = "The attempts in their order, each with a box to tick. The last page holds all cautions."
_CARD_WORDS = "Scan a code during a guided run instead of pressing a key. The codes are the same in every campaign."


class SheetModel(QObject):
    """Paper and number of records; it makes the job anew for each change.

    Signals:
        changed(): paper or copies.
    """

    changed = Signal()

    def __init__(
        self, workspace: Workspace, make: Callable[[str, int], PrintJob], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.preview = PreviewModel(workspace, self)
        self._make = make
        self.paper, self.copies = next(iter(PAPERS)), 1
        self.preview.set_job(make(self.paper, self.copies))

    def choose_paper(self, paper: str) -> None:
        """Take another paper."""
        self.paper = paper
        self._update()

    def choose_copies(self, copies: int) -> None:
        """Print this many records."""
        self.copies = copies
        self._update()

    def _update(self) -> None:
        self.preview.set_job(self._make(self.paper, self.copies))
        self.changed.emit()


class SheetDialog(PrintingDialog):
    """Shows one kind of sheet; ``has_copies`` for the records, of which one may want several."""

    def __init__(
        self,
        workspace: Workspace,
        parent: QWidget | None,
        make: Callable[[str, int], PrintJob],
        *,
        title: str,
        file_name: str,
        words: str,
        has_copies: bool,
    ) -> None:
        self.model = SheetModel(workspace, make)
        super().__init__(workspace, title, file_name, self.model.preview, parent)
        self.setObjectName("sheet_dialog")
        self.model.setParent(self)
        self.paper, self.copies = CalmCombo(), QSpinBox()
        guard_from_wheel(self.copies)
        self.lay_out(self._choices(words, has_copies=has_copies))
        self.paper.activated.connect(lambda _row: self.model.choose_paper(self.paper.currentData()))
        self.copies.valueChanged.connect(self.model.choose_copies)
        self.model.changed.connect(self.render_state)
        self.render_state()
        self.paper.setFocus()

    def _choices(self, words: str, *, has_copies: bool) -> QWidget:
        choices = QWidget()
        column = QVBoxLayout(choices)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        for paper in PAPERS:
            self.paper.addItem(paper, paper)
        self.paper.setObjectName("sheet_paper")
        self.copies.setObjectName("sheet_copies")
        self.copies.setRange(1, _MOST_COPIES)
        self.copies.lineEdit().setTextMargins(SPACING - 2, 0, 0, 0)
        label = labelled("&Records", self.copies)
        for part in (labelled("P&aper", self.paper), self.paper, label, self.copies):
            column.addWidget(part)
        for part in (label, self.copies):
            part.setVisible(has_copies)
        for editor in (self.paper, self.copies):
            editor.setMinimumHeight(TARGET)
        said = QLabel(words)
        said.setWordWrap(True)
        set_text_role(said, "muted")
        column.addWidget(said)
        return choices

    def render_state(self) -> None:
        """Show paper and copies."""
        self.paper.setCurrentIndex(self.paper.findData(self.model.paper))
        with QSignalBlocker(self.copies):
            self.copies.setValue(self.model.copies)


def paper_dialog(workspace: Workspace, parent: QWidget | None) -> SheetDialog | None:
    """Return the dialog of the paper sheet of the open campaign, None when none is open."""
    from stirfall.desktop.printing.paper_drawing import paper_job
    from stirfall.reporting.paper_sheet import make_paper_sheet

    if workspace.document is None:
        return None
    sheet = make_paper_sheet(workspace.document.state, decimal=workspace.decimal)
    return SheetDialog(
        workspace,
        parent,
        lambda paper, copies: paper_job(sheet, paper=paper, copies=copies),
        title="Paper sheet",
        file_name="paper-sheet.pdf",
        words=_PAPER_WORDS,
        has_copies=True,
    )


def evening_dialog(workspace: Workspace, sheet: EveningSheet, parent: QWidget | None) -> SheetDialog:
    """Return the dialog of the plan of an evening."""
    from stirfall.desktop.printing.evening_drawing import evening_job

    return SheetDialog(
        workspace,
        parent,
        lambda paper, _copies: evening_job(sheet, paper=paper),
        title="Plan of the evening",
        file_name="plan-of-the-evening.pdf",
        words=_EVENING_WORDS,
        has_copies=False,
    )


def card_dialog(workspace: Workspace, parent: QWidget | None) -> SheetDialog:
    """Return the dialog of the card of acts."""
    from stirfall.desktop.printing.card_drawing import card_job
    from stirfall.reporting.act_card import act_card

    return SheetDialog(
        workspace,
        parent,
        lambda paper, _copies: card_job(act_card(), paper=paper),
        title="Card of acts",
        file_name="card-of-acts.pdf",
        words=_CARD_WORDS,
        has_copies=False,
    )
