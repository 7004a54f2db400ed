"""Weights for averaging over models by what each foretold of the attempts it had not seen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

# Half an imagined attempt speaks for every form: with no attempts all weigh the same, and few cannot give all the
# weight to one (our own choice; the source puts no prior on the weights).
PSEUDO_ATTEMPTS = 0.5
_STEPS = 2000


def stacking_weights(log_scores: FloatArray, *, pseudo: float = PSEUDO_ATTEMPTS) -> FloatArray:
    """Return the (f,) weights, at least zero and summing to one, that maximise the log score of the mixture.

    ``log_scores`` (r, f): log leave-one-out probability of what each of r attempts showed, under each of f forms.
    Yao, Vehtari, Simpson & Gelman 2018, Bayesian Analysis 13:917, with ``pseudo`` log w added for every form. The
    sum is concave; it is climbed by the EM steps of a mixture whose components are known.
    """
    rows, forms = log_scores.shape
    weights = np.full(forms, 1.0 / forms)
    if rows == 0 or forms == 1:
        return weights
    density = np.exp(log_scores - log_scores.max(axis=1, keepdims=True))
    for _ in range(_STEPS):
        share = density * weights
        share /= share.sum(axis=1, keepdims=True)
        new = (share.sum(axis=0) + pseudo) / (rows + forms * pseudo)
        done = float(np.abs(new - weights).max()) < 1e-9
        weights = new
        if done:
            break
    return weights
