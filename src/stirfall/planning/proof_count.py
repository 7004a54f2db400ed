"""A proof by count: so many attempts at one recipe, of which so many may fail.

It shows the claim where so few failures would be as rare as 1 - confidence, or rarer, if the reliability only just
missed the claim: the exact binomial test. With no failure allowed it is the success run, n = ln(1 - C) / ln R.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from stirfall.bench.errors import InputError
from stirfall.bench.proofs import MOST_ATTEMPTS, ProofRule
from stirfall.planning.proof_bounds import FloatArray, at_most, highest_rate, lowest_rate, more_than
from stirfall.planning.proof_verdict import Verdict

# A tail that equals 1 - confidence to this many digits of rounding counts as equal.
_ROUNDING = 1e-12
_NEVER = 1e-12


def attempts_needed(claim: float, confidence: float, failures: int = 0) -> int:
    """Return the fewest attempts that show the reliability ``claim`` with ``failures`` of them failed.

    The smallest n with P(X <= failures) <= 1 - confidence for X ~ binomial(n, 1 - claim), exactly. Raises
    InputError ``proof.claim``, ``proof.confidence``, ``proof.failures_number`` or ``proof.too_many``.
    """
    _check(claim, confidence, failures)
    if not _shows(MOST_ATTEMPTS, claim, confidence, failures):
        raise InputError("proof.too_many", claim=100.0 * claim, confidence=100.0 * confidence, most=MOST_ATTEMPTS)
    low, high = failures, MOST_ATTEMPTS  # low never shows the claim, high does; the tail falls as n rises
    while high - low > 1:
        middle = (low + high) // 2
        if _shows(middle, claim, confidence, failures):
            high = middle
        else:
            low = middle
    return high


def _check(claim: float, confidence: float, failures: int) -> None:
    if not 0 < claim < 1:
        raise InputError("proof.claim", value=claim)
    if not 0.5 <= confidence < 1:
        raise InputError("proof.confidence", value=confidence)
    if failures < 0 or failures != math.floor(failures):
        raise InputError("proof.failures_number", value=failures)


def _shows(attempts: int, claim: float, confidence: float, failures: int) -> bool:
    return float(at_most(failures, attempts, 1.0 - claim)) <= 1.0 - confidence + _ROUNDING


@dataclass(frozen=True)
class CountPlan:
    """So many attempts, of which ``failures_allowed`` may fail; over at once when one more has failed."""

    claim: float
    confidence: float
    attempts: int
    failures_allowed: int = 0

    rule = ProofRule.COUNT

    @cached_property
    def false_pass(self) -> float:
        """The chance to pass with a reliability that only just misses the claim, exactly."""
        return float(self.chance_to_show(self.claim))

    @property
    def keeps_promise(self) -> bool:
        """Whether passing shows the claim with the confidence that is promised."""
        return self.false_pass <= 1.0 - self.confidence + _ROUNDING

    def verdict_at(self, made: int, failures: int) -> Verdict:
        """Return what follows once so many attempts were made and so many of them failed."""
        if failures > self.failures_allowed:
            return Verdict.NOT_SHOWN
        return Verdict.SHOWN if made >= self.attempts else Verdict.OPEN

    def chance_to_show(self, reliability: ArrayLike, made: int = 0, failures: int = 0) -> FloatArray:
        """Return P(the claim is shown) at true reliabilities, after ``made`` attempts with ``failures``."""
        left, spare = self.attempts - made, self.failures_allowed - failures
        rate = 1.0 - np.asarray(reliability, dtype=float)
        return at_most(spare, max(left, 0), rate) if spare >= 0 else np.zeros_like(rate)

    def expected_attempts(self, reliability: ArrayLike, made: int = 0, failures: int = 0) -> FloatArray:
        """Return how many further attempts to expect until it is over: one more failure than allowed ends it.

        By Wald's identity: the failures to expect at the end, divided by the failure rate.
        """
        left, spare = max(self.attempts - made, 0), self.failures_allowed - failures
        rate = 1.0 - np.asarray(reliability, dtype=float)
        certain = np.maximum(rate, _NEVER)
        failing = np.zeros_like(rate)
        for already in range(spare + 1):
            failing += more_than(already, left, certain)
        return np.minimum(failing / certain, left)

    def lower_bound(self, made: int, failures: int, confidence: float) -> float:
        """Return the reliability that is exceeded with ``confidence``, at an end of this plan.

        Ends are ordered from good to bad: all attempts made, fewest failures first; then those that failed too
        often, the latest first. For a proof that shows its claim it is the bound of Clopper and Pearson.
        """
        if failures > self.failures_allowed:
            return 1.0 - highest_rate(self.failures_allowed, made - 1, confidence)
        return 1.0 - highest_rate(failures, made, confidence)

    def upper_bound(self, made: int, failures: int, confidence: float) -> float:
        """Return the reliability that is not reached with ``confidence``, at an end of this plan."""
        return 1.0 - lowest_rate(failures, made, confidence)


def count_plan(claim: float, confidence: float, failures: int = 0, attempts: int | None = None) -> CountPlan:
    """Return the plan by count, the shortest where ``attempts`` is None.

    Raises as ``attempts_needed``, and ``proof.too_few`` where so few attempts do not show the claim.
    """
    needed = attempts_needed(claim, confidence, failures)
    if attempts is not None and attempts < needed:
        raise InputError("proof.too_few", attempts=attempts, needed=needed, failures=failures)
    return CountPlan(claim, confidence, attempts or needed, failures)
