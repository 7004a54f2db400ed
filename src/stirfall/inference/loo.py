"""How well a fitted gate foretells each attempt from all the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.bayes import Posterior
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_kernel import left_out
from stirfall.inference.pairing import systematic_picks
from stirfall.inference.psis import smoothed_weights

FloatArray = NDArray[np.float64]

# Rows times draws; the fewer the rows, the more one of them moves the fit, and the more draws it takes.
_BUDGET = 2**18
_DRAWS = (512, 2048)
_NODES = 7
_SAFE = 1e-9
# A Pareto shape above this is looked at twice, the second time with so many draws.
_DOUBTFUL = 0.5
_LIKELY = 1024
_LOST = 1e-290


@dataclass(frozen=True)
class GateLoo:
    """Leave-one-out of one gate: per row (n,) the probability of a success per trial, and the Pareto k.

    ``log_score`` (n,) is the log probability of what the row showed, k of n or its grade, without constants.
    ``is_exact`` is False where the first-order formula was used instead of the draws; k is then NaN.
    """

    success: FloatArray
    log_score: FloatArray
    pareto_k: FloatArray
    is_exact: bool = True


@dataclass(frozen=True)
class LooTable:
    """Leave-one-out of the event "clean": what the other attempts say of each attempt that was graded for it.

    ``rows`` (r,) are places in the attempt table, ``k`` of ``n`` (r,) trials were clean; ``probability`` (r,) is
    the leave-one-out probability of a clean separation, ``log_score`` (r,) the log probability of what was seen
    (natural logarithm, without binomial constants), ``pareto_k`` (r,) the worst shape over gates; NaN: first-order
    formula.
    """

    ids: tuple[str, ...]
    rows: NDArray[np.intp]
    k: FloatArray
    n: FloatArray
    probability: FloatArray
    log_score: FloatArray
    pareto_k: FloatArray


def leave_one_out(rows: GateRows, posterior: Posterior, *, token: CancelToken | None = None) -> GateLoo:
    """Return the leave-one-out probabilities of one gate's rows under its posterior.

    A row of a known lot is foretold from the other rows of that lot as well; a row without trials from all. The
    Pareto shapes are those of the weights, or of the ratios among equally likely draws where these are smaller.
    """
    if not len(rows.k):
        return GateLoo(np.zeros(0), np.zeros(0), np.zeros(0))
    # The draws of the proposal with their weights, not equally likely ones: its heavy tails reach where the law
    # without an attempt lies.
    lots, distance = posterior.lots, posterior.distance
    # The first of a Sobol sequence are spread evenly; every second or fourth would lie in one slab.
    picks = slice(0, min(max(_BUDGET // len(rows.k), _DRAWS[0]), _DRAWS[1]))
    judged = left_out(
        _as_fitted(rows, posterior),
        posterior.draws[picks],
        np.zeros(len(posterior.weights[picks])) if lots is None else lots.sd[picks],
        distance=None if distance is None else distance[picks],
        nodes=1 if lots is None else _NODES,
        token=token,
    )
    log_weights = np.log(np.maximum(posterior.weights[picks], 1e-300))
    weights, shape = smoothed_weights(log_weights[:, None] - judged.log_likelihood)
    doubtful = np.flatnonzero(shape > _DOUBTFUL)
    if len(doubtful):
        # The proposal's own tail is in these shapes too. Among equally likely draws a shape is that of the ratios.
        likely = systematic_picks(posterior.weights[picks], min(len(log_weights), _LIKELY))
        alone = smoothed_weights(-judged.log_likelihood[np.ix_(likely, doubtful)])[1]
        shape[doubtful] = np.minimum(shape[doubtful], alone)
    score = _log_means(weights, judged.log_likelihood)
    return GateLoo(np.einsum("ij,ij->j", weights, judged.success), score, shape)


def _log_means(weights: FloatArray, logs: FloatArray) -> FloatArray:
    """Return the (n,) logarithms of the weighted means of e^logs (m, n)."""
    top = logs.max(axis=0)
    mean = np.einsum("ij,ij->j", weights, np.exp(logs - top))
    # Rows of very many trials: where the weights are, e^logs may be too small for a float.
    lost = np.flatnonzero(mean < _LOST)
    mean[lost] = 1.0
    found = np.log(mean) + top
    if len(lost):
        parts = np.log(np.maximum(weights[:, lost], 1e-300)) + logs[:, lost]
        top = parts.max(axis=0)
        found[lost] = np.log(np.exp(parts - top).sum(axis=0)) + top
    return np.asarray(found)


def _as_fitted(rows: GateRows, posterior: Posterior) -> GateRows:
    """Return the rows as the posterior saw them: without lots or grades where it has none."""
    used = rows if posterior.lots is not None else rows.without_lots()
    if posterior.distance is None and used.grade is not None:
        return GateRows(used.X, used.k, used.n, used.group, used.groups, used.rows)
    return used


def log_score(k: FloatArray, n: FloatArray, probability: FloatArray) -> FloatArray:
    """Return k log p + (n - k) log(1 - p), (r,), for probabilities kept away from zero and one by 1e-9."""
    p = np.clip(probability, _SAFE, 1.0 - _SAFE)
    return np.asarray(k * np.log(p) + (n - k) * np.log1p(-p))
