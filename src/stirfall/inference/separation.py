"""Does a plane part the successes from the failures? Then maximum likelihood has no finite answer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Reason

FloatArray = NDArray[np.float64]

# Well above the feasibility tolerance of the solver (1e-7); columns are of size one.
_TINY = 1e-5


def separation_reason(X: FloatArray, k: FloatArray, n: FloatArray) -> Reason | None:
    """Return ``ml.complete_separation`` or ``ml.quasi_separation``, or None when the outcomes overlap.

    Looks for a direction b, each |b| <= 1, with s x.b >= 0 in every row (s = +1 where all trials succeeded, -1
    where none did, x.b = 0 where both were seen) and s x.b > 0 in some. It is complete when no row needs x.b = 0.
    """
    signs = np.where(k >= n, 1.0, -1.0)
    pure = (k <= 0) | (k >= n)
    signed = np.unique(X[pure] * signs[pure, None], axis=0)
    mixed = np.unique(X[~pure], axis=0)
    if not len(signed):
        return None
    if not len(mixed) and _widest_gap(signed) > _TINY:
        return Reason("ml.complete_separation", {})
    if _push(signed, mixed) > _TINY:
        return Reason("ml.quasi_separation", {})
    return None


def _push(signed: FloatArray, mixed: FloatArray) -> float:
    """Return the largest s x.b of the direction with the largest total: zero when the outcomes overlap."""
    from scipy.optimize import linprog

    result = linprog(
        -signed.sum(axis=0),
        A_ub=-signed,
        b_ub=np.zeros(len(signed)),
        A_eq=mixed if len(mixed) else None,
        b_eq=np.zeros(len(mixed)) if len(mixed) else None,
        bounds=(-1.0, 1.0),
        method="highs",
    )
    return 0.0 if result.x is None else float((signed @ result.x).max())


def _widest_gap(signed: FloatArray) -> float:
    """Return the largest t with s x.b >= t in every row: above zero when the separation is complete."""
    from scipy.optimize import linprog

    count, columns = signed.shape
    result = linprog(
        np.r_[np.zeros(columns), -1.0],
        A_ub=np.column_stack([-signed, np.ones(count)]),
        b_ub=np.zeros(count),
        bounds=[(-1.0, 1.0)] * columns + [(0.0, 1.0)],
        method="highs",
    )
    return 0.0 if result.x is None else float(result.x[-1])
