"""A thinned set of equally likely parameter draws, for the many look-aheads that planning makes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from stirfall.inference.design import Design
from stirfall.inference.odds import OddsModel
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Columns, Numbers
from stirfall.planning.gains import Array

# A linear predictor beyond this is a probability of 0 or 1 to four digits; the cut keeps single precision safe.
_STEEPEST = np.float32(15.0)


@dataclass(frozen=True)
class ThinDraws:
    """Equally likely draws of one or two gates; ``betas`` holds one (p, m) array per gate.

    ``independent`` is False where the draws come from several forms, which tie the gates together. ``rest`` are
    draws of the forms with another number of gates, ``rest_share`` their weight: they count for what is best, and
    cannot tell what an attempt would teach about the gates.
    """

    design: Design
    betas: tuple[Array, ...]
    independent: bool = True
    rest: tuple[Array, ...] = ()
    rest_share: float = 0.0

    @property
    def size(self) -> int:
        """The number of draws m."""
        return int(self.betas[0].shape[1])

    def gates(self, columns: Columns) -> tuple[Array, ...]:
        """Return one (m, c) array of probabilities per gate."""
        return _gates(self.betas, self._matrix(columns))

    def clean(self, columns: Columns) -> Array:
        """Return (m, c) draws of the probability of a clean separation."""
        return _product(self.gates(columns))

    def own_clean(self, columns: Columns) -> Numbers:
        """Return (m s,) probabilities where each draw answers only for its own s candidates in a row."""
        matrix = self._matrix(columns)
        own = matrix.reshape(self.size, -1, matrix.shape[1])
        each = tuple(_expit(np.matmul(own, beta.T[:, :, None])[:, :, 0]) for beta in self.betas)
        return np.asarray(_product(each).ravel(), dtype=float)

    def means(self, columns: Columns) -> Numbers:
        """Return the (c,) mean probability of a clean separation; means of independent gates multiply."""
        if not self.independent:
            return self._means_of_forms(columns)
        total = np.ones(len(next(iter(columns.values()))))
        for gate in self.gates(columns):
            total *= gate.mean(axis=0)
        return total

    def expected(self, columns: Columns, worth: Callable[[Array], Array]) -> Numbers:
        """Return the (c,) mean over all draws of what ``worth`` makes of (m, c) probabilities."""
        mean = np.asarray(worth(self.clean(columns)).mean(axis=0), dtype=float)
        if not self.rest:
            return mean
        rest = worth(self.rest_clean(columns)).mean(axis=0)
        return np.asarray((1.0 - self.rest_share) * mean + self.rest_share * rest, dtype=float)

    def rest_clean(self, columns: Columns) -> Array:
        """Return draws of the probability of a clean separation from the forms with another number of gates."""
        return _product(_gates(self.rest, self._matrix(columns)))

    def whole(self, columns: Columns) -> tuple[Numbers, Numbers]:
        """Return (m, c) draws of all forms together and their (m,) weights."""
        clean = self.clean(columns).astype(float)
        if not self.rest:
            return clean, np.full(len(clean), 1.0 / len(clean))
        rest = self.rest_clean(columns).astype(float)
        share = self.rest_share
        weights = [np.full(len(clean), (1.0 - share) / len(clean)), np.full(len(rest), share / len(rest))]
        return np.vstack([clean, rest]), np.concatenate(weights)

    def few(self, size: int) -> ThinDraws:
        """Return the first draws of each kind; they are in random order."""
        betas, rest = (tuple(beta[:, :size] for beta in kind) for kind in (self.betas, self.rest))
        return replace(self, betas=betas, rest=rest)

    def _means_of_forms(self, columns: Columns) -> Numbers:
        mean = np.asarray(self.clean(columns).mean(axis=0), dtype=float)
        if not self.rest:
            return mean
        rest = self.rest_clean(columns).mean(axis=0)
        return np.asarray((1.0 - self.rest_share) * mean + self.rest_share * rest, dtype=float)

    def _matrix(self, columns: Columns) -> Array:
        rows = len(next(iter(columns.values())))
        return self.design.matrix(columns, rows=rows).astype(np.float32)


def thin(model: FittedModel, size: int) -> ThinDraws:
    """Take ``size`` equally likely draws of each gate, paired at random, the same ones every time."""
    betas = _single(model.equal_draws(size))
    if isinstance(model, OddsModel):
        return ThinDraws(model.design, betas)
    return ThinDraws(model.design, betas, False, _single(model.other_draws(size)), model.other_share)


def _single(betas: tuple[Numbers, ...]) -> tuple[Array, ...]:
    return tuple(np.ascontiguousarray(rows.astype(np.float32).T) for rows in betas)


def _gates(betas: tuple[Array, ...], matrix: Array) -> tuple[Array, ...]:
    return tuple(_expit(beta.T @ matrix.T) for beta in betas)


def _product(gates: tuple[Array, ...]) -> Array:
    return gates[0] if len(gates) == 1 else gates[0] * gates[1]


def _expit(eta: Array) -> Array:
    clipped = np.clip(eta, -_STEEPEST, _STEEPEST)
    np.negative(clipped, out=clipped)
    np.exp(clipped, out=clipped)
    clipped += np.float32(1.0)
    result: Array = np.reciprocal(clipped)
    return result
