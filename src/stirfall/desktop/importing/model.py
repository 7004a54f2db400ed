"""The view-model of a table on its way in: reads on a worker, keeps what was settled, writes one command."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.importing.state import ImportState, with_key
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import ImportAttempts
from stirfall.storage.import_plan import ColumnPlan, ImportPlan, Result
from stirfall.storage.import_source import ReadingChoices, Source, SourceTable
from stirfall.storage.import_units import unit_named

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.workspace import Workspace
    from stirfall.planning.findings import Finding
    from stirfall.session.clock import Clock
    from stirfall.storage.imported import Imported

_SLOT = "table import"
_AT_ONCE, _SHOWN_MS = 1_000, 60
READING, READING_ROWS, WRITING = "Reading the file", "Reading the rows", "Writing"


@dataclass(frozen=True)
class _Read:
    """What a worker brings: the file where it was opened, a table, the plan and what comes of it."""

    source: Source
    table: SourceTable
    plan: ImportPlan
    imported: Imported
    beyond: Mapping[int, Finding]


class ImportModel(QObject):
    """Brings one table in.

    Signals:
        changed(ImportState): there is another state to show.
        taken_in(str): the attempts are in the open session; the sentence that says so.
        made(str): a new session was made at this place and can be opened.
    """

    changed = Signal(object)
    taken_in = Signal(str)
    made = Signal(str)

    def __init__(self, workspace: Workspace, parent: QObject | None = None, *, clock: Clock | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._clock = workspace, clock
        self._source: Source | None = None
        self._before: ImportState | None = None  # what stands again where another reading fails
        document = workspace.document
        self._document = document
        self.state = ImportState(campaign=document.state if document is not None else None)

    @property
    def into(self) -> str:
        """The name of the session that the attempts come into, "" where a new one is made."""
        return self._document.path.name if self._document is not None else ""

    # -- reading -----------------------------------------------------------------------------------

    def start(self, path: str) -> None:
        """Read a file; what is wrong with it is told in the state."""
        campaign = self._campaign()
        self._source = self._before = None
        self._show(ImportState(name=Path(path).name, busy=READING, campaign=campaign, part="columns"))
        self._submit(partial(_read_file, path, campaign))

    def read_again(self, sheet: str, choices: ReadingChoices) -> None:
        """Read another sheet, or the same in another way; what was settled of columns is guessed anew."""
        if self._source is None:
            return
        if not self.state.busy:
            self._before = replace(self.state, trouble="")
        self._show(replace(self.state, busy=READING, choices=choices, trouble=""))
        self._submit(partial(_read_sheet, self._source, sheet, choices, self._campaign()))

    def _campaign(self) -> CampaignState | None:
        return self._document.state if self._document is not None else None

    def _submit(self, job: object) -> None:
        assert callable(job)
        self._workspace.submit(job, self._take, self._refuse, slot=_SLOT)

    def _take(self, read: _Read) -> None:
        self._source, self._before = read.source, None
        self._show(
            replace(
                self.state,
                busy="",
                trouble="",
                sheets=read.source.sheets,
                table=read.table,
                plan=read.plan,
                imported=read.imported,
                beyond=read.beyond,
                selected=min(self.state.selected, len(read.plan.columns) - 1),
            )
        )

    def _refuse(self, error: Exception) -> None:
        if not isinstance(error, StirfallError):
            self._show(replace(self.state, busy=""))
            self._workspace.notifier.fail(error)
            return
        text = error_sentence(error, decimal=self._workspace.decimal)
        before, self._before = self._before, None
        if before is not None:  # the other reading failed: the last one stands, and can be changed again
            self._show(replace(before, trouble=text))
            return
        self._show(replace(self.state, busy="", trouble=text, plan=None, table=None, imported=None, beyond={}))

    # -- what the person settles -------------------------------------------------------------------

    def show_part(self, part: str) -> None:
        """Show one of the three parts."""
        self._show(replace(self.state, part=part))

    def select(self, place: int) -> None:
        """Edit another column."""
        if place != self.state.selected:
            self._show(replace(self.state, selected=place))

    def set_meaning(self, key: str) -> None:
        """Take the column for something else; what follows from that is told anew."""
        from stirfall.storage.import_guess import reguess

        column, plan, table = self.state.column, self.state.plan, self.state.table
        if column is None or plan is None or table is None:
            return
        self._settle(reguess(plan, table, self.state.campaign, with_key(column, key)))

    def set_name(self, name: str) -> None:
        """Name the new factor that the column is."""
        self._change(factor=" ".join(name.split()))

    def set_unit(self, unit: str) -> None:
        """Say the unit of the bare numbers of the column."""
        self._change(unit=unit_named(unit) or unit.strip())

    def set_kind(self, is_choice: bool, is_log: bool) -> None:
        """Say whether a new factor is a choice, or a number on a log scale."""
        self._change(is_choice=is_choice, is_log=is_log)

    def set_decimal(self, sign: str) -> None:
        """Say the decimal sign of the column."""
        self._change(decimal=sign)

    def set_dates(self, order: str) -> None:
        """Say the order of day and month in the column."""
        self._change(dates=order)

    def set_word(self, place: int, word: str, key: str) -> None:
        """Say what a word of the outcome means; "" for not known."""
        if self.state.plan is not None:
            self._settle(self.state.plan.with_word(place, word, Result(key) if key else None))

    def set_plan(self, **changes: bool) -> None:
        """Widen ranges, take in twins, or do without results."""
        if self.state.plan is not None:
            self._settle(replace(self.state.plan, **changes))  # type: ignore[arg-type]  # its flags by name

    def set_leaves_out(self, on: bool) -> None:
        """Say that rows with refused cells stay out."""
        self._show(replace(self.state, leaves_out=on))

    def _change(self, **changes: object) -> None:
        column, plan = self.state.column, self.state.plan
        if column is None or plan is None:
            return
        changed: ColumnPlan = replace(column, **changes)  # type: ignore[arg-type]  # each setter knows its field
        if changed != column:
            self._settle(plan.with_column(changed))

    def _settle(self, plan: ImportPlan) -> None:
        if plan == self.state.plan or self._source is None or self.state.table is None:
            return
        self._show(replace(self.state, plan=plan, busy=READING_ROWS))
        self._submit(partial(_read_rows, self._source, self.state.table, plan, self._campaign()))

    # -- writing -----------------------------------------------------------------------------------

    def accept(self) -> None:
        """Write all of it into the open session, in one step."""
        found, document = self.state.imported, self._document
        if (
            not self.state.may_accept
            or found is None
            or document is None
            or self._workspace.document is not document
        ):
            return
        self._show(replace(self.state, busy=WRITING))
        if len(found.attempts) > _AT_ONCE:
            QTimer.singleShot(_SHOWN_MS, self._write)  # what is being done is on the screen first
        else:
            self._write()

    def _write(self) -> None:
        found, document = self.state.imported, self._document
        if found is None or document is None or self._workspace.document is not document:
            return
        command = ImportAttempts(found.attempts, found.name, found.lots, found.factors)
        changes = self._workspace.execute(command, origin=self)
        self._show(replace(self.state, busy=""))
        if changes is not None:
            params = {"name": document.path.name, "count": len(found.attempts)}
            self.taken_in.emit(sentence("import.written", params))

    def make_session(self, path: str) -> None:
        """Make a new session of the table at a place, on a worker."""
        if self.state.may_accept and self.state.imported is not None:
            job = partial(_make_session, path, self.state.imported, self._clock)
            self._show(replace(self.state, busy=WRITING))
            self._workspace.submit(job, self._on_made, self._not_made, slot=_SLOT)

    def _on_made(self, path: str) -> None:
        self._show(replace(self.state, busy=""))
        self.made.emit(path)

    def _not_made(self, error: Exception) -> None:
        self._show(replace(self.state, busy=""))
        self._workspace.notifier.fail(error)

    def _show(self, state: ImportState) -> None:
        self.state = state
        self.changed.emit(state)


# -- on a worker ---------------------------------------------------------------------------------------


def _read_file(path: str, campaign: CampaignState | None, token: CancelToken) -> _Read:
    from stirfall.storage.import_source import sources

    source = sources(path)
    token.raise_if_cancelled()
    return _read_sheet(source, "", ReadingChoices(), campaign, token)


def _read_sheet(
    source: Source, sheet: str, choices: ReadingChoices, campaign: CampaignState | None, token: CancelToken
) -> _Read:
    from stirfall.storage.import_guess import guess

    table = source.table(sheet, choices)
    token.raise_if_cancelled()
    return _read_rows(source, table, guess(table, campaign), campaign, token)


def _read_rows(
    source: Source, table: SourceTable, plan: ImportPlan, campaign: CampaignState | None, token: CancelToken
) -> _Read:
    from stirfall.session.importing import beyond_limits
    from stirfall.storage.import_read import read_with

    token.raise_if_cancelled()
    imported = read_with(plan, table, campaign)
    token.raise_if_cancelled()
    return _Read(source, table, plan, imported, beyond_limits(campaign, imported))


def _make_session(path: str, imported: Imported, clock: Clock | None, token: CancelToken) -> str:
    from stirfall.session.importing import new_session

    del token
    new_session(path, imported, clock=clock).close()
    return path
