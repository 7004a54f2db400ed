"""A note and photos for the attempt, folded away until wanted."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label
from stirfall.desktop.bench_form.photos import FILE_FILTER, photo_of_image
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.notifier import Notice


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
