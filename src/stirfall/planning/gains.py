"""What one more attempt is worth, from posterior draws of outcome probabilities; plain arrays in and out.

Notation: m equally likely draws of the parameters, c candidate conditions, a evaluated conditions. ``classes``
holds one (m, c) array per outcome an attempt can have: (clean, not clean) with one gate, (clean, parted but
beads, nothing parted) with two. ``weights`` are (m,), positive, and sum to one.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float32]

_TINY = np.float32(1e-6)


def outcome_classes(gates: Sequence[Array]) -> tuple[Array, ...]:
    """Return the probability of each outcome class, (m, c) each, clean first, from one or two gate matrices."""
    if len(gates) == 1:
        clean = gates[0]
        return clean, 1 - clean
    parted, pooled = gates
    clean = parted * pooled
    return clean, parted - clean, 1 - parted


def _plogp(p: Array) -> Array:
    kept: Array = np.maximum(p, _TINY)
    return kept * np.log(kept)


def information(classes: Sequence[Array], weights: Array) -> Array:
    """Return the mutual information between the outcome and the parameters, (c,) in nats.

    Entropy of the mean outcome minus mean entropy of the outcome (Lindley 1956, Annals of Mathematical
    Statistics 27:986, the information an experiment is expected to give).
    """
    total = np.zeros(classes[0].shape[1], dtype=np.float32)
    for p in classes:
        total += weights @ _plogp(p) - _plogp(weights @ p)
    return np.maximum(total, 0)


def likely_best(clean: Array, weights: Array) -> tuple[npt.NDArray[np.intp], Array]:
    """Return the candidates that are the best in some draw, and the probability of each of being it, (a,).

    The one with the highest mean is always among them, so that the gain is measured from the best known.
    """
    winners, group = np.unique(clean.argmax(axis=1), return_inverse=True)
    chance = np.bincount(group, weights=weights, minlength=len(winners)).astype(np.float32)
    top = int(np.argmax(weights @ clean))
    if top in winners:
        return winners, chance
    return np.append(winners, top), np.append(chance, np.float32(0.0))


def look_ahead(
    classes: Sequence[Array], evaluated: Array, weights: Array, chance_of_best: Array
) -> tuple[Array, Array]:
    """Return, per candidate, what one attempt there is expected to do at the evaluated conditions: gain, movement.

    Every outcome reweights the draws by its likelihood; one matrix product per outcome class then gives the new
    mean probability at every evaluated condition (m, a).

    ``gain`` (c,): expected rise of the best mean, the exact one-step look-ahead of the knowledge gradient (Frazier,
    Powell & Dayanik 2008, SIAM J. Control Optim. 47:2410). One outcome seldom moves the best condition, so that it
    is close to zero in many places. ``movement`` (c,): expected squared change of how far each condition is ahead
    of the best known, weighted by the probability of each of being the best, (a,): the part of the variance of
    these differences that the attempt takes away (law of total variance). It is never flat, and what moves all
    conditions alike, which settles nothing, does not count.
    """
    before = weights @ evaluated
    top = int(np.argmax(before))
    gain = np.full(classes[0].shape[1], -before[top], dtype=np.float32)
    movement = np.zeros_like(gain)
    for p in classes:
        likelihood = weights[:, None] * p
        chance = likelihood.sum(axis=0)
        after = (likelihood.T @ evaluated) / np.maximum(chance, _TINY)[:, None]
        gain += chance * after.max(axis=1)
        shift = after - before
        shift -= shift[:, top : top + 1]
        movement += chance * (shift**2 @ chance_of_best)
    return np.maximum(gain, 0), movement


def fantasy_weights(classes: Sequence[Array], index: int, weights: Array) -> Array:
    """Return the weights after an imagined attempt at candidate ``index`` that came out as its own mean, (m,).

    The log-likelihood of each draw is averaged over the outcomes with their mean chances; a batch chosen one by
    one with these weights spreads out, because what the first would tell need not be told twice.
    """
    log_likelihood = np.zeros_like(weights)
    for p in classes:
        column = np.maximum(p[:, index], _TINY)
        log_likelihood += (weights @ column) * np.log(column)
    updated = weights * np.exp(log_likelihood - log_likelihood.max())
    scaled: Array = (updated / updated.sum()).astype(np.float32)
    return scaled
