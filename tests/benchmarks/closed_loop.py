"""How many attempts a campaign needs, by look-ahead or in a space-filling order, simulated on invented truths.

``run()`` repeats seeded campaigns on several invented truths. The same model and the same ``best()`` serve every
order; an order is close enough when the true probability at ``best()`` comes within 0.10 of the best possible one.
Attempts can be planned and judged by the first answer or by the refined one, and recorded with both gates graded or
as clean or not, in one lot or in several that differ. Errors are standard errors of the mean over the campaigns.
Run as a script for the long version; its one argument is JSON with arguments of ``run``.
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal, NamedTuple

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.odds import GateFit, OddsModel
from stirfall.inference.stack import FittedModel
from stirfall.inference.table import build_table
from stirfall.planning.box import make_box
from stirfall.planning.candidates import known_columns, spread_points
from stirfall.planning.first_design import spread_out
from stirfall.planning.goals import Effort
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import Suggestion, best, suggest
from stirfall.session.analysis import analyse

CLOSE_ENOUGH = 0.10
NEW_LOTS = 400
Gates = tuple[float, float]
Answer = Literal["first", "refined"]


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

    def clean(self, conditions: Conditions, lot: Gates = (0.0, 0.0)) -> float:
        """Return P(clean) in a typical lot, or in one that moves the log odds of the gates by ``lot``."""
        parted, pooled = self.gates_in(conditions, lot)
        return parted * pooled

    def gates_in(self, conditions: Conditions, lot: Gates) -> Gates:
        parted, pooled = self.gates(conditions)
        return (parted, pooled) if lot == (0.0, 0.0) else (_moved(parted, lot[0]), _moved(pooled, lot[1]))


def _moved(probability: float, effect: float) -> float:
    return logistic(math.log(probability / (1.0 - probability)) + effect)


@dataclass(frozen=True)
class Recorded:
    """How attempts are recorded: both gates, or only clean or not, with the humps that the settings name.

    With ``lots`` the attempts come from so many lots, one after the other; each moves the log odds of both gates by
    its own normal amounts with a standard deviation of ``lot_sd``.
    """

    counted: bool = False
    humps: tuple[str, ...] = ()
    lots: int = 0
    lot_sd: float = 1.0

    def effects(self, seed: int) -> list[Gates]:
        """Return what each lot does; one lot without an effect where there are none."""
        rng = np.random.default_rng([seed, 91])
        return [tuple(rng.normal(0.0, self.lot_sd, 2)) for _ in range(self.lots)] or [(0.0, 0.0)]


GRADED = Recorded()


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


def new_campaign(truth: Truth, recorded: Recorded = GRADED) -> CampaignState:
    settings = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0, humps=recorded.humps)
    return CampaignState(settings, truth.factors, lots=tuple(Lot(f"L{place}") for place in range(recorded.lots)))


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


def answering(state: CampaignState, answer: Answer, seed: int, draws: int) -> FittedModel:
    """Return the model that answers; the first answer has ``draws`` draws, the refined one those of the program."""
    if answer == "refined":
        return analyse(state, seed=seed, refined=True).model
    counted = any(each.successes is not None for each in state.attempts)
    return analyse(state, seed=seed).model if counted else fitted(state, seed, draws)


def attempt(blank: Attempt, gates: Gates, rng: np.random.Generator, *, counted: bool) -> Attempt:
    """Return what happened: the blank attempt, graded or counted."""
    first, second = rng.random(2) < gates
    if counted:
        return replace(blank, successes=int(first and second))
    if not first:
        return replace(blank, parted=Parted.NO)
    return replace(blank, parted=Parted.YES, pooled=Pooled.ONE_POOL if second else Pooled.BEADS)


def next_conditions(
    state: CampaignState, model: FittedModel, order: str, seed: int, *, count: int = 1, effort: Effort = "usual"
) -> list[Conditions]:
    """Return the next attempts of an order, ``count`` at once."""
    limits = operating_limits(state)
    if order == "space-filling":
        box = make_box(limits, [factor.name for factor in state.factors])
        known = known_columns(box, [each.conditions for each in state.attempts])
        return [box.conditions(pick, 0) for pick, _ in spread_out(box, known, count=count, seed=seed)]
    made = suggest(model, limits, state, count=count, goal=order, seed=seed, effort=effort)
    return [each.conditions for each in made]


class Step(NamedTuple):
    """A campaign after one more attempt."""

    state: CampaignState
    model: FittedModel


def played(
    truth: Truth,
    order: str,
    seed: int,
    *,
    most: int,
    draws: int = 1024,
    answer: Answer = "first",
    recorded: Recorded = GRADED,
    at_once: int = 1,
    effort: Effort = "usual",
) -> Iterator[Step]:
    """Yield a campaign after each attempt, each planned by what ``answer`` says of those before it.

    With ``at_once`` so many are planned together, and the campaign is yielded after each such evening.
    """
    rng, state = np.random.default_rng([seed, 77]), new_campaign(truth, recorded)
    effects = recorded.effects(seed)
    model = answering(state, answer, seed, draws)
    while (made := len(state.attempts)) < most:
        count = min(at_once, most - made)
        planned = next_conditions(state, model, order, seed, count=count, effort=effort)
        for number, conditions in enumerate(planned, made + 1):
            place = (number - 1) * len(effects) // most
            blank = Attempt(f"a{number}", number, conditions, lot_id=f"L{place}" if recorded.lots else None)
            gates = truth.gates_in(conditions, effects[place])
            state = replace(state, attempts=(*state.attempts, attempt(blank, gates, rng, counted=recorded.counted)))
        model = answering(state, answer, seed, draws)
        yield Step(state, model)


def recommended(step: Step, seed: int, effort: Effort = "usual") -> Suggestion:
    return best(step.model, operating_limits(step.state), step.state, seed=seed, effort=effort)


def campaign(
    truth: Truth,
    order: str,
    seed: int,
    *,
    most: int,
    draws: int = 1024,
    judge_from: int = 1,
    answer: Answer = "first",
    recorded: Recorded = GRADED,
    at_once: int = 1,
    effort: Effort = "usual",
) -> list[tuple[float, Suggestion]]:
    """Return, after each attempt, how far ``best()`` falls short of the best true probability, and what it said.

    With lots, both are those of a typical lot.
    """
    top = highest(truth)
    steps = played(
        truth,
        order,
        seed,
        most=most,
        draws=draws,
        answer=answer,
        recorded=recorded,
        at_once=at_once,
        effort=effort,
    )
    said = [recommended(step, seed, effort) for step in steps if len(step.state.attempts) >= judge_from]
    return [(top - truth.clean(each.conditions), each) for each in said]


def lots_held(
    truth: Truth,
    seed: int,
    *,
    most: int,
    recorded: Recorded,
    planned_by: Answer = "first",
    effort: Effort = "usual",
) -> dict[Answer, tuple[float, float]]:
    """Return, per answer, the shares of new and of known lots whose true P(clean) at ``best()`` the interval holds.

    One campaign, judged by both answers after the last attempt; new lots are drawn anew.
    """
    *_, last = played(truth, "reliable", seed, most=most, answer=planned_by, recorded=recorded, effort=effort)
    new = [tuple(lot) for lot in np.random.default_rng(5).normal(0.0, recorded.lot_sd, (NEW_LOTS, 2))]
    found: dict[Answer, tuple[float, float]] = {}
    for answer in ("first", "refined"):
        model = answering(last.state, answer, seed, 1024)
        said = recommended(Step(last.state, model), seed)
        columns = model.design.columns([said.conditions])
        fresh = [_holds(said.probability, truth.clean(said.conditions, lot)) for lot in new]
        known = [
            _holds(model.for_lot(f"L{place}").estimate(columns), truth.clean(said.conditions, lot))
            for place, lot in enumerate(recorded.effects(seed))
        ]
        found[answer] = float(np.mean(fresh)), float(np.mean(known))
    return found


def _holds(interval: Estimate, value: float) -> bool:
    return interval.lower <= value <= interval.upper


def shortfalls(
    truth: Truth, order: str, seed: int, *, most: int, draws: int, answer: Answer, effort: Effort
) -> list[float]:
    """Only the shortfalls of a campaign."""
    made = campaign(truth, order, seed, most=most, draws=draws, answer=answer, effort=effort)
    return [shortfall for shortfall, _ in made]


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
    answers: tuple[Answer, ...] = ("first",),
    campaigns: int = 60,
    most: int = 25,
    draws: int = 1024,
    first_seed: int = 0,
    effort: Effort = "usual",
) -> dict[str, dict[str, float]]:
    """Return, per truth, order and answer, what it took, against the space-filling order on the same seeds.

    Space-filling campaigns are judged by the same answer. Of several answers, the later ones are also set against
    the first of them: ``behind`` is how much larger the shortfall is.
    """
    found: dict[str, dict[str, float]] = {}
    seeds = range(first_seed, first_seed + campaigns)
    for name in truths:
        firsts: dict[str, np.ndarray] = {}
        for answer in answers:
            made = {
                order: np.array(
                    [
                        shortfalls(TRUTHS[name], order, seed, most=most, draws=draws, answer=answer, effort=effort)
                        for seed in seeds
                    ]
                )
                for order in ("space-filling", *orders)
            }
            for order, values in made.items():
                label = f"{name}: {order}" if answer == "first" else f"{name}: {order}, {answer}"
                found[label] = _summary(values, made["space-filling"])
                if order in firsts:
                    behind = (values - firsts[order])[:, 5:].mean(axis=1)
                    found[label] |= {
                        "behind": round(float(behind.mean()), 3),
                        "behind_se": round(_error(behind), 3),
                    }
            firsts = firsts or made
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
