"""A note and photos for the attempt, folded away until wanted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.labelled import labelled
from stirfall.desktop.photos.strip import PhotoStrip, Shot
from stirfall.desktop.photos.viewer import PhotoViewer

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace


class NoteAndPhotos(QWidget):
    """A note, and pictures from a file, from the clipboard or dropped here.

    Signals:
        note_typed(str), file_added(str), pasted(QImage), removed(str), said(Notice).
    """

    note_typed = Signal(str)
    file_added = Signal(str)
    pasted = Signal(object)
    removed = Signal(str)
    said = Signal(object)

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.setAcceptDrops(True)
        self.note = QLineEdit()
        self.note.setObjectName("note")
        self.note.setProperty("kind", "value")
        self.note.setPlaceholderText("Anything worth remembering")
        self.strip = PhotoStrip(workspace, may_remove=True)
        self.add_file, self.paste = self.strip.add_file, self.strip.paste
        self.note.textEdited.connect(self.note_typed)
        self.strip.file_added.connect(self.file_added)
        self.strip.image_pasted.connect(self.pasted)
        self.strip.removed.connect(self.removed)
        self.strip.said.connect(self.said)
        self.strip.opened.connect(self._look)
        note_line = QHBoxLayout()
        note_line.setSpacing(GAP)
        note_line.addWidget(labelled("Note", self.note))
        note_line.addWidget(self.note, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addLayout(note_line)
        column.addWidget(self.strip)

    def show_state(self, state: FormState, shots: Sequence[Shot]) -> None:
        """Show the note and the pictures that will be attached."""
        with QSignalBlocker(self.note):
            if self.note.text() != state.form.note:
                self.note.setText(state.form.note)
        self.strip.show_shots(shots)

    def _look(self, at: int) -> None:
        PhotoViewer(self.strip.shots, at, "Photos of the next attempt", self.window()).open()

    def paste_from_clipboard(self) -> None:
        """Take a picture, or picture files, from the clipboard."""
        self.strip.paste_from_clipboard()

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome local files and pictures."""
        self.strip.dragEnterEvent(event)

    def dropEvent(self, event: QDropEvent) -> None:
        """Take dropped files or a dropped picture."""
        self.strip.dropEvent(event)
