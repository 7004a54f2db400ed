"""How far two gradings of the same things agree: the share that agrees, and Cohen's kappa, both with an interval.

Kappa (Cohen 1960, Educational and Psychological Measurement 20:37) is (p - e) / (1 - e): p is the share that
agrees, e what would agree by chance where each grading kept its own shares of the classes. It is not weighted: the
classes are the answers at two gates, each fails an attempt for another cause, and they have no distances that could
be weighted.

Its interval has to hold at 5 to 30 pairs. Compared by simulation (tests/generators/kappa_coverage.py: 27 truths in
four classes, kappa 0.2 to 0.99, 400 tables each); the share of 95 % intervals that hold the truth, on average:

    pairs                                         5     8    12    20    30
    asymptotic, Fleiss, Cohen, Everitt 1969     0.42  0.56  0.66  0.77  0.82
    bootstrap, percentile                       0.43  0.56  0.66  0.77  0.83
    Dirichlet posterior, 1/2 a cell (Jeffreys)  0.22  0.26  0.30  0.36  0.43
    Dirichlet posterior, weight 1 in all        0.92  0.93  0.94  0.94  0.95
    score interval of p, at the chance seen     0.93  0.95  0.95  0.95  0.96
        at the worst truth                      0.81  0.88  0.92  0.91  0.92

The first two have no width where all agree, and the third pulls sixteen cells towards chance. The last is used: the
score interval of p (Wilson 1927, Journal of the American Statistical Association 22:209) with its bounds put in
place of p, e as it was seen. That step is ours, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason

_SAME = 1e-12


@dataclass(frozen=True)
class Agreement:
    """How ``n`` pairs of gradings agree; what is None cannot be told, and ``reason`` says why.

    ``observed`` is the share that agrees; ``kappa`` with its bounds at ``level`` is 1 for full agreement and 0 for
    what chance would give. ``table[i][j]`` counts the pairs with ``classes[i]`` first and ``classes[j]`` then.
    """

    n: int
    level: float
    classes: tuple[str, ...]
    table: tuple[tuple[int, ...], ...]
    observed: Estimate | None = None
    kappa: float | None = None
    lower: float | None = None
    upper: float | None = None
    reason: Reason | None = None


def agreement(
    pairs: Sequence[tuple[str, str]], *, level: float = 0.95, classes: Sequence[str] | None = None
) -> Agreement:
    """Return how far the second grading agrees with the first, for ``pairs`` of classes.

    ``classes`` gives their order; by default they are sorted. With no pair nothing is told; where both gradings put
    everything into one class kappa is 0 / 0, so unknown and not 1. Raises InputError ``agreement.class``.
    """
    known = tuple(classes) if classes is not None else tuple(sorted({each for pair in pairs for each in pair}))
    table = _table(pairs, known)
    n = len(pairs)
    if not n:
        return Agreement(0, level, known, table, reason=Reason("agreement.none"))
    same = sum(table[place][place] for place in range(len(known)))
    lower, upper = score_interval(same, n, level)
    observed = Estimate(same / n, lower, upper, level, n)
    chance = sum(sum(table[place]) * sum(row[place] for row in table) for place in range(len(known))) / n**2
    if chance > 1.0 - _SAME:
        return Agreement(n, level, known, table, observed, reason=Reason("agreement.one_class"))

    def kappa_at(share: float) -> float:
        return max(-1.0, (share - chance) / (1.0 - chance))

    return Agreement(n, level, known, table, observed, kappa_at(same / n), kappa_at(lower), kappa_at(upper))


def score_interval(successes: int, trials: int, level: float) -> tuple[float, float]:
    """Return the score interval of a share (Wilson 1927), bounds in [0, 1]; ``trials`` is above zero."""
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    share, add = successes / trials, z * z / trials
    middle = (share + add / 2.0) / (1.0 + add)
    half = z * math.sqrt(share * (1.0 - share) / trials + add / (4.0 * trials)) / (1.0 + add)
    # At the ends the bound is 0 or 1 itself, but for rounding.
    lower = 0.0 if successes == 0 else middle - half
    return lower, 1.0 if successes == trials else middle + half


def _table(pairs: Sequence[tuple[str, str]], classes: tuple[str, ...]) -> tuple[tuple[int, ...], ...]:
    place = {each: index for index, each in enumerate(classes)}
    counts = [[0] * len(classes) for _ in classes]
    for first, second in pairs:
        for each in (first, second):
            if each not in place:
                raise InputError("agreement.class", value=each, known=", ".join(classes))
        counts[place[first]][place[second]] += 1
    return tuple(tuple(row) for row in counts)
