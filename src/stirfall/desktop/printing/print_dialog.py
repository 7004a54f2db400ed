"""The frame of the printing dialogs: choices at the left, the preview at the right, saving and printing below."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import TARGET, button
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.printing.preview import Preview
from stirfall.desktop.printing.preview_model import PreviewModel, PreviewState
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import SPACING
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from PySide6.QtWidgets import QFileDialog

    from stirfall.desktop.workspace import Workspace

_WIDTH, _CHOICES = 124 * SPACING, 44 * SPACING
_NO_PRINTER = "No printer is set up on this computer. Save a PDF and print that."


class PrintingDialog(FramedDialog):
    """Shows a job, saves it as PDF or prints it; ``file_name`` is what the PDF is called unless told otherwise."""

    def __init__(
        self, workspace: Workspace, title: str, file_name: str, model: PreviewModel, parent: QWidget | None
    ) -> None:
        super().__init__(title, parent)
        self.workspace = workspace
        self.preview_model = model
        self.preview = Preview(model)
        self.asked: QFileDialog | QDialog | None = None
        self._file_name = file_name

    def lay_out(self, choices: QWidget) -> None:
        """Place the choices and build the foot."""
        choices.setFixedWidth(round(_CHOICES * self._larger()))
        choices.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        content = QWidget()
        row = QHBoxLayout(content)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(3 * SPACING)
        row.addWidget(choices, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.preview, 1)
        self.save = self.build(content, "&Save as PDF…", cancel="Close")
        self.print = button("&Print…", "dialog_print")
        self.add_act(self.print)
        for act in self.findChildren(QPushButton):
            act.setMinimumHeight(TARGET)
        self.save.clicked.connect(self.ask_where_to_save)
        self.print.clicked.connect(self.ask_for_printer)
        self.preview_model.changed.connect(self._render_foot)
        self.finished.connect(lambda _result: self.preview_model.leave())
        self._render_foot(self.preview_model.state)
        self.preview_model.find_printers(_printer_names)
        self.fit(min(_WIDTH, self.screen().availableSize().width() - 6 * SPACING))

    def ask_where_to_save(self) -> None:
        """Ask for a place and write the PDF there."""
        self.asked = ask_where(
            self,
            self.windowTitle(),
            document=self.workspace.document,
            name=self._file_name,
            file_filter="PDF (*.pdf)",
            done=self.preview_model.save,
        )

    def ask_for_printer(self) -> None:
        """Ask for a printer and print; pages keep their true size."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter

        from stirfall.desktop.printing.jobs import page_layout

        job = self.preview_model.state.job
        if job is None:
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setPageLayout(page_layout(job))
        dialog = QPrintDialog(printer, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(lambda: self.preview_model.print_on(printer))
        QDialog.open(dialog)
        self.asked = dialog

    def _render_foot(self, state: PreviewState) -> None:
        self.save.setEnabled(state.job is not None)
        self.print.setEnabled(state.job is not None and state.printers is True)
        self.print.setToolTip(_NO_PRINTER if state.printers is False else "Print")
        self.print.setAccessibleDescription(_NO_PRINTER if state.printers is False else "")
        problem = state.problem
        self.show_problem(
            sentence(problem.code, problem.params, decimal=self.workspace.decimal) if problem is not None else ""
        )

    def _larger(self) -> float:
        from stirfall.desktop.theme import BODY_PT

        return max(self.font().pointSizeF() / BODY_PT, 1.0)


def _printer_names() -> object:
    from PySide6.QtPrintSupport import QPrinterInfo

    return QPrinterInfo.availablePrinterNames()
