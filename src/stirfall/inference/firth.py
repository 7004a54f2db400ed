"""Logistic regression by penalised likelihood (Firth), finite for any rows whose columns are independent.

Firth 1993, Biometrika 80:27 (the penalty); Heinze & Schemper 2002, Statistics in Medicine 21:2409 (profile
intervals and likelihood-ratio tests); Kosmidis & Firth 2021, Biometrika 108:71 (estimates are finite). All of it
runs on the orthogonal factor of the columns, so that their units and a common offset do no harm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.inference.grouped import checked_rows, collapse
from stirfall.inference.penalised import PenalisedRows
from stirfall.inference.profile import Peak, climb, highest, profile_limits

FloatArray = NDArray[np.float64]

# A column is taken as a sum of others when what they leave of it is smaller than this share of its length.
_DEPENDENT = 1e-11


@dataclass(frozen=True)
class FirthFit:
    """The fit, or the reason why there is none; then all numbers are NaN and not to be shown.

    ``estimate``, ``se``, ``lower``, ``upper`` and ``p`` (q,) belong to the q combinations of coefficients that
    were asked for, or else to the coefficients. ``lower`` and ``upper`` are profile penalised-likelihood limits,
    NaN where none was found; ``p`` is that of the penalised likelihood-ratio test that the combination is zero,
    against the largest penalised likelihood with it held at zero (full design in the penalty), whose value is in
    ``null_penalised_log_likelihood`` (q,). ``coefficients`` (p,) and ``covariance`` (p, p), the inverse of the
    expected information, belong to the columns. The penalised log-likelihoods contain the binomial coefficients
    (zero for single trials) and 1/2 log det of the information in the units of the columns as given.
    """

    estimate: FloatArray
    se: FloatArray
    lower: FloatArray
    upper: FloatArray
    p: FloatArray
    null_penalised_log_likelihood: FloatArray
    coefficients: FloatArray
    covariance: FloatArray
    penalised_log_likelihood: float
    exists: bool
    reason: Reason | None = None


def fit_firth(
    X: ArrayLike,
    successes: ArrayLike,
    trials: ArrayLike,
    *,
    level: ArrayLike = 0.95,
    combinations: ArrayLike | None = None,
    names: Sequence[str] | None = None,
) -> FirthFit:
    """Fit rows ``X`` (n, p) with ``successes`` of ``trials`` (n,), and ``combinations`` (q, p) of the coefficients.

    ``level`` of the intervals is one number, or (q,). ``names`` (p,) of the columns serve the reason why there is
    no fit: ``firth.no_rows``, ``firth.collinear`` or ``firth.no_convergence``. Raises InputError ``rows.*`` or
    ``firth.level_outside``.
    """
    matrix, k, n = checked_rows(X, successes, trials)
    columns = matrix.shape[1]
    wanted = np.eye(columns) if combinations is None else np.asarray(combinations, dtype=float).reshape(-1, columns)
    drops = _half_squares(level, len(wanted))
    asked = n > 0
    rows = collapse(matrix[asked], k[asked], n[asked])
    reason, basis = _basis(rows.X, names)
    if basis is None:
        return _nothing(columns, len(wanted), reason)
    scaled = PenalisedRows(basis.orthogonal, rows.k, rows.n)
    peak = highest(scaled, np.zeros(columns))
    if peak is None:
        return _nothing(columns, len(wanted), Reason("firth.no_convergence"))
    shift = basis.log_volume + _binomial_constants(k[asked], n[asked])
    return _answer(scaled, peak, basis, _Wanted(wanted, drops, shift))


@dataclass(frozen=True)
class _Basis:
    """X = ``orthogonal`` (n, p) times ``back`` (p, p); ``log_volume`` is log |det back|."""

    orthogonal: FloatArray
    back: FloatArray
    log_volume: float


@dataclass(frozen=True)
class _Wanted:
    """Combinations (q, p), how far the profile falls to their limits (q,), and what is added to each height."""

    combinations: FloatArray
    drops: FloatArray
    shift: float


def _basis(X: FloatArray, names: Sequence[str] | None) -> tuple[Reason | None, _Basis | None]:
    """Return the orthogonal factor with columns of mean square one, or why there is none."""
    count, columns = X.shape
    if not count:
        return Reason("firth.no_rows"), None
    scale = np.abs(X).max(axis=0, initial=0.0)
    scaled = X / np.where(scale > 0, scale, 1.0)
    dependent = _dependent(scaled)
    if dependent:
        shown = names or [f"column {place + 1}" for place in range(columns)]
        return Reason("firth.collinear", {"names": ", ".join(shown[place] for place in dependent)}), None
    orthogonal, upper = np.linalg.qr(scaled)
    size = math.sqrt(count)
    back = upper / size * scale
    log_volume = float(np.log(np.abs(np.diag(upper) / size)).sum() + np.log(scale).sum())
    return None, _Basis(orthogonal * size, back, log_volume)


def _dependent(scaled: FloatArray) -> list[int]:
    """Return the places of the columns that take part in the first dependence; none where all are independent."""
    lengths = np.sqrt(np.square(scaled).sum(axis=0))
    for place in range(scaled.shape[1]):
        if lengths[place] == 0:
            return [place]
        others = scaled[:, :place] / lengths[:place]
        column = scaled[:, place] / lengths[place]
        if not place:
            continue
        shares = np.linalg.lstsq(others, column, rcond=1e-14)[0]
        left = column - others @ shares
        if np.sqrt(left @ left) <= _DEPENDENT:
            return [*np.flatnonzero(np.abs(shares) > 1e-6).tolist(), place]
    return []


def _answer(rows: PenalisedRows, peak: Peak, basis: _Basis, wanted: _Wanted) -> FirthFit:
    directions = np.asarray(np.linalg.solve(basis.back.T, wanted.combinations.T).T, dtype=float)
    spread = np.linalg.inv(peak.information)
    back = np.linalg.inv(basis.back)
    se = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", directions, spread, directions), 0.0))
    lower, upper, null = (np.full(len(directions), math.nan) for _ in range(3))
    some = np.flatnonzero(se > 0)
    if len(some):
        lower[some], upper[some] = profile_limits(rows, peak, directions[some], wanted.drops[some])
        null[some] = _held_at_zero(rows, peak, directions[some])
    halves = np.maximum(peak.value - null, 0.0).tolist()
    return FirthFit(
        estimate=directions @ peak.theta,
        se=se,
        lower=lower,
        upper=upper,
        p=np.array([math.erfc(math.sqrt(half)) if half >= 0 else math.nan for half in halves]),
        null_penalised_log_likelihood=null + wanted.shift,
        coefficients=back @ peak.theta,
        covariance=back @ spread @ back.T,
        penalised_log_likelihood=float(peak.value + wanted.shift),
        exists=True,
    )


def _held_at_zero(rows: PenalisedRows, peak: Peak, directions: FloatArray) -> FloatArray:
    """Return the largest penalised log-likelihoods with each combination held at zero, NaN where not found."""
    ridge = np.linalg.solve(peak.information, directions.T).T
    along = np.einsum("ij,ij->i", directions, ridge)
    start = peak.theta - ridge * (directions @ peak.theta / along)[:, None]
    top = climb(rows, start, directions)
    lost = np.flatnonzero(~top.converged)
    value = top.value.copy()
    if len(lost):
        again = climb(rows, np.zeros((len(lost), rows.columns)), directions[lost])
        value[lost] = np.where(again.converged, again.value, math.nan)
    return value


def _half_squares(level: ArrayLike, count: int) -> FloatArray:
    """Return half the quantile of chi-square with one degree of freedom for each level."""
    levels = np.broadcast_to(np.asarray(level, dtype=float), (count,))
    if not ((levels > 0) & (levels < 1)).all():
        raise InputError("firth.level_outside")
    known = {value: 0.5 * NormalDist().inv_cdf((1.0 + value) / 2.0) ** 2 for value in set(levels.tolist())}
    return np.array([known[value] for value in levels.tolist()])


def _binomial_constants(k: FloatArray, n: FloatArray) -> float:
    if (n == 1).all():
        return 0.0
    from scipy.special import gammaln

    return float((gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)).sum())


def _nothing(columns: int, combinations: int, reason: Reason | None) -> FirthFit:
    none = np.full(combinations, math.nan)
    return FirthFit(
        estimate=none,
        se=none,
        lower=none,
        upper=none,
        p=none,
        null_penalised_log_likelihood=none,
        coefficients=np.full(columns, math.nan),
        covariance=np.full((columns, columns), math.nan),
        penalised_log_likelihood=math.nan,
        exists=False,
        reason=reason,
    )
