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


def expected_best(classes: Sequence[Array], evaluated: Array, weights: Array) -> Array:
    """Return, per candidate, the expected value of the best mean probability after the attempt was made, (c,).

    Every outcome reweights the draws by its likelihood; one matrix product per outcome class then gives the new
    mean at every evaluated condition (m, a), and the best of them is averaged over the outcomes: the exact
    one-step look-ahead of the knowledge gradient (Frazier, Powell & Dayanik 2008, SIAM J. Control Optim. 47:2410).
    """
    total = np.zeros(classes[0].shape[1], dtype=np.float32)
    for p in classes:
        likelihood = weights[:, None] * p
        chance = np.maximum(likelihood.sum(axis=0), _TINY)
        means = (likelihood.T @ evaluated) / chance[:, None]
        total += chance * means.max(axis=1)
    return total


def optimum_information(classes: Sequence[Array], evaluated: Array, weights: Array) -> Array:
    """Return the mutual information between the outcome and which evaluated condition is the best, (c,) in nats.

    Each draw has one best condition; draws that share it form a group, and the outcome tells about the group (the
    aim of entropy search: Hennig & Schuler 2012, J. Machine Learning Research 13:1809). What only sharpens the odds
    of conditions that no draw holds for the best counts nothing here.
    """
    _, group = np.unique(evaluated.argmax(axis=1), return_inverse=True)
    member = np.zeros((len(group), int(group.max()) + 1), dtype=np.float32)
    member[np.arange(len(group)), group] = weights
    chance_of_group = member.sum(axis=0)
    total = np.zeros(classes[0].shape[1], dtype=np.float32)
    for p in classes:
        joint: Array = np.maximum(p.T @ member, np.float32(1e-12))
        total += (joint * np.log(joint / (joint.sum(axis=1, keepdims=True) * chance_of_group))).sum(axis=1)
    return np.maximum(total, 0)


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
