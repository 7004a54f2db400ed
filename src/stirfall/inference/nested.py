"""Lots within benches: two levels of random intercepts in one gate, the outer level by a grid over its sd.

For each of a few values of the benches' sd the benches are columns whose coefficients have that normal prior, and
the gate is fitted with its lots as in ``lot_laplace``; the marginal likelihoods weigh the values (nested
approximation after Rue, Martino & Chopin 2009, J. R. Stat. Soc. B 71:319, to both levels).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_draws import half_normal, standard_normals, uniform_points
from stirfall.inference.lot_laplace import fit_many, posterior_of

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_SCORES = np.linspace(-2.4, 2.4, 9)
_DRAWS = 2048


@dataclass(frozen=True)
class NestedFit:
    """Equally likely draws of one gate: ``beta`` (m, p), ``outer`` (m, B) effects of the benches on the log odds.

    ``outer_sd`` and ``inner_sd`` (m,) are the sds of benches, and of lots within a bench.
    """

    beta: FloatArray
    outer: FloatArray
    outer_sd: FloatArray
    inner_sd: FloatArray

    def eta_of_new(self, row: FloatArray, *, seed: int = 0) -> FloatArray:
        """Return (m,) log odds at design row ``row`` (p,) for a new lot of a bench that was not seen yet."""
        normals = standard_normals(len(self.beta), 2, 31 + seed)
        return np.asarray(self.beta @ row + self.outer_sd * normals[:, 0] + self.inner_sd * normals[:, 1])


def fit_nested(
    rows: GateRows,
    outer: IntArray,
    benches: int,
    prior_sd: FloatArray,
    *,
    lot_names: tuple[str, ...],
    scale: float,
    seed: int = 0,
    token: CancelToken | None = None,
) -> NestedFit:
    """Fit the binary rows of a gate whose ``group`` are lots; ``outer`` (n,) is the bench of each row.

    ``scale`` is that of the half-normal priors of both sds. A normal approximation, good from some hundred rows on.
    Raises Cancelled.
    """
    own = (outer[:, None] == np.arange(benches)).astype(float)
    whole = replace(rows, X=np.column_stack([rows.X, own]), grade=None)
    fits, logs = [], []
    for score in _SCORES:
        sd = float(half_normal(np.array([score]), scale)[0])
        prior = np.concatenate([prior_sd, np.full(benches, max(sd, 1e-4))])
        fit = fit_many(whole, prior, lot_names=lot_names, lot_sd_prior=scale, token=token)
        posterior = posterior_of(fit, whole, lot_names, seed=seed)
        fits.append(posterior)
        logs.append(posterior.log_marginal - 0.5 * score * score)
    density = np.exp(np.array(logs) - max(logs))
    ends = np.floor(np.cumsum(density / density.sum()) * _DRAWS + 1e-9).astype(int)
    ends[-1] = _DRAWS
    p, width = len(prior_sd), float(_SCORES[1] - _SCORES[0])
    mix = np.random.default_rng(53_000 + seed).permutation(_DRAWS)
    beta, effects, inner = np.empty((_DRAWS, p)), np.empty((_DRAWS, benches)), np.zeros(_DRAWS)
    scores = np.empty(_DRAWS)
    start = 0
    for score, end, posterior in zip(_SCORES, ends, fits, strict=True):
        # Of each fit other draws, in random order: all fits have as many.
        part, start = mix[start:end], int(end)
        beta[part], effects[part] = posterior.draws[part, :p], posterior.draws[part, p:]
        scores[part] = score
        if posterior.lots is not None:
            inner[part] = posterior.lots.sd[part]
    scores += width * (uniform_points(_DRAWS, 1, 61 + seed)[:, 0] - 0.5)
    return NestedFit(beta, effects, half_normal(scores, scale), inner)
