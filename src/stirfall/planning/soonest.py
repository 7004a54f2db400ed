"""How long until the first clean batch, and how many clean grams a week, from the probability of one attempt.

The work goes in rounds, one after another: jars age until they are due, then they are opened one by one until one
comes out clean; where none does, fresh jars are started and the next round waits for them. ``p`` is the probability
that one attempt is clean, the same for every jar of a draw; K jars opened at one age give at least one clean batch
with probability q = 1 - (1 - p)^K. Our own model; the sums are geometric series.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from stirfall.bench.plans import PlanSettings

Numbers = npt.NDArray[np.float64]
Draws = npt.NDArray[Any]

WEEK_H = 168.0
_TINY = 1e-7


@dataclass(frozen=True)
class Pace:
    """How the person works: bench hours per attempt, jars opened at one age (K), horizon H, bench hours a week."""

    attempt_h: float
    jars_at_once: int
    horizon_h: float
    hours_a_week: float


def pace_of(plan: PlanSettings) -> Pace:
    """Return the pace that the campaign's settings tell."""
    return Pace(plan.attempt_h, plan.jars_at_once, plan.horizon_h, plan.hours_a_week)


@dataclass(frozen=True)
class Wait:
    """The ageing before each round, one number per condition, (c,).

    ``fresh_h`` is how long jars started now must age; ``first_h`` the hours until the first round opens, with
    ``first_jars`` jars. A fresh start has ``first_h`` = ``fresh_h`` and K jars.
    """

    fresh_h: Numbers
    first_h: Numbers
    first_jars: Numbers


def fresh_start(age_h: Numbers, pace: Pace) -> Wait:
    """Return the wait of jars that are all started now."""
    age = np.asarray(age_h, dtype=float)
    return Wait(age, age, np.full(age.shape, float(pace.jars_at_once)))


def expected_hours(p: Draws, wait: Wait, pace: Pace) -> Draws:
    """Return the expected hours until the first clean batch, shaped as ``p`` (..., c), restricted to the horizon.

    It is E[min(T, H)]: what takes longer than the horizon H counts as H. With w the first wait, k the jars of the
    first round, a the ageing of a fresh round and b the hours of one attempt::

        T = w + a S + b (1 - (1 - p)^N) / p

    N is how many attempts fit into H, and S how often fresh jars are waited for: the sum over later rounds of the
    chance that all before failed, (1 - p)^(k + K j), the round that the horizon cuts off counted for the part of
    its wait that fits. Without a horizon, T = w + (1 - p)^k a / q + b / p; a fresh start gives a / q + b / p. At
    p = 0 it is H, at p = 1 it is w + b. Exact where the horizon ends with an attempt, else interpolated.
    """
    rounds = _rounds(wait, pace)
    fail = np.log1p(-np.clip(p, _TINY, 1.0 - _TINY))
    none_yet = np.exp(fail * rounds.first_jars)
    q = -np.expm1(fail * pace.jars_at_once)
    whole = -np.expm1(fail * (pace.jars_at_once * rounds.whole)) / q
    cut = np.exp(fail * (pace.jars_at_once * rounds.whole))
    tries = np.expm1(fail * rounds.attempts) / np.expm1(fail)
    waited = none_yet * (wait.fresh_h * whole + rounds.cut_wait_h * cut)
    return np.asarray(rounds.first_h + waited + pace.attempt_h * tries, dtype=np.asarray(p).dtype)


def chance_in_time(p: Draws, wait: Wait, pace: Pace) -> Draws:
    """Return the chance of a clean batch within the horizon, shaped as ``p``: 1 - (1 - p)^N for N attempts."""
    fail = np.log1p(-np.clip(p, 0.0, 1.0 - _TINY))
    return np.asarray(-np.expm1(fail * _rounds(wait, pace).attempts), dtype=np.asarray(p).dtype)


@dataclass(frozen=True)
class _Rounds:
    """What fits into the horizon, per condition (c,)."""

    first_h: Numbers
    first_jars: Numbers
    whole: Numbers
    cut_wait_h: Numbers
    attempts: Numbers


def _rounds(wait: Wait, pace: Pace) -> _Rounds:
    attempt, jars, horizon = pace.attempt_h, pace.jars_at_once, pace.horizon_h
    first = np.minimum(wait.first_h, horizon)
    opened = np.minimum(wait.first_jars, (horizon - first) / attempt)
    left = np.maximum(horizon - first - opened * attempt, 0.0)
    one = wait.fresh_h + jars * attempt
    whole = np.floor(left / one + 1e-9)
    rest = np.maximum(left - whole * one, 0.0)
    cut = np.minimum(wait.fresh_h, rest)
    return _Rounds(first, opened, whole, cut, opened + jars * whole + (rest - cut) / attempt)


def attempts_a_week(age_h: Numbers, pace: Pace) -> Numbers:
    """Return the attempts a week, (c,), where K jars are always ageing: never more than the bench hours allow.

    It is min(168 K / (a + K b), bench hours per week / b).
    """
    jars, attempt = pace.jars_at_once, pace.attempt_h
    ageing = WEEK_H * jars / (np.asarray(age_h, dtype=float) + jars * attempt)
    return np.asarray(np.minimum(ageing, pace.hours_a_week / attempt))


def grams_a_week(p: Draws, grams: Draws, age_h: Numbers, pace: Pace) -> Draws:
    """Return the clean grams a week, shaped as ``p``: p x grams of one clean attempt x attempts a week."""
    return np.asarray(p * grams * attempts_a_week(age_h, pace), dtype=np.asarray(p).dtype)
