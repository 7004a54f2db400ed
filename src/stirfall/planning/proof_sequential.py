"""A proof in sequence: each attempt is held against two lines, and it is over when the failures cross one of them.

Wald's probability ratio test of a failure rate (Wald 1947, Sequential Analysis; NIST/SEMATECH e-Handbook 6.2.6):
with the rates p1 = 1 - claim and p0 = 1 - good, beta = 1 - confidence and alpha the risk of missing,

    k = ln(p1 (1 - p0) / (p0 (1 - p1)))            slope s = ln((1 - p0) / (1 - p1)) / k
    shown at or below     s n - ln((1 - alpha) / beta) / k
    not shown at or above s n + ln((1 - beta) / alpha) / k

It is cut off after the most attempts: what is open then is not shown. Risks and durations are exact, by counting
paths, and not Wald's approximations. Where the exact risk of a false pass is above 1 - confidence, the lower line
moves down until it is not: the promise holds exactly. Plans of proofs that run are made anew from the file each
time, so that this arithmetic never changes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.proofs import MOST_ATTEMPTS, ProofRule
from stirfall.planning.proof_lattice import Lattice, walk
from stirfall.planning.proof_verdict import Verdict

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

_FIRST_LENGTH = 64
# Where less than this is still open at both reliabilities, longer plans change nothing that is shown.
_STILL_OPEN = 1e-3
_ROUNDING = 1e-12
_HALVINGS = 30


@dataclass(frozen=True)
class Lines:
    """The two lines over attempts n: ``slope`` n + ``shown`` (below zero) and ``slope`` n + ``refused``."""

    slope: float
    shown: float
    refused: float


@dataclass(frozen=True)
class SequentialPlan:
    """At most ``attempts``, each held against the lines; ``moved`` says that the lower line is not Wald's own.

    ``good`` is the reliability at which a proof should pass; ``risk_of_missing`` was asked for, ``missing`` holds.
    """

    claim: float
    confidence: float
    good: float
    risk_of_missing: float
    attempts: int
    lines: Lines
    moved: bool

    rule = ProofRule.SEQUENTIAL

    @cached_property
    def shown_at(self) -> IntArray:
        """The most failures with which it is shown after 0, 1, ... attempts; -1 where it cannot be."""
        return _thresholds(self.lines, self.attempts)[0]

    @cached_property
    def refused_at(self) -> IntArray:
        """The fewest failures with which it is not shown after 0, 1, ... attempts."""
        return _thresholds(self.lines, self.attempts)[1]

    @cached_property
    def lattice(self) -> Lattice:
        """All ends of the plan from its start."""
        return self.lattice_from(0, 0)

    def lattice_from(self, made: int, failures: int) -> Lattice:
        """Return all ends that can still be reached."""
        return walk(self.shown_at, self.refused_at, at=self.lines.slope, made=made, failures=failures)

    @property
    def false_pass(self) -> float:
        """The chance to pass with a reliability that only just misses the claim, exactly."""
        return float(self.chance_to_show(self.claim))

    @property
    def missing(self) -> float:
        """The chance not to pass with the good reliability, exactly."""
        return 1.0 - float(self.chance_to_show(self.good))

    @property
    def keeps_promise(self) -> bool:
        """Whether passing shows the claim with the confidence that is promised."""
        return self.false_pass <= 1.0 - self.confidence + _ROUNDING

    @property
    def fewest(self) -> int | None:
        """The fewest attempts that can show the claim: without any failure; None where no number can."""
        found = np.flatnonzero(self.shown_at >= 0)
        return int(found[0]) if len(found) else None

    def refuse_too_short(self) -> None:
        """Raise InputError ``proof.too_few_to_show`` where even clean attempts alone could not show the claim."""
        if self.fewest is None:
            needed = math.ceil(-self.lines.shown / self.lines.slope - _ROUNDING)
            raise InputError("proof.too_few_to_show", attempts=self.attempts, fewest=needed)

    def verdict_at(self, made: int, failures: int) -> Verdict:
        """Return what follows at this point, where nothing was decided before."""
        n = min(made, self.attempts)
        if failures <= self.shown_at[n]:
            return Verdict.SHOWN
        return Verdict.NOT_SHOWN if failures >= self.refused_at[n] or made >= self.attempts else Verdict.OPEN

    def chance_to_show(self, reliability: ArrayLike, made: int = 0, failures: int = 0) -> FloatArray:
        """Return P(the claim is shown) at true reliabilities, after ``made`` attempts with ``failures``."""
        rate = 1.0 - np.asarray(reliability, dtype=float)
        if self.verdict_at(made, failures) is not Verdict.OPEN:
            return np.full_like(rate, self.verdict_at(made, failures) is Verdict.SHOWN)
        return self._ends(made, failures).chance_to_show(rate)

    def expected_attempts(self, reliability: ArrayLike, made: int = 0, failures: int = 0) -> FloatArray:
        """Return how many further attempts to expect until it is over."""
        rate = 1.0 - np.asarray(reliability, dtype=float)
        if self.verdict_at(made, failures) is not Verdict.OPEN:
            return np.zeros_like(rate)
        return self._ends(made, failures).expected_attempts(rate)

    def lower_bound(self, made: int, failures: int, confidence: float) -> float:
        """Return the reliability that is exceeded with ``confidence``, at an end of this plan.

        Ends are ordered by stages: shown early is best, not shown early is worst. Raises InputError
        ``proof.no_end`` where the plan cannot end there.
        """
        return 1.0 - self.lattice.highest_rate(self._end(made, failures), confidence)

    def upper_bound(self, made: int, failures: int, confidence: float) -> float:
        """Return the reliability that is not reached with ``confidence``, at an end of this plan; as above."""
        return 1.0 - self.lattice.lowest_rate(self._end(made, failures), confidence)

    def _end(self, made: int, failures: int) -> int:
        end = self.lattice.end(made, failures)
        if end is None:
            raise InputError("proof.no_end", made=made, failures=failures)
        return end

    def _ends(self, made: int, failures: int) -> Lattice:
        return self.lattice if made == 0 else self.lattice_from(made, failures)


def sequential_plan(
    claim: float, confidence: float, good: float, risk_of_missing: float, attempts: int | None = None
) -> SequentialPlan:
    """Return the plan with these risks; ``attempts`` None: cut off where the risk of missing is just kept.

    Where no length keeps that risk, it is cut off where almost everything is decided. Raises InputError
    ``proof.claim``, ``proof.confidence``, ``proof.good``, ``proof.risk``, ``proof.attempts`` or
    ``proof.too_few_to_show``.
    """
    _check(claim, confidence, good, risk_of_missing, attempts)
    wald = wald_lines(claim, confidence, good, risk_of_missing)
    length = _usual_length(claim, confidence, good, risk_of_missing, wald) if attempts is None else attempts
    plan = plan_within(claim, confidence, good, risk_of_missing, length)
    plan.refuse_too_short()
    return plan


@lru_cache(maxsize=64)
def plan_within(claim: float, confidence: float, good: float, risk: float, attempts: int) -> SequentialPlan:
    """Return the plan of so many attempts at most, also where it is too short to show anything."""
    wald = wald_lines(claim, confidence, good, risk)
    lines = _kept(wald, attempts, claim, confidence)
    return SequentialPlan(claim, confidence, good, risk, attempts, lines, lines != wald)


def wald_lines(claim: float, confidence: float, good: float, risk_of_missing: float) -> Lines:
    """Return Wald's lines for these risks."""
    bad_rate, good_rate = 1.0 - claim, 1.0 - good
    alpha, beta = risk_of_missing, 1.0 - confidence
    scale = math.log(bad_rate * (1.0 - good_rate) / (good_rate * (1.0 - bad_rate)))
    return Lines(
        slope=math.log((1.0 - good_rate) / (1.0 - bad_rate)) / scale,
        shown=-math.log((1.0 - alpha) / beta) / scale,
        refused=math.log((1.0 - beta) / alpha) / scale,
    )


def _check(claim: float, confidence: float, good: float, risk: float, attempts: int | None) -> None:
    if not 0 < claim < 1:
        raise InputError("proof.claim", value=claim)
    if not 0.5 <= confidence < 1:
        raise InputError("proof.confidence", value=confidence)
    if not claim < good < 1:
        raise InputError("proof.good", value=good, claim=claim)
    if not 0 < risk < 0.5:
        raise InputError("proof.risk", value=risk)
    if attempts is not None and not 1 <= attempts <= MOST_ATTEMPTS:
        raise InputError("proof.attempts", value=attempts, most=MOST_ATTEMPTS)


def _thresholds(lines: Lines, attempts: int) -> tuple[IntArray, IntArray]:
    """Return the most failures that show and the fewest that refuse, per number of attempts from 0 on."""
    n = np.arange(attempts + 1)
    shown = np.maximum(np.floor(lines.slope * n + lines.shown + _ROUNDING), -1.0).astype(np.int64)
    refused = np.ceil(lines.slope * n + lines.refused - _ROUNDING).astype(np.int64)
    shown[0] = -1
    return shown, np.maximum(refused, 1)


def _walked(lines: Lines, attempts: int) -> Lattice:
    return walk(*_thresholds(lines, attempts), at=lines.slope)


def _kept(wald: Lines, attempts: int, claim: float, confidence: float) -> Lines:
    """Move the lower line down, where it must be, until the exact risk of a false pass is kept."""
    allowed = 1.0 - confidence + _ROUNDING

    def risk(lines: Lines) -> float:
        return _shown_at_rate(*_thresholds(lines, attempts), 1.0 - claim)

    if risk(wald) <= allowed:
        return wald
    high, low = wald.shown, wald.shown - 1.0
    while risk(Lines(wald.slope, low, wald.refused)) > allowed:
        high, low = low, low - 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if risk(Lines(wald.slope, middle, wald.refused)) > allowed:
            high = middle
        else:
            low = middle
    return Lines(wald.slope, low, wald.refused)


def _shown_at_rate(shown_at: IntArray, refused_at: IntArray, rate: float) -> float:
    """Return P(shown) at one failure rate, as ``Lattice`` has it; in plain numbers, which is quicker for one."""
    weight, first, total = [1.0], 0, 0.0
    for shown, refused in zip(shown_at[1:].tolist(), refused_at[1:].tolist(), strict=True):
        weight = [a * (1.0 - rate) + b * rate for a, b in zip([*weight, 0.0], [0.0, *weight], strict=True)]
        ends = shown + 1 - first
        if ends > 0:
            total += sum(weight[:ends])
            weight, first = weight[ends:], first + ends
        weight = weight[: max(refused - first, 0)]
        if not weight:
            break
    return total


def _usual_length(claim: float, confidence: float, good: float, risk: float, wald: Lines) -> int:
    length = _FIRST_LENGTH
    while True:
        lines = _kept(wald, length, claim, confidence)
        found = _walked(lines, length)
        enough = _shortest(found, good, 1.0 - risk)
        if enough is not None:
            return enough
        undecided = found.probabilities([1.0 - good, 1.0 - claim])[:, found.made == length].sum(axis=1)
        if length == MOST_ATTEMPTS or float(undecided.max()) < _STILL_OPEN:
            return length
        length = min(2 * length, MOST_ATTEMPTS)


def _shortest(found: Lattice, good: float, chance: float) -> int | None:
    """Return the fewest attempts within which the good reliability is shown with a chance, None where none are."""
    order = np.argsort(found.made, kind="stable")
    reached = np.cumsum(found.probabilities(1.0 - good)[0, order] * found.shown[order])
    places = np.flatnonzero(reached >= chance)
    return int(found.made[order][places[0]]) if len(places) else None
