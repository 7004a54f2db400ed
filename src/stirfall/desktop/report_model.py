"""The view-model of the report dialog: what shall be written, which photos, and how far the writing is."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.number_style import without_units
from stirfall.desktop.report_job import Foreseen, ReportWish, SmallPhoto, foresee, small_photos, write_wish
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from datetime import datetime

    from stirfall.desktop.workspace import Workspace
    from stirfall.reporting.report.writing import WrittenReport
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document
    from stirfall.session.jobs import Job

FORMS: dict[str, tuple[str, str]] = {
    "PDF": (".pdf", "PDF (*.pdf)"),
    "Web page": (".html", "HTML (*.html)"),
    "Markdown": (".md", "Markdown (*.md)"),
    "Bundle": (".zip", "Zip files (*.zip)"),
}
"""What can be written: its word, the suffix, and the filter of file dialogs."""
PAPERS = {"A4": "a4", "Letter": "letter"}
_ON_PAPER = ("PDF", "Bundle")
_PHOTO_SLOT, _FORESEE_SLOT, _WRITE_SLOT = "report photos", "report preview", "report"
_UNWANTED = re.compile(r"[^a-z0-9]+")
_LONGEST_NAME = 80


@dataclass(frozen=True)
class ReportState:
    """What the dialog shows. ``photos`` None: not read yet; ``step`` says what is being done, "" nothing."""

    form: str = "PDF"
    paper: str = "A4"
    with_names: bool = False
    photos: tuple[SmallPhoto, ...] | None = None
    chosen: frozenset[str] = frozenset()
    foreseen: Foreseen | None = None
    is_unforeseen: bool = False  # looking ahead failed
    step: str = ""
    problem: str = ""
    done: str = ""

    @property
    def is_busy(self) -> bool:
        """Whether a report is being written."""
        return bool(self.step)

    @property
    def asks_for_paper(self) -> bool:
        """Whether what is written has pages."""
        return self.form in _ON_PAPER

    @property
    def may_name(self) -> bool:
        """Whether there are names to show or to leave out."""
        return self.foreseen is not None and self.foreseen.operators > 0


class ReportModel(QObject):
    """Holds the state and does what the dialog asks for; everything that takes long is done on a worker.

    Signals:
        changed(ReportState).
        written(Path): where the file stands that was just written.
        _told(int, str): from the worker of the writing with this number.
    """

    changed = Signal(object)
    written = Signal(object)
    _told = Signal(int, str)

    def __init__(self, workspace: Workspace, document: Document, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = ReportState()
        self._document = document
        self._created_at: datetime = document.now()
        self._writing = 0
        self._job: Job | None = None
        self._told.connect(self._hear)

    def begin(self) -> None:
        """Read the photos and look ahead."""
        session = self._document.path
        self.workspace.submit(partial(small_photos, session), self._take_photos, self._failed, slot=_PHOTO_SLOT)
        self._foresee()

    def _foresee(self) -> None:
        wish = self._wish(Path(), created_at=self._created_at)
        self.workspace.submit(partial(foresee, wish), self._take_foreseen, self._not_foreseen, slot=_FORESEE_SLOT)

    def _wish(self, path: Path, *, created_at: datetime) -> ReportWish:
        state = self.state
        return ReportWish(
            session=self._document.path,
            path=path,
            created_at=created_at,
            paper=PAPERS[state.paper],
            with_names=state.with_names,
            photo_ids=tuple(photo.id for photo in state.photos or () if photo.id in state.chosen),
            decimal=without_units(self.workspace.decimal),
            analysis=self._analysis(),
        )

    def _analysis(self) -> Analysis | None:
        workspace = self.workspace
        return None if workspace.is_stale else workspace.analysis

    def _set(self, **changes: object) -> None:
        new = replace(self.state, **changes)  # type: ignore[arg-type]  # names and kinds are those of ReportState
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- what comes from workers ---------------------------------------------------------------------

    def _take_photos(self, photos: tuple[SmallPhoto, ...]) -> None:
        self._set(photos=photos)

    def _take_foreseen(self, foreseen: Foreseen) -> None:
        self._set(foreseen=foreseen)

    def _not_foreseen(self, error: Exception) -> None:
        self._failed(error)
        self._set(is_unforeseen=True)

    def _failed(self, error: Exception) -> None:
        self._job = None
        known = isinstance(error, (StirfallError, OSError))
        if not known:
            self.workspace.notifier.fail(error)
        text = error_sentence(error, decimal=self.workspace.decimal) if isinstance(error, StirfallError) else ""
        self._set(step="", problem=text or sentence("report.not_made"))

    def _hear(self, writing: int, code: str) -> None:
        if writing == self._writing and self.state.is_busy:
            self._set(step=code)

    def _take_written(self, written: WrittenReport) -> None:
        self._job = None
        self._set(step="", done=sentence("report.written", {"path": str(written.path)}))
        self.written.emit(written.path)

    # -- intents -------------------------------------------------------------------------------------

    def choose_form(self, form: str) -> None:
        """Write in another form."""
        self._set(form=form, done="", problem="")

    def choose_paper(self, paper: str) -> None:
        """Set it on another paper."""
        self._set(paper=paper, done="", problem="")

    def set_with_names(self, with_names: bool) -> None:
        """Name the operators, or leave their names out."""
        self._set(with_names=with_names, done="", problem="")

    def choose_photo(self, photo_id: str, chosen: bool) -> None:
        """Put a photo into the report, or take it out."""
        ids = self.state.chosen
        self._set(chosen=ids | {photo_id} if chosen else ids - {photo_id}, done="", problem="")

    def choose_all_photos(self, chosen: bool) -> None:
        """Put all photos into the report, or none."""
        ids = frozenset(photo.id for photo in self.state.photos or ()) if chosen else frozenset()
        self._set(chosen=ids, done="", problem="")

    @property
    def file_name(self) -> str:
        """What the file is called unless the person says otherwise."""
        title = self._document.state.settings.title.casefold()
        words = _UNWANTED.sub("-", title).strip("-")[:_LONGEST_NAME].strip("-") or "campaign"
        kind = "bundle" if self.state.form == "Bundle" else "report"
        return f"{words}-{kind}{FORMS[self.state.form][0]}"

    def write(self, place: str) -> None:
        """Write what is chosen to a place, as of now."""
        if self.state.is_busy:
            return
        self._writing += 1
        path = Path(place)
        suffix = FORMS[self.state.form][0]
        if path.suffix.lower() != suffix:
            path = path.with_name(path.name + suffix)
        wish = self._wish(path, created_at=self._document.now())
        self._set(step="report.step_reading", done="", problem="")
        tell: Callable[[str], object] = partial(self._told.emit, self._writing)
        self._job = self.workspace.submit(
            partial(write_wish, wish, tell), self._take_written, self._failed, slot=_WRITE_SLOT
        )

    def stop(self) -> None:
        """Stop the writing; nothing of it is left."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
            self._writing += 1
            self._set(step="", problem="", done=sentence("report.stopped"))

    def leave(self) -> None:
        """End whatever is still going on: nobody looks any more."""
        if self._job is not None:
            self._job.cancel()
            self._job = None
