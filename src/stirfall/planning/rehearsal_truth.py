"""Truths for rehearsals: what would really happen, drawn from what the attempts leave possible, or guessed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.factors import Factor
from stirfall.inference.design import Design
from stirfall.inference.odds import OddsModel
from stirfall.inference.probability import STEEPEST
from stirfall.inference.stack import FittedModel, StackedModel
from stirfall.planning.box import Box, Columns
from stirfall.planning.rehearsal_guess import Guess, scale_of

FloatArray = NDArray[np.float64]

_POOL = 4096


class Truth(Protocol):
    """What really happens; frozen and picklable. ``lot`` None is a lot not seen yet."""

    def gates(self, columns: Columns, lot: str | None, /) -> tuple[FloatArray, FloatArray]:
        """Return the (c,) probabilities that the solids leave, and that the metal then becomes one pool."""
        ...


@dataclass(frozen=True, eq=False)
class Gates:
    """One draw of the coefficients of one or two gates, with what each known lot and a new one add to them."""

    design: Design
    betas: tuple[FloatArray, ...]
    lots: Mapping[str, tuple[float, ...]]
    new_lot: tuple[float, ...]

    def probabilities(self, columns: Columns, lot: str | None) -> tuple[FloatArray, ...]:
        """Return (c,) probabilities of each gate."""
        rows = len(next(iter(columns.values())))
        matrix = self.design.matrix(columns, rows=rows)
        added = self.lots.get(lot, self.new_lot) if lot is not None else self.new_lot
        return tuple(_expit(matrix @ beta + more) for beta, more in zip(self.betas, added, strict=True))


@dataclass(frozen=True, eq=False)
class DrawnTruth:
    """One draw of the analysis: ``clean`` tells how often an attempt is clean.

    Where that form has a single gate, ``split`` tells how failures divide into nothing and beads; without it they
    divide evenly between the gates.
    """

    clean: Gates
    split: Gates | None = None

    def gates(self, columns: Columns, lot: str | None, /) -> tuple[FloatArray, FloatArray]:
        """Return the (c,) probabilities of the two gates; their product is that of a clean separation."""
        told = self.clean.probabilities(columns, lot)
        if len(told) == 2:
            return told[0], told[1]
        clean = told[0]
        if self.split is None:
            return np.sqrt(clean), np.sqrt(clean)
        first, second = self.split.probabilities(columns, lot)
        failed = np.maximum(1.0 - first * second, 1e-12)
        parted = clean + (1.0 - clean) * first * (1.0 - second) / failed
        return parted, clean / np.maximum(parted, 1e-12)


@dataclass(frozen=True, eq=False)
class GuessedTruth:
    """A guess with every hump in its place: per factor the place in shares of its range (a choice: the level).

    The two gates are alike: each has the square root of the probability of a clean separation.
    """

    best: float
    humps: tuple[tuple[Factor, float, float], ...]

    def gates(self, columns: Columns, lot: str | None, /) -> tuple[FloatArray, FloatArray]:  # noqa: ARG002
        """Return the (c,) probabilities of the two gates."""
        clean = np.full(len(next(iter(columns.values()))), self.best)
        for factor, place, width in self.humps:
            values = np.asarray(columns[factor.name], dtype=float)
            if factor.is_choice:
                clean *= np.where(values == place, 1.0, width)
            else:
                clean *= np.exp(-0.5 * ((share_of(factor, values) - place) / width) ** 2)
        return np.sqrt(clean), np.sqrt(clean)


def clean_at(truth: Truth, columns: Columns, lot: str | None) -> FloatArray:
    """Return the (c,) true probabilities of a clean separation."""
    parted, pooled = truth.gates(columns, lot)
    return np.asarray(parted * pooled)


def drawn_truths(model: FittedModel, base: OddsModel, *, count: int, seed: int) -> tuple[DrawnTruth, ...]:
    """Return ``count`` truths, each one posterior draw; number i is the same whatever the count.

    Of several forms each gives truths in proportion to its weight. ``base`` tells how failures divide where neither
    a draw nor the rest of the model does.
    """
    order = np.random.default_rng([seed, 41]).permutation(_POOL)
    other_form = np.random.default_rng([seed, 43]).random(count)
    pools = _pools(model)
    split = next((pool for pool in (*pools, _Pool.of_odds(base)) if len(pool.betas) == 2), None)
    made = []
    for number in range(count):
        place = int(order[number % _POOL])
        pool = pools[-1] if len(pools) > 1 and other_form[number] < _other_share(model) else pools[0]
        clean = pool.draw(place)
        made.append(DrawnTruth(clean, split.draw(place) if split is not None and len(clean.betas) == 1 else None))
    return tuple(made)


@dataclass(frozen=True, eq=False)
class _Pool:
    """Equally likely draws: per gate (m, p) coefficients, (m, J) effects of known lots, (m,) of a new one."""

    design: Design
    betas: tuple[FloatArray, ...]
    lots: tuple[FloatArray, ...]
    new_lots: tuple[FloatArray, ...]
    names: tuple[str, ...]

    @classmethod
    def of_odds(cls, model: OddsModel) -> _Pool:
        betas = model.equal_draws(_POOL)
        nothing = tuple(np.zeros(len(beta)) for beta in betas)
        return cls(model.design, betas, tuple(each[:, None][:, :0] for each in nothing), nothing, ())

    def draw(self, place: int) -> Gates:
        row = place % len(self.betas[0])
        lots = {
            name: tuple(float(effects[row, index]) for effects in self.lots)
            for index, name in enumerate(self.names)
        }
        return Gates(
            self.design,
            tuple(beta[row].copy() for beta in self.betas),
            lots,
            tuple(float(each[row]) for each in self.new_lots),
        )


def _pools(model: FittedModel) -> tuple[_Pool, ...]:
    if not isinstance(model, StackedModel):
        return (_Pool.of_odds(model),)
    parts = [model.main] if model.other is None else [model.main, model.other]
    return tuple(
        _Pool(model.design, part.betas, part.lots, part.new_lots, model.lot_names if part.lots else ())
        for part in parts
    )


def _other_share(model: FittedModel) -> float:
    return model.other_share if isinstance(model, StackedModel) else 0.0


def guessed_truths(guess: Guess, box: Box, *, count: int, seed: int) -> tuple[GuessedTruth, ...]:
    """Return ``count`` truths of a guess: humps without a place have one at random within the limits in each."""
    factors = {factor.name: factor for factor in box.limits.factors}
    made = []
    for number in range(count):
        rng = np.random.default_rng([seed, number, 47])
        humps = []
        for hump in guess.humps:
            factor, share = factors[hump.factor], float(rng.random())
            humps.append((factor, _place(box, factor, hump.place, share), scale_of(hump, factor)))
        made.append(GuessedTruth(guess.best, tuple(humps)))
    return tuple(made)


def _place(box: Box, factor: Factor, stated: object, share: float) -> float:
    """Return the stated place as a share of the range (of a choice: the level), or one at random in the limits."""
    if factor.is_choice:
        if isinstance(stated, str):
            return float(factor.levels.index(stated))
        allowed = box.limits.levels[factor.name]
        return float(factor.levels.index(allowed[int(share * len(allowed))]))
    if isinstance(stated, (int, float)):
        return float(share_of(factor, np.array([float(stated)]))[0])
    low, high = (share_of(factor, np.array([end]))[0] for end in box.limits.ranges[factor.name])
    return float(low + share * (high - low))


def share_of(factor: Factor, values: FloatArray) -> FloatArray:
    """Return numbers as shares of the factor's range on its own scale."""
    low, high = factor.bounds
    if factor.scale == "log":
        return np.asarray((np.log(values) - math.log(low)) / (math.log(high) - math.log(low)))
    return np.asarray((values - low) / (high - low))


def _expit(eta: FloatArray) -> FloatArray:
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(eta, -STEEPEST, STEEPEST))))
