"""The dialog "Pool sessions": add files, name benches, read what is found, say where the new session goes."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFileDialog,
    QGridLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading, page_sheet, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.pooling.model import PoolingModel
from stirfall.desktop.pooling.state import PoolingState, SourceEntry
from stirfall.desktop.theme import set_text_role, wear_sheet
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_FILES = "Sessions and packages (*.stirfall *.zip);;All files (*)"
_TAKES = (("runs", "guided runs"), ("grades", "second grades"), ("photos", "photos and temperature logs"))


class PoolingDialog(FramedDialog):
    """Edits a list of files; one new session when the person pools them.

    Signals:
        pooled(str): the place of the new session, to be opened.
    """

    pooled = Signal(str)

    def __init__(self, workspace: Workspace, folder: Path, parent: QWidget | None = None) -> None:
        super().__init__("Pool sessions", parent)
        self.setObjectName("pooling_dialog")
        self._folder = folder
        self.model = PoolingModel(workspace, folder, self)
        self.how = text_label(sentence("pooling.how"), "muted")
        self.add_files, self.add_folder = (
            button("Add &files…", "pooling_add_files"),
            button("Add a fo&lder…", "pooling_add_folder"),
        )
        self.verdict = wrapped_label("pooling_verdict", "heading")
        self.refusals = wrapped_label("pooling_refusals")
        self.notes_title, self.notes = heading("Done on the way"), wrapped_label("pooling_notes")
        self.title, self.out = QLineEdit(), QLineEdit()
        self.browse = button("&Browse…", "pooling_browse")
        self.takes: dict[str, QCheckBox] = {}
        self.benches: dict[str, QLineEdit] = {}
        self._rows: dict[str, _SourceRow] = {}
        self.files: QFileDialog | None = None
        content = QWidget()
        wear_sheet(content, page_sheet, workspace.theme)
        self._lay_out(content)
        self._verb = self.build(content, "&Pool them")
        self._connect()
        self.render_state(self.model.state)
        self.take_room(96 * GAP, 80 * GAP)

    # -- building ----------------------------------------------------------------------------------------

    def _lay_out(self, content: QWidget) -> None:
        whole = QVBoxLayout(content)
        whole.setContentsMargins(0, 0, GAP, 0)
        whole.setSpacing(GAP)
        holder = QWidget()
        self._list = QVBoxLayout(holder)
        self._list.setContentsMargins(0, 0, 0, 0)
        self._list.setSpacing(GAP)
        for part in (self.how, holder, row_of(self.add_files, self.add_folder), self.verdict, self.refusals):
            whole.addWidget(part)
        whole.addWidget(self._places())
        for part in (self.notes_title, self.notes):
            whole.addWidget(part)
        whole.addStretch(1)

    def _places(self) -> QWidget:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(2 * GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        for edit, name, hint in (
            (self.title, "pooling_title", "names the benches where it is empty"),
            (self.out, "pooling_out", ""),
        ):
            edit.setObjectName(name)
            edit.setPlaceholderText(hint)
            edit.setMinimumHeight(TARGET)
        grid.addWidget(labelled("&Title", self.title), 0, 0)
        grid.addWidget(self.title, 0, 1, 1, 2)
        grid.addWidget(labelled("&New session", self.out), 1, 0)
        grid.addWidget(self.out, 1, 1)
        grid.addWidget(self.browse, 1, 2)
        for what, words in _TAKES:
            box = QCheckBox(words)
            box.setObjectName(f"pooling_take_{what}")
            name_control(box, f"Take along {words}")
            self.takes[what] = box
        grid.addWidget(text_label("Take along", wrap=False), 2, 0)
        grid.addWidget(row_of(*self.takes.values()), 2, 1, 1, 2)
        return holder

    def _connect(self) -> None:
        model = self.model
        self.add_files.clicked.connect(self.ask_for_files)
        self.add_folder.clicked.connect(self.ask_for_folder)
        self.browse.clicked.connect(self.ask_for_place)
        self.title.textEdited.connect(model.set_title)
        self.out.textEdited.connect(model.set_out)
        for what, box in self.takes.items():
            box.toggled.connect(partial(self._take_along, what))
        self._verb.clicked.connect(model.write)
        model.changed.connect(self.render_state)
        model.written.connect(self._on_written)

    def _take_along(self, what: str, wanted: bool) -> None:
        self.model.take_along(what, wanted=wanted)

    def _on_written(self, place: str) -> None:
        self.accept()
        self.pooled.emit(place)

    # -- asking ------------------------------------------------------------------------------------------

    def _ask(self, title: str, mode: QFileDialog.FileMode) -> QFileDialog:
        dialog = QFileDialog(self, title, str(self._folder), _FILES)
        dialog.setFileMode(mode)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.files = dialog
        return dialog

    def ask_for_files(self) -> None:
        """Ask for session files and zips of packages."""
        dialog = self._ask("Sessions to pool", QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self.model.add)
        dialog.open()

    def ask_for_folder(self) -> None:
        """Ask for the folder of a package."""
        dialog = self._ask("Folder of a package", QFileDialog.FileMode.Directory)
        dialog.filesSelected.connect(self.model.add)
        dialog.open()

    def ask_for_place(self) -> None:
        """Ask where the new session goes."""
        dialog = self._ask("Place of the pooled session", QFileDialog.FileMode.AnyFile)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("stirfall")
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)  # nothing is written over
        dialog.selectFile(Path(self.model.state.out).name)
        dialog.fileSelected.connect(self.model.set_out)
        dialog.open()

    # -- showing -----------------------------------------------------------------------------------------

    def render_state(self, state: PoolingState) -> None:
        """Show a state; showing it twice changes nothing."""
        self._render_sources(state)
        working = sentence("pooling.working") if state.is_working else ""
        show_text(self.verdict, working or state.verdict)
        set_text_role(self.verdict, "muted" if state.is_working else "heading")
        show_text(self.refusals, "\n".join(f"• {text}" for text in state.refusals))
        set_text_role(self.refusals, "error")
        self.notes_title.setVisible(bool(state.notes))
        show_text(self.notes, "\n".join(f"• {text}" for text in state.notes))
        for edit, text in ((self.title, state.title), (self.out, state.out)):
            if edit.text() != text:
                with QSignalBlocker(edit):
                    edit.setText(text)
        for what, box in self.takes.items():
            with QSignalBlocker(box):
                box.setChecked(what in state.takes)
        self._verb.setEnabled(state.can_pool and not state.is_working)
        self.show_problem(state.problem)

    def _render_sources(self, state: PoolingState) -> None:
        for place in [place for place in self._rows if place not in {each.place for each in state.sources}]:
            row = self._rows.pop(place)
            self.benches.pop(place)
            row.hide()
            row.deleteLater()
        for entry in state.sources:
            if entry.place not in self._rows:
                row = _SourceRow(entry, self.model)
                self._rows[entry.place], self.benches[entry.place] = row, row.bench
                self._list.addWidget(row)
            self._rows[entry.place].show_entry(entry)

    def remove_button(self, place: str) -> QPushButton:
        """Return the button that leaves a file out again."""
        return self._rows[place].remove


class _SourceRow(QWidget):
    """One file: its name, the name of its bench, what it brings, and a way to leave it out."""

    def __init__(self, entry: SourceEntry, model: PoolingModel) -> None:
        super().__init__()
        self.bench = QLineEdit()
        self.bench.setObjectName("pooling_bench")
        self.bench.setMinimumHeight(TARGET)
        self.remove = button("Leave out", "pooling_remove")
        self._about = wrapped_label("pooling_about", "muted")
        name_control(self.bench, f"Bench of {entry.file_name}", "What this bench is called in the pooled session")
        name_control(self.remove, f"Leave out {entry.file_name}")
        name = QLabel(entry.file_name)
        name.setToolTip(entry.place)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(0)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        grid.addWidget(name, 0, 0)
        grid.addWidget(self.bench, 0, 1)
        grid.addWidget(self.remove, 0, 2)
        grid.addWidget(self._about, 1, 0, 1, 3)
        self.bench.textEdited.connect(partial(model.name_bench, entry.place))
        self.remove.clicked.connect(partial(_leave_out, model, entry.place))

    def show_entry(self, entry: SourceEntry) -> None:
        """Show what is known of the file."""
        if self.bench.text() != entry.bench:
            with QSignalBlocker(self.bench):
                self.bench.setText(entry.bench)
        self.bench.setEnabled(not entry.problem)
        set_text_role(self._about, "error" if entry.problem else "muted")
        show_text(self._about, entry.problem or entry.about)


def _leave_out(model: PoolingModel, place: str, _checked: bool = False) -> None:
    model.remove(place)
