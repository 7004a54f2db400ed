"""Does a plane part the successes from the failures? Then maximum likelihood has no finite answer.

Albert & Anderson 1984, Biometrika 71:1 (what separation is); Konis 2007, thesis, Oxford (by linear programming). A
direction b recedes when s x.b >= 0 in every row (s = +1 where all trials succeeded, -1 where none did) and x.b = 0
where both were seen. A combination of coefficients has a finite estimate exactly when it is zero in every such
direction.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Reason

FloatArray = NDArray[np.float64]
# Where a coefficient goes: it stays finite, to +infinity, to -infinity, or to no end that can be told.
Way = Literal["finite", "up", "down", "either"]

# Well above the feasibility tolerance of the solver, set to the least that it takes; columns are of size one.
_TINY = 1e-5
_TOLERANCE = 1e-10
_BROKEN = 1e-9
_FEW = 400
_AT_ONCE = 100


@dataclass(frozen=True)
class Recession:
    """That outcomes are separated: whether completely, and the ``ways`` (q,) of the combinations asked for."""

    is_complete: bool
    ways: tuple[Way, ...]


def separation_reason(X: FloatArray, k: FloatArray, n: FloatArray) -> Reason | None:
    """Return ``ml.complete_separation`` or ``ml.quasi_separation``, or None when the outcomes overlap.

    It is complete when no row needs x.b = 0.
    """
    cone = _Cone.of(X, k, n)
    if cone.push() is None:
        return None
    return Reason("ml.complete_separation") if cone.is_complete() else Reason("ml.quasi_separation")


def recession(X: FloatArray, k: FloatArray, n: FloatArray, combinations: FloatArray) -> Recession | None:
    """Return how rows ``X`` (n, p) with independent columns are separated, None when the outcomes overlap.

    ``combinations`` (q, p) of the coefficients are told apart into finite and infinite ones. Raises nothing.
    """
    orthogonal, upper = _of_size_one(X)
    cone = _Cone.of(orthogonal, k, n)
    direction = cone.push()
    if direction is None:
        return None
    turned = np.linalg.solve(upper.T, combinations.T).T
    ways = tuple(cone.way(combination, direction) for combination in turned)
    return Recession(cone.is_complete(), ways)


def is_separated(X: FloatArray, k: FloatArray, n: FloatArray) -> bool:
    """Return whether rows ``X`` (n, p) with independent columns are separated; by linear programming alone."""
    return _Cone.of(_of_size_one(X)[0], k, n).push() is not None


def _of_size_one(X: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return orthogonal columns of mean square one, and the (p, p) matrix that takes them back to ``X``."""
    orthogonal, upper = np.linalg.qr(X)
    size = math.sqrt(len(X))
    return orthogonal * size, upper / size


class _Cone:
    """The directions that recede: ``signed`` (r, p) x.b >= 0, ``mixed`` (m, p) x.b = 0.

    Of many rows only those are handed to the solver that some answer broke, until none does.
    """

    def __init__(self, signed: FloatArray, mixed: FloatArray) -> None:
        self._signed = signed
        self._mixed = _row_space(mixed)
        self._used = np.zeros(len(signed), dtype=bool)
        self._used[: _AT_ONCE if len(signed) > _FEW else None] = True

    @staticmethod
    def of(X: FloatArray, k: FloatArray, n: FloatArray) -> _Cone:
        signs = np.where(k >= n, 1.0, -1.0)
        pure = (k <= 0) | (k >= n)
        signed = X[pure] * signs[pure, None]
        return _Cone(np.unique(signed, axis=0) if len(signed) <= _FEW else signed, X[~pure])

    def push(self) -> FloatArray | None:
        """Return the direction in the unit box with the largest total of s x.b, None when the outcomes overlap."""
        if not len(self._signed):
            return None
        direction = self._farthest(self._signed.sum(axis=0))
        if direction is None or float((self._signed @ direction).max()) <= _TINY:
            return None
        return direction

    def way(self, combination: FloatArray, direction: FloatArray) -> Way:
        """Return where a combination (p,) goes; ``direction`` is any that recedes."""
        size = float(np.abs(combination).max())
        if size == 0:
            return "finite"
        scaled = combination / size
        known = float(scaled @ direction)
        up = known > _TINY or self._reaches(scaled)
        down = known < -_TINY or self._reaches(-scaled)
        if up and down:
            return "either"
        return "up" if up else "down" if down else "finite"

    def is_complete(self) -> bool:
        """Whether some direction has s x.b >= t in every row with t above zero."""
        if len(self._mixed):
            return False
        gap = self._solve(np.r_[np.zeros(self._signed.shape[1]), 1.0])
        return gap is not None and float(gap[-1]) > _TINY

    def _reaches(self, combination: FloatArray) -> bool:
        direction = self._farthest(combination)
        return direction is not None and float(combination @ direction) > _TINY

    def _farthest(self, goal: FloatArray) -> FloatArray | None:
        """Return the direction in the box that goes farthest along ``goal`` (p,)."""
        found = self._solve(np.r_[goal / max(1.0, float(np.abs(goal).max())), 0.0])
        return None if found is None else found[:-1]

    def _solve(self, goal: FloatArray) -> FloatArray | None:
        """Return (b, t) in the box with the largest goal . (b, t), where s x.b >= t in every row and t >= 0."""
        while True:
            found = self._solve_some(goal)
            if found is None:
                return None
            short = self._signed @ found[:-1] - found[-1]
            broken = np.flatnonzero((short < -_BROKEN) & ~self._used)
            if not len(broken):
                return found
            self._used[broken[np.argsort(short[broken])[:_AT_ONCE]]] = True

    def _solve_some(self, goal: FloatArray) -> FloatArray | None:
        from scipy.optimize import linprog

        rows = self._signed[self._used]
        mixed = len(self._mixed)
        ends = [(-1.0, 1.0)] * rows.shape[1] + [(0.0, 1.0 if goal[-1] else 0.0)]
        result = linprog(
            -goal,
            A_ub=np.column_stack([-rows, np.ones(len(rows))]) if len(rows) else None,
            b_ub=np.zeros(len(rows)) if len(rows) else None,
            A_eq=np.column_stack([self._mixed, np.zeros(mixed)]) if mixed else None,
            b_eq=np.zeros(mixed) if mixed else None,
            bounds=ends,
            method="highs",
            options={"primal_feasibility_tolerance": _TOLERANCE, "dual_feasibility_tolerance": _TOLERANCE},
        )
        return None if result.x is None else np.asarray(result.x)


def _row_space(rows: FloatArray) -> FloatArray:
    """Return an orthonormal basis (at most p, p) of what the rows (m, p) span."""
    if not len(rows):
        return rows
    upper = np.linalg.qr(rows, mode="r")
    _, sizes, right = np.linalg.svd(upper)
    return np.asarray(right[: int((sizes > _TOLERANCE * sizes[0]).sum())])
