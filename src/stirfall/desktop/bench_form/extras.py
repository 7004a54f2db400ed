"""The optional part of the bench form: masses, note and photos, folded away until wanted."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.form import MASS_NAMES
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, set_flag, text_label, titled
from stirfall.desktop.bench_form.photos import FILE_FILTER, photo_of_image
from stirfall.desktop.bench_form.state import MASS_LABELS, FormState
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.notifier import Notice
from stirfall.reporting.sentences import sentence

_CLOSED, _OPEN = "▸", "▾"


class Fold(QWidget):
    """A titled part that is folded away until its button is pressed."""

    def __init__(self, title: str, name: str, content: QWidget) -> None:
        super().__init__()
        self._title = title
        self.toggle = button(f"{_CLOSED} {title}", name)
        self.toggle.setCheckable(True)
        self.toggle.setProperty("kind", "fold")
        self.toggle.setAccessibleName(title)
        self.content = content
        content.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.toggle)
        column.addWidget(content)
        self.toggle.toggled.connect(self._fold)
        self._fold(False)

    def _fold(self, is_open: bool) -> None:
        self.content.setVisible(is_open)
        self.toggle.setText(f"{_OPEN if is_open else _CLOSED} {self._title}")
        self.toggle.setAccessibleDescription("open" if is_open else "folded")


class MassesEdit(QWidget):
    """The weighings in grams; an empty line means not weighed.

    Signals:
        typed(str, str): name of the mass and its raw text.
    """

    typed = Signal(str, str)

    def __init__(self) -> None:
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        self.edits: dict[str, ValueEdit] = {}
        for index, name in enumerate(MASS_NAMES):
            edit = ValueEdit(name)
            edit.setPlaceholderText("not weighed")
            edit.textEdited.connect(lambda text, mass=name: self.typed.emit(mass, text))
            row, column = divmod(index, 2)
            grid.addWidget(labelled(f"{titled(MASS_LABELS[name])}, g", edit), row, 2 * column)
            grid.addWidget(edit, row, 2 * column + 1)
            self.edits[name] = edit
        self.problem = text_label(role="error")
        self.problem.setObjectName("mass_problem")
        grid.addWidget(self.problem, 3, 0, 1, 4)

    def show_state(self, state: FormState) -> None:
        """Show the weighings."""
        problems = []
        for mass in state.masses:
            edit = self.edits[mass.name]
            edit.show_text(mass.text)
            set_flag(edit, "problem", mass.problem is not None)
            text = sentence(mass.problem.code, mass.problem.params, decimal=state.decimal) if mass.problem else ""
            edit.setAccessibleDescription(text)
            problems += [text] if text else []
        self.problem.setText("\n".join(problems))
        self.problem.setVisible(bool(problems))


class NoteAndPhotos(QWidget):
    """A note, and pictures from a file, from the clipboard or dropped here.

    Signals:
        note_typed(str), file_added(str), pasted(Photo), removed(str), said(Notice).
    """

    note_typed = Signal(str)
    file_added = Signal(str)
    pasted = Signal(object)
    removed = Signal(str)
    said = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.setAcceptDrops(True)
        self.note = QLineEdit()
        self.note.setObjectName("note")
        self.note.setProperty("kind", "value")
        self.note.setPlaceholderText("Anything worth remembering")
        self.add_file = button("Add a photo…", "add_photo")
        self.add_file.clicked.connect(self._ask_for_files)
        self.paste = button("Paste a photo", "paste_photo")
        self.paste.clicked.connect(self.paste_from_clipboard)
        self._list = QVBoxLayout()
        self._list.setSpacing(HALF_GAP)
        self._shown: tuple[str, ...] = ()
        self.note.textEdited.connect(self.note_typed)
        note_line = QHBoxLayout()
        note_line.setSpacing(GAP)
        note_line.addWidget(labelled("Note", self.note))
        note_line.addWidget(self.note, 1)
        buttons = QHBoxLayout()
        buttons.setSpacing(GAP)
        buttons.addWidget(self.add_file)
        buttons.addWidget(self.paste)
        buttons.addWidget(text_label("or drop a picture here", "muted"), 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addLayout(note_line)
        column.addLayout(buttons)
        column.addLayout(self._list)

    def show_state(self, state: FormState) -> None:
        """Show the note and the pictures that will be attached."""
        with QSignalBlocker(self.note):
            if self.note.text() != state.form.note:
                self.note.setText(state.form.note)
        if state.form.photos != self._shown:
            self._rebuild(state.form.photos)
            self._shown = state.form.photos

    def _rebuild(self, photos: tuple[str, ...]) -> None:
        while (item := self._list.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        for path in photos:
            line = QWidget()
            row = QHBoxLayout(line)
            row.setContentsMargins(0, 0, 0, 0)
            row.addWidget(text_label(f"Photo: {Path(path).name}"), 1)
            remove = button("Remove", f"remove {Path(path).name}")
            name_control(remove, f"Remove photo {Path(path).name}")
            remove.clicked.connect(lambda _checked=False, which=path: self.removed.emit(which))
            row.addWidget(remove)
            self._list.addWidget(line)

    def _ask_for_files(self) -> None:
        dialog = QFileDialog(self, "Add a photo", "", FILE_FILTER)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.filesSelected.connect(self._add_files)
        dialog.open()

    def _add_files(self, paths: list[str]) -> None:
        for path in paths:
            self.file_added.emit(path)

    def paste_from_clipboard(self) -> None:
        """Take a picture, or picture files, from the clipboard."""
        data = QGuiApplication.clipboard().mimeData()
        if data is not None and data.hasImage():
            image = QGuiApplication.clipboard().image()
            if isinstance(image, QImage) and not image.isNull():
                self.pasted.emit(photo_of_image(image, f"pasted {len(self._shown) + 1}.png"))
                return
        paths = [url.toLocalFile() for url in data.urls() if url.isLocalFile()] if data is not None else []
        for path in paths:
            self.file_added.emit(path)
        if not paths:
            self.said.emit(Notice("warn", "The clipboard holds no picture. Copy one first, or add a file."))

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome local files."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take dropped files."""
        for url in event.mimeData().urls():
            if url.isLocalFile():
                self.file_added.emit(url.toLocalFile())
        event.acceptProposedAction()
