"""Where a package is written: a folder or a zip file; file by file, never a whole photo album in memory."""

from __future__ import annotations

import hashlib
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from stirfall.bench.errors import FileTroubleError
from stirfall.storage.copies import replacing
from stirfall.storage.package_names import checked_name

DESCRIPTOR = "datapackage.json"
# The earliest moment that a zip file can hold (PKWARE APPNOTE 4.4.6): the same content gives the same bytes.
_FIRST_MOMENT = (1980, 1, 1, 0, 0, 0)
_UNIX = 3
_READABLE = 0o100644 << 16
_PACKED_ALREADY = (".jpg", ".jpeg", ".png", ".webp", ".gif", ".heic", ".heif", ".pdf")
_OURS = re.compile(r"(photos/attempt-[0-9]+-[0-9]+(-original)?|examples/[a-z-]+-[0-9]+)\.[a-z]{3,4}")


@dataclass(frozen=True)
class Put:
    """A file that was written: its size in bytes and its SHA-256 in hexadecimal."""

    size: int
    sha256: str


class Target(Protocol):
    """What a package can be written into."""

    def put(self, name: str, chunks: Iterable[bytes]) -> Put:
        """Write one file; its name must be safe and free."""
        ...


def _counted(chunks: Iterable[bytes], digest: hashlib._Hash, sizes: list[int]) -> Iterator[bytes]:
    for chunk in chunks:
        digest.update(chunk)
        sizes[0] += len(chunk)
        yield chunk


@dataclass(frozen=True)
class ZipTarget:
    """An open zip file."""

    file: zipfile.ZipFile

    def put(self, name: str, chunks: Iterable[bytes]) -> Put:
        """Write one member; text is compressed, pictures are stored as they are."""
        member = zipfile.ZipInfo(checked_name(name), _FIRST_MOMENT)
        packed = name.lower().endswith(_PACKED_ALREADY)
        member.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
        member.create_system, member.external_attr = _UNIX, _READABLE
        digest, sizes = hashlib.sha256(), [0]
        with self.file.open(member, "w") as out:
            for chunk in _counted(chunks, digest, sizes):
                out.write(chunk)
        return Put(sizes[0], digest.hexdigest())


@dataclass(frozen=True)
class FolderTarget:
    """A folder of files."""

    folder: Path

    def put(self, name: str, chunks: Iterable[bytes]) -> Put:
        """Write one file, in a folder of its own where its name asks for one."""
        path = self.folder / checked_name(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        digest, sizes = hashlib.sha256(), [0]
        with path.open("xb") as out:
            for chunk in _counted(chunks, digest, sizes):
                out.write(chunk)
        return Put(sizes[0], digest.hexdigest())


@contextmanager
def zip_target(path: Path) -> Iterator[ZipTarget]:
    """Open a zip file for writing that takes the place of ``path`` when it is whole.

    Raises FileTroubleError ``package.cannot_write`` or ``package.is_folder``.
    """
    with _written(path):
        if path.is_dir():
            raise FileTroubleError("package.is_folder", path=str(path))
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as part, zipfile.ZipFile(part, "w") as file:
            yield ZipTarget(file)


@contextmanager
def folder_target(folder: Path, old_files: Iterable[str]) -> Iterator[FolderTarget]:
    """Open a folder for writing; what was written moves to ``folder`` at the end, the descriptor as the last.

    An older package there is replaced: its ``old_files`` and its pictures go, other files stay. Raises
    FileTroubleError ``package.folder_in_use`` or ``package.cannot_write``.
    """
    with _written(folder):
        if folder.exists() and not (folder / DESCRIPTOR).is_file() and any(folder.iterdir()):
            raise FileTroubleError("package.folder_in_use", path=str(folder))
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        try:
            yield FolderTarget(fresh)
            _move(fresh, folder, old_files)
        finally:
            shutil.rmtree(fresh, ignore_errors=True)


def _move(fresh: Path, folder: Path, old_files: Iterable[str]) -> None:
    names = sorted(path.relative_to(fresh).as_posix() for path in fresh.rglob("*") if path.is_file())
    folder.mkdir(exist_ok=True)
    for name in set(old_files) - set(names):  # those of the older package would be read as this one's
        (folder / name).unlink(missing_ok=True)
    for kind in ("photos", "examples"):
        for path in (folder / kind).glob("*"):
            name = path.relative_to(folder).as_posix()
            if name not in names and _OURS.fullmatch(name) and path.is_file():
                path.unlink()
        if (folder / kind).is_dir() and not any((folder / kind).iterdir()):
            (folder / kind).rmdir()
    for name in sorted(names, key=lambda each: (each == DESCRIPTOR, each)):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (fresh / name).replace(folder / name)


@contextmanager
def _written(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise FileTroubleError("package.cannot_write", path=str(path), why=error.strerror or "") from error
