"""The whole of a campaign as one immutable value: what every view, fit and report reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from stirfall.bench.comparisons import Comparison
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.issued import ChangeMark, IssuedRecipe
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Acknowledgement, Regrade, Run


@dataclass(frozen=True)
class ChecklistTick:
    """The start checklist of one local day, as it was ticked: which lines, when, for which material class."""

    day: str
    ticked_at: datetime
    material: str
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Correction:
    """One changed field of one record: old value, new value, when and why; values are JSON text."""

    at: datetime
    kind: str
    record_id: str
    field: str
    old: str
    new: str
    reason: str
    command: str


@dataclass(frozen=True)
class CampaignState:
    """Settings, factors, lots, jars, attempts, runs, plans, comparisons and issued recipes of one session.

    Attempts that were withdrawn by undo are not in ``attempts``; struck-out ones are.
    """

    settings: CampaignSettings
    factors: tuple[Factor, ...]
    lots: tuple[Lot, ...] = ()
    jars: tuple[Jar, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    ticks: tuple[ChecklistTick, ...] = ()
    runs: tuple[Run, ...] = ()
    regrades: tuple[Regrade, ...] = ()
    acknowledged: tuple[Acknowledgement, ...] = ()
    proofs: tuple[Proof, ...] = ()
    evenings: tuple[EveningPlan, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    recipes: tuple[IssuedRecipe, ...] = ()
    marks: tuple[ChangeMark, ...] = ()

    @property
    def visible_factors(self) -> tuple[Factor, ...]:
        """The factors that forms and models use."""
        return tuple(factor for factor in self.factors if not factor.hidden)

    @property
    def shelf(self) -> tuple[Jar, ...]:
        """The jars of crude that are ageing now."""
        return tuple(jar for jar in self.jars if jar.is_ageing)

    @property
    def planned_jars(self) -> tuple[Jar, ...]:
        """The jars that shall be started at a time that was planned."""
        return tuple(jar for jar in self.jars if jar.planned and jar.emptied_at is None)

    @property
    def open_run(self) -> Run | None:
        """The guided run that is not over yet, the newest first; None when there is none."""
        return next((run for run in reversed(self.runs) if run.is_open), None)

    @property
    def open_proof(self) -> Proof | None:
        """The proof that was not given up, the newest first; whether it has decided follows from its attempts."""
        return next((proof for proof in reversed(self.proofs) if proof.is_open), None)

    @property
    def evening(self) -> EveningPlan | None:
        """The newest evening's plan that was not dropped, None where there is none."""
        return next((plan for plan in reversed(self.evenings) if plan.dropped_at is None), None)

    def proof(self, proof_id: str | None) -> Proof | None:
        """Return the proof with this id, or None."""
        return next((proof for proof in self.proofs if proof.id == proof_id), None)

    @property
    def residues(self) -> tuple[Jar, ...]:
        """The jars of residue that wait for disposal."""
        return tuple(jar for jar in self.jars if jar.emptied_at is None and jar.is_residue)

    def lot(self, lot_id: str | None) -> Lot | None:
        """Return the lot with this id, or None."""
        return None if lot_id is None else self._lots_by_id.get(lot_id)

    def jar(self, jar_id: str | None) -> Jar | None:
        """Return the jar with this id, or None."""
        return None if jar_id is None else self._jars_by_id.get(jar_id)

    @cached_property
    def newest(self) -> Attempt | None:
        """The attempt with the highest number that was not struck out, None where there is none."""
        found: Attempt | None = None
        for attempt in reversed(self.attempts):  # nearly always the first one that is met
            if (found is None or attempt.number > found.number) and attempt.struck_reason is None:
                found = attempt
        return found

    @cached_property
    def last_number(self) -> int:
        """The highest number of an attempt, 0 without any."""
        return max((attempt.number for attempt in self.attempts), default=0)

    # Pooled sessions hold thousands of jars, and each of many attempts asks for its own.
    @cached_property
    def _lots_by_id(self) -> Mapping[str, Lot]:
        return {lot.id: lot for lot in reversed(self.lots)}

    @cached_property
    def _jars_by_id(self) -> Mapping[str, Jar]:
        return {jar.id: jar for jar in reversed(self.jars)}

    def run(self, run_id: str | None) -> Run | None:
        """Return the run with this id, or None."""
        return next((run for run in self.runs if run.id == run_id), None)

    def attempt(self, attempt_id: str) -> Attempt:
        """Return the attempt with this id; raises InputError ``attempt.unknown``."""
        for attempt in self.attempts:
            if attempt.id == attempt_id:
                return attempt
        raise InputError("attempt.unknown", id=attempt_id)
