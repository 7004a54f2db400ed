"""The blind second grading without its widgets: one due attempt after the other, by its photos alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.outcomes import Outcome
from stirfall.reporting.agreement_words import agreement_lines, differing_lines
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import GradeAgain
from stirfall.session.regrading import compared, due

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace


@dataclass(frozen=True)
class RegradeState:
    """What is shown: photos to grade (no number, lot, date or name with them), or what came of it.

    ``stage`` is "grading", "done", or "none" where nothing is due; ``lines`` say what the grades add up to.
    """

    stage: Literal["grading", "done", "none"]
    at: int = 0
    count: int = 0
    photos: tuple[bytes, ...] = field(default=(), repr=False)
    photo_at: int = 0
    lines: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()
    can_go_back: bool = False


class RegradeModel(QObject):
    """Goes through the attempts that are due; which they are is settled when it begins.

    Signals:
        changed(RegradeState): what to show.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        document = workspace.document
        self._queue: tuple[str, ...] = ()
        if document is not None and not document.read_only:
            found = due(document.state, document.photographed(), document.now())
            self._queue = tuple(attempt.id for attempt in found)
        self._at = self._photo_at = 0
        self._photos: tuple[bytes, ...] = ()
        # For each attempt gone past: the step that graded it, None where the photos did not tell.
        self._undo_names: list[str | None] = []
        self._load()
        self.state = self._read()

    def _load(self) -> None:
        document = self._workspace.document
        self._photo_at = 0
        has_one = document is not None and self._at < len(self._queue)
        self._photos = (
            tuple(photo.data for photo in document.photos(self._queue[self._at])) if has_one and document else ()
        )

    def _read(self) -> RegradeState:
        if self._at < len(self._queue):
            return RegradeState(
                "grading", self._at, len(self._queue), self._photos, self._photo_at, can_go_back=self._at > 0
            )
        document = self._workspace.document
        if document is None:
            return RegradeState("none")
        comparison, decimal = compared(document.state), self._workspace.decimal
        lines = agreement_lines(comparison, decimal=decimal)
        differing = differing_lines(comparison)
        if self._queue:
            return RegradeState(
                "done", self._at, len(self._queue), lines=lines, differing=differing, can_go_back=True
            )
        why = sentence("regrade.none_due")
        known = lines if comparison.agreement.n else ()
        return RegradeState("none", lines=(why, *known), differing=differing)

    def _show(self) -> None:
        self.state = self._read()
        self.changed.emit(self.state)

    # -- intents -----------------------------------------------------------------------------------

    def grade(self, outcome: Outcome) -> None:
        """Give this class, and go on to the next attempt."""
        document = self._workspace.document
        if document is None or self._at >= len(self._queue):
            return
        if self._workspace.execute(GradeAgain(self._queue[self._at], outcome), origin=self) is not None:
            self._go_on(document.undo_name)

    def skip(self) -> None:
        """Say that the photos do not tell; the attempt stays due."""
        if self._at < len(self._queue):
            self._go_on(None)

    def _go_on(self, undo_name: str | None) -> None:
        self._undo_names.append(undo_name)
        self._at += 1
        self._load()
        self._show()

    def back(self) -> None:
        """Go back to the attempt before and take its grade back."""
        document = self._workspace.document
        if not self._undo_names or document is None:
            return
        name = self._undo_names[-1]
        if name is not None:
            if document.undo_name != name:
                return
            try:
                document.undo(origin=self)  # not by the workspace, which would say the number of the attempt
            except (StirfallError, OSError) as error:
                self._workspace.notifier.fail(error)
                return
        self._undo_names.pop()
        self._at -= 1
        self._load()
        self._show()

    def finish(self) -> None:
        """Have the odds say how far they can be trusted anew, where grades were given."""
        if any(name is not None for name in self._undo_names):
            self._workspace.refresh()

    def turn(self, steps: int) -> None:
        """Show another photo of the same attempt."""
        at = self._photo_at + steps
        if 0 <= at < len(self._photos):
            self._photo_at = at
            self._show()
