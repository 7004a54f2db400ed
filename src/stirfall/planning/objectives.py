"""What each goal counts: the worth of every condition in every posterior draw, and the figure that it promises."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from stirfall.bench.factors import Role
from stirfall.bench.units import Amount
from stirfall.inference.probability import weighted_interval
from stirfall.planning.box import Columns, Numbers
from stirfall.planning.gains import Array
from stirfall.planning.goals import Goal, GoalFigure
from stirfall.planning.jar_choice import Waits, ages_on_the_shelf, is_waited_for, waits_on_the_shelf
from stirfall.planning.limits import OperatingLimits
from stirfall.planning.soonest import (
    Draws,
    Pace,
    Wait,
    attempts_a_week,
    expected_hours,
    fresh_start,
    grams_a_week,
    pace_of,
)

# Differences below this, in probability or as a share of the best hours or grams, are Monte-Carlo noise.
_SAME, _SAME_SHARE = 0.005, 0.02
_NO_CHANGE = 0.1
Recovered = Callable[[Columns], Numbers]


@dataclass(frozen=True)
class Yield:
    """What one clean attempt brings: ``charge_g`` in the jar, and the share of it that comes back as clean metal.

    ``mean`` gives that share per condition, (c,); ``draws`` gives posterior draws of it, (m, c), for m draws of the
    probability that it is paired with.
    """

    charge_g: float
    mean: Recovered
    draws: Callable[[Columns, int], Numbers]


@dataclass(frozen=True)
class Objective:
    """What a goal counts. ``grams`` is None where charge or recovery is not known: then no grams are promised."""

    goal: Goal
    limits: OperatingLimits
    pace: Pace
    now: datetime | None = None
    grams: Yield | None = None
    lot_id: str | None = None

    @property
    def wait_is_known(self) -> bool:
        """Whether the conditions say how long jars must age: not where only a film index stands for it."""
        visible = [factor for factor in self.limits.factors if not factor.is_choice]
        has_film = any(factor.role is Role.FILM_INDEX for factor in visible)
        return not (has_film and self.limits.may_wait) or any(is_waited_for(factor) for factor in visible)

    def utilities(self, clean: Array, columns: Columns) -> Array:
        """Return the worth of each condition in each draw, (m, c) in 0 to 1, larger is better.

        ``clean`` (m, c) are draws of the probability of a clean separation. LEARN and RELIABLE count that itself,
        SOONEST the share of the horizon that is saved, 1 - T / H, MOST the clean grams a week as a share of what
        the bench hours could give.
        """
        if self.goal is Goal.SOONEST:
            hours = expected_hours(clean, self.wait(columns, clean.mean(axis=0)), self.pace)
            return np.asarray(1.0 - hours / self.pace.horizon_h, dtype=np.float32)
        if self.goal is Goal.MOST:
            most = self.pace.hours_a_week / self.pace.attempt_h
            rate = attempts_a_week(self.ageing_h(columns), self.pace) / most
            share = 1.0 if self.grams is None else self.grams.mean(columns)
            return np.asarray(clean * np.asarray(rate * share, dtype=np.float32), dtype=np.float32)
        return clean

    def figure(self, clean: Numbers, weights: Numbers, columns: Columns, level: float) -> GoalFigure | None:
        """Return what the goal promises at one condition from (m, 1) draws with (m,) weights, or None.

        The mean over the draws with its equal-tailed interval, widened to hold the mean.
        """
        if not self.wait_is_known:
            return None
        if self.goal is Goal.SOONEST:
            mean = np.asarray(weights @ clean)
            return _figure(expected_hours(clean, self.wait(columns, mean), self.pace), weights, level, "h")
        if self.goal is Goal.MOST and self.grams is not None:
            grams = self.grams.charge_g * self.grams.draws(columns, len(clean))
            return _figure(grams_a_week(clean, grams, self.ageing_h(columns), self.pace), weights, level, "g/week")
        return None

    def noise(self, height: float) -> float:
        """Return the difference in worth below which two conditions are as good as each other (our proposal).

        ``height`` is the worth of the best: a hundredth of the hours that it takes counts where it takes few.
        """
        if self.goal is Goal.SOONEST:
            return _SAME_SHARE * max(1.0 - height, 0.0)
        return _SAME_SHARE * height if self.goal is Goal.MOST else _SAME

    def as_good(self, height: float) -> float:
        """Return the difference in worth for which nobody changes a recipe (our proposal): a tenth of the hours.

        ``height`` is the worth of the best.
        """
        return _NO_CHANGE * (max(1.0 - height, 0.0) if self.goal is Goal.SOONEST else height)

    def amount(self, worth: float) -> Amount | None:
        """Return a worth of 0 to 1 as what the goal counts, hours or grams a week; None where that is not known."""
        if not self.wait_is_known:
            return None
        if self.goal is Goal.SOONEST:
            return Amount(float(round((1.0 - worth) * self.pace.horizon_h)), "h")
        if self.goal is Goal.MOST and self.grams is not None:
            most = self.grams.charge_g * self.pace.hours_a_week / self.pace.attempt_h
            return Amount(float(f"{worth * most:.2g}"), "g/week")
        return None

    def ageing_h(self, columns: Columns) -> Numbers:
        """Return how long jars that are started now must age for each condition, (c,)."""
        return self._waits(columns).ageing_h

    def wait(self, columns: Columns, mean: Numbers) -> Wait:
        """Return the wait for each condition: with the jars on the shelf, or all fresh where that is sooner.

        ``mean`` (c,) is the mean probability, by which the two are compared.
        """
        waits = self._waits(columns)
        fresh = fresh_start(waits.ageing_h, self.pace)
        jars = np.minimum(waits.jars, self.pace.jars_at_once).astype(float)
        shelf = Wait(
            waits.ageing_h,
            np.where(jars > 0, waits.first_h, fresh.first_h),
            np.where(jars > 0, jars, fresh.first_jars),
        )
        sooner = expected_hours(mean, shelf, self.pace) <= expected_hours(mean, fresh, self.pace)
        return Wait(
            waits.ageing_h,
            np.where(sooner, shelf.first_h, fresh.first_h),
            np.where(sooner, shelf.first_jars, fresh.first_jars),
        )

    def ages_at_hand(self) -> list[dict[str, float]]:
        """Return the ages of jars on the shelf at which the goal may peak: for the soonest batch; else none."""
        return ages_on_the_shelf(self.limits, self.now, self.lot_id) if self.goal is Goal.SOONEST else []

    def _waits(self, columns: Columns) -> Waits:
        return waits_on_the_shelf(self.limits, columns, self.now, self.lot_id)


def objective_for(
    goal: Goal,
    limits: OperatingLimits,
    *,
    now: datetime | None = None,
    grams: Yield | None = None,
    lot_id: str | None = None,
) -> Objective:
    """Return what ``goal`` counts in a campaign; jars on the shelf count from ``now`` on, without it none does."""
    return Objective(goal, limits, pace_of(limits.state.settings.plan), now, grams, lot_id)


def _figure(draws: Draws, weights: Numbers, level: float, unit: str) -> GoalFigure:
    values = np.asarray(draws, dtype=float)
    mean = float((weights @ values)[0])
    low, high = (float(bound[0]) for bound in weighted_interval(values, weights, level))
    return GoalFigure(mean, min(low, mean), max(high, mean), unit)
