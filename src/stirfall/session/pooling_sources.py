"""Reading what is to be pooled: session files, folders of packages and zips of packages."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from stirfall.session.document import Document
from stirfall.session.pooling import PoolSource
from stirfall.storage.bulky import Item, LazyBulky
from stirfall.storage.edits import Bulky
from stirfall.storage.package import PackageContent, read_package
from stirfall.storage.package_zip import read_package_zip


def read_source(path: Path, bench: str = "") -> PoolSource:
    """Read one session or package; ``bench`` is what its bench is called, "" where that is not told.

    A session that a window has open is read as well. Photos and logs are loaded when they are asked for, so the
    file must stay until then. Raises what ``Document.open``, ``read_package`` and ``read_package_zip`` raise.
    """
    if path.is_dir():
        return _of_package(path, read_package(path), bench)
    if path.suffix.lower() == ".zip":
        return _of_package(path, read_package_zip(path), bench)
    with Document.open(path, read_only=True) as document:
        items = tuple(Item(item.id, item.kind, partial(_again, item.id)) for item in document.bulky().items)
        bulky = LazyBulky(items, lambda: _reopened(path))
        return PoolSource(str(path), document.state, bench, document.corrections(), bulky)


def _of_package(path: Path, content: PackageContent, bench: str) -> PoolSource:
    return PoolSource(str(path), content.state, bench, content.corrections, content.bulky)


@contextmanager
def _reopened(path: Path) -> Iterator[tuple[LazyBulky, Mapping[str, int]]]:
    """Open a session again for its photos and logs, with the place of each."""
    with Document.open(path, read_only=True) as document:
        bulky = document.bulky()
        yield bulky, {item.id: place for place, item in enumerate(bulky.items)}


def _again(record_id: str, opened: tuple[LazyBulky, Mapping[str, int]]) -> Bulky:
    bulky, places = opened
    return bulky[places[record_id]][1]


def split_source(text: str) -> tuple[Path, str]:
    """Split ``SOURCE=BENCH`` at the last equals sign, where the whole is no path that is there."""
    whole = Path(text)
    head, sign, bench = text.rpartition("=")
    if not sign or whole.exists():
        return whole, ""
    return Path(head), bench.strip()
