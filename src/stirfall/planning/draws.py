"""A thinned set of equally likely parameter draws, for the many look-aheads that planning makes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stirfall.inference.design import Design
from stirfall.inference.odds import OddsModel
from stirfall.inference.pairing import systematic_picks
from stirfall.planning.box import Columns, Numbers
from stirfall.planning.gains import Array

# A linear predictor beyond this is a probability of 0 or 1 to four digits; the cut keeps single precision safe.
_STEEPEST = np.float32(15.0)


@dataclass(frozen=True)
class ThinDraws:
    """Equally likely draws of one or two gates; ``betas`` holds one (p, m) array per gate."""

    design: Design
    betas: tuple[Array, ...]

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
        """Return the (c,) mean probability of a clean separation: the gates are independent, so means multiply."""
        total = np.ones(len(next(iter(columns.values()))))
        for gate in self.gates(columns):
            total *= gate.mean(axis=0)
        return total

    def _matrix(self, columns: Columns) -> Array:
        rows = len(next(iter(columns.values())))
        known = {factor.name: columns[factor.name] for factor in self.design.factors}
        return self.design.matrix(known, rows=rows).astype(np.float32)


def thin(model: OddsModel, size: int) -> ThinDraws:
    """Take ``size`` equally likely draws of each gate, paired at random, the same ones every time."""
    rng = np.random.default_rng(7)
    betas = []
    for gate in model.gates:
        picked = systematic_picks(gate.posterior.weights, size)
        rows = gate.posterior.draws[picked].astype(np.float32)
        betas.append(np.ascontiguousarray(rows[rng.permutation(size)].T))
    return ThinDraws(model.design, tuple(betas))


def _expit(eta: Array) -> Array:
    clipped = np.clip(eta, -_STEEPEST, _STEEPEST)
    np.negative(clipped, out=clipped)
    np.exp(clipped, out=clipped)
    clipped += np.float32(1.0)
    result: Array = np.reciprocal(clipped)
    return result
