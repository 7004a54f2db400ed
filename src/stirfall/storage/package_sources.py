"""Where a package is read from: a folder or a zip file, neither of which is trusted.

Nothing is unpacked to disk. Names that could lead elsewhere are refused, sizes are counted while reading and never
believed, and whatever a broken file makes a library raise becomes a FileTroubleError.
"""

from __future__ import annotations

import io
import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from itertools import chain, islice
from pathlib import Path
from typing import BinaryIO, Protocol, cast

from stirfall.bench.errors import FileTroubleError
from stirfall.storage import package_limits as limits
from stirfall.storage.package_names import clash, is_safe, shortened
from stirfall.storage.package_targets import DESCRIPTOR

_CHUNK = 1 << 16
_ENCRYPTED = 0x1 | 0x40 | 0x2000  # PKWARE APPNOTE 4.4.4: encrypted, strongly, with a masked directory
_IS_UTF8 = 0x800
_READABLE = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_BROKEN = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    EOFError,
    zlib.error,
    RuntimeError,
    ValueError,
    struct.error,
    OverflowError,
    LookupError,
    TypeError,
    AttributeError,
)


class Source(Protocol):
    """A package that is open for reading."""

    @property
    def place(self) -> str:
        """The path of the package."""
        ...

    def names(self) -> frozenset[str]:
        """Return the names of its files."""
        ...

    def open(self, name: str, most: int) -> BinaryIO:
        """Open one file; reading beyond ``most`` bytes raises FileTroubleError ``package.too_large``."""
        ...


OpenSource = Callable[[], AbstractContextManager[Source]]


@dataclass
class _Spent:
    """How many bytes were read from one package so far."""

    total: int = 0

    def add(self, size: int, place: str) -> None:
        self.total += size
        if self.total > limits.MOST_TOTAL:
            raise FileTroubleError("package.too_large", path=place, most=limits.MOST_TOTAL // limits.MEGABYTE)


class _Counted(io.RawIOBase):
    """Reads a file, counts what comes out of it, and turns what breaks into FileTroubleError."""

    def __init__(self, inner: BinaryIO, place: str, most: int, packed: int | None, spent: _Spent) -> None:
        super().__init__()
        self._inner = inner
        self._place = place
        self._most = most
        self._packed = packed
        self._spent = spent
        self._size = 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: object) -> int:
        view = memoryview(cast("bytearray", buffer)).cast("B")
        with broken_files(self._place):
            data = self._inner.read(min(len(view), _CHUNK))
        self._size += len(data)
        self._spent.add(len(data), self._place)
        if self._size > self._most:
            raise FileTroubleError("package.too_large", path=self._place, most=self._most // limits.MEGABYTE)
        is_bomb = self._packed is not None and self._size > limits.MOST_RATIO * max(self._packed, 1)
        if is_bomb and self._size > limits.RATIO_FROM:
            raise FileTroubleError("package.bomb", path=self._place, most=limits.MOST_RATIO)
        view[: len(data)] = data
        return len(data)

    def close(self) -> None:
        if not self.closed:
            self._inner.close()
        super().close()


@contextmanager
def broken_files(place: str) -> Iterator[None]:
    """Turn whatever reading a broken file raises into FileTroubleError ``package.broken_file``."""
    try:
        yield
    except OSError as error:
        raise FileTroubleError(
            "package.broken_file", path=place, why=error.strerror or "it cannot be read"
        ) from error
    except _BROKEN as error:
        raise FileTroubleError(
            "package.broken_file", path=place, why=shortened(str(error) or "it ends too soon")
        ) from error


# ---------------------------------------------------------------------------------------------------------- folder


@dataclass
class FolderSource:
    """A folder; links that lead out of it, and what is no plain file, are refused."""

    folder: Path
    _spent: _Spent = field(default_factory=_Spent)

    @property
    def place(self) -> str:
        """The path of the folder."""
        return str(self.folder)

    def names(self) -> frozenset[str]:
        """Return the names of its files, its own and those one folder below."""
        with broken_files(self.place):
            found = islice(chain(self.folder.glob("*"), self.folder.glob("*/*")), limits.MOST_FILES)
            return frozenset(path.relative_to(self.folder).as_posix() for path in found if path.is_file())

    def open(self, name: str, most: int) -> BinaryIO:
        """Open one file; raises FileTroubleError ``package.missing_file``, ``package.link`` and others."""
        path = self.folder / name
        with broken_files(str(path)):
            if not is_safe(name) or not path.exists():
                raise FileTroubleError("package.missing_file", path=shortened(str(path), 200))
            if not path.resolve().is_relative_to(self.folder.resolve()):
                raise FileTroubleError("package.link", path=str(path))
            if not stat.S_ISREG(path.stat().st_mode):  # a pipe would wait for ever
                raise FileTroubleError("package.missing_file", path=str(path))
            inner = path.open("rb")
        return cast("BinaryIO", _Counted(inner, str(path), most, None, self._spent))


@contextmanager
def open_folder(folder: Path) -> Iterator[FolderSource]:
    """Open a folder for reading."""
    yield FolderSource(folder)


# ------------------------------------------------------------------------------------------------------------- zip


class _Careful(io.RawIOBase):
    """A zip file as the library sees it: a directory that claims to be huge is not read at all."""

    def __init__(self, inner: BinaryIO, place: str) -> None:
        super().__init__()
        self._inner = inner
        self._place = place

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        return self._inner.seek(offset, whence)

    def tell(self) -> int:
        return self._inner.tell()

    def read(self, size: int | None = -1) -> bytes:
        wanted = -1 if size is None else size
        if wanted > limits.MOST_DIRECTORY:
            raise FileTroubleError("package.too_many_files", path=self._place, most=limits.MOST_FILES)
        if wanted < 0:
            return self._inner.read(limits.MOST_DIRECTORY)
        return self._inner.read(wanted)


@dataclass
class ZipSource:
    """An open zip file: its members by their names, without a folder that holds them all."""

    file: zipfile.ZipFile
    place: str
    members: dict[str, zipfile.ZipInfo]
    _spent: _Spent = field(default_factory=_Spent)

    def names(self) -> frozenset[str]:
        """Return the names of its files."""
        return frozenset(self.members)

    def open(self, name: str, most: int) -> BinaryIO:
        """Open one member; raises FileTroubleError ``package.missing_file``, ``package.zip_*`` and others."""
        member = self.members.get(name)
        place = f"{self.place}: {shortened(name)}"
        if member is None:
            raise FileTroubleError("package.missing_file", path=place)
        if member.file_size > most:
            raise FileTroubleError("package.too_large", path=place, most=most // limits.MEGABYTE)
        with broken_files(place):
            inner = cast("BinaryIO", self.file.open(member))
        return cast("BinaryIO", _Counted(inner, place, most, member.compress_size, self._spent))


@contextmanager
def open_zip(data: Path | bytes) -> Iterator[ZipSource]:
    """Open a zip file for reading; raises FileTroubleError ``package.no_zip`` and ``package.zip_*``."""
    place = str(data) if isinstance(data, Path) else "the zip file"
    if isinstance(data, Path) and not data.is_file():
        raise FileTroubleError("package.missing_file", path=place)
    with broken_files(place):
        inner = data.open("rb") if isinstance(data, Path) else io.BytesIO(data)
    with inner:
        try:
            with broken_files(place):
                file = zipfile.ZipFile(cast("BinaryIO", _Careful(inner, place)))
        except FileTroubleError as error:
            if error.code != "package.broken_file":
                raise
            raise FileTroubleError("package.no_zip", path=place, why=error.params["why"]) from error
        with file:
            yield ZipSource(file, place, _members(file, place))


def _members(file: zipfile.ZipFile, place: str) -> dict[str, zipfile.ZipInfo]:
    infos = [member for member in file.infolist() if member.file_size or not member.filename.endswith("/")]
    if len(infos) > limits.MOST_FILES:
        raise FileTroubleError("package.too_many_files", path=place, most=limits.MOST_FILES)
    for member in infos:
        _check_member(member, place)
    twice = clash([member.filename for member in infos])
    if twice is not None:
        raise FileTroubleError("package.zip_clash", path=place, name=shortened(twice))
    named = {member.filename: member for member in infos}
    around = _folder_around(named)
    return {name.removeprefix(around): member for name, member in named.items() if name.startswith(around)}


def _check_member(member: zipfile.ZipInfo, place: str) -> None:
    name = member.orig_filename
    shown = {"path": place, "name": shortened(name)}
    if not is_safe(name) or (not name.isascii() and not member.flag_bits & _IS_UTF8):
        raise FileTroubleError("package.zip_name", **shown)
    kind = stat.S_IFMT(member.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        raise FileTroubleError("package.zip_link", **shown)
    if member.flag_bits & _ENCRYPTED:
        raise FileTroubleError("package.zip_encrypted", **shown)
    if member.compress_type not in _READABLE:
        raise FileTroubleError("package.zip_compression", **shown)
    if name.lower().endswith(".zip"):
        raise FileTroubleError("package.zip_nested", **shown)


def _folder_around(named: dict[str, zipfile.ZipInfo]) -> str:
    """Return the folder that a whole package was packed with, "" where its descriptor stands at the top."""
    if DESCRIPTOR in named:
        return ""
    tops = [
        name.removesuffix(DESCRIPTOR) for name in named if name.count("/") == 1 and name.endswith(f"/{DESCRIPTOR}")
    ]
    return tops[0] if len(tops) == 1 else ""
