"""The dialog of a table on its way in: three parts, one verb; nothing is written before the verb is pressed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QFileDialog, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, button, page_sheet
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.importing.columns_part import ColumnsPart
from stirfall.desktop.importing.model import ImportModel
from stirfall.desktop.importing.preview_part import PreviewPart
from stirfall.desktop.importing.state import ImportState, parts
from stirfall.desktop.importing.words_part import WordsPart
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.theme import wear_sheet
from stirfall.reporting.shares import counted
from stirfall.storage.import_cells import TABLE_SUFFIXES

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import Clock

TABLE_FILTER = "Tables (*.csv *.tsv *.txt *.xlsx);;All files (*)"
_EMPTY = (
    "Choose a table of attempts: CSV, TSV or XLSX, one row for each attempt, with headings. What its "
    "columns mean is "
    "guessed and shown, and nothing is written before you say so."
)


class ImportDialog(FramedDialog):
    """Shows how a table is understood, lets everything be changed, and writes it.

    Signals:
        new_wanted(str): a new session shall be made of the table; the name to propose for its file.
        made(str): a new session was made at this place.
    """

    new_wanted = Signal(str)
    made = Signal(str)

    def __init__(self, workspace: Workspace, parent: QWidget | None = None, *, clock: Clock | None = None) -> None:
        super().__init__("Import a table", parent)
        self.setObjectName("import_dialog")
        self._workspace = workspace
        self.model = ImportModel(workspace, self, clock=clock)
        self.setAcceptDrops(True)
        self.files: QFileDialog | None = None
        self.folder = ""
        self.message = wrapped_label("import_message")
        self.parts = ChoiceRow("Part:", "import_part")
        self.columns, self.words = ColumnsPart(self.model), WordsPart(self.model)
        self.preview = PreviewPart(self.model, workspace)
        self._parts: dict[str, ColumnsPart | WordsPart | PreviewPart] = {
            "columns": self.columns,
            "words": self.words,
            "preview": self.preview,
        }
        content = QWidget()
        wear_sheet(content, page_sheet, workspace.theme)
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, GAP, 0)
        column.setSpacing(GAP)
        self.choose = button("Choose a &file…", "import_choose")
        for widget in (self.parts, self.message, row_of(self.choose)):
            column.addWidget(widget)
        for part in self._parts.values():
            column.addWidget(part, 1)
        self.verb = self.build(content, "Take them in")
        self.verb.setAutoDefault(False)
        self.verb.setDefault(False)  # Enter belongs to the fields; what is written is pressed on purpose
        self._connect()
        self.render_state(self.model.state)
        self.take_room(1180, 760)

    def _connect(self) -> None:
        model = self.model
        self.verb.clicked.connect(self._accept_table)
        self.parts.chosen.connect(model.show_part)
        self.choose.clicked.connect(self.ask_for_file)
        self.columns.file.another_wanted.connect(self.ask_for_file)
        model.changed.connect(self.render_state)
        model.taken_in.connect(self._on_taken_in)
        model.made.connect(self._on_made)
        self._workspace.document_opened.connect(self.reject)

    # -- rendering ---------------------------------------------------------------------------------

    def render_state(self, state: ImportState) -> None:
        """Show a state; a part that is not in front is filled when it comes there."""
        has_table = state.table is not None
        self.parts.setVisible(has_table)
        self.choose.setVisible(not has_table and not state.busy)
        self.parts.show_choices(parts(state), state.part)
        if has_table:
            self._parts[state.part].render_state(state)
        for name, part in self._parts.items():
            part.setVisible(has_table and name == state.part)
        text = "" if has_table else (f"{state.busy}…" if state.busy else _EMPTY if not state.trouble else "")
        show_text(self.message, text)
        self.setWindowTitle(f"Import a table: {state.name}" if state.name else "Import a table")
        self._render_foot(state)

    def _render_foot(self, state: ImportState) -> None:
        found = state.imported
        count = counted(len(found.attempts), "attempt") if found is not None else "them"
        into = "" if self.model.into else ", as a new session…"
        self.verb.setText(f"{state.busy}…" if state.busy else f"&Take in {count}{into}")
        name_control(self.verb, self.verb.text().replace("&", ""), "Writes in one step, which undo takes back")
        self.verb.setEnabled(state.may_accept)
        self.show_problem(state.in_the_way(self._workspace.decimal))

    # -- acting ------------------------------------------------------------------------------------

    def ask_for_file(self) -> None:
        """Ask for the file of a table."""
        dialog = QFileDialog(self, "Import a table", self.folder, TABLE_FILTER)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.fileSelected.connect(self.model.start)
        self.files = dialog
        dialog.open()

    def _accept_table(self) -> None:
        if self.model.into:
            self.model.accept()
        else:
            self.new_wanted.emit(Path(self.model.state.name).stem)

    def _on_taken_in(self, text: str) -> None:
        self._workspace.notifier.info(text, "Undo", self._workspace.undo)
        self._workspace.show_page("attempts")
        self.accept()

    def _on_made(self, path: str) -> None:
        self.accept()
        self.made.emit(path)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome one table."""
        if dropped_table(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Read the table that was dropped."""
        path = dropped_table(event)
        if path is not None:
            event.acceptProposedAction()
            self.model.start(path)


def dropped_table(event: QDropEvent) -> str | None:
    """Return the place of the one table that is dropped, None where it is none or several."""
    paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
    tables = [path for path in paths if path.lower().endswith(TABLE_SUFFIXES)]
    return tables[0] if len(tables) == 1 and len(paths) == 1 else None
