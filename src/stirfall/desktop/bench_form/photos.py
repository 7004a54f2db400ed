"""Pictures that go with an attempt: read from a file, or pasted."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage, QImageWriter

from stirfall.bench.errors import FileTroubleError, InputError, StirfallError
from stirfall.session.commands import AttachPhoto

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

MEDIA_TYPES = {".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}
FILE_FILTER = "Pictures (*.jpg *.jpeg *.png *.webp)"
MAX_BYTES = 20 * 1024 * 1024
_SIGNATURES = ((b"\xff\xd8\xff", 0), (b"\x89PNG\r\n\x1a\n", 0), (b"WEBP", 8))


@dataclass(frozen=True)
class Photo:
    """One picture as it is stored: file name, media type and bytes."""

    name: str
    media_type: str
    data: bytes = field(repr=False)


def read_photo(path: Path) -> Photo:
    """Read a picture file; raises InputError ``bench.photo_*`` or FileTroubleError ``bench.photo_unreadable``."""
    media_type = MEDIA_TYPES.get(path.suffix.lower())
    if media_type is None:
        raise InputError("bench.photo_not_a_picture", name=path.name)
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise InputError("bench.photo_too_large", name=path.name, limit_mb=MAX_BYTES // (1024 * 1024))
        data = path.read_bytes()
    except OSError as error:
        raise FileTroubleError("bench.photo_unreadable", name=path.name) from error
    if not any(data[start : start + len(sign)] == sign for sign, start in _SIGNATURES):
        raise InputError("bench.photo_not_a_picture", name=path.name)
    return Photo(path.name, media_type, data)


def photo_of_image(image: QImage, name: str) -> Photo:
    """Return a pasted picture as PNG."""
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(image)
    buffer.close()
    return Photo(name, "image/png", bytes(data.data()))


class PhotoTray:
    """Pictures that wait for the recording: pasted ones in memory, files where they are."""

    def __init__(self) -> None:
        self._pasted: dict[str, Photo] = {}

    def hold(self, photo: Photo) -> None:
        """Keep a pasted picture."""
        self._pasted[photo.name] = photo

    def drop(self, name: str) -> None:
        """Forget a pasted picture."""
        self._pasted.pop(name, None)

    def clear(self) -> None:
        """Forget all pasted pictures."""
        self._pasted.clear()

    def take(self, name: str) -> Photo:
        """Return a picture by the name of a pasted one or the path of a file; raises as ``read_photo`` does."""
        return self._pasted.get(name) or read_photo(Path(name))


def attach_photos(
    workspace: Workspace, tray: PhotoTray, attempt_id: str, names: tuple[str, ...], *, origin: object
) -> int:
    """Attach waiting pictures to an attempt and return how many went in; one that is gone is told."""
    attached = 0
    for name in names:
        try:
            photo = tray.take(name)
        except StirfallError as error:
            workspace.notifier.fail(error)
            continue
        command = AttachPhoto(attempt_id, photo.name, photo.media_type, photo.data)
        attached += workspace.execute(command, origin=origin) is not None
    return attached
