"""The photos of the attempt that is being filled in: read and scaled off the window's thread, kept in the draft."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.photos.scaling import MEDIA_TYPE, Photo, photo_of_image, read_photo
from stirfall.desktop.photos.strip import Shot
from stirfall.desktop.photos.tray import PhotoTray
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import AttachPhoto

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.desktop.workspace import Workspace


class FormPhotos(QObject):
    """Reads photos in the background, and holds them until the attempt is recorded.

    Signals:
        changed(): a photo was read.
        refused(str): the photo with this key cannot be read; it was told why.
    """

    changed = Signal()
    refused = Signal(str)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._tray = PhotoTray()
        self._generation = 0
        self._kept: set[str] = set()
        workspace.document_changed.connect(self._on_changes)
        workspace.document_opened.connect(self._recover_soon)

    def _recover_soon(self) -> None:
        QTimer.singleShot(0, self, self.recover)

    def clear(self) -> None:
        """Forget all photos: another session is shown."""
        self._tray.clear()
        self._kept.clear()
        self._generation += 1  # what is still being read belongs to the session before

    def read_file(self, path: str) -> None:
        """Read the photo of a file."""
        self._read(path, partial(read_photo, Path(path), keep_original=self._workspace.keep_original_photos))

    def read_image(self, image: QImage, key: str) -> None:
        """Scale a pasted picture."""
        self._read(key, partial(photo_of_image, image, key))

    def _read(self, key: str, reader: partial[Photo]) -> None:
        generation = self._generation
        self._tray.expect(key, reader)
        self._kept.discard(key)

        def done(photo: Photo) -> None:
            if generation == self._generation:
                self._tray.hold(photo, key)
                self.changed.emit()

        def failed(error: Exception) -> None:
            if generation == self._generation:
                self._tray.drop(key)
                self.refused.emit(key)
                self._workspace.notifier.fail(error)

        self._workspace.submit(lambda _token: reader(), done, failed)

    def drop(self, key: str) -> None:
        """Forget one photo."""
        self._tray.drop(key)

    def shots(self, keys: tuple[str, ...]) -> tuple[Shot, ...]:
        """Return the photos with these keys as the strip shows them."""
        found = ((key, self._tray.ready(key)) for key in keys)
        return tuple(
            Shot(key, photo.name, photo.data) if photo else Shot(key, Path(key).name) for key, photo in found
        )

    def keep_with_draft(self, keys: tuple[str, ...]) -> None:
        """Keep in the file what the form holds now and the draft does not yet; each photo is written once.

        Raises InputError and FileTroubleError as the document does.
        """
        document = self._workspace.document
        if document is None:
            return
        if gone := self._kept - set(keys):
            document.drop_draft_photos(gone)
            self._kept -= gone
        for key in keys:
            photo = self._tray.ready(key)
            if photo is not None and key not in self._kept:
                document.keep_draft_photo(key, photo.name, photo.data)
                self._kept.add(key)

    def _on_changes(self, _changes: object) -> None:
        if self._workspace.document is not None and self._workspace.document.draft is None:
            self.draft_is_gone()  # recording an attempt clears the draft

    def draft_is_gone(self) -> None:
        """Note that the draft was cleared, and its photos with it."""
        self._kept.clear()

    def restore(self, keys: tuple[str, ...]) -> None:
        """Take the photos of a draft back; a file that was not read in time is read anew."""
        document = self._workspace.document
        kept = document.draft_photos() if document is not None else {}
        for key, (name, data) in kept.items():
            self._tray.hold(Photo(name, MEDIA_TYPE, data), key)
        self._kept = set(kept)
        for key in keys:
            if self._tray.ready(key) is None:
                self.read_file(key)

    def attach(self, attempt_id: str, keys: tuple[str, ...], *, origin: object) -> int:
        """Attach the photos to an attempt and return how many went in; one that is gone is told."""
        attached = 0
        for key in keys:
            try:
                photo = self._tray.take(key)
            except StirfallError as error:
                self._workspace.notifier.fail(error)
                continue
            attached += self._workspace.execute(attach_command(attempt_id, photo), origin=origin) is not None
        if keys and self._workspace.document is not None:
            self._workspace.document.drop_draft_photos(keys)
        return attached

    def recover(self) -> None:
        """Attach what a crash left between the recording of an attempt and its photos; then there is no draft."""
        document = self._workspace.document
        if document is None or document.read_only or document.draft is not None or not document.state.attempts:
            return
        kept = document.draft_photos()
        if not kept:
            return
        for key, (name, data) in kept.items():
            self._tray.hold(Photo(name, MEDIA_TYPE, data), key)
        last = document.state.attempts[-1]
        count = self.attach(last.id, tuple(kept), origin=self)
        self._workspace.notifier.info(sentence("photo.recovered", {"count": count, "number": last.number}))


def attach_command(attempt_id: str, photo: Photo) -> AttachPhoto:
    """Return the command that keeps a photo with an attempt."""
    return AttachPhoto(attempt_id, photo.name, photo.media_type, photo.data, photo.original)
