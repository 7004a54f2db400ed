"""Weights for averaging over models by what each foretold of the attempts it had not seen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import weighted_gram

FloatArray = NDArray[np.float64]

# Half an imagined attempt speaks for every form: with no attempts all weigh the same, and few cannot give all the
# weight to one (our own choice; the source puts no prior on the weights).
PSEUDO_ATTEMPTS = 0.5
_STEPS = 100
_SETTLED = 1e-12


def stacking_weights(log_scores: FloatArray, *, pseudo: float = PSEUDO_ATTEMPTS) -> FloatArray:
    """Return the (f,) weights, at least zero and summing to one, that maximise the log score of the mixture.

    ``log_scores`` (r, f): log leave-one-out probability of what each of r attempts showed, under each of f forms.
    Yao, Vehtari, Simpson & Gelman 2018, Bayesian Analysis 13:917, with ``pseudo`` log w added for every form. The
    sum is concave and its summit lies inside the simplex: Newton steps, halved until they climb, find it.
    """
    rows, forms = log_scores.shape
    weights = np.full(forms, 1.0 / forms)
    if rows == 0 or forms == 1:
        return weights
    density = np.exp(log_scores - log_scores.max(axis=1, keepdims=True))
    height = _height(density, weights, pseudo)
    for _ in range(_STEPS):
        step, gain = _newton_step(density, weights, pseudo)
        if gain < _SETTLED * max(1.0, abs(height)):
            break
        # At most nearly to the edge of the simplex, then halved until it climbs.
        size = min(1.0, 0.99 / max(float((-step / weights).max()), 1e-300))
        while (there := _height(density, weights + size * step, pseudo)) < height and size > 1e-12:
            size /= 2.0
        weights, height = weights + size * step, there
    return np.asarray(weights / weights.sum())


def _height(density: FloatArray, weights: FloatArray, pseudo: float) -> float:
    return float(np.log(density @ weights).sum() + pseudo * np.log(weights).sum())


def _newton_step(density: FloatArray, weights: FloatArray, pseudo: float) -> tuple[FloatArray, float]:
    """Return the step that keeps the sum of the weights, and its first-order gain."""
    forms = len(weights)
    share = density / (density @ weights)[:, None]
    gradient = share.sum(axis=0) + pseudo / weights
    system = np.zeros((forms + 1, forms + 1))
    system[:forms, :forms] = weighted_gram(share, np.ones(len(share))) + np.diag(pseudo / weights**2)
    system[forms, :forms] = system[:forms, forms] = 1.0
    step = np.asarray(np.linalg.solve(system, np.append(gradient, 0.0))[:forms], dtype=float)
    return step, float(gradient @ step)
