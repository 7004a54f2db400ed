"""A thinned set of equally likely parameter draws, for the many look-aheads that planning makes."""

from __future__ import annotations

from dataclasses import dataclass

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

    ``independent`` is False where the draws come from several forms, which tie the gates together.
    """

    design: Design
    betas: tuple[Array, ...]
    independent: bool = True

    @property
    def size(self) -> int:
        """The number of draws m."""
        return int(self.betas[0].shape[1])

    def gates(self, columns: Columns) -> tuple[Array, ...]:
        """Return one (m, c) array of probabilities per gate."""
        matrix = self._matrix(columns)
        return tuple(_expit(beta.T @ matrix.T) for beta in self.betas)

    def clean(self, columns: Columns) -> Array:
        """Return (m, c) draws of the probability of a clean separation."""
        gates = self.gates(columns)
        return gates[0] if len(gates) == 1 else gates[0] * gates[1]

    def means(self, columns: Columns) -> Numbers:
        """Return the (c,) mean probability of a clean separation; means of independent gates multiply."""
        if not self.independent:
            return np.asarray(self.clean(columns).mean(axis=0), dtype=float)
        total = np.ones(len(next(iter(columns.values()))))
        for gate in self.gates(columns):
            total *= gate.mean(axis=0)
        return total

    def _matrix(self, columns: Columns) -> Array:
        rows = len(next(iter(columns.values())))
        known = {factor.name: columns[factor.name] for factor in self.design.factors}
        return self.design.matrix(known, rows=rows).astype(np.float32)


def thin(model: FittedModel, size: int) -> ThinDraws:
    """Take ``size`` equally likely draws of each gate, paired at random, the same ones every time."""
    betas = [np.ascontiguousarray(rows.astype(np.float32).T) for rows in model.equal_draws(size)]
    return ThinDraws(model.design, tuple(betas), isinstance(model, OddsModel))


def _expit(eta: Array) -> Array:
    clipped = np.clip(eta, -_STEEPEST, _STEEPEST)
    np.negative(clipped, out=clipped)
    np.exp(clipped, out=clipped)
    clipped += np.float32(1.0)
    result: Array = np.reciprocal(clipped)
    return result
