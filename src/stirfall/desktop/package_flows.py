"""Everything as a Data Package, and back: asking for places, and the work on a worker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QFileDialog, QWidget

from stirfall.desktop.campaign.new_dialog import SUFFIX
from stirfall.desktop.save_dialog import ask_where
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import Clock

DESCRIPTOR = "datapackage.json"
_FILTER = "Data Packages (*.zip)"
_SESSIONS = f"Stirfall sessions (*{SUFFIX})"
_SAID_AFTER_MS = 500
_T = TypeVar("_T")


def is_package(path: Path) -> bool:
    """Whether a path looks like a Data Package: a zip file, a descriptor, or a folder with one."""
    return path.suffix.lower() == ".zip" or path.name == DESCRIPTOR or (path / DESCRIPTOR).is_file()


class PackageFlows(QObject):
    """The ways of a package out of the window and into it.

    Attributes:
        dialog: the dialog that was opened last, for tests.
    """

    def __init__(
        self, workspace: Workspace, window: QWidget, opened: Callable[[Path], object], *, clock: Clock | None = None
    ) -> None:
        super().__init__(window)
        self._workspace = workspace
        self._window = window
        self._opened = opened
        self._clock = clock
        self._is_busy = False
        self.dialog: QFileDialog | None = None

    def ask_for_export(self, photos: str, originals: bool) -> None:
        """Ask where everything of the open session goes, and write it there."""
        document = self._workspace.document
        if document is None:
            return
        self.dialog = ask_where(
            self._window,
            "Place of the Data Package",
            document=document,
            name=f"{document.path.stem}.zip",
            file_filter=_FILTER,
            done=partial(self.export_to, photos=photos, originals=originals),
        )

    def export_to(self, place: str, *, photos: str = "all", originals: bool = False) -> None:
        """Write everything of the open session to a place, on a worker; says what went in."""
        document = self._workspace.document
        if document is not None:
            wish = _Wish(document.path, Path(place), photos, originals, self._clock)
            self._submit(partial(_write, wish), self._say_written, "package.writing", Path(place).name)

    def _say_written(self, lines: tuple[str, ...]) -> None:
        self._is_busy = False
        self._workspace.notifier.info(" ".join(lines))

    def ask_for_import(self, source: Path, folder: Path) -> None:
        """Ask where the session of a package goes, make it there and open it."""
        stem = source.parent.name if source.name == DESCRIPTOR else source.stem
        place = _free(folder / f"{stem}{SUFFIX}")
        dialog = QFileDialog(self._window, f"Place for the session of {source.name}", str(folder), _SESSIONS)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(SUFFIX.lstrip("."))
        dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)  # nothing is written over
        dialog.selectFile(place.name)
        dialog.fileSelected.connect(partial(self.import_to, source))
        self.dialog = dialog
        dialog.open()

    def import_to(self, source: Path, place: str) -> None:
        """Make a session of a package at a place, on a worker, and open it."""
        job = partial(_read, source, Path(place), self._clock)
        self._submit(job, self._open_made, "package.reading", source.name)

    def _open_made(self, place: Path) -> None:
        self._is_busy = False
        self._opened(place)

    def _submit(self, job: Callable[[CancelToken], _T], done: Callable[[_T], None], code: str, name: str) -> None:
        self._is_busy = True
        QTimer.singleShot(_SAID_AFTER_MS, partial(self._say_busy, code, name))
        self._workspace.submit(job, done, self._failed)

    def _say_busy(self, code: str, name: str) -> None:
        if self._is_busy:
            self._workspace.notifier.info(sentence(code, {"name": name}))

    def _failed(self, error: Exception) -> None:
        self._is_busy = False
        self._workspace.notifier.fail(error)


def _free(path: Path) -> Path:
    number, candidate = 1, path
    while candidate.exists():
        number += 1
        candidate = path.with_name(f"{path.stem} {number}{path.suffix}")
    return candidate


@dataclass(frozen=True)
class _Wish:
    """Which session goes where, and what goes with it."""

    session: Path
    place: Path
    photos: str
    originals: bool
    clock: Clock | None


def _write(wish: _Wish, token: CancelToken) -> tuple[str, ...]:
    """Write a package by an opening of its own, so that the window's stays free; return what went in."""
    from stirfall.reporting.package_words import written_lines
    from stirfall.session.document import Document
    from stirfall.session.packages import chosen_photos, export_package

    with Document.open(wish.session, read_only=True, clock=wish.clock) as document:
        chosen = chosen_photos(document, wish.photos)
        written = export_package(document, wish.place, photos=chosen, originals=wish.originals, token=token)
    return written_lines(written, wish.place)


def _read(source: Path, place: Path, clock: Clock | None, token: CancelToken) -> Path:
    """Make a session of a package and return its place."""
    from stirfall.session.packages import import_package

    with import_package(source, place, clock=clock, token=token) as document:
        return document.path
