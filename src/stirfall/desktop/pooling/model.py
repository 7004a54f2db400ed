"""The view-model of "Pool sessions": reads files, rehearses the pooling after every change, and writes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.pooling.state import Checked, PoolingState, SourceEntry, words_of
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.pooling import Pooled, PoolSource

_PAUSE_MS = 300
_SLOT, _WRITE_SLOT = "pooling", "pooling write"


class PoolingModel(QObject):
    """Holds what the dialog shows. Files are read once each; checks run on a worker after a short pause.

    Signals:
        changed(PoolingState).
        written(str): the new session was written there.
    """

    changed = Signal(object)
    written = Signal(str)

    def __init__(self, workspace: Workspace, folder: Path, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = PoolingState(out=str(_free(folder / "pooled.stirfall")))
        self._read: dict[str, PoolSource] = {}
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._pause.timeout.connect(self.check)

    # -- what the person does ----------------------------------------------------------------------------

    def add(self, places: Sequence[str]) -> None:
        """Add files and folders; each is read in the background, one that is there already is left alone."""
        known = {entry.place for entry in self.state.sources}
        new = [place for place in dict.fromkeys(places) if place not in known]
        entries = tuple(SourceEntry(place, Path(place).name, "") for place in new)
        self._show(replace(self.state, sources=(*self.state.sources, *entries)))
        for place in new:
            self.workspace.submit(
                partial(_read_source, place), partial(self._take, place), partial(self._not_read, place)
            )
        self._check_soon()

    def remove(self, place: str) -> None:
        """Leave a file out again."""
        kept = tuple(entry for entry in self.state.sources if entry.place != place)
        self._read.pop(place, None)
        self._show(replace(self.state, sources=kept))
        self._check_soon()

    def name_bench(self, place: str, bench: str) -> None:
        """Call the bench of a file so."""
        self._change(place, bench=bench)
        self._check_soon()

    def set_title(self, title: str) -> None:
        """Call the pooled session so; "" names the benches."""
        self._show(replace(self.state, title=title))

    def set_out(self, place: str) -> None:
        """Write the pooled session there."""
        self._show(replace(self.state, out=place, problem=""))

    def take_along(self, what: str, *, wanted: bool) -> None:
        """Take runs, second grades or photos along, or leave them."""
        takes = self.state.takes | {what} if wanted else self.state.takes - {what}
        self._show(replace(self.state, takes=frozenset(takes)))
        self._check_soon()

    # -- reading and checking ----------------------------------------------------------------------------

    def _take(self, place: str, source: PoolSource) -> None:
        entry = self._entry(place)
        if entry is None:
            return
        self._read[place] = source
        self._change(place, bench=entry.bench or source.name)
        self._check_soon()

    def _not_read(self, place: str, error: Exception) -> None:
        if self._entry(place) is not None:
            self._change(place, problem=_trouble(error, place, self.workspace.decimal))
            self._check_soon()

    def _check_soon(self) -> None:
        self._show(replace(self.state, can_pool=False, is_working=self._is_reading or len(self._read) > 1))
        self._pause.start()

    @property
    def _is_reading(self) -> bool:
        return any(entry.place not in self._read and not entry.problem for entry in self.state.sources)

    def _chosen(self) -> tuple[PoolSource, ...]:
        return tuple(
            replace(self._read[entry.place], bench=entry.bench)
            for entry in self.state.sources
            if entry.place in self._read
        )

    def check(self) -> None:
        """Rehearse the pooling of what was read; the files are not touched."""
        self._pause.stop()
        chosen = self._chosen()
        if self._is_reading or not chosen:
            self._show(replace(self.state, verdict="", refusals=(), notes=(), is_working=self._is_reading))
            return
        places = tuple(source.place for source in chosen)
        self.workspace.submit(
            partial(_rehearse, chosen, self.state.takes, self.workspace.decimal),
            partial(self._checked, places),
            self._failed,
            slot=_SLOT,
        )

    def _checked(self, places: Sequence[str], found: Checked) -> None:
        abouts: Mapping[str, str] = dict(zip(places, found.abouts, strict=True))
        sources = tuple(replace(entry, about=abouts.get(entry.place, "")) for entry in self.state.sources)
        is_whole = not any(entry.problem for entry in sources)
        self._show(
            replace(
                self.state,
                sources=sources,
                verdict=found.verdict if is_whole else sentence("pooling.unread"),
                refusals=found.refusals,
                notes=found.notes,
                can_pool=found.can_pool and is_whole,
                is_working=False,
            )
        )

    def _failed(self, error: Exception) -> None:
        self._show(replace(self.state, is_working=False, problem=_trouble(error, "", self.workspace.decimal)))

    # -- writing -----------------------------------------------------------------------------------------

    def write(self) -> None:
        """Write the pooled session in the background; ``written`` tells when it is there."""
        if not self.state.can_pool or self.state.is_working:
            return
        out = self.state.out.strip()
        if not out:
            self._show(replace(self.state, problem=sentence("pooling.no_place")))
            return
        self._show(replace(self.state, is_working=True, problem=""))
        job = partial(_write, self._chosen(), self.state.title, self.state.takes, out)
        self.workspace.submit(job, self._on_written, self._failed, slot=_WRITE_SLOT)

    def _on_written(self, place: str) -> None:
        self._show(replace(self.state, is_working=False))
        self.written.emit(place)

    # -- the state ---------------------------------------------------------------------------------------

    def _entry(self, place: str) -> SourceEntry | None:
        return next((entry for entry in self.state.sources if entry.place == place), None)

    def _change(self, place: str, **changes: str) -> None:
        sources = tuple(
            replace(entry, **changes) if entry.place == place else entry for entry in self.state.sources
        )
        self._show(replace(self.state, sources=sources))

    def _show(self, new: PoolingState) -> None:
        if new != self.state:
            self.state = new
            self.changed.emit(new)


def _free(path: Path) -> Path:
    from stirfall.desktop.files import free_place

    return free_place(path)


def _trouble(error: Exception, place: str, decimal: str) -> str:
    if isinstance(error, StirfallError):
        return error_sentence(error, decimal=decimal)
    return sentence("pooling.not_read", {"name": Path(place).name or place})


def _read_source(place: str, _token: CancelToken) -> PoolSource:
    from stirfall.session.pooling_sources import read_source

    return read_source(Path(place))


def _rehearse(sources: Sequence[PoolSource], takes: frozenset[str], decimal: str, token: CancelToken) -> Checked:
    from stirfall.session.pooling import pool

    token.raise_if_cancelled()
    pooled: Pooled = pool(sources, takes=takes)
    token.raise_if_cancelled()
    return words_of(pooled, decimal=decimal)


def _write(sources: Sequence[PoolSource], title: str, takes: frozenset[str], out: str, _token: CancelToken) -> str:
    from stirfall.session.pooling import pool

    with pool(sources, title=title, takes=takes).write(out):
        return out
