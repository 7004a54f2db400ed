"""Attempts that share lots, on the odds scale: what parameter vectors say of every lot, with few exponentials.

A lot's effect s z multiplies the odds of all its rows by the same f = e^(s z), so that with a = min(1, e^-eta) and
b = min(1, e^eta) of a row, log(1 + e^(eta + s z)) = max(eta, 0) + log(a + b f): a row needs two exponentials per
parameter vector, a lot one at every node, and of single trials one logarithm of a product.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import block_size, slices

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

# Lots are summed row by row, all lots side by side, unless one of them is so deep that this takes too many steps.
_DEEPEST = 48
# A Newton step moves a linear predictor by no more than this, so that it cannot run away where rows are all alike.
_LONGEST_STEP = 2.5
# An effect on the log odds beyond this says the same as one that far; products are cut before they pass e^600.
_FARTHEST = 300.0
_LARGEST_PRODUCT = 600.0
_EXACT = 1e-9


class Layout:
    """Rows ordered so that sums over lots are quick: the first row of every lot, then the second ones, and so on.

    Larger lots come first, so that the lots that still have a row are always the first ones. ``order`` (r,) are the
    rows, ``lot`` (r,) the place of each one's lot in ``lots`` (J,), which are the lots in this order.
    """

    def __init__(self, lot: IntArray, starts: IntArray) -> None:
        count = len(lot)
        sizes = np.diff(np.r_[starts, count])
        self.lots = np.argsort(-sizes, kind="stable")
        place = np.empty(len(starts), dtype=np.intp)
        place[self.lots] = np.arange(len(starts))
        within = np.arange(count) - starts[lot]
        deepest = int(sizes.max(initial=0))
        self._is_deep = deepest > _DEEPEST
        keys = (within, place[lot]) if self._is_deep else (place[lot], within)
        self.order = np.lexsort(keys)
        self.lot = place[lot[self.order]]
        self.place = place
        self._starts = np.r_[0, np.cumsum(sizes[self.lots])[:-1]].astype(np.intp)
        counts = [] if self._is_deep else [int((sizes > depth).sum()) for depth in range(deepest)]
        ends = np.cumsum(counts)
        self._layers = [(int(end) - size, int(end), size) for end, size in zip(ends, counts, strict=True)]

    def sums(self, values: FloatArray) -> FloatArray:
        """Return the (J, m) sums over the rows of every lot of ``values`` (r, m)."""
        if self._is_deep:
            return np.asarray(np.add.reduceat(values, self._starts, axis=0))
        start, end, _ = self._layers[0]
        total = values[start:end].copy()
        for start, end, size in self._layers[1:]:
            total[:size] += values[start:end]
        return total

    def log_products(self, values: FloatArray, reach: float) -> FloatArray:
        """Return the (J, m) logarithms of products of positive values between e^-reach and 1 + e^reach."""
        if self._is_deep:
            return np.asarray(np.add.reduceat(np.log(values), self._starts, axis=0))
        most = max(1, int(_LARGEST_PRODUCT / (reach + 1.0)))
        total: FloatArray | None = None
        for first in range(0, len(self._layers), most):
            start, end, whole = self._layers[first]
            product = values[start:end].copy()
            for start, end, size in self._layers[first + 1 : first + most]:
                product[:size] *= values[start:end]
            np.log(product, out=product)
            if total is None:
                total = product
            else:
                total[:whole] += product
        return np.zeros((0, values.shape[1])) if total is None else total


class Centres(NamedTuple):
    """Mode and curvature scale of every lot's z, (J, m) each, lots as in ``Layout.lots``."""

    mode: FloatArray
    scale: FloatArray


class LotOdds:
    """Rows ``X`` (r, q), ``k`` of ``n`` in the order of ``layout``, at ``beta`` (m, q) and lot sds ``sd`` (m,).

    ``eta`` (r, m) are the linear predictors without the effects of lots.
    """

    def __init__(
        self, layout: Layout, X: FloatArray, k: FloatArray, n: FloatArray, *, beta: FloatArray, sd: FloatArray
    ) -> None:
        self._layout, self._sd = layout, sd
        self._k, self._n = k[:, None], n[:, None]
        self.eta = np.empty((len(X), len(beta)))
        # In products too small for the threads of a library.
        for part in slices(len(beta), block_size(X.size, len(beta) or 1)):
            self.eta[:, part] = X @ beta[part].T
        above, below = np.maximum(self.eta, 0.0), np.minimum(self.eta, 0.0)
        self._level = layout.sums(self._k * below - (self._n - self._k) * above)
        np.negative(above, out=above)
        self._a, self._b = np.exp(above, out=above), np.exp(below, out=below)
        empty = np.flatnonzero(n == 0)
        self._a[empty], self._b[empty] = 1.0, 0.0
        self._is_single = bool((n <= 1).all() and ((k == 0) | (k == 1)).all())
        self._successes = layout.sums(self._k)

    def centres(self, most: int, close: float) -> Centres:
        """Find every lot's mode in z by at most ``most`` Newton steps, to within ``close`` scales."""
        shape = (len(self._layout.lots), len(self._sd))
        if not self._sd.any():
            return Centres(np.zeros(shape), np.ones(shape))
        z = np.zeros(shape)
        limit = _LONGEST_STEP / np.maximum(self._sd, 0.5)
        for step in range(most):
            expected, weight = self._moments(z if step else None)
            curvature = self._sd * self._sd * weight + 1.0
            move = (self._sd * (self._successes - expected) - z) / curvature
            np.clip(move, -limit, limit, out=move)
            z += move
            if float(np.max(np.abs(move) * np.sqrt(curvature))) < close:
                break
        if close <= _EXACT:
            # Laplace and few nodes feel the scale: take it at the mode itself, not one step before.
            curvature = self._sd * self._sd * self._moments(z)[1] + 1.0
        return Centres(z, 1.0 / np.sqrt(curvature))

    def _moments(self, z: FloatArray | None) -> tuple[FloatArray, FloatArray]:
        """Return the (J, m) expected successes of every lot, and the sums of n p (1 - p)."""
        p = self._b.copy() if z is None else self._spread(z)
        total = self._a + p
        p /= total
        variance = np.multiply(p, p, out=total)
        np.subtract(p, variance, out=variance)
        if not self._is_single:
            p *= self._n
            variance *= self._n
        return self._layout.sums(p), self._layout.sums(variance)

    def _spread(self, z: FloatArray) -> FloatArray:
        """Return b f of every row, (r, m)."""
        out = np.take(self.factor(z), self._layout.lot, axis=0)
        out *= self._b
        return out

    def factor(self, z: FloatArray) -> FloatArray:
        """Return what effects ``z`` (J, m) multiply the odds with."""
        return np.asarray(np.exp(np.clip(self._sd * z, -_FARTHEST, _FARTHEST)))

    def heights(self, centres: Centres, steps: FloatArray) -> FloatArray:
        """Return (s, J, m) log-likelihoods of the lots plus log e^(-z^2/2) at ``steps`` scales from the modes."""
        mode, scale, sd = centres.mode, centres.scale, self._sd
        shift, stretch = sd * mode, sd * scale
        reach = float(np.max(np.abs(shift) + float(np.abs(steps).max()) * stretch))
        # A quadratic in the step, from k eta and e^(-z^2/2), less the logarithms.
        level = self._level + self._successes * shift - 0.5 * mode * mode
        slope = self._successes * stretch - mode * scale
        bend = -0.5 * scale * scale
        out = np.empty((len(steps), *mode.shape))
        for place, step in enumerate(steps):
            effect = shift + step * stretch
            if reach > _FARTHEST:
                np.clip(effect, -_FARTHEST, _FARTHEST, out=effect)
            np.exp(effect, out=effect)
            odds = np.take(effect, self._layout.lot, axis=0)
            odds *= self._b
            odds += self._a
            height = out[place]
            np.multiply(bend, step, out=height)
            height += slope
            height *= step
            height += level
            height -= self._log_total(odds, min(reach, _FARTHEST))
        return out

    def _log_total(self, odds: FloatArray, reach: float) -> FloatArray:
        if self._is_single:
            return self._layout.log_products(odds, reach)
        np.log(odds, out=odds)
        odds *= self._n
        return self._layout.sums(odds)

    def row_heights(self, z: FloatArray) -> FloatArray:
        """Return the (r, m) log-likelihoods of every row where lots have effects ``z`` (J, m)."""
        odds = self._spread(z)
        odds += self._a
        np.log(odds, out=odds)
        odds += np.maximum(self.eta, 0.0)
        odds *= -self._n
        odds += self._k * (self.eta + np.take(self._sd * z, self._layout.lot, axis=0))
        return odds

    @property
    def is_single(self) -> bool:
        """Whether every row is a single trial, or none."""
        return self._is_single

    def without_each(
        self, centres: Centres, steps: FloatArray, log_weights: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Return log-likelihood and success probability of each single row given the others of its lot, (r, m).

        1 / P(success) = 1 + e^-eta / f and 1 / P(failure) = 1 + e^eta f, so that the sums over the nodes of the
        lot's likelihood times f, or over f, are all that a row needs.
        """
        lot = self._layout.lot
        heights = self.heights(centres, steps) + log_weights[:, None, None]
        share = np.exp(heights - heights.max(axis=0))
        share /= share.sum(axis=0)
        factors = [self.factor(centres.mode + step * centres.scale) for step in steps]
        up = sum(part * f for part, f in zip(share, factors, strict=True))
        down = sum(part / f for part, f in zip(share, factors, strict=True))
        failed = self._k[:, 0] == 0
        against = np.where(failed[:, None], self.eta, -self.eta)
        odds = np.exp(np.minimum(against, _FARTHEST))
        odds *= np.take(np.concatenate([down, up]), lot + len(down) * failed, axis=0)
        odds += 1.0
        seen = 1.0 / odds
        success = np.where(failed[:, None], 1.0 - seen, seen)
        log_likelihood = -np.log(odds)
        log_likelihood -= np.maximum(against - _FARTHEST, 0.0)
        untried = np.flatnonzero(self._n[:, 0] == 0)
        if len(untried):
            log_likelihood[untried] = 0.0
            success[untried] = 0.0
            eta = self.eta[untried]
            low, high = np.exp(-np.maximum(eta, 0.0)), np.exp(np.minimum(eta, 0.0))
            for part, f in zip(share, factors, strict=True):
                moved = high * np.take(f, lot[untried], axis=0)
                success[untried] += np.take(part, lot[untried], axis=0) * moved / (low + moved)
        return log_likelihood, success
