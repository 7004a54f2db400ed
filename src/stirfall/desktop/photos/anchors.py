"""What the classes look like: an example photo for each, to be set here and seen where attempts are graded."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QImage
from PySide6.QtWidgets import QFileDialog, QFrame, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import name_control
from stirfall.desktop.photos.class_words import CLASS_WORDS
from stirfall.desktop.photos.scaling import FILE_FILTER, LONGEST, Photo, photo_of_image, read_photo, thumbnail
from stirfall.desktop.photos.strip import NO_PICTURE
from stirfall.desktop.photos.viewer import Picture
from stirfall.desktop.theme import set_surface_role
from stirfall.session.commands import SetAnchor
from stirfall.session.regrading import CLASSES

if TYPE_CHECKING:
    from PySide6.QtCore import QMimeData

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.commands import Changes
    from stirfall.storage.session_file import Photo as StoredPhoto

TITLE = "What the classes look like"
_ABOUT = (
    "One photo for each class, shown wherever you grade. Take them in the same light. A photo of an "
    "attempt becomes an example from the ledger: look at it large, and choose Use as example."
)
_SLOT = "examples of the classes"
_EMPTY = "No example yet. Drop a photo here."


class ClassCell(QFrame):
    """One class: its mark and word, what it means, its example, and the ways to set it.

    Signals:
        file_chosen(str), image_given(QImage), no_picture().
    """

    file_chosen = Signal(str)
    image_given = Signal(object)
    no_picture = Signal()

    def __init__(self, outcome: Outcome, key: int, glyph: str) -> None:
        super().__init__()
        self.outcome = outcome
        set_surface_role(self, "raised")
        self.setAcceptDrops(True)
        self.picture = Picture(QSize(220, 120))
        self.empty = text_label(_EMPTY, "muted")
        self.file = button("From a file…", f"example_file_{key}")
        self.paste = button("Paste", f"example_paste_{key}")
        name_control(self.file, f"Example of {outcome.value} from a file", "Choose a photo")
        name_control(self.paste, f"Paste the example of {outcome.value}", "Take the photo in the clipboard")
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, GAP, GAP, GAP)
        column.setSpacing(HALF_GAP)
        head = QHBoxLayout()
        head.addWidget(text_label(f"{glyph} {outcome.value[:1].upper()}{outcome.value[1:]}", "heading"), 1)
        head.addWidget(text_label(f"key {key}", "muted", wrap=False))
        column.addLayout(head)
        column.addWidget(text_label(CLASS_WORDS[outcome], "muted"))
        column.addWidget(self.picture, 1)
        column.addWidget(self.empty, 1)
        row = QHBoxLayout()
        row.setSpacing(GAP)
        row.addWidget(self.file)
        row.addWidget(self.paste)
        row.addStretch(1)
        column.addLayout(row)
        self.file.clicked.connect(self._ask)
        self.paste.clicked.connect(self._paste)

    def show_photo(self, image: QImage, name: str) -> None:
        """Show the example, or that there is none."""
        self.picture.show_image(image, f"Example of {self.outcome.value}: {name}" if name else "No example")
        self.picture.setVisible(not image.isNull())
        self.empty.setVisible(image.isNull())

    def _ask(self) -> None:
        dialog = QFileDialog(self, f"Example of {self.outcome.value}", "", FILE_FILTER)
        dialog.fileSelected.connect(self.file_chosen)
        dialog.open()

    def _paste(self) -> None:
        data = QGuiApplication.clipboard().mimeData()
        if data is None or not self._take(data):
            self.no_picture.emit()

    def _take(self, data: QMimeData) -> bool:
        paths = [url.toLocalFile() for url in data.urls() if url.isLocalFile()]
        if paths:
            self.file_chosen.emit(paths[0])
        elif data.hasImage() and isinstance(image := data.imageData(), QImage) and not image.isNull():
            self.image_given.emit(image)
        else:
            return False
        return True

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome a file or a picture."""
        data = event.mimeData()
        if data.hasImage() or any(url.isLocalFile() for url in data.urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take a dropped file or picture."""
        if self._take(event.mimeData()):
            event.acceptProposedAction()


class AnchorsDialog(FramedDialog):
    """The four classes with their examples."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent)
        self._workspace = workspace
        self.cells: dict[Outcome, ClassCell] = {}
        content = QWidget()
        grid = QGridLayout(content)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(2 * GAP)
        grid.addWidget(text_label(_ABOUT, "muted"), 0, 0, 1, 2)
        for place, outcome in enumerate(CLASSES):
            cell = ClassCell(outcome, place + 1, workspace.theme.mark(outcome).glyph)
            cell.file_chosen.connect(partial(self._set_from_file, outcome))
            cell.image_given.connect(partial(self._set_from_image, outcome))
            cell.no_picture.connect(lambda: self.show_problem(NO_PICTURE))
            self.cells[outcome] = cell
            grid.addWidget(cell, 1 + place // 2, place % 2)
            grid.setRowStretch(1 + place // 2, 1)
        for column in (0, 1):
            grid.setColumnStretch(column, 1)
        self.build(content, "&Close", cancel="").clicked.connect(self.accept)
        self.take_room(900, 720)
        workspace.document_changed.connect(self._on_changes)
        workspace.document_opened.connect(self.reject)
        self.refresh()

    def _on_changes(self, changes: Changes) -> None:
        if changes.anchors:
            self.refresh()

    def refresh(self) -> None:
        """Show the examples as they are kept."""
        document = self._workspace.document
        anchors: Mapping[Outcome, StoredPhoto] = document.anchors() if document is not None else {}
        may_change = document is not None and not document.read_only
        for cell in self.cells.values():
            for each in (cell.file, cell.paste):
                each.setEnabled(may_change)

        def draw(_token: object) -> dict[Outcome, QImage]:
            return {outcome: thumbnail(photo.data, LONGEST // 2) for outcome, photo in anchors.items()}

        names = {outcome: photo.name for outcome, photo in anchors.items()}
        self._workspace.submit(draw, partial(self._show, names), slot=_SLOT)

    def _show(self, names: Mapping[Outcome, str], images: Mapping[Outcome, QImage]) -> None:
        for outcome, cell in self.cells.items():
            cell.show_photo(images.get(outcome, QImage()), names.get(outcome, ""))

    def _set_from_file(self, outcome: Outcome, path: str) -> None:
        self._set(outcome, partial(read_photo, Path(path)))

    def _set_from_image(self, outcome: Outcome, image: QImage) -> None:
        self._set(outcome, partial(photo_of_image, image, "pasted.jpg"))

    def _set(self, outcome: Outcome, read: partial[Photo]) -> None:
        document = self._workspace.document
        self.show_problem("")

        def done(photo: Photo) -> None:
            if self._workspace.document is document:
                command = SetAnchor(outcome, photo.name, photo.media_type, photo.data)
                self._workspace.execute(command, origin=self)

        self._workspace.submit(lambda _token: read(), done, self._fail)

    def _fail(self, error: Exception) -> None:
        from stirfall.bench.errors import StirfallError
        from stirfall.reporting.sentences import error_sentence

        if isinstance(error, StirfallError):
            self.show_problem(error_sentence(error, decimal=self._workspace.decimal))
        else:
            self._workspace.notifier.fail(error)
