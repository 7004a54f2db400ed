"""Importance sampling around a posterior: a multivariate-t proposal, matched to its moments round by round."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.blocks import times, weighted_gram, weighted_sum
from stirfall.inference.importance import effective_size, normalised, student_points, tempered

FloatArray = NDArray[np.float64]

# Rounds of moment matching; the second figure is for models with so many coefficients that the first leave fewer
# than a quarter of the draws effective: these then get more rounds, and more draws.
_ROUNDS = (2, 4)
_MORE_DRAWS = 4
_STEPS_PER_SEED = 16
# Cost times draws of one round: an adaptive round needs no more than the first to settle; where the second is
# passed, there are so many rows that the posterior is narrow and fewer draws say the same.
_ADAPT_BUDGET = 2**22
_BUDGET = 2**27
_FEWEST_DRAWS = 1024


@dataclass(frozen=True)
class Sample:
    """Draws (m, p), their weights (m,) that sum to one, and the log marginal likelihood."""

    points: FloatArray
    weights: FloatArray
    log_marginal: float


@dataclass(frozen=True)
class Sampler:
    """Draws from likelihood times N(0, prior_sd^2) priors (p,).

    ``log_likelihood`` takes points (m, p) and returns (m,); ``cost`` is about how many row evaluations one point
    takes. ``rounds`` are rounds of moment matching, and those more where the first leave too little; ``adapt``
    is the most draws of such a round.
    """

    log_likelihood: Callable[[FloatArray], FloatArray]
    cost: int
    prior_sd: FloatArray
    seed: int
    rounds: tuple[int, int] = _ROUNDS
    adapt: int = 2**30
    fewest: int = _FEWEST_DRAWS

    def run(self, center: FloatArray, factor: FloatArray, draws: int) -> Sample:
        """Match the proposal to the moments of the posterior and return its final draws."""
        step = 0
        for rounds, count in zip(self.rounds, (draws, _MORE_DRAWS * draws), strict=True):
            final = self._affordable(count, _BUDGET, self.fewest)
            few = min(self._affordable(final, _ADAPT_BUDGET, max(256, 32 * len(center))), self.adapt)
            for _ in range(rounds):
                sample = self.draw(center, factor, few, step)
                center, covariance = moments(sample.points, tempered(sample.weights, 10.0 * len(center)))
                factor = _root(covariance, factor)
                step += 1
            sample = self.draw(center, factor, final, step)
            step += 1
            if effective_size(sample.weights) >= draws / 4 or final < draws:
                break
        return sample

    def _affordable(self, draws: int, budget: int, fewest: int) -> int:
        while draws >= 2 * fewest and draws * self.cost > budget:
            draws //= 2
        return draws

    def draw(self, center: FloatArray, factor: FloatArray, count: int, step: int) -> Sample:
        """Return the draws of one proposal, centred at ``center`` with the root ``factor`` of its spread."""
        standard, log_density = student_points(count, len(center), self.seed * _STEPS_PER_SEED + step)
        points = center + times(standard, factor.T)
        scaled = points / self.prior_sd
        log_prior = -0.5 * np.einsum("ij,ij->i", scaled, scaled) - float(
            np.log(self.prior_sd).sum() + 0.5 * len(center) * math.log(2.0 * math.pi)
        )
        log_volume = float(np.linalg.slogdet(factor)[1])
        log_target = self.log_likelihood(points) + log_prior
        weights, log_marginal = normalised(log_target - log_density + log_volume)
        return Sample(points, weights, log_marginal)


def moments(points: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return mean (p,) and covariance (p, p) of weighted draws (m, p)."""
    mean = weighted_sum(weights, points)
    return mean, weighted_gram(points - mean, weights)


def root_of_inverse(precision: FloatArray) -> FloatArray:
    """Return a root R (p, p) with R R^T = precision^-1."""
    scale = 1.0 / np.sqrt(np.diag(precision))
    lower = np.linalg.cholesky(precision * scale[:, None] * scale)
    return np.asarray(scale[:, None] * np.linalg.inv(lower).T)


def _root(covariance: FloatArray, fallback: FloatArray) -> FloatArray:
    try:
        return np.asarray(np.linalg.cholesky(covariance), dtype=float)
    except np.linalg.LinAlgError:
        return fallback
