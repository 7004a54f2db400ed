"""The ledger without its widgets: which attempt is in hand, and what may be done with it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import StirfallError
from stirfall.bench.records import Attempt
from stirfall.desktop.ledger.columns import Column
from stirfall.desktop.ledger.corrections import (
    Entered,
    HistoryLine,
    ReadCorrection,
    correctables,
    history_lines,
    read_correction,
)
from stirfall.desktop.ledger.csv_rows import csv_steps, table_steps
from stirfall.desktop.ledger.facts import FactSection, fact_sections
from stirfall.desktop.ledger.filters import Chip, FilterEntry, ReadFilter, chips_of, read_filter
from stirfall.desktop.ledger.kinds import Correctable
from stirfall.desktop.ledger.slices import Slices
from stirfall.desktop.ledger.table import Arrangement
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.phrases import counted
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import Changes, CorrectAttempt, RestoreAttempt, StrikeAttempt
from stirfall.session.ledger_filter import Around, Condition, matcher
from stirfall.storage.copies import write_atomic

_NUMBERED = re.compile(r"attempt (\d+)", re.IGNORECASE)


@dataclass(frozen=True)
class LedgerState:
    """What the ledger shows beside its table; ``picked`` is how many rows are selected."""

    campaign: CampaignState
    selected: Attempt | None
    can_change: bool
    decimal: str
    chips: tuple[Chip, ...] = ()
    needle: str = ""
    picked: int = 0
    photographed: frozenset[str] = frozenset()

    @property
    def is_filtered(self) -> bool:
        """Whether some attempts may be left out."""
        return bool(self.chips or self.needle.strip())

    @property
    def count(self) -> int:
        """How many attempts there are."""
        return len(self.campaign.attempts)


class LedgerModel(QObject):
    """Holds the selected attempt and the filters.

    Signals:
        changed(LedgerState or None): what to show; None without a session.
        rows_wanted(Arrangement): other rows shall be shown.
    """

    changed = Signal(object)
    rows_wanted = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state: LedgerState | None = None
        self._selected: str | None = None
        self._conditions: tuple[Condition, ...] = ()
        self._needle = ""
        self._picked = 0
        self._photographed: frozenset[str] = frozenset()
        self._writing = Slices(self)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._selected, self.state = None, None
        self._conditions, self._needle, self._picked = (), "", 0
        self._writing.stop()
        self._look_for_photos()
        self.refresh()
        self.rows_wanted.emit(self.arrangement())

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.attempts or changes.factors or changes.shelf or changes.settings or changes.regrades:
            self._look_for_photos()
            self.refresh()

    def _look_for_photos(self) -> None:
        document = self.workspace.document
        self._photographed = document.photographed() if document is not None else frozenset()

    def refresh(self, *_unused: object) -> None:
        """Work out again what the ledger shows."""
        document = self.workspace.document
        if document is None:
            self.changed.emit(None)
            return
        try:
            selected = document.attempt(self._selected) if self._selected else None
        except StirfallError:
            selected = self._selected = None
        decimal = self.workspace.decimal
        self.state = LedgerState(
            document.state,
            selected,
            not document.read_only,
            decimal,
            chips_of(self._conditions, document.state, decimal),
            self._needle,
            self._picked,
            self._photographed,
        )
        self.changed.emit(self.state)

    # -- filters -----------------------------------------------------------------------------------

    def arrangement(self) -> Arrangement:
        """Return which rows are to be shown."""
        if self.state is None or not self.state.is_filtered:
            return Arrangement()
        document = self.workspace.document
        if not self._conditions or document is None:
            return Arrangement(None, self._needle)
        around = Around.of(document.state, document.now(), photographed=self.state.photographed)
        return Arrangement(matcher(self._conditions, around), self._needle)

    def read_filter(self, entry: FilterEntry) -> ReadFilter:
        """Return what an entered filter means."""
        if self.state is None:
            return ReadFilter(None)
        return read_filter(entry, self.state.campaign, self.workspace.decimal)

    def add_filter(self, condition: Condition) -> None:
        """Show only what fits this too; one that is there already changes nothing."""
        if condition not in self._conditions:
            self._filter((*self._conditions, condition), self._needle)

    def drop_filter(self, condition: Condition) -> None:
        """Take one filter away."""
        self._filter(tuple(each for each in self._conditions if each != condition), self._needle)

    def drop_filters(self) -> None:
        """Show every attempt again."""
        self._filter((), "")

    def search(self, needle: str) -> None:
        """Show only rows in whose text every word is found."""
        if needle != self._needle:
            self._filter(self._conditions, needle)

    def _filter(self, conditions: tuple[Condition, ...], needle: str) -> None:
        self._conditions, self._needle = conditions, needle
        self.refresh()
        self.rows_wanted.emit(self.arrangement())

    def pick(self, count: int) -> None:
        """Take note of how many rows are selected; only the words beside the table change with it."""
        if count != self._picked and self.state is not None:
            self._picked = count
            self.state = replace(self.state, picked=count)

    # -- the attempt in hand -----------------------------------------------------------------------

    def select(self, attempt_id: str | None) -> None:
        """Take an attempt in hand: the odds pane then answers for its conditions."""
        if attempt_id != self._selected:
            self._selected = attempt_id
            self.refresh()
            self.push_in_hand()

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        """Another view took an attempt in hand: the ledger shows the same one."""
        match = _NUMBERED.fullmatch(in_hand.label) if in_hand.source == "attempt" else None
        if origin is self or match is None or self.state is None:
            return
        number = int(match.group(1))
        found = next((item for item in reversed(self.state.campaign.attempts) if item.number == number), None)
        if found is not None and found.id != self._selected:
            self._selected = found.id
            self.refresh()

    def push_in_hand(self) -> None:
        """Show the other views the conditions of the selected attempt."""
        selected = self.state.selected if self.state else None
        if selected is not None:
            self.workspace.set_in_hand(InHand.of_attempt(selected), origin=self)

    def ask_why(self) -> None:
        """Ask why the selected attempt came out as it did."""
        selected = self.state.selected if self.state else None
        if selected is not None:
            self.workspace.request_why(selected.id)

    def repeat(self) -> None:
        """Put the conditions of the selected attempt into the bench form."""
        self.repeat_but("")

    def repeat_but(self, change: str) -> None:
        """Put the conditions of the selected attempt into the form and go to the one factor to change."""
        selected = self.state.selected if self.state else None
        if selected is not None:
            origin = f"attempt {selected.number}"
            self.workspace.request_form(FormRequest(selected.conditions, None, origin, focus=change))

    # -- changes -----------------------------------------------------------------------------------

    def correctables(self) -> tuple[Correctable, ...]:
        """Return what can be corrected in the selected attempt."""
        if self.state is None or self.state.selected is None:
            return ()
        return correctables(self.state.selected, self.state.campaign, self.state.decimal)

    def read(self, entered: Entered) -> ReadCorrection:
        """Return what a correction of the selected attempt means."""
        if self.state is None or self.state.selected is None:
            return ReadCorrection(None)
        return read_correction(entered, self.state.selected, self.state.campaign, self.state.decimal)

    def correct(self, entered: Entered) -> bool:
        """Correct the selected attempt; the old value, the time and the reason stay in the file."""
        selected, read = self.state.selected if self.state else None, self.read(entered)
        if selected is None or read.changes is None:
            return False
        command = CorrectAttempt(selected.id, read.changes, entered.reason.strip())
        return self._done(self.workspace.execute(command, origin=self), f"Attempt {selected.number} is corrected.")

    def strike(self, reason: str) -> bool:
        """Strike the selected attempt out."""
        selected = self.state.selected if self.state else None
        if selected is None or not reason.strip():
            return False
        command = StrikeAttempt(selected.id, reason.strip())
        text = f"Attempt {selected.number} is struck out; it stays on record and no longer counts."
        return self._done(self.workspace.execute(command, origin=self), text)

    def restore(self) -> bool:
        """Let the selected attempt count again."""
        selected = self.state.selected if self.state else None
        if selected is None:
            return False
        changes = self.workspace.execute(RestoreAttempt(selected.id), origin=self)
        return self._done(changes, f"Attempt {selected.number} counts again.")

    def _done(self, changes: Changes | None, text: str) -> bool:
        if changes is None:
            return False
        self.workspace.notify(Notice("info", text, "Undo", self.workspace.undo))
        return True

    def facts(self) -> tuple[FactSection, ...]:
        """Return all that the selected attempt keeps beyond conditions and grades."""
        if self.state is None or self.state.selected is None:
            return ()
        return fact_sections(self.state.selected, self.state.campaign, self.state.decimal)

    def history(self) -> tuple[HistoryLine, ...]:
        """Return the changes of the selected attempt, oldest first."""
        document = self.workspace.document
        if document is None or self.state is None or self.state.selected is None:
            return ()
        corrections = document.corrections(self.state.selected.id)
        return history_lines(corrections, self.state.campaign, self.state.decimal)

    # -- out of the program ------------------------------------------------------------------------

    def copy_table(
        self, attempts: Sequence[Attempt], columns: Sequence[Column], done: Callable[[str], object]
    ) -> None:
        """Hand attempts as tab-separated text to ``done`` and say how many; many take a while."""

        def finish(text: str) -> None:
            done(text)
            self.workspace.notify(Notice("info", f"{counted(len(attempts))} copied as a table."))

        self._writing.run(table_steps(attempts, columns), finish)

    def export_csv(self, path: str, attempts: Sequence[Attempt] | None = None) -> bool:
        """Write attempts as CSV, all or nothing; without ``attempts`` those of the whole campaign.

        Return whether it was done, or is still going on with a long campaign.
        """
        if self.state is None:
            return False
        chosen = self.state.campaign.attempts if attempts is None else attempts
        failures: list[Exception] = []

        def told(_done: None) -> None:
            self.workspace.notify(Notice("info", f"{counted(len(chosen))} written to {path}."))

        def failed(error: Exception) -> None:
            failures.append(error)
            self.workspace.notifier.fail(error)

        def write(parts: list[bytes]) -> None:
            self.workspace.submit(lambda _token: write_atomic(Path(path), b"".join(parts)), told, failed)

        self._writing.run(csv_steps(chosen, self.state.campaign), write)
        return not failures
