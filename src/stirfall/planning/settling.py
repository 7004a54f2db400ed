"""What one attempt is expected to settle: the share of the doubt about each effect that its outcome takes away.

Notation as in ``gains``: m equally likely draws; ``classes`` are the chances of each outcome of one attempt, (m,)
each; an effect is a profile of log odds along one factor, (m, l), without its own mean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.bench.factors import Factor
from stirfall.planning.box import Box, Columns, Numbers
from stirfall.planning.candidates import join, spread_points
from stirfall.planning.draws import ThinDraws
from stirfall.planning.gains import Array

GATES_OF = {1: ("clean",), 2: ("parted", "pooled")}
_STOPS = 7
# Places of the other factors, beside the recommended ones, over which an effect is looked at.
_PLACES = 7
_SURE = 0.95
_TINY = 1e-9


@dataclass(frozen=True, eq=False)
class Profile:
    """The doubt about one effect: log odds of one gate along one factor, (m, l), at several places of the others.

    ``factor`` is None for the level as a whole, a single column. ``is_open`` says that draws do not agree on the
    direction from one end to the other.
    """

    factor: str | None
    gate: str
    values: Array
    is_open: bool = True


@dataclass(frozen=True)
class Settled:
    """The share, in [0, 1], of the doubt (variance over the draws) about an effect that an outcome takes away."""

    factor: str | None
    gate: str
    share: float
    is_open: bool = True


def profiles_of(box: Box, draws: ThinDraws, reference: Columns, *, seed: int = 0) -> tuple[Profile, ...]:
    """Return the effects of all factors that move and that the model knows, and the level, for each gate.

    ``reference`` are the conditions at which effects matter most; others are spread over the box, so that a factor
    which acts through another one is seen as well. What the limits tie together moves together.
    """
    modelled = {factor.name for factor in draws.design.factors}
    places = _places(box, reference, seed)
    found: list[Profile] = []
    for axis, factor in enumerate(box.varied):
        if factor.name not in modelled:
            continue
        stops = _stops(factor)
        grid = np.repeat(places, len(stops), axis=0)
        grid[:, axis] = np.tile(stops, len(places))
        for gate, eta in zip(GATES_OF[len(draws.betas)], log_odds(draws, box.decode(grid)), strict=True):
            found += _profile(factor.name, gate, eta.reshape(draws.size, len(places), len(stops)))
    for gate, eta in zip(GATES_OF[len(draws.betas)], log_odds(draws, box.decode(places)), strict=True):
        found.append(Profile(None, gate, eta.mean(axis=1, keepdims=True)))
    return tuple(found)


def log_odds(draws: ThinDraws, columns: Columns) -> tuple[Array, ...]:
    """Return one (m, c) array of log odds per gate."""
    matrix = draws.design.matrix(columns, rows=len(next(iter(columns.values())))).astype(np.float32)
    return tuple(beta.T @ matrix.T for beta in draws.betas)


def settled(profiles: Sequence[Profile], classes: Sequence[Array]) -> tuple[Settled, ...]:
    """Return what one attempt with these chances of its outcomes is expected to take away, the most first.

    The variance between the outcomes' means, weighted by their chances, as a share of the variance over all draws:
    what is left after the outcome is the rest, on average (law of total variance). ``classes`` are (m,) each.
    """
    likelihood = np.stack([np.asarray(p, dtype=np.float64) for p in classes])
    chance = likelihood.mean(axis=1)
    found = [Settled(p.factor, p.gate, _share(p.values, likelihood, chance), p.is_open) for p in profiles]
    return tuple(sorted(found, key=lambda each: -each.share))


def _share(values: Array, likelihood: Numbers, chance: Numbers) -> float:
    centred = values - values.mean(axis=0)
    whole = float((centred.astype(np.float64) ** 2).mean(axis=0).sum())
    if whole <= _TINY:
        return 0.0
    means = likelihood @ centred / len(centred) / np.maximum(chance, _TINY)[:, None]
    between = float(chance @ (means**2).sum(axis=1))
    return min(between / whole, 1.0)


def _profile(name: str, gate: str, eta: Array) -> list[Profile]:
    """Return the profile without the level of each place; none where nothing changes along the factor."""
    shape = eta - eta.mean(axis=2, keepdims=True)
    if float(np.ptp(shape, axis=2).max()) <= _TINY:
        return []
    # From end to end at the first place, which is the reference.
    rising = float((eta[:, 0, -1] > eta[:, 0, 0]).mean())
    flat = shape.reshape(len(eta), -1)
    return [Profile(name, gate, flat, max(rising, 1.0 - rising) < _SURE)]


def _places(box: Box, reference: Columns, seed: int) -> Numbers:
    if not box.varied:
        return np.zeros((1, 0))
    spread = box.decode(spread_points(len(box.varied), _PLACES, seed))
    return box.encode(join({name: reference[name] for name in spread}, spread))


def _stops(factor: Factor) -> Numbers:
    if factor.is_choice:
        count = len(factor.levels)
        return (np.arange(count) + 0.5) / count
    return np.linspace(0.0, 1.0, _STOPS)
