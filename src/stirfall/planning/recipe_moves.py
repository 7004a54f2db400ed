"""How the recommended conditions and their probability move with the outcome of one more attempt.

All draws of all forms are reweighted by the chance that they gave to the outcome (Bayes' rule), and the best among
many conditions is taken anew. Forms with one gate do not tell beads from nothing parted: to them both are "not
clean", shared out as the others have it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stirfall.bench.factors import Conditions
from stirfall.inference.probability import weighted_interval
from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import join, take
from stirfall.planning.control import control_of
from stirfall.planning.draws import ThinDraws
from stirfall.planning.first_design import distances
from stirfall.planning.gains import Array, outcome_classes

Utilities = Callable[[Array, Columns], Array]
"""Turns draws of the probability (m, c) at c columns into the worth of each, (m, c), larger is better."""

OUTCOMES = {1: ("clean", "not clean"), 2: ("clean", "beads", "nothing")}
_STOPS = 13
_NEAR_STEPS = 96
_REACHES = (0.08, 0.25)
_FROM_ALL = 96
# Closer to the best than this share of all differences is as good (our proposal): then the present recipe stays.
_AS_GOOD = 0.05
# Nobody changes a recipe for two points of probability (our proposal).
_NO_CHANGE = 0.02
_TINY = 1e-12


@dataclass(frozen=True, eq=False)
class Pool:
    """Conditions that may become the recipe, the present one first, with the draws of all forms at them.

    ``clean`` and ``worth`` are (m, c); ``weights`` (m,) sum to one. The first ``main`` draws are those of the forms
    that can tell the outcomes apart. ``away`` (c,) is the distance from the present recipe. ``as_good`` gives, for
    the worth of the best, what counts as the same; None: a share of all differences.
    """

    columns: Columns
    clean: Array
    worth: Array
    weights: Numbers
    main: int
    away: Numbers
    as_good: Callable[[float], float] | None = None

    @property
    def tolerance(self) -> float:
        """The difference in worth below which two conditions are as good as each other."""
        mean = self.weights @ self.worth
        if self.as_good is not None:
            return self.as_good(float(mean.max()))
        return max(_AS_GOOD * float(mean.max() - mean.min()), _NO_CHANGE)


@dataclass(frozen=True)
class Afterwards:
    """The recipe after one outcome: its columns, the chance there with interval, and that of the present recipe."""

    index: int
    mean: float
    lower: float
    upper: float
    mean_of_present: float


def make_pool(
    box: Box,
    draws: ThinDraws,
    best: Columns,
    candidates: Columns,
    *,
    utilities: Utilities | None,
    as_good: Callable[[float], float] | None = None,
    seed: int = 0,
) -> Pool:
    """Return the conditions around the present recipe ``best``, along every factor, and the best of all others."""
    columns = join(best, _around(box, best, seed))
    keep = box.inside(columns)
    keep[0] = True
    columns = take(columns, np.flatnonzero(keep))
    if len(next(iter(candidates.values()))):
        means = _few(draws).means(candidates)
        far = take(candidates, np.argsort(-means, kind="stable")[:_FROM_ALL])
        columns = join(columns, {name: far[name] for name in columns})
    clean = draws.clean(columns)
    weights = np.full(draws.size, (1.0 - draws.rest_share) / draws.size)
    if draws.rest:
        rest = _rest(draws)
        clean = np.vstack([clean, rest.clean(columns)])
        weights = np.append(weights, np.full(rest.size, draws.rest_share / rest.size))
    weights = weights / weights.sum()
    wanted = utilities or _itself
    worth = np.asarray(wanted(clean, columns) + _lost_by_scatter(box, _few(draws), columns, wanted), np.float32)
    points = box.encode(columns)
    return Pool(columns, clean, worth, weights, draws.size, distances(box, points, points[:1])[:, 0], as_good)


def outcome_likelihoods(draws: ThinDraws, columns: Columns) -> Numbers:
    """Return the chance of each outcome of an attempt at one candidate under each draw of all forms, (k, m)."""
    main = np.stack([p[:, 0] for p in outcome_classes(draws.gates(columns))]).astype(np.float64)
    if not draws.rest:
        return main
    clean = _rest(draws).clean(columns)[:, 0].astype(np.float64)
    missed = main[1:].mean(axis=1)
    parts = missed / max(float(missed.sum()), _TINY)
    return np.hstack([main, np.vstack([clean, parts[:, None] * (1.0 - clean)])])


def after_outcome(pool: Pool, likelihood: Numbers, level: float, allowed: Callable[[Columns], bool]) -> Afterwards:
    """Return the recipe when the draws are reweighted by the (m,) chances of what came out.

    The present recipe stays while nothing is better by more than the tolerance; else the nearest of the best ones.
    """
    weights = pool.weights * likelihood
    weights = weights / max(float(weights.sum()), _TINY)
    index = _chosen(pool, weights @ pool.worth, allowed)
    means = weights @ pool.clean[:, [index, 0]]
    lower, upper = weighted_interval(pool.clean[:, [index]].astype(np.float64), weights, level)
    return Afterwards(index, float(means[0]), float(lower[0]), float(upper[0]), float(means[1]))


def _chosen(pool: Pool, worth: Numbers, allowed: Callable[[Columns], bool]) -> int:
    if worth[0] >= worth.max() - pool.tolerance:
        return 0
    good = np.flatnonzero(worth >= worth.max() - pool.tolerance / 5.0)
    for index in good[np.argsort(pool.away[good], kind="stable")]:
        if index == 0 or allowed(take(pool.columns, int(index))):
            return int(index)
    return 0


def _itself(clean: Array, columns: Columns) -> Array:
    del columns
    return clean


def _lost_by_scatter(box: Box, draws: ThinDraws, columns: Columns, utilities: Utilities) -> Numbers:
    """Return what the mean worth changes, (c,), where conditions are held as well as the person holds them.

    The recommended recipe counts it, so what competes with it must as well; that an outcome may change it a little
    is left out.
    """

    def mean(some: Columns) -> Numbers:
        return np.asarray(utilities(draws.clean(some), some).mean(axis=0), dtype=np.float64)

    control = control_of(box, draws.design)
    if control.is_exact:
        return np.zeros(len(next(iter(columns.values()))))
    return np.asarray(control.average(columns, mean) - mean(columns), dtype=np.float64)


def _few(draws: ThinDraws) -> ThinDraws:
    """Return every fourth draw: enough to leave out what will never be the best."""
    return replace(draws, betas=tuple(beta[:, ::4] for beta in draws.betas), rest=(), rest_share=0.0)


def _rest(draws: ThinDraws) -> ThinDraws:
    return ThinDraws(draws.design, draws.rest, False)


def _around(box: Box, best: Columns, seed: int) -> Columns:
    """Return stops along every factor through the recipe, and steps in random directions around it."""
    point = box.encode(best)[0]
    rng = np.random.default_rng(seed)
    steps = rng.standard_normal((_NEAR_STEPS, len(point))) * np.repeat(_REACHES, _NEAR_STEPS // 2)[:, None]
    moves = point + steps
    lines = []
    for axis, factor in enumerate(box.varied):
        count = len(factor.levels) if factor.is_choice else _STOPS
        stops = np.tile(point, (count, 1))
        stops[:, axis] = (np.arange(count) + 0.5) / count if factor.is_choice else np.linspace(0.0, 1.0, count)
        lines.append(stops)
        if factor.is_choice:
            moves[:, axis] = point[axis]
    return box.decode(np.clip(np.vstack([*lines, moves]), 0.0, 1.0))


def chances(pool: Pool, likelihoods: Numbers) -> Sequence[float]:
    """Return the chance of each outcome, (k,), over the draws of all forms; they sum to one."""
    return [float(pool.weights @ row) for row in likelihoods]


def conditions_at(box: Box, pool: Pool, index: int) -> Conditions:
    """Return one of the pool as conditions."""
    return box.conditions(pool.columns, index)
