"""Are the promises of rehearsals kept? Campaigns of known truths against what was told of them, and the speed.

A truth is drawn from the program's prior by code of its own. A few attempts are made in it and rehearsed; then the
real campaign goes on, with its own luck. If the rehearsal is calibrated, what happens is one more draw of what was
rehearsed, so that its rank among that is uniform (the probability integral transform of Dawid 1984, J. R. Stat.
Soc. A 147:278; ranks as in Talts, Betancourt, Simpson, Vehtari & Gelman 2018, arXiv 1804.06788; both from memory).

``python tests/benchmarks/rehearsal.py '{"truths": 300, "campaigns": 39}'`` prints the figures per order.
"""

from __future__ import annotations

import json
import math
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.planning.control import control_of
from stirfall.planning.goals import Goal
from stirfall.planning.orders import next_by_order
from stirfall.planning.rehearsal import Kept, Played, play, rehearse
from stirfall.planning.suggestions import box_for
from stirfall.session.analysis import analyse
from stirfall.session.rehearsing import rehearsal_task

AGE = Factor("age", "h", 2.0, 96.0, Scale.LOG, role=Role.OIL_EXPOSURE)
DOSE = Factor("dose", "mg/g", 0.0, 20.0, step=0.5)
HEAT = Factor("temperature", "C", 143.0, 167.0, step=1.0)
FACTORS = (AGE, DOSE, HEAT)
# No recipe is as good as this, so that no campaign ends early.
NEVER = 0.9999
BEGUN = datetime(2026, 11, 30, 12, tzinfo=UTC)


@dataclass(frozen=True)
class Known:
    """A process with two gates, straight in its factors: coefficients (2, 1 + factors), on ranges from -1 to 1."""

    factors: tuple[Factor, ...]
    coefficients: np.ndarray

    def gates(self, columns, _lot):
        rows = [np.ones(len(columns[self.factors[0].name]))]
        for factor in self.factors:
            low, high = factor.bounds
            values = np.asarray(columns[factor.name], dtype=float)
            if factor.scale is Scale.LOG:
                low, high, values = math.log(low), math.log(high), np.log(values)
            rows.append((2.0 * values - low - high) / (high - low))
        eta = self.coefficients @ np.stack(rows)
        return tuple(1.0 / (1.0 + np.exp(-eta)))

    def harder(self, by: float) -> Known:
        """The same process with the log odds of both gates lowered."""
        return Known(self.factors, self.coefficients - np.r_[by, np.zeros(len(self.factors))])


@dataclass(frozen=True)
class Promise:
    """What was rehearsed for one truth, how the real campaign went, and how one in a harder process did.

    ``program`` is a real campaign that was led by the whole program: all forms weighed, lots allowed for, nothing
    made quicker; None where that was not asked for.
    """

    rehearsed: tuple[Played, ...]
    real: Played
    harder: Played
    program: Played | None = None


def known_truth(factors: tuple[Factor, ...], seed: int) -> Known:
    settings = CampaignSettings()
    sd = np.array([settings.intercept_prior_sd, *[settings.effect_prior_sd] * len(factors)])
    return Known(factors, np.random.default_rng([seed, 5]).normal(0.0, sd, (2, len(sd))))


def attempted(truth: Known, conditions: Conditions, number: int, rng: np.random.Generator) -> Attempt:
    columns = {name: np.array([value]) for name, value in conditions.items()}
    parted, pooled = (gate[0] for gate in truth.gates(columns, None))
    has_parted, has_pooled = rng.random() < parted, rng.random() < pooled
    if not has_parted:
        return Attempt(f"a{number}", number, conditions, parted=Parted.NO)
    pool = Pooled.ONE_POOL if has_pooled else Pooled.BEADS
    return Attempt(f"a{number}", number, conditions, parted=Parted.YES, pooled=pool)


def begun(truth: Known, made: int, seed: int) -> CampaignState:
    """Return a campaign with a few attempts at random conditions."""
    rng = np.random.default_rng([seed, 6])
    attempts = []
    for number in range(1, made + 1):
        values = {each.name: each.snap(each.from_unit_interval(rng.uniform(-1, 1))) for each in truth.factors}
        attempts.append(attempted(truth, Conditions(values), number, rng))
    settings = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0)
    return CampaignState(settings, truth.factors, attempts=tuple(attempts))


def led_by_the_program(state: CampaignState, truth: Known, order: str, most: int, seed: int) -> Played:
    """Play a campaign as a person would who always does what the program says. Weeks are not counted."""
    rng, path = np.random.default_rng([seed, 9]), []
    for number in range(most + 1):
        analysis = analyse(state, refined=True, seed=seed)
        box = box_for(analysis.model, analysis.limits, Goal.RELIABLE)
        control = control_of(box, analysis.model.design)
        recipe = {name: np.array([value]) for name, value in analysis.best().conditions.items()}
        clean = control.average(recipe, lambda columns: np.prod(truth.gates(columns, None), axis=0))
        path.append(float(clean[0]))
        if number < most:
            conditions = next_by_order(order, analysis.model, analysis.limits, state, seed=seed)
            attempt = attempted(truth, conditions, len(state.attempts) + 1, rng)
            state = replace(state, attempts=(*state.attempts, attempt))
    return Played(order, 0, None, None, tuple(path), (0.0,) * len(path), max(path))


def promise(
    seed: int,
    order: str,
    *,
    factors: int,
    campaigns: int,
    most: int,
    target: float,
    made: int,
    by: float,
    program: bool,
) -> Promise:
    """Rehearse after a few attempts in one truth, then go on in it, and in a harder one."""
    truth = known_truth(FACTORS[:factors], seed)
    state = begun(truth, made, seed)
    task = rehearsal_task(
        analyse(state), now=BEGUN, campaigns=campaigns, most=most, target=target, seed=seed, tz=UTC
    )
    kept = Kept()
    rehearse(task, orders=[order], jobs=1, record=kept)
    real, harder = (play(task.rules, each, order, 1_000_000) for each in (truth, truth.harder(by)))
    led = led_by_the_program(state, truth, order, most, seed) if program else None
    return Promise(tuple(kept.played), real, harder, led)


def ranks(promises: Sequence[Promise], value, which: str, seed: int = 0) -> np.ndarray:
    """Return, per truth, the rank of the real campaign as a share: uniform where promises are kept.

    Ties, and campaigns that did not arrive, are put in order by chance.
    """
    rng = np.random.default_rng([seed, 8])
    found = []
    for each in promises:
        told, real = np.array([value(played) for played in each.rehearsed]), value(getattr(each, which))
        below, equal = int((told < real).sum()), int((told == real).sum())
        found.append((below + rng.random() * (equal + 1)) / (len(told) + 1))
    return np.array(found)


def attempts_until(target: float):
    """Return what gives the attempts until the recipe was that good; infinite where it never was."""
    return lambda played: next((at for at, clean in enumerate(played.path) if clean >= target), math.inf)


def weeks_until(target: float):
    return lambda played: next(
        (played.weeks[at] for at, clean in enumerate(played.path) if clean >= target), math.inf
    )


def last(played: Played) -> float:
    """How good the recipe really was in the end: it hardly ever ties, so it tells most."""
    return played.path[-1]


VALUES = {
    "attempts to 0.5": attempts_until(0.5),
    "attempts to 0.8": attempts_until(0.8),
    "weeks to 0.5": weeks_until(0.5),
    "last": last,
}


def promises_of(
    order: str,
    *,
    truths: int,
    factors: int = 2,
    campaigns: int = 19,
    most: int = 8,
    made: int = 4,
    by: float = 2.0,
    program: bool = False,
    first_seed: int = 0,
) -> list[Promise]:
    """Return what was promised and kept in so many truths; all ``most`` attempts are played, done or not."""
    return [
        promise(
            seed,
            order,
            factors=factors,
            campaigns=campaigns,
            most=most,
            target=NEVER,
            made=made,
            by=by,
            program=program,
        )
        for seed in range(first_seed, first_seed + truths)
    ]


def run(
    *, truths: int = 100, orders: Sequence[str] = ("random", "planned for reliability"), **how: float
) -> dict[str, dict[str, float]]:
    """Return, per order, how uniform ranks are (p by Kolmogorov and Smirnov) and how often 80 % spreads held."""
    from scipy.stats import kstest

    found = {}
    for order in orders:
        begin = time.process_time()
        promises = promises_of(order, truths=truths, **how)
        seconds = time.process_time() - begin
        steps = sum(len(each.path) for one in promises for each in (*one.rehearsed, one.real, one.harder))
        told = {"truths": truths, "ms_per_attempt": round(1000 * seconds / steps, 1), "cpu_s": round(seconds, 1)}
        for name, value in VALUES.items():
            for which in ("real", "harder", *(["program"] if how.get("program") and "weeks" not in name else [])):
                u = ranks(promises, value, which)
                told[f"{name}, {which}: p"] = round(float(kstest(u, "uniform").pvalue), 5)
                told[f"{name}, {which}: in 80 %"] = round(float(((u > 0.1) & (u < 0.9)).mean()), 3)
        found[order] = told
    return found


if __name__ == "__main__":
    for label, figures in run(**(json.loads(sys.argv[1]) if len(sys.argv) > 1 else {})).items():
        print(label, *(f"   {name}: {figure}" for name, figure in figures.items()), sep="\n")
