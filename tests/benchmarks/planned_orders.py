"""Attempts needed by planned and plain orders on families of invented truths, and the time that a choice takes.

Every order is judged by the same model, the first answer of the program, and by the same ``best()``. A campaign
counts its attempts until the true probability at ``best()`` comes within 0.10 of the best possible: for the first
time, and until it has been so three times running ("settled": the first time may be luck). Campaigns end when
settled, at the latest after ``MOST`` attempts; then they count as one more. Run as a script it writes one line of
JSON per campaign, leaves out the campaigns that the file already holds, and prints the table, so that it may be
stopped and started again at any time.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

import families

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.inference.bayes import fit_posterior
from stirfall.inference.odds import GateFit, OddsModel
from stirfall.inference.table import build_table
from stirfall.planning.goals import PICKED_BY_PERSON
from stirfall.planning.limits import operating_limits
from stirfall.planning.next_attempts import best
from stirfall.planning.orders import Order, next_by_order
from stirfall.session.analysis import analyse

CLOSE_ENOUGH = 0.10
MOST = 50
RUNNING = 3
PER_LOT = 10
DRAWS = 1024
Choose = Callable[[OddsModel, CampaignState, int], Conditions]


def fitted(state: CampaignState, seed: int, draws: int = DRAWS) -> OddsModel:
    """Fit the two gates as the first answer of the program does, with fewer draws."""
    design, table = build_table(state)
    matrix = design.matrix(table.columns, rows=table.rows)
    prior = design.prior_sd(state.settings.intercept_prior_sd, state.settings.effect_prior_sd)
    seen = (table.parted == 1) & np.isfinite(table.pooled)
    gates = []
    for place, (name, rows, made) in enumerate(
        (("parted", np.ones(table.rows, dtype=bool), table.parted), ("pooled", seen, table.pooled))
    ):
        trials = np.ones(int(rows.sum()))
        posterior = fit_posterior(matrix[rows], made[rows], trials, prior, draws=draws, seed=2 * seed + place)
        gates.append(GateFit(name, posterior, int(made[rows].sum()), len(trials)))
    return OddsModel(design, tuple(gates), table.counts, state.settings.level, table.rows)


def tried(state: CampaignState, member: families.Member, conditions: Conditions) -> CampaignState:
    """Return the campaign after an attempt; chance is the same for every order at the same attempt of a seed."""
    number = len(state.attempts) + 1
    lot = (number - 1) // PER_LOT % len(member.lots) if member.lots else None
    first, second = np.random.default_rng([member.seed, number, 77]).random(2) < member.gates(conditions, lot)
    parted = Parted.YES if first else Parted.NO
    pooled = (Pooled.ONE_POOL if second else Pooled.BEADS) if first else None
    name = None if lot is None else f"L{lot}"
    made = Attempt(f"a{number}", number, conditions, lot_id=name, parted=parted, pooled=pooled)
    return replace(state, attempts=(*state.attempts, made))


def shortfalls(member: families.Member, choose: Choose, *, most: int = MOST) -> list[float]:
    """Return how far ``best()`` falls short of the best truth after each attempt, until settled."""
    top = families.highest(member.family, member.seed)
    state, found = member.new_campaign(), list[float]()
    model = fitted(state, member.seed)
    while len(found) < most and not is_settled(found[-RUNNING:]):
        state = tried(state, member, choose(model, state, member.seed))
        model = fitted(state, member.seed)
        said = best(model, operating_limits(state), state, seed=member.seed, effort="quick")
        found.append(top - member.clean(said.conditions))
    return found


def is_settled(last: Sequence[float]) -> bool:
    return len(last) == RUNNING and max(last) <= CLOSE_ENOUGH


def by_order(order: Order) -> Choose:
    """Return the choice that an order makes in a simulated campaign."""

    def choose(model: OddsModel, state: CampaignState, seed: int) -> Conditions:
        return next_by_order(order, model, operating_limits(state), state, seed=seed, effort="quick")

    return choose


def first_time(values: Sequence[float], most: int = MOST) -> int:
    """Attempts until close enough for the first time; one more than the most where that never happened."""
    return next((n for n, value in enumerate(values, 1) if value <= CLOSE_ENOUGH), most + 1)


def settled(values: Sequence[float], most: int = MOST) -> int:
    """Attempts until the first of three times running that it is close enough."""
    ends = range(RUNNING, len(values) + 1)
    return next((end - RUNNING + 1 for end in ends if is_settled(values[end - RUNNING : end])), most + 1)


def ratio(took: np.ndarray, base: np.ndarray) -> tuple[float, float]:
    """Return the ratio of two means over paired campaigns and its standard error by the delta method."""
    value = float(took.mean() / base.mean())
    rest = (took - value * base) / base.mean()
    return value, float(rest.std(ddof=1) / math.sqrt(len(rest)))


def campaigns(
    names: Iterable[str], orders: Iterable[Order], seeds: Iterable[int], done: set[tuple[str, str, int]]
) -> Iterator[dict[str, object]]:
    """Yield one record per campaign that is not done yet; all orders of a seed before the next seed."""
    for seed in seeds:
        for name in names:
            for order in orders:
                if (name, order.value, seed) not in done:
                    values = shortfalls(families.member(name, seed), by_order(order))
                    short = [round(value, 4) for value in values]
                    yield {"family": name, "order": order.value, "seed": seed, "short": short}


def table(records: Sequence[dict[str, object]]) -> str:
    """Return mean attempts per family and order, and their ratio to space filling over the seeds of both."""
    took = {(str(r["family"]), str(r["order"]), int(str(r["seed"]))): r["short"] for r in records}
    lines = []
    for name in dict.fromkeys(family for family, _, _ in took):
        for order in dict.fromkeys(order for family, order, _ in took if family == name):
            plain = Order.SPACE_FILLING.value
            seeds = [s for f, o, s in took if (f, o) == (name, order) and (name, plain, s) in took]
            if len(seeds) < 2:
                continue
            parts = [f"{name:12s} {order:28s} n={len(seeds):4d}"]
            for label, count in (("first", first_time), ("settled", settled)):
                mine = np.array([count(took[name, order, s]) for s in seeds], dtype=float)
                base = np.array([count(took[name, plain, s]) for s in seeds], dtype=float)
                value, error = ratio(mine, base)
                parts.append(f"{label} {mine.mean():5.1f} ratio {value:.2f} ({error:.2f})")
            lines.append("  ".join(parts))
    return "\n".join(lines)


def suggestion_seconds(repeats: int) -> float:
    """Return the time for three suggestions after the refined fit of 60 attempts with 6 factors, the slowest goal.

    The median of ``repeats``, as in a window that is in use: the first time, which loads libraries, is not counted.
    """
    member = families.member("grit", 1)
    state = member.new_campaign()
    model = fitted(state, member.seed)
    for _ in range(60):
        state = tried(state, member, by_order(Order.SPACE_FILLING)(model, state, member.seed))
    analysis = analyse(state, refined=True)
    slowest = 0.0
    for goal in PICKED_BY_PERSON:
        times = []
        for _ in range(repeats + 1):
            started = time.perf_counter()
            if len(analysis.suggest(count=3, goal=goal)) != 3:
                raise RuntimeError("three suggestions were expected")
            times.append(time.perf_counter() - started)
        slowest = max(slowest, statistics.median(times[1:]))
    return slowest


def main() -> int:
    """Play the campaigns that are missing and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path, help="JSON lines, made or continued")
    parser.add_argument("--families", nargs="+", default=list(families.FAMILIES))
    parser.add_argument("--orders", nargs="+", type=Order, default=[each for each in Order if each.goal in _GOALS])
    parser.add_argument("--first-seed", type=int, default=10_000)
    parser.add_argument("--campaigns", type=int, default=100)
    parser.add_argument("--only-table", action="store_true")
    options = parser.parse_args()
    lines = options.file.read_text().splitlines() if options.file.exists() else []
    records = [json.loads(line) for line in lines]
    done = {(r["family"], r["order"], r["seed"]) for r in records}
    seeds = range(options.first_seed, options.first_seed + options.campaigns)
    with options.file.open("a") as out:
        for record in () if options.only_table else campaigns(options.families, options.orders, seeds, done):
            out.write(json.dumps(record) + "\n")
            out.flush()
            records.append(record)
    print(table(records))
    return 0


_GOALS = (None, "learn", "reliable")

if __name__ == "__main__":
    sys.exit(main())
