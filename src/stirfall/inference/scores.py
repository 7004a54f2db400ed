"""How good probabilities were: Brier and log score against "always the mean rate", and the area under the curve.

Everything takes rows of ``k`` successes of ``n`` trials with the probability that was said beforehand. Unknown is
None, never NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.errors import InputError

FloatArray = NDArray[np.float64]

# A probability nearer to 0 or 1 than this would make the log score infinite; no number of attempts proves more.
_NEAREST = 1e-12
_HALVINGS = 80


@dataclass(frozen=True)
class Comparison:
    """One score, mean per trial, beside that of the mean rate.

    ``gain`` is positive where the predictions did better, ``gain_se`` its standard error over the attempts, None
    with fewer than two attempts.
    """

    score: float
    mean_rate: float
    gain: float
    gain_se: float | None

    @property
    def verdict(self) -> int:
        """Return 1 where the gain is above twice its standard error, -1 where it is below that, else 0."""
        if self.gain_se is None:
            return 0
        return int(self.gain > 2.0 * self.gain_se) - int(self.gain < -2.0 * self.gain_se)


@dataclass(frozen=True)
class Scores:
    """Brier score (0 is best) and log score (natural log, 0 is best, else below), and what they rest on."""

    brier: Comparison
    log: Comparison
    attempts: int
    trials: int


@dataclass(frozen=True)
class Auc:
    """How often a clean trial was given a higher probability than one that was not; ties count half.

    ``clean`` and ``not_clean`` are the trials of each kind.
    """

    value: float
    lower: float
    upper: float
    level: float
    clean: int
    not_clean: int


def checked_scores(
    probability: ArrayLike, successes: ArrayLike, trials: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return (r,) probabilities, successes and trials without the rows of no trial.

    Raises InputError ``rows.shape``, ``rows.not_finite``, ``rows.count_outside`` or ``scores.probability_outside``.
    """
    p, k = np.asarray(probability, dtype=float), np.asarray(successes, dtype=float)
    if p.ndim != 1 or k.shape != p.shape:
        raise InputError("rows.shape", rows=str(p.shape), counts=str(k.shape))
    n = np.broadcast_to(np.asarray(trials, dtype=float), k.shape)
    if not (np.isfinite(p).all() and np.isfinite(k).all() and np.isfinite(n).all()):
        raise InputError("rows.not_finite")
    if (k < 0).any() or (k > n).any():
        raise InputError("rows.count_outside")
    if (p < 0).any() or (p > 1).any():
        raise InputError("scores.probability_outside")
    used = n > 0
    return p[used], k[used], n[used]


def brier_score(probability: ArrayLike, successes: ArrayLike, trials: ArrayLike = 1.0) -> float | None:
    """Return the mean squared distance per trial (Brier 1950, Mon. Weather Rev. 78:1); None without trials."""
    p, k, n = checked_scores(probability, successes, trials)
    return _mean(_brier_sums(p, k, n), n)


def log_score(probability: ArrayLike, successes: ArrayLike, trials: ArrayLike = 1.0) -> float | None:
    """Return the mean natural log of the probability of what came about (Good 1952, J. R. Stat. Soc. B 14:107).

    Probabilities are kept 1e-12 away from 0 and 1. None without trials.
    """
    p, k, n = checked_scores(probability, successes, trials)
    return _mean(_log_sums(p, k, n), n)


def rate_without(successes: FloatArray, trials: FloatArray) -> FloatArray:
    """Return for each row (r,) the rate of all other rows, (k + 1/2) / (n + 1) of their k of n.

    The half success and half failure keep it off 0 and 1; they are the closed form of Firth's penalised likelihood
    for an intercept alone (Firth 1993, Biometrika 80:27).
    """
    k, n = successes.sum() - successes, trials.sum() - trials
    return np.asarray((k + 0.5) / (n + 1.0), dtype=float)


def compare_scores(probability: ArrayLike, successes: ArrayLike, trials: ArrayLike = 1.0) -> Scores | None:
    """Score ``probability`` (r,), each said without its own row, against the mean rate without that row.

    The difference is paired; its standard error takes the rows, not the trials, as independent. None without
    trials. Raises as ``checked_scores``.
    """
    p, k, n = checked_scores(probability, successes, trials)
    if not len(p):
        return None
    base = rate_without(k, n)
    return Scores(
        brier=_compared(-_brier_sums(p, k, n), -_brier_sums(base, k, n), n, sign=-1.0),
        log=_compared(_log_sums(p, k, n), _log_sums(base, k, n), n, sign=1.0),
        attempts=len(p),
        trials=round(float(n.sum())),
    )


def auc(
    probability: ArrayLike, successes: ArrayLike, trials: ArrayLike = 1.0, *, level: float = 0.95
) -> Auc | None:
    """Return the area under the curve with its interval; None where all trials came out alike, or there is none.

    The value is the Mann-Whitney statistic over all pairs of trials. The interval is method 5 of Newcombe 2006
    (Stat. Med. 25:559): the values theta with (value - theta)^2 <= z^2 V(theta), where
    V = theta (1 - theta) [1 + s (1 - theta)/(2 - theta) + s theta/(1 + theta)] / (m n) and s = (m + n)/2 - 1. It is
    never of width zero, also not where the outcomes are perfectly parted. It takes the probabilities as given and
    the trials as independent.

    Leave-one-out probabilities push the value down where there is little to tell, since each is said with one
    result of the other kind more (Parker, Guenter & Bedo 2007, BMC Bioinformatics 8:326). With three factors that
    do nothing it is near 0.37 at 12 attempts and 0.40 at 48 (simulated): below one half is no sign of a wrong way.
    """
    p, k, n = checked_scores(probability, successes, trials)
    clean, other = float(k.sum()), float((n - k).sum())
    if clean == 0 or other == 0:
        return None
    order = np.argsort(p, kind="stable")
    starts = np.flatnonzero(np.concatenate([[True], np.diff(p[order]) > 0]))
    yes, no = np.add.reduceat(k[order], starts), np.add.reduceat((n - k)[order], starts)
    value = float(yes @ (np.cumsum(no) - 0.5 * no)) / (clean * other)
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    return Auc(
        value=value,
        lower=_auc_end(value, 0.0, clean, other, z),
        upper=_auc_end(value, 1.0, clean, other, z),
        level=level,
        clean=round(clean),
        not_clean=round(other),
    )


def wilson_interval(successes: float, trials: float, *, level: float = 0.95) -> tuple[float, float] | None:
    """Return the score interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22:209); None without trials."""
    if trials <= 0:
        return None
    z2 = NormalDist().inv_cdf(0.5 + level / 2.0) ** 2
    share = successes / trials
    middle = (share + z2 / (2.0 * trials)) / (1.0 + z2 / trials)
    reach = math.sqrt(z2 * (share * (1.0 - share) + z2 / (4.0 * trials)) / trials) / (1.0 + z2 / trials)
    lower = 0.0 if successes <= 0 else max(0.0, middle - reach)
    return lower, 1.0 if successes >= trials else min(1.0, middle + reach)


def _mean(sums: FloatArray, n: FloatArray) -> float | None:
    return float(sums.sum() / n.sum()) if len(n) else None


def _brier_sums(p: FloatArray, k: FloatArray, n: FloatArray) -> FloatArray:
    return k * (1.0 - p) ** 2 + (n - k) * p**2


def _log_sums(p: FloatArray, k: FloatArray, n: FloatArray) -> FloatArray:
    kept = np.clip(p, _NEAREST, 1.0 - _NEAREST)
    return k * np.log(kept) + (n - k) * np.log1p(-kept)


def _compared(said: FloatArray, base: FloatArray, n: FloatArray, *, sign: float) -> Comparison:
    """Compare sums per row that are larger where better; ``sign`` turns them back into the score as it is written.

    The standard error is that of a ratio of sums over rows (Cochran 1977, Sampling Techniques, section 2.11).
    """
    total, rows = float(n.sum()), len(n)
    difference = said - base
    gain = float(difference.sum()) / total
    se = None
    if rows > 1:
        left = difference - gain * n
        se = math.sqrt(rows / (rows - 1.0) * float(left @ left)) / total
    return Comparison(sign * float(said.sum()) / total, sign * float(base.sum()) / total, gain, se)


def _auc_end(value: float, end: float, m: float, n: float, z: float) -> float:
    """Bisect between the value and ``end`` (0 or 1) for where the distance equals z standard errors."""
    if value == end:
        return end
    inside, outside = value, end
    for _ in range(_HALVINGS):
        theta = 0.5 * (inside + outside)
        if (value - theta) ** 2 <= z * z * _auc_variance(theta, m, n):
            inside = theta
        else:
            outside = theta
    return inside


def _auc_variance(theta: float, m: float, n: float) -> float:
    spread = (m + n) / 2.0 - 1.0
    both = 1.0 + spread * ((1.0 - theta) / (2.0 - theta) + theta / (1.0 + theta))
    return theta * (1.0 - theta) * both / (m * n)
