"""The photos of a recorded attempt: looked at large, more added, one made the example of a class."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.look import HALF_GAP, text_label
from stirfall.desktop.bench_form.photos import attach_command
from stirfall.desktop.photos.scaling import Photo, photo_of_image, read_photo
from stirfall.desktop.photos.strip import PhotoStrip, Shot
from stirfall.desktop.photos.tray import free_name
from stirfall.desktop.photos.viewer import PhotoViewer
from stirfall.session.commands import SetAnchor

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.commands import Changes

NONE = "No photo is kept with this attempt. Add one from a file, paste it, or drop it here."


class AttemptPhotos(QWidget):
    """The strip of one attempt's photos; call ``show_attempt``, and with None when nothing is shown.

    Signals:
        counted(int): how many photos there are.
    """

    counted = Signal(int)

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self._workspace = workspace
        self._attempt_id: str | None = None
        self._number = 0
        self.none = text_label(NONE, "muted")
        self.strip = PhotoStrip(workspace)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.none)
        column.addWidget(self.strip)
        column.addStretch(1)
        self.strip.file_added.connect(self._add_file)
        self.strip.image_pasted.connect(self._add_image)
        self.strip.opened.connect(self.look)
        self.strip.said.connect(workspace.notify)
        workspace.document_changed.connect(self._on_changes)
        workspace.document_opened.connect(self._show_none)

    def _show_none(self) -> None:
        self.show_attempt(None)

    def show_attempt(self, attempt_id: str | None) -> None:
        """Show the photos of an attempt."""
        document = self._workspace.document
        self._attempt_id = attempt_id if document is not None else None
        shots: tuple[Shot, ...] = ()
        if document is not None and attempt_id is not None:
            self._number = document.attempt(attempt_id).number
            shots = tuple(Shot(photo.id, photo.name, photo.data) for photo in document.photos(attempt_id))
            self.strip.set_may_add(not document.read_only)
        self.strip.show_shots(shots)
        self.none.setVisible(not shots)
        self.counted.emit(len(shots))

    def _on_changes(self, changes: Changes) -> None:
        document = self._workspace.document
        if self._attempt_id in changes.attempts and document is not None:
            known = any(attempt.id == self._attempt_id for attempt in document.state.attempts)
            self.show_attempt(self._attempt_id if known else None)

    def _add_file(self, path: str) -> None:
        keep = self._workspace.keep_original_photos
        self._add(partial(read_photo, Path(path), keep_original=keep))

    def _add_image(self, image: QImage) -> None:
        self._add(partial(photo_of_image, image, free_name(shot.name for shot in self.strip.shots)))

    def _add(self, read: partial[Photo]) -> None:
        attempt_id, document = self._attempt_id, self._workspace.document
        if attempt_id is None:
            return

        def done(photo: Photo) -> None:
            if self._workspace.document is document:
                self._workspace.execute(attach_command(attempt_id, photo), origin=self)

        self._workspace.submit(lambda _token: read(), done)

    def look(self, at: int) -> PhotoViewer:
        """Open the photo at this place large."""
        document = self._workspace.document
        viewer = PhotoViewer(
            self.strip.shots,
            at,
            f"Photos of attempt {self._number}",
            self.window(),
            offers_example=document is not None and not document.read_only,
        )
        viewer.example_chosen.connect(self._use_as_example)
        viewer.open()
        return viewer

    def _use_as_example(self, at: int, outcome: Outcome) -> None:
        shot = self.strip.shots[at]
        name = f"attempt {self._number}"
        command = SetAnchor(outcome, name, "image/jpeg", shot.data)
        if self._workspace.execute(command, origin=self) is not None:
            text = f"This photo is now the example of “{outcome.value}”."
            self._workspace.notifier.info(text, "Undo", self._workspace.undo)
