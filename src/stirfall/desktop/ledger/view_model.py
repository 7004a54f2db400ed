"""The ledger without its widgets: which attempt is in hand, and what may be done with it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import StirfallError
from stirfall.bench.records import Attempt
from stirfall.desktop.ledger.cells import as_csv, as_table
from stirfall.desktop.ledger.corrections import (
    Entered,
    HistoryLine,
    ReadCorrection,
    correctables,
    history_lines,
    read_correction,
)
from stirfall.desktop.ledger.facts import FactSection, fact_sections
from stirfall.desktop.ledger.kinds import Correctable
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.phrases import counted
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.commands import Changes, CorrectAttempt, RestoreAttempt, StrikeAttempt
from stirfall.storage.copies import write_atomic

_NUMBERED = re.compile(r"attempt (\d+)", re.IGNORECASE)


@dataclass(frozen=True)
class LedgerState:
    """What the ledger shows beside its table."""

    campaign: CampaignState
    selected: Attempt | None
    can_change: bool
    decimal: str

    @property
    def count(self) -> int:
        """How many attempts there are."""
        return len(self.campaign.attempts)


class LedgerModel(QObject):
    """Holds the selected attempt.

    Signals:
        changed(LedgerState or None): what to show; None without a session.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state: LedgerState | None = None
        self._selected: str | None = None
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._selected, self.state = None, None
        self.refresh()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.attempts or changes.factors or changes.shelf or changes.settings:
            self.refresh()

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
        self.state = LedgerState(document.state, selected, not document.read_only, self.workspace.decimal)
        self.changed.emit(self.state)

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

    def repeat(self) -> None:
        """Put the conditions of the selected attempt into the bench form."""
        selected = self.state.selected if self.state else None
        if selected is not None:
            origin = f"attempt {selected.number}"
            self.workspace.request_form(FormRequest(selected.conditions, None, origin))

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

    def table_text(self, attempts: Sequence[Attempt]) -> str:
        """Return attempts as tab-separated text and say how many."""
        if self.state is None:
            return ""
        self.workspace.notify(Notice("info", f"{counted(len(attempts))} copied as a table."))
        return as_table(attempts, self.state.campaign.visible_factors, self.state.decimal)

    def export_csv(self, path: str) -> bool:
        """Write all attempts as CSV, all or nothing."""
        if self.state is None:
            return False
        try:
            write_atomic(Path(path), as_csv(self.state.campaign.attempts, self.state.campaign.factors))
        except (StirfallError, OSError) as error:
            self.workspace.notifier.fail(error)
            return False
        self.workspace.notify(Notice("info", f"{counted(self.state.count)} written to {path}."))
        return True
