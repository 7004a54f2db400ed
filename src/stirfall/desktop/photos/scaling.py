"""Photos as they are kept: turned upright, scaled down, without the place and device that a camera writes along.

Everything here works on any thread; call it off the window's thread, for a large photo takes a second.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QColorSpace, QImage, QImageReader, QImageWriter, QPainter

from stirfall.bench.errors import FileTroubleError, InputError

LONGEST = 1600
"""The longest side of a kept photo in pixels: enough to see a bead of half a millimetre, no source."""
QUALITY = 85
MAX_BYTES = 20 * 1024 * 1024
MEDIA_TYPE = "image/jpeg"
FORMATS = "JPEG, PNG, WebP, TIFF, BMP or GIF"
FILE_FILTER = "Pictures (*.jpg *.jpeg *.png *.webp *.tif *.tiff *.bmp *.gif)"

_READABLE = ("jpeg", "jpg", "png", "webp", "tiff", "tif", "bmp", "gif")
_NEWER_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis")
_WHITE = 0xFFFFFFFF


@dataclass(frozen=True)
class Photo:
    """One photo: its name, the copy that is kept, and the file as it was where that is kept too."""

    name: str
    media_type: str
    data: bytes = field(repr=False)
    original: bytes = field(repr=False, default=b"")


def read_photo(path: Path, *, keep_original: bool = False) -> Photo:
    """Return the photo in a file, scaled down.

    Raises FileTroubleError ``bench.photo_unreadable``, and InputError: ``bench.photo_too_large``,
    ``bench.photo_not_a_picture``, ``photo.newer_format``, ``photo.damaged``.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise InputError("bench.photo_too_large", name=path.name, limit_mb=MAX_BYTES // (1024 * 1024))
        data = path.read_bytes()
    except OSError as error:
        raise FileTroubleError("bench.photo_unreadable", name=path.name) from error
    image = image_of(data, path.name)
    return Photo(path.name, MEDIA_TYPE, encoded(image), data if keep_original else b"")


def photo_of_image(image: QImage, name: str) -> Photo:
    """Return a pasted picture, scaled down."""
    return Photo(name, MEDIA_TYPE, encoded(image))


def image_of(data: bytes, name: str = "", *, longest: int = LONGEST) -> QImage:
    """Return the picture in the bytes of a file, upright and with no side above ``longest``; raises InputError."""
    if data[4:8] == b"ftyp" and data[8:12] in _NEWER_BRANDS:
        raise InputError("photo.newer_format", name=name, formats=FORMATS)
    buffer = _buffer(data)
    reader = QImageReader(buffer)
    try:
        return _read(reader, name, longest)
    finally:
        # Some readers look at their bytes once more when they go, so they must go first. Qt takes a null device.
        reader.setDevice(None)  # type: ignore[arg-type]


def _read(reader: QImageReader, name: str, longest: int) -> QImage:
    reader.setDecideFormatFromContent(True)
    reader.setAutoTransform(True)
    kind = bytes(reader.format().data()).decode("ascii", "replace")
    if kind not in _READABLE or not reader.canRead():
        raise InputError("bench.photo_not_a_picture", name=name)
    size = reader.size()
    if max(size.width(), size.height()) > longest:
        # The reader of a JPEG then takes only what it needs, so that a photo of any size fits into memory.
        reader.setScaledSize(size.scaled(QSize(longest, longest), Qt.AspectRatioMode.KeepAspectRatio))
    image = reader.read()
    if image.isNull():
        raise InputError("photo.damaged", name=name)
    return image


def encoded(image: QImage) -> bytes:
    """Return a picture as JPEG with no side above ``LONGEST``, on white, in the usual colours, and nothing else."""
    size = image.size()
    if max(size.width(), size.height()) > LONGEST:
        image = image.scaled(
            LONGEST, LONGEST, Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
        )
    if image.colorSpace().isValid():
        image = image.convertedToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
    plain = QImage(image.size(), QImage.Format.Format_RGB32)  # a new one carries no text, place or profile along
    plain.fill(_WHITE)
    painter = QPainter(plain)
    painter.drawImage(0, 0, image)
    painter.end()
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"jpeg"))
    writer.setQuality(QUALITY)
    writer.write(plain)
    buffer.close()
    return bytes(data.data())


def thumbnail(data: bytes, side: int) -> QImage:
    """Return a small picture of kept bytes, a null image where they cannot be read."""
    try:
        return image_of(data, longest=side)
    except InputError:
        return QImage()


def _buffer(data: bytes) -> QBuffer:
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    return buffer
