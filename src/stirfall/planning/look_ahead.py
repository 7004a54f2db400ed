"""Choosing a batch by look-ahead: each attempt for what it is expected to tell, given those chosen before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.bench.cancel import CancelToken
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import join, take
from stirfall.planning.draws import ThinDraws
from stirfall.planning.first_design import distances
from stirfall.planning.gains import (
    Array,
    expected_best,
    fantasy_weights,
    information,
    optimum_information,
    outcome_classes,
)
from stirfall.planning.goals import Goal

# Conditions at which the best is looked for after an imagined attempt: those with the highest mean plus spread.
_EVALUATED = 192
# Two suggestions of one batch differ at least by this share of the range in one factor (our proposal).
_APART = 0.15


@dataclass(frozen=True)
class Picked:
    """One chosen candidate, what was known before it, and the figures for its reason.

    ``gates``: mean probability of each gate there. ``now``: best mean probability known; ``then``: the same after a
    clean result there; ``here``: the mean probability there.
    """

    columns: Columns
    known: Columns
    gates: tuple[float, ...] = ()
    now: float = 0.0
    then: float = 0.0
    here: float = 0.0


def pick_batch(
    box: Box,
    draws: ThinDraws,
    columns: Columns,
    known: Columns,
    *,
    count: int,
    goal: Goal,
    token: CancelToken | None,
) -> list[Picked]:
    """Return up to ``count`` candidates, chosen one by one; each reweights the draws for those after it."""
    gates = draws.gates(columns)
    classes = outcome_classes(gates)
    points = box.encode(columns)
    weights = np.full(draws.size, 1.0 / draws.size, dtype=np.float32)
    open_to_choice = np.ones(len(points), dtype=bool)
    picks: list[Picked] = []
    while len(picks) < count and open_to_choice.any():
        if token is not None:
            token.raise_if_cancelled()
        score = worth(classes, weights, goal)
        index = int(np.argmax(np.where(open_to_choice, score, -np.inf)))
        picks.append(_picked(columns, known, gates, classes, index))
        known = join(known, picks[-1].columns)
        weights = fantasy_weights(classes, index, weights)
        open_to_choice &= ~_too_near(box, points, points[index])
    return picks


def worth(classes: Sequence[Array], weights: Array, goal: Goal) -> Array:
    """Return the worth of each candidate for a goal, (c,), comparable within one call only."""
    if goal is Goal.LEARN:
        return information(classes, weights)
    clean = classes[0]
    mean = weights @ clean
    spread = np.sqrt(np.maximum(weights @ clean**2 - mean**2, 0))
    likely = np.argsort(-(mean + spread), kind="stable")[:_EVALUATED]
    gain = np.maximum(expected_best(classes, clean[:, likely], weights) - mean.max(), 0)
    telling = optimum_information(classes, clean, weights)
    return _scaled(gain) + _scaled(telling)


def _scaled(values: Array) -> Array:
    top = values.max()
    return values / top if top > 1e-6 else np.zeros_like(values)


def _picked(
    columns: Columns, known: Columns, gates: Sequence[Array], classes: Sequence[Array], index: int
) -> Picked:
    clean = classes[0]
    after = (clean[:, index] @ clean) / max(float(clean[:, index].sum()), 1e-9)
    means = clean.mean(axis=0)
    return Picked(
        take(columns, index),
        known,
        tuple(float(gate[:, index].mean()) for gate in gates),
        float(means.max()),
        float(after.max()),
        float(means[index]),
    )


def _too_near(box: Box, points: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    return distances(box, points, chosen[None, :])[:, 0] < _APART
