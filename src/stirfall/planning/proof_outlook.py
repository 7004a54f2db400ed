"""The chance that a proof succeeds, as the attempts so far foretell it.

The reliability is not known: it has a posterior. The predictive chance is the mean of P(shown | p) over its draws,
each of which is exact; draws that are paired with coefficients, lots and forms stay whole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate
from stirfall.inference.probability import weighted_interval
from stirfall.planning.proof import ProofPlan

FloatArray = NDArray[np.float64]

_DOUBTFUL = 0.5


@dataclass(frozen=True)
class Outlook:
    """What to expect of a proof from a point on.

    ``chance`` is the predictive chance that it is shown; its interval is the spread of P(shown | reliability) over
    what the reliability may be, not an error of the mean. ``reliability`` is the probability of a clean separation
    that it rests on, ``attempts`` the expected number of further attempts, ``true`` the probability that the claim
    holds at all.
    """

    plan: ProofPlan
    chance: Estimate
    reliability: Estimate
    attempts: float
    true: float
    made: int = 0
    failures: int = 0

    @property
    def improve_first(self) -> bool:
        """Whether it is more likely to fail than to succeed."""
        return self.chance.mean < _DOUBTFUL


def outlook(
    plan: ProofPlan,
    draws: FloatArray,
    weights: FloatArray,
    *,
    level: float,
    n: int,
    of_trials: bool = False,
    made: int = 0,
    failures: int = 0,
) -> Outlook:
    """Return what to expect of a plan after ``made`` attempts with ``failures``.

    ``draws`` (m,) are draws of the reliability with ``weights`` (m,) that sum to one, ``n`` trials behind them.
    """
    shown = plan.chance_to_show(draws, made, failures)

    def estimate(values: FloatArray) -> Estimate:
        mean = float(weights @ values)
        low, high = (float(bound[0]) for bound in weighted_interval(values[:, None], weights, level))
        return Estimate(mean, min(low, mean), max(high, mean), level, n, of_trials)

    return Outlook(
        plan,
        chance=estimate(shown),
        reliability=estimate(draws),
        attempts=float(weights @ plan.expected_attempts(draws, made, failures)),
        true=float(weights @ (draws >= plan.claim)),
        made=made,
        failures=failures,
    )
