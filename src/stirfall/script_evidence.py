"""Evidence verbs of a session as scripts see it: what is compared, what drifts, what leaves the program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.script_plans import explained
from stirfall.session.script_words import moment

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document
    from stirfall.session.drift_records import Drift


@dataclass(frozen=True)
class DriftReport:
    """Whether something has changed: ``text`` says it in finished sentences, the verdict first.

    ``found`` has all of it: ``points``, ``chart``, ``cusum``, ``ewma``, ``change``, ``signals`` and ``marks``.
    """

    found: Drift
    text: tuple[str, ...]

    @property
    def probability(self) -> float | None:
        """The probability that something has changed."""
        return None if self.found.change is None else self.found.change.probability

    @property
    def since(self) -> int | None:
        """The number of the first attempt after the likeliest moment of a change."""
        change = self.found.change
        return None if change is None else self.found.points[change.at].number


class EvidenceVerbs:
    """What a campaign answers about chance and change, and how its records leave the program."""

    @property
    def document(self) -> Document:
        """The open document below."""
        raise NotImplementedError

    @property
    def analysis(self) -> Analysis:
        """What the attempts say now."""
        raise NotImplementedError

    # -------------------------------------------------------------------------------------------------------- drift

    @explained
    def drift(self, measure: str = "clean") -> DriftReport:
        """Return whether something has changed over the attempts, and when.

        ``measure`` is clean, parted, pooled, recovery, "parting time", "run time" or residual (what the conditions
        did not foretell). Raises InputError ``drift.measure_unknown``.
        """
        from stirfall.bench.errors import InputError
        from stirfall.reporting.drift_words import drift_lines
        from stirfall.session.drift import DriftMeasure, drift

        known = tuple(each.value for each in DriftMeasure)
        if measure not in known:
            raise InputError("drift.measure_unknown", measure=measure, known=", ".join(known))
        found = drift(self.analysis, measure)
        return DriftReport(found, drift_lines(found))

    @explained
    def mark_change(self, words: str, *, kind: str = "other", at: datetime | str | None = None) -> str:
        """Mark that something at the bench is different since ``at``, or since now, and return the id of the mark.

        ``kind`` is oil, tool, lot, operator or other. Raises InputError ``mark.no_text``, ``drift.kind_unknown``.
        """
        from stirfall.bench.errors import InputError
        from stirfall.bench.issued import ChangeMark, MarkKind
        from stirfall.session.commands import MarkChange

        known = tuple(each.value for each in MarkKind)
        if kind not in known:
            raise InputError("drift.kind_unknown", kind=kind, known=", ".join(known))
        before = {mark.id for mark in self.document.state.marks}
        at_moment = moment(at) or self.document.now()
        self.document.execute(MarkChange(ChangeMark("", at_moment, MarkKind(kind), words)))
        return next(mark.id for mark in self.document.state.marks if mark.id not in before)

    @explained
    def drop_mark(self, mark_id: str) -> None:
        """Take a mark of a change away. Raises InputError ``mark.unknown``."""
        from stirfall.session.commands import DropMark

        self.document.execute(DropMark(mark_id))
