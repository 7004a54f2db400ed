"""How a proof stands: which attempts count, how many failed, what its rule says, and what may be said of it."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from functools import cached_property

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt
from stirfall.planning.proof import CountPlan, ProofPlan, Verdict, off_recipe, plan_of
from stirfall.planning.proof_bounds import highest_rate, lowest_rate

_GRADES = ("parted", "pooled", "successes", "trials", "aborted")
_NOTHING = "null"  # as JSON text: no grade was given yet


@dataclass(frozen=True)
class MarkedAttempt:
    """An attempt that is marked for a proof: its place among those that count, or why it does not count."""

    attempt: Attempt
    place: int | None
    failed: bool
    left_out: Reason | None = None
    remark: Reason | None = None


@dataclass(frozen=True)
class ProofInterval:
    """What the attempts say of the reliability, at ``confidence``.

    ``lower`` is exceeded with that confidence; ``low`` to ``high`` holds it from both sides. ``is_result`` is False
    while a proof is open and where it was given up: then it is what the same attempts would say had their number
    been fixed beforehand.
    """

    lower: float
    low: float
    high: float
    confidence: float
    n: int
    is_result: bool


@dataclass(frozen=True)
class ProofStanding:
    """A proof at this moment. ``path`` are the points (attempts, failures) from (0, 0) on; ``marked`` is all.

    ``withdrawn`` counts attempts that were marked for it and were taken back by undo; their outcome is not told.
    ``unmarked`` are those that were recorded at its recipe while it was open, and were not marked for it.
    """

    proof: Proof
    plan: ProofPlan
    marked: tuple[MarkedAttempt, ...]
    verdict: Verdict
    failures: int
    path: tuple[tuple[int, int], ...]
    withdrawn: int = 0
    unmarked: tuple[Attempt, ...] = ()

    @cached_property
    def interval(self) -> ProofInterval | None:
        """What the attempts say of the reliability, None before the first; worked out when it is asked for."""
        return _interval(self.plan, self.made, self.failures, self.verdict) if self.made else None

    @property
    def used(self) -> tuple[Attempt, ...]:
        """The attempts that count, in order."""
        return tuple(each.attempt for each in self.marked if each.place is not None)

    @property
    def made(self) -> int:
        """How many attempts count."""
        return len(self.path) - 1

    @property
    def clean(self) -> int:
        """How many of them were clean."""
        return self.made - self.failures

    @property
    def remaining(self) -> int:
        """How many attempts are left at most; none once it is over."""
        return self.plan.attempts - self.made if self.verdict is Verdict.OPEN else 0

    @property
    def shown_after(self) -> int | None:
        """How many further attempts show the claim if all are clean; None once it is over, or where none can."""
        if self.verdict is not Verdict.OPEN:
            return None
        ahead = range(self.made + 1, self.plan.attempts + 1)
        return next((n - self.made for n in ahead if self.plan.verdict_at(n, self.failures) is Verdict.SHOWN), None)

    @property
    def spare(self) -> int | None:
        """How many failures a proof by count can still bear, None for one in sequence."""
        return self.plan.failures_allowed - self.failures if isinstance(self.plan, CountPlan) else None


def standing(
    state: CampaignState, proof: Proof, corrected: Collection[str] = (), *, withdrawn: int = 0
) -> ProofStanding:
    """Return how a proof stands by its marked attempts, in the order in which they were recorded.

    An aborted attempt is a failure; one that was struck out does not count, and is named. What follows an attempt
    that is not graded waits for its grade. One that a correction moved off the recipe counts only if it failed.
    ``corrected`` are ids of attempts whose conditions or grade were corrected: they count, and are named.
    """
    plan = plan_of(proof)
    marked: list[MarkedAttempt] = []
    unmarked: list[Attempt] = []
    path = [(0, 0)]
    verdict, waits = Verdict.OPEN, False
    for attempt in state.attempts:
        if attempt.proof_id != proof.id:
            if verdict is Verdict.OPEN and _is_left_out(attempt, proof, state):
                unmarked.append(attempt)
            continue
        away = off_recipe(proof, attempt.conditions, state.factors, state.settings.material)
        left_out = _left_out(attempt, verdict, away, waits=waits)
        if left_out is not None:
            waits = waits or left_out.code == "proof.not_graded"
            marked.append(MarkedAttempt(attempt, None, failed=has_failed(attempt), left_out=left_out))
            continue
        failed = has_failed(attempt)
        path.append((path[-1][0] + 1, path[-1][1] + failed))
        remark = _remark(attempt, away, corrected)
        marked.append(MarkedAttempt(attempt, path[-1][0], failed, remark=remark))
        verdict = plan.verdict_at(*path[-1])
    if verdict is Verdict.OPEN and not proof.is_open:
        verdict = Verdict.GIVEN_UP
    return ProofStanding(proof, plan, tuple(marked), verdict, path[-1][1], tuple(path), withdrawn, tuple(unmarked))


def _is_left_out(attempt: Attempt, proof: Proof, state: CampaignState) -> bool:
    """Whether an attempt without a mark was recorded at the recipe of a proof after it was started."""
    at = attempt.recorded_at
    if attempt.proof_id is not None or attempt.is_struck or at is None or at < proof.started_at:
        return False
    if proof.ended_at is not None and at > proof.ended_at:
        return False
    return off_recipe(proof, attempt.conditions, state.factors, state.settings.material) is None


def may_count(state: CampaignState, proof: Proof, conditions: Conditions) -> Reason | None:
    """Return why an attempt at ``conditions`` would not count for a proof now; None: it would."""
    if standing(state, proof).verdict is not Verdict.OPEN:
        return Reason("proof.over", {"id": proof.id})
    return off_recipe(proof, conditions, state.factors, state.settings.material)


def all_standings(state: CampaignState, corrections: Iterable[Correction] = ()) -> tuple[ProofStanding, ...]:
    """Return how every proof stands, in the order in which they were started, with what was corrected or undone."""
    known = tuple(corrections)
    corrected, taken_back = corrected_attempts(known), _taken_back(state, known)
    return tuple(standing(state, each, corrected, withdrawn=taken_back[each.id]) for each in state.proofs)


def _taken_back(state: CampaignState, corrections: Iterable[Correction]) -> Counter[str]:
    """Count by proof the marked attempts that were taken back by undo, and not done again."""
    kept = {attempt.id for attempt in state.attempts}
    gone = {
        (each.record_id, each.old) for each in corrections if each.kind == "attempt" and each.field == "proof_id"
    }
    return Counter(json.loads(old) for record_id, old in gone if record_id not in kept and old != _NOTHING)


def corrected_attempts(corrections: Iterable[Correction]) -> frozenset[str]:
    """Return the ids of the attempts whose conditions, or whose grade once given, were corrected."""
    return frozenset(each.record_id for each in corrections if each.kind == "attempt" and _matters(each))


def _matters(correction: Correction) -> bool:
    field = correction.field.split(".", maxsplit=1)[0]
    return field == "conditions" or (field in _GRADES and correction.old != _NOTHING)


def has_failed(attempt: Attempt) -> bool:
    """Whether an attempt counts as a failure: everything but a clean separation, an aborted attempt too."""
    if attempt.aborted:
        return True
    count = attempt.clean_count
    return count is not None and count[0] < count[1]


def _left_out(attempt: Attempt, verdict: Verdict, away: Reason | None, *, waits: bool) -> Reason | None:
    number = {"number": attempt.number}
    if attempt.is_struck:
        return Reason("proof.struck", {**number, "reason": attempt.struck_reason})
    if verdict is not Verdict.OPEN:
        return Reason("proof.after_the_end", number)
    if not attempt.aborted and attempt.clean_count is None:
        return Reason("proof.not_graded", number)
    if away is not None and not has_failed(attempt):
        return Reason("proof.moved_off", {**number, "factor": away.params["factor"]})
    return Reason("proof.waits", number) if waits else None


def _remark(attempt: Attempt, away: Reason | None, corrected: Collection[str]) -> Reason | None:
    number = {"number": attempt.number}
    if away is not None:
        return Reason("proof.moved_off_failed", {**number, "factor": away.params["factor"]})
    if attempt.aborted:
        return Reason("proof.aborted", number)
    return Reason("proof.corrected", number) if attempt.id in corrected else None


def _interval(plan: ProofPlan, made: int, failures: int, verdict: Verdict) -> ProofInterval:
    """At an end the interval respects the stopping rule; before, it is that of a number fixed beforehand."""
    confidence = plan.confidence
    two_sided = (1.0 + confidence) / 2.0
    if verdict in (Verdict.SHOWN, Verdict.NOT_SHOWN):
        return ProofInterval(
            lower=plan.lower_bound(made, failures, confidence),
            low=plan.lower_bound(made, failures, two_sided),
            high=plan.upper_bound(made, failures, two_sided),
            confidence=confidence,
            n=made,
            is_result=True,
        )
    return ProofInterval(
        lower=1.0 - highest_rate(failures, made, confidence),
        low=1.0 - highest_rate(failures, made, two_sided),
        high=1.0 - lowest_rate(failures, made, two_sided),
        confidence=confidence,
        n=made,
        is_result=False,
    )
