"""The summit of a binomial logistic likelihood, with or without priors, by Newton steps in cache-sized blocks.

One pass over the rows gives height, gradient and information. Each block of rows is turned, weighed and multiplied
while it lies in the processor's cache, by products too small for the threads of a linear-algebra library, so that
their number cannot change the last digits (see ``blocks``). Of many rows the search starts from the summit of few,
which saves most passes over all: Newton steps forget where they came from.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import block_size, slices

FloatArray = NDArray[np.float64]

# Rows of a block: nine arrays of this length and eight columns stay within half a megabyte.
_LONGEST = 4096
# With more rows than this, every sixteenth of them gives the start.
_MANY_ROWS = 2**16
_EVERY = 16
# Relative gain below which a step is the last, and noise of a height: sums of rounded terms.
_SETTLED = 1e-14
_NOISE = 1e-13
# Gain, in squared standard errors, of a last step that is worth another look at the slopes.
_VISIBLE = 1e-12
_SMALLEST_SHARE = 1e-9


class Slopes(NamedTuple):
    """Height of a log-likelihood or posterior, gradient (p,), and information (p, p): minus the curvature."""

    height: float
    gradient: FloatArray
    information: FloatArray


class Summit(NamedTuple):
    """Where the search ended: ``beta`` (p,), with ``slopes`` there or less than 1e-6 standard errors away.

    ``is_reached``: the last step gained less than 1e-14 of the height, so that it settled all digits. Otherwise the
    likelihood has no summit, the columns are not independent, or the steps ran out.
    """

    beta: FloatArray
    slopes: Slopes
    is_reached: bool


def climb(
    X: FloatArray,
    k: FloatArray,
    n: FloatArray,
    *,
    prior_sd: FloatArray | None = None,
    start: FloatArray | None = None,
    steps: int = 60,
) -> Summit:
    """Return the summit for finite rows ``X`` (r, p), ``k`` of ``n`` (r,), with N(0, prior_sd^2) priors if given.

    Steps are halved until they climb; with a prior the search always arrives, as the height is strictly concave and
    falls off at least as fast as the prior. Rows without trials do no harm. Raises nothing.
    """
    shrink = np.zeros(X.shape[1]) if prior_sd is None else prior_sd**-2.0
    if start is None:
        start = _start(X, k, n, prior_sd)
    here, beta = _penalised(X, k, n, shrink, start), start
    for _ in range(steps):
        step = _newton_step(here)
        if step is None:
            return Summit(beta, here, False)
        gain = float(here.gradient @ step)
        size_of_height = max(1.0, abs(here.height))
        if gain < _SETTLED * size_of_height:
            beta = beta + step
            return Summit(beta, here if gain < _VISIBLE else _penalised(X, k, n, shrink, beta), True)
        share = 1.0
        there = _penalised(X, k, n, shrink, beta + step)
        while not there.height >= here.height + 1e-4 * share * gain - _NOISE * size_of_height:
            share /= 2.0
            if share < _SMALLEST_SHARE:
                return Summit(beta, here, False)
            there = _penalised(X, k, n, shrink, beta + share * step)
        here, beta = there, beta + share * step
    return Summit(beta, here, False)


def slopes(X: FloatArray, k: FloatArray, n: FloatArray, beta: FloatArray) -> Slopes:
    """Return the log-likelihood of ``beta`` (p,), without binomial constants, and its slopes, in one pass.

    Rows ``X`` (r, p), ``k`` of ``n`` (r,). Stable for any linear predictor.
    """
    return _one_pass(X, k, n, beta, None)


class LotSums(NamedTuple):
    """Per lot, of J lots: sums of residuals k - n p (J,), of weights n p (1 - p) (J,), of weighted rows (p, J)."""

    residual: FloatArray
    weight: FloatArray
    cross: FloatArray


class Lots(NamedTuple):
    """Lots of rows in their order: ``lot`` (r,) of each row, ``starts`` (J,), ``effects`` (J,) on the log odds."""

    lot: NDArray[np.intp]
    starts: NDArray[np.intp]
    effects: FloatArray


def slopes_in_lots(
    X: FloatArray, k: FloatArray, n: FloatArray, beta: FloatArray, lots: Lots
) -> tuple[Slopes, LotSums]:
    """Return the slopes in ``beta`` where each lot has an effect, and the sums of every lot, in one pass."""
    sums = np.zeros((X.shape[1] + 2, len(lots.starts)))
    found = _one_pass(X, k, n, beta, (lots, sums))
    return found, LotSums(sums[-2], sums[-1], sums[:-2])


def _one_pass(
    X: FloatArray, k: FloatArray, n: FloatArray, beta: FloatArray, lots: tuple[Lots, FloatArray] | None
) -> Slopes:
    count, p = X.shape
    height, sums = 0.0, np.zeros((p + 1, p))
    size = min(block_size(p * (p + 1), _LONGEST), max(1, count))
    turned, weighed, work = np.empty((p, size)), np.empty((p + 2, size)), np.empty((3, size))
    for rows in slices(count, size):
        length = rows.stop - rows.start
        block, both, some = turned[:, :length], weighed[:, :length], work[:, :length]
        # Turned once, so that all that follows runs along the rows of a block.
        np.copyto(block, X[rows].T)
        np.einsum("ji,j->i", block, beta, out=some[0])
        if lots is not None:
            some[0] += np.take(lots[0].effects, lots[0].lot[rows])
        height += _block_slopes(k[rows], n[rows], both[p:], some)
        np.multiply(block, both[p + 1], out=both[:p])
        sums += both[: p + 1] @ block.T
        if lots is not None:
            _add_lots(both, rows, *lots)
    information = sums[:p]
    return Slopes(height, sums[p], 0.5 * (information + information.T))


def _add_lots(values: FloatArray, rows: slice, lots: Lots, sums: FloatArray) -> None:
    """Add the sums of ``values`` (q, rows) over the lots of one block."""
    first, last = int(lots.lot[rows.start]), int(lots.lot[rows.stop - 1])
    starts = np.maximum(lots.starts[first : last + 1] - rows.start, 0)
    sums[:, first : last + 1] += np.add.reduceat(values, starts, axis=1)


def _block_slopes(k: FloatArray, n: FloatArray, found: FloatArray, work: FloatArray) -> float:
    """Return the height of one block's rows; fill ``found`` (2, rows) with k - n p and n p (1 - p).

    ``work`` (3, rows) comes with the linear predictor eta in its first row. With e = e^-|eta|: log(1 + e^eta) =
    max(eta, 0) + log(1 + e), p (1 - p) = e / (1 + e)^2, and p - 1/2 is half of (1 - e) / (1 + e) with the sign of
    eta.
    """
    residual, weight = found
    eta, small, other = work
    # k min(eta, 0) - (n - k) max(eta, 0) - n log(1 + e): all of one sign, so that nothing large cancels.
    np.minimum(eta, 0.0, out=small)
    np.maximum(eta, 0.0, out=other)
    np.subtract(n, k, out=weight)
    height = float(k @ small) - float(weight @ other)
    np.multiply(n, -0.5, out=residual)
    residual += k
    small -= other
    np.exp(small, out=small)
    np.log1p(small, out=other)
    height -= float(n @ other)
    np.add(small, 1.0, out=other)
    np.reciprocal(other, out=other)
    small *= other
    np.multiply(small, other, out=weight)
    weight *= n
    other -= small
    np.copysign(other, eta, out=other)
    other *= n
    other *= 0.5
    residual -= other
    return height


def _penalised(X: FloatArray, k: FloatArray, n: FloatArray, shrink: FloatArray, beta: FloatArray) -> Slopes:
    found = slopes(X, k, n, beta)
    if not shrink.any():
        return found
    return Slopes(
        found.height - 0.5 * float((shrink * beta) @ beta),
        found.gradient - shrink * beta,
        found.information + np.diag(shrink),
    )


def _newton_step(here: Slopes) -> FloatArray | None:
    """Return information^-1 gradient, on columns of one size; None where it cannot be."""
    size = np.sqrt(np.diag(here.information))
    if not (np.isfinite(size).all() and (size > 0).all()):
        return None
    try:
        step = np.linalg.solve(here.information / size / size[:, None], here.gradient / size) / size
    except np.linalg.LinAlgError:
        return None
    return step if np.isfinite(step).all() else None


def _start(X: FloatArray, k: FloatArray, n: FloatArray, prior_sd: FloatArray | None) -> FloatArray:
    """Return the summit of every sixteenth row where there are many and it exists, else zero."""
    nowhere = np.zeros(X.shape[1])
    if len(k) <= _MANY_ROWS:
        return nowhere
    few = slice(None, None, _EVERY)
    wider = None if prior_sd is None else prior_sd * math.sqrt(_EVERY)  # so that it weighs as much among few rows
    summit = climb(np.ascontiguousarray(X[few]), k[few], n[few], prior_sd=wider, steps=20)
    return summit.beta if summit.is_reached else nowhere
