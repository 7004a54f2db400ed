"""Does a plane part the successes from the failures? Then maximum likelihood has no finite answer.

Albert & Anderson 1984, Biometrika 71:1 (what separation is); Konis 2007, thesis, Oxford (by linear programming). A
direction b recedes when s x.b >= 0 in every row (s = +1 where all trials succeeded, -1 where none did) and x.b = 0
where both were seen. A combination of coefficients has a finite estimate exactly when it is zero in every such
direction.
"""

from __future__ import annotations

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
    orthogonal, upper = np.linalg.qr(X)
    size = np.sqrt(len(X))
    cone = _Cone.of(orthogonal * size, k, n)
    direction = cone.push()
    if direction is None:
        return None
    turned = np.linalg.solve((upper / size).T, combinations.T).T
    ways = tuple(cone.way(combination, direction) for combination in turned)
    return Recession(cone.is_complete(), ways)


@dataclass(frozen=True)
class _Cone:
    """The directions that recede: ``signed`` (r, p) x.b >= 0, ``mixed`` (m, p) x.b = 0."""

    signed: FloatArray
    mixed: FloatArray

    @staticmethod
    def of(X: FloatArray, k: FloatArray, n: FloatArray) -> _Cone:
        signs = np.where(k >= n, 1.0, -1.0)
        pure = (k <= 0) | (k >= n)
        return _Cone(np.unique(X[pure] * signs[pure, None], axis=0), np.unique(X[~pure], axis=0))

    def push(self) -> FloatArray | None:
        """Return the direction in the unit box with the largest total of s x.b, None when the outcomes overlap."""
        if not len(self.signed):
            return None
        direction = self._farthest(self.signed.sum(axis=0))
        if direction is None or float((self.signed @ direction).max()) <= _TINY:
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
        """Whether some direction has s x.b > 0 in every row."""
        return not len(self.mixed) and self._widest_gap() > _TINY

    def _reaches(self, combination: FloatArray) -> bool:
        direction = self._farthest(combination)
        return direction is not None and float(combination @ direction) > _TINY

    def _farthest(self, goal: FloatArray) -> FloatArray | None:
        """Return the direction in the box that goes farthest along ``goal`` (p,)."""
        from scipy.optimize import linprog

        mixed = len(self.mixed)
        result = linprog(
            -goal / max(1.0, float(np.abs(goal).max())),
            A_ub=-self.signed if len(self.signed) else None,
            b_ub=np.zeros(len(self.signed)) if len(self.signed) else None,
            A_eq=self.mixed if mixed else None,
            b_eq=np.zeros(mixed) if mixed else None,
            bounds=(-1.0, 1.0),
            method="highs",
            options={"primal_feasibility_tolerance": _TOLERANCE, "dual_feasibility_tolerance": _TOLERANCE},
        )
        return None if result.x is None else np.asarray(result.x)

    def _widest_gap(self) -> float:
        """Return the largest t with s x.b >= t in every row: above zero when the separation is complete."""
        from scipy.optimize import linprog

        count, columns = self.signed.shape
        result = linprog(
            np.r_[np.zeros(columns), -1.0],
            A_ub=np.column_stack([-self.signed, np.ones(count)]),
            b_ub=np.zeros(count),
            bounds=[(-1.0, 1.0)] * columns + [(0.0, 1.0)],
            method="highs",
            options={"primal_feasibility_tolerance": _TOLERANCE, "dual_feasibility_tolerance": _TOLERANCE},
        )
        return 0.0 if result.x is None else float(result.x[-1])
