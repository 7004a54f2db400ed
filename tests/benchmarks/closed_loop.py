"""How many attempts a campaign needs, by look-ahead or in a space-filling order, simulated on invented truths.

``run()`` repeats seeded campaigns on several invented truths. The same model and the same ``best()`` serve every
order; an order is close enough when the true probability at ``best()`` comes within 0.10 of the best possible one.
Errors are standard errors of the mean over the campaigns. Run as a script for the long version; its one argument is
JSON with arguments of ``run``.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.odds import GateFit, OddsModel
from stirfall.inference.table import build_table
from stirfall.planning.box import make_box
from stirfall.planning.candidates import known_columns, spread_points
from stirfall.planning.first_design import spread_out
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import Suggestion, best, suggest

CLOSE_ENOUGH = 0.10
Gates = tuple[float, float]


def logistic(value: float) -> float:
    return 1.0 / (1.0 + math.exp(-value))


def dross(c: Conditions) -> Gates:
    """Age hump with an over-stirring and an over-dosing penalty that the fitted model does not contain."""
    z = 0.5 * math.log(c["age"] / 12.0)
    w, q, d = math.log(c["stirring time"] / 120.0), (c["stirring speed"] - 90.0) / 50.0, c["dose"]
    return (
        logistic(1.6 + 2.4 * z + 0.8 * w + 0.5 * q + 0.06 * (d - 6.0)),
        logistic(
            1.9 - 2.6 * z - 0.5 * max(q, 0.0) ** 2 + 0.3 * w + 0.16 * (d - 6.0) - 0.02 * max(d - 12.0, 0.0) ** 2
        ),
    )


def grit(c: Conditions) -> Gates:
    """Age hump away from the middle; stirring time and temperature pull the two gates in different ways."""
    z = math.log(c["age"] / 20.0) / 1.4
    w, t, d = (
        math.log(c["stirring time"] / 95.0) / 1.1,
        (c["temperature"] - 155.0) / 12.0,
        (c["dose"] - 10.0) / 10.0,
    )
    return (
        logistic(0.2 + 2.0 * z + 1.2 * w - 0.6 * t + 0.4 * d),
        logistic(0.8 - 2.2 * z + 0.8 * w + 1.0 * t - 0.9 * d),
    )


def beads(c: Conditions) -> Gates:
    """Three factors and a hump in age."""
    z = math.log(c["age"] / 7.0) / 1.2
    w, d = math.log(c["stirring time"] / 95.0) / 1.1, (c["dose"] - 10.0) / 10.0
    return logistic(0.3 + 2.4 * z + 0.8 * w + 0.5 * d), logistic(0.6 - 2.6 * z + 0.9 * w - 0.7 * d)


def flat(c: Conditions) -> Gates:
    """Nothing matters: every order is done at once, and no order may do harm."""
    return 0.75, 0.80


_AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE)
_TIME = Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0)
_SPEED = Factor("stirring speed", "1/min", 20.0, 180.0, step=5.0)
_DOSE = Factor("dose", "mg/g", 0.0, 20.0, step=0.5)
_HEAT = Factor("temperature", "C", 143.0, 167.0, step=1.0)


@dataclass(frozen=True)
class Truth:
    """An invented process: what really happens at given conditions."""

    name: str
    gates: Callable[[Conditions], Gates]
    factors: tuple[Factor, ...]

    def clean(self, conditions: Conditions) -> float:
        parted, pooled = self.gates(conditions)
        return parted * pooled


TRUTHS = {
    truth.name: truth
    for truth in (
        Truth("dross", dross, (_AGE, _TIME, _SPEED, _DOSE)),
        Truth("grit", grit, (_AGE, _TIME, _HEAT, _DOSE)),
        Truth("beads", beads, (_AGE, _TIME, _DOSE)),
        Truth("flat", flat, (_AGE, _TIME, _DOSE)),
    )
}


def drawn_from_the_prior(seed: int) -> Truth:
    """Return a truth with three factors whose coefficients are drawn from the prior of the program."""
    factors, rng, known = (_AGE, _TIME, _DOSE), np.random.default_rng([seed, 5]), CampaignSettings()
    sd = np.array([known.intercept_prior_sd, *[known.effect_prior_sd] * len(factors)])
    first, second = (rng.normal(0.0, sd) for _ in range(2))

    def gates(conditions: Conditions) -> Gates:
        row = np.array([1.0, *(factor.to_unit_interval(conditions[factor.name]) for factor in factors)])
        return logistic(float(first @ row)), logistic(float(second @ row))

    return Truth(f"prior {seed}", gates, factors)


def new_campaign(truth: Truth) -> CampaignState:
    settings = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0)
    return CampaignState(settings, truth.factors)


@cache
def highest(truth: Truth) -> float:
    """The best true probability over a fine Sobol set of the box, its corners included."""
    box = make_box(operating_limits(new_campaign(truth)), [factor.name for factor in truth.factors])
    points = spread_points(len(truth.factors), 2048, 1)
    columns = box.decode(np.vstack([points, np.unique(np.round(points), axis=0)]))
    return max(truth.clean(box.conditions(columns, row)) for row in range(len(columns["age"])))


def fitted(state: CampaignState, seed: int, draws: int) -> OddsModel:
    """Fit the two gates as the program does, with fewer draws, so that many campaigns fit into a minute."""
    design, table = build_table(state)
    matrix = design.matrix(table.columns, rows=table.rows)
    prior = design.prior_sd(state.settings.intercept_prior_sd, state.settings.effect_prior_sd)
    seen = (table.parted == 1) & np.isfinite(table.pooled)
    gates = []
    for index, (name, rows, successes) in enumerate(
        (("parted", np.ones(table.rows, dtype=bool), table.parted), ("pooled", seen, table.pooled))
    ):
        posterior = fit_posterior(
            matrix[rows], successes[rows], np.ones(int(rows.sum())), prior, draws=draws, seed=2 * seed + index
        )
        gates.append(GateFit(name, posterior, int(successes[rows].sum()), int(rows.sum())))
    return OddsModel(design, tuple(gates), table.counts, state.settings.level, table.rows)


def attempt(truth: Truth, conditions: Conditions, number: int, rng: np.random.Generator) -> Attempt:
    first, second = rng.random(2)
    parted, pooled = truth.gates(conditions)
    if first >= parted:
        return Attempt(f"a{number}", number, conditions, parted=Parted.NO)
    pool = Pooled.ONE_POOL if second < pooled else Pooled.BEADS
    return Attempt(f"a{number}", number, conditions, parted=Parted.YES, pooled=pool)


def next_conditions(state: CampaignState, model: OddsModel, order: str, seed: int) -> Conditions:
    limits = operating_limits(state)
    if order == "space-filling":
        box = make_box(limits, [factor.name for factor in state.factors])
        known = known_columns(box, [each.conditions for each in state.attempts])
        return box.conditions(spread_out(box, known, count=1, seed=seed)[0][0], 0)
    return suggest(model, limits, state, count=1, goal=order, seed=seed)[0].conditions


def campaign(
    truth: Truth, order: str, seed: int, *, most: int, draws: int = 1024, judge_from: int = 1
) -> list[tuple[float, Suggestion]]:
    """Return, after each attempt, how far ``best()`` falls short of the best true probability, and what it said."""
    rng = np.random.default_rng([seed, 77])
    top, state = highest(truth), new_campaign(truth)
    after: list[tuple[float, Suggestion]] = []
    model = fitted(state, seed, draws)
    for number in range(1, most + 1):
        conditions = next_conditions(state, model, order, seed)
        state = replace(state, attempts=(*state.attempts, attempt(truth, conditions, number, rng)))
        model = fitted(state, seed, draws)
        if number < judge_from:
            continue
        recommended = best(model, operating_limits(state), state, seed=seed)
        after.append((top - truth.clean(recommended.conditions), recommended))
    return after


def shortfalls(truth: Truth, order: str, seed: int, *, most: int, draws: int) -> list[float]:
    """Only the shortfalls of a campaign."""
    return [shortfall for shortfall, _ in campaign(truth, order, seed, most=most, draws=draws)]


def needed(values: np.ndarray) -> np.ndarray:
    """Attempts until close enough for the first time; one more than were made where that never happened."""
    padded = np.hstack([values <= CLOSE_ENOUGH, np.ones((len(values), 1), dtype=bool)])
    return padded.argmax(axis=1) + 1.0


def settled(values: np.ndarray) -> np.ndarray:
    """Attempts until close enough three times running: the first time may be luck, ``best()`` moves on."""
    close = values <= CLOSE_ENOUGH
    running = close[:, :-2] & close[:, 1:-1] & close[:, 2:]
    return np.where(running.any(axis=1), running.argmax(axis=1) + 1.0, values.shape[1] + 1.0)


def run(
    *,
    truths: tuple[str, ...] = ("dross", "grit", "beads", "flat"),
    orders: tuple[str, ...] = ("reliable", "learn"),
    campaigns: int = 60,
    most: int = 25,
    draws: int = 1024,
    first_seed: int = 0,
) -> dict[str, dict[str, float]]:
    """Return, per truth and order, what it took, against the space-filling order on the same seeds."""
    found: dict[str, dict[str, float]] = {}
    seeds = range(first_seed, first_seed + campaigns)
    for name in truths:
        made = {
            order: np.array([shortfalls(TRUTHS[name], order, seed, most=most, draws=draws) for seed in seeds])
            for order in ("space-filling", *orders)
        }
        for order, values in made.items():
            found[f"{name}: {order}"] = _summary(values, made["space-filling"])
    return found


def _summary(values: np.ndarray, baseline: np.ndarray) -> dict[str, float]:
    """Summarise (campaigns, attempts) shortfalls.

    ``attempts``: mean until close enough for the first time, ``settled``: until close enough three times running,
    each with its ratio to space-filling. ``shortfall``: mean over the attempts from the sixth on, and what is saved
    of it. ``matched_after``: attempts after which the average shortfall is what space-filling has at the end.
    """
    saved = (baseline - values)[:, 5:].mean(axis=1)
    matched = values.mean(axis=0) <= baseline.mean(axis=0)[-1] + 1e-12
    return {
        "campaigns": len(values),
        "of": values.shape[1],
        **_compare("attempts", needed(values), needed(baseline)),
        **_compare("settled", settled(values), settled(baseline)),
        "shortfall": round(float(values[:, 5:].mean()), 3),
        "shortfall_saved": round(float(saved.mean()), 3),
        "shortfall_saved_se": round(_error(saved), 3),
        "matched_after": int(matched.argmax()) + 1 if matched.any() else values.shape[1] + 1,
    }


def _compare(name: str, took: np.ndarray, base: np.ndarray) -> dict[str, float]:
    """Mean attempts, what is saved against the baseline, and the ratio; its error by the delta method."""
    ratio = took.mean() / base.mean()
    return {
        name: round(float(took.mean()), 2),
        f"{name}_saved": round(float((base - took).mean()), 2),
        f"{name}_saved_se": round(_error(base - took), 2),
        f"{name}_ratio": round(float(ratio), 3),
        f"{name}_ratio_se": round(_error((took - ratio * base) / base.mean()), 3),
    }


def _error(values: np.ndarray) -> float:
    """Standard error of the mean over campaigns."""
    return float(values.std(ddof=1) / math.sqrt(len(values)))


if __name__ == "__main__":
    options = json.loads(sys.argv[1]) if len(sys.argv) > 1 else {}
    options = {key: tuple(value) if isinstance(value, list) else value for key, value in options.items()}
    for label, figures in run(**options).items():
        print(f"{label:28s} {figures}")
