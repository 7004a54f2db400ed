"""A strip of small photos, each a button that opens it large; with the ways to add one where that is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication, QIcon, QImage, QPixmap
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label
from stirfall.desktop.labelled import name_control
from stirfall.desktop.notifier import Notice
from stirfall.desktop.photos.scaling import FILE_FILTER, thumbnail

if TYPE_CHECKING:
    from PySide6.QtCore import QMimeData

    from stirfall.desktop.workspace import Workspace

SIDE = 88
"""The side of a small photo in device-independent pixels."""
NO_PICTURE = "The clipboard holds no picture. Copy one first, or add a file."


@dataclass(frozen=True)
class Shot:
    """A photo in the strip: its key, its name, and the bytes of the copy, empty while it is being read."""

    key: str
    name: str
    data: bytes = field(repr=False, default=b"")


class PhotoStrip(QWidget):
    """Small photos in rows; where ``may_add`` is set, buttons to add a file or paste, and files can be dropped.

    Signals:
        file_added(str), image_pasted(QImage), removed(str), said(Notice).
        opened(int): the photo at this place was pressed.
    """

    file_added = Signal(str)
    image_pasted = Signal(object)
    removed = Signal(str)
    opened = Signal(int)
    said = Signal(object)

    def __init__(self, workspace: Workspace, *, may_add: bool = True, may_remove: bool = False) -> None:
        super().__init__()
        self._workspace, self._may_add, self._may_remove = workspace, may_add, may_remove
        self._shots: tuple[Shot, ...] = ()
        self.thumbs: list[QToolButton] = []
        self.setAcceptDrops(may_add)
        self.add_file = button("Add a photo…", "add_photo")
        self.add_file.clicked.connect(self._ask_for_files)
        self.paste = button("Paste a photo", "paste_photo")
        self.paste.clicked.connect(self.paste_from_clipboard)
        self._hint = text_label("or drop a picture here", "muted")
        self._row = QWidget()
        self._flow = FlowLayout(self._row, gap=GAP)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addWidget(self._row)
        self._buttons = QWidget()
        line = QHBoxLayout(self._buttons)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(GAP)
        line.addWidget(self.add_file)
        line.addWidget(self.paste)
        line.addWidget(self._hint, 1)
        column.addWidget(self._buttons)
        self._buttons.setVisible(may_add)
        self._row.hide()

    @property
    def shots(self) -> tuple[Shot, ...]:
        """The photos that are shown."""
        return self._shots

    def set_may_add(self, may_add: bool) -> None:
        """Offer the ways to add a photo, or not: a session may be open for reading only."""
        self.setAcceptDrops(may_add)
        self._buttons.setVisible(may_add)

    def show_shots(self, shots: Sequence[Shot]) -> None:
        """Show these photos; those that are shown already stay."""
        shots = tuple(shots)
        if shots == self._shots:
            return
        self._shots = shots
        while (item := self._flow.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        self.thumbs = []
        for place, shot in enumerate(shots):
            self._flow.addWidget(self._cell(place, shot))
        self._row.setVisible(bool(shots))
        self._draw_all()

    def _cell(self, place: int, shot: Shot) -> QWidget:
        cell = QWidget()
        column = QVBoxLayout(cell)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        thumb = QToolButton()
        thumb.setObjectName(f"photo {place + 1}")
        thumb.setIconSize(QSize(SIDE, SIDE))
        thumb.setFixedSize(SIDE + 2 * GAP, SIDE + 2 * GAP)
        thumb.setText("…")
        name_control(thumb, f"Photo {place + 1} of {len(self._shots)}: {shot.name}", "Look at it large")
        thumb.clicked.connect(lambda _checked=False, at=place: self.opened.emit(at))
        self.thumbs.append(thumb)
        column.addWidget(thumb)
        if self._may_remove:
            remove = button("Remove", f"remove {shot.name}")
            name_control(remove, f"Remove photo {shot.name}")
            remove.clicked.connect(lambda _checked=False, which=shot.key: self.removed.emit(which))
            column.addWidget(remove)
        return cell

    def _draw_all(self) -> None:
        shots = self._shots
        side = round(SIDE * self.devicePixelRatioF())

        def draw(_token: object) -> list[QImage]:
            return [thumbnail(shot.data, side) if shot.data else QImage() for shot in shots]

        if shots:
            self._workspace.submit(draw, partial(self._take_images, shots))

    def _take_images(self, shots: tuple[Shot, ...], images: list[QImage]) -> None:
        if shots == self._shots:
            for thumb, image in zip(self.thumbs, images, strict=True):
                self._draw(thumb, image)

    def _draw(self, thumb: QToolButton, image: QImage) -> None:
        if not image.isNull():
            picture = QPixmap.fromImage(image)
            picture.setDevicePixelRatio(self.devicePixelRatioF())
            thumb.setIcon(QIcon(picture))
            thumb.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)

    # -- adding ------------------------------------------------------------------------------------

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
        if data is None or not self.take(data):
            self.said.emit(Notice("warn", NO_PICTURE))

    def take(self, data: QMimeData) -> bool:
        """Take what was pasted or dropped, files before a picture; return whether there was any."""
        paths = [url.toLocalFile() for url in data.urls() if url.isLocalFile()]
        for path in paths:
            self.file_added.emit(path)
        if not paths and data.hasImage() and isinstance(image := data.imageData(), QImage) and not image.isNull():
            self.image_pasted.emit(image)
            return True
        return bool(paths)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Welcome local files and pictures."""
        data = event.mimeData()
        if data.hasImage() or any(url.isLocalFile() for url in data.urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Take dropped files or a dropped picture."""
        if self.take(event.mimeData()):
            event.acceptProposedAction()
