"""The posterior against an ensemble sampler (emcee) at equal accuracy, both measured in one run.

Accuracy is the Monte-Carlo standard error of the mean probability of a clean separation, averaged (root mean
square) over points spread through the range. Ours is measured by repeating the fit with other seeds, each of which
has to make its points anew; the sampler's follows from its autocorrelation time. The sampler is then charged for
the steps that reach our error, its warm-up included. Both evaluate the same log-likelihood code, and their answers
must agree within the sampler's own error. Run it alone with ``python tests/benchmarks/posterior.py``.
"""

from __future__ import annotations

import json
import math
import statistics
import time
from dataclasses import dataclass

import emcee
import numpy as np
from numpy.typing import NDArray

from stirfall.inference.bayes import fit_posterior
from stirfall.inference.grouped import GroupedRows, collapse, expit, log_likelihood

FloatArray = NDArray[np.float64]

WALKERS = 32
CHAIN_STEPS = 6000
SEEDS = 24


def made_rows(attempts: int, coefficients: int, *, separated: bool) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a design matrix, invented outcomes and 24 design rows to ask about."""
    rng = np.random.default_rng(17)
    X = np.column_stack([np.ones(attempts), rng.uniform(-1, 1, (attempts, coefficients - 1))])
    eta = X @ np.r_[0.3, rng.normal(size=coefficients - 1) * 1.5]
    y = (eta > 0) if separated else (rng.random(attempts) < expit(eta))
    points = np.column_stack([np.ones(24), rng.uniform(-1, 1, (24, coefficients - 1))])
    return X, y.astype(float), points


def ours(X: FloatArray, y: FloatArray, prior_sd: FloatArray, points: FloatArray) -> tuple[float, FloatArray, float]:
    """Return the median seconds of a fit, the mean probabilities, and their standard error over seeds."""
    fit_posterior(X, y, 1, prior_sd)
    times, means = [], []
    for seed in range(1, SEEDS + 1):
        started = time.perf_counter()
        posterior = fit_posterior(X, y, 1, prior_sd, seed=seed)
        times.append(time.perf_counter() - started)
        means.append(posterior.weights @ expit(posterior.draws @ points.T))
    spread = np.std(means, axis=0, ddof=1)
    return statistics.median(times), np.mean(means, axis=0), float(np.sqrt(np.mean(spread**2)))


def sampler_chain(rows: GroupedRows, prior_sd: FloatArray, start: FloatArray) -> tuple[float, FloatArray]:
    """Return the seconds per step of the whole ensemble, and the chain (steps, walkers, coefficients)."""

    def log_posterior(beta: FloatArray) -> FloatArray:
        return log_likelihood(rows, beta) - 0.5 * np.square(beta / prior_sd).sum(axis=1)

    np.random.seed(5)
    sampler = emcee.EnsembleSampler(WALKERS, len(prior_sd), log_posterior, vectorize=True)
    first = start + 0.1 * np.random.default_rng(5).normal(size=(WALKERS, len(prior_sd)))
    started = time.perf_counter()
    sampler.run_mcmc(first, CHAIN_STEPS)
    return (time.perf_counter() - started) / CHAIN_STEPS, sampler.get_chain()


@dataclass(frozen=True)
class SamplerAnswer:
    """What the sampler says: mean probabilities, their error, and the steps that would reach another error."""

    means: FloatArray
    error: float
    steps: float
    autocorrelation_time: float


def sampler_answer(chain: FloatArray, points: FloatArray, wanted_error: float) -> SamplerAnswer:
    """Judge a chain after a warm-up of ten autocorrelation times."""
    warm_up = int(10 * np.max(emcee.autocorr.integrated_time(chain, quiet=True)))
    probability = expit(chain[warm_up:] @ points.T)
    length = emcee.autocorr.integrated_time(probability, quiet=True)
    variance = float(np.mean(length * probability.var(axis=(0, 1)))) / WALKERS
    return SamplerAnswer(
        means=probability.mean(axis=(0, 1)),
        error=math.sqrt(variance / len(probability)),
        steps=warm_up + variance / wanted_error**2,
        autocorrelation_time=float(np.mean(length)),
    )


def compare(attempts: int, coefficients: int, *, separated: bool) -> dict[str, float]:
    """Return times, errors and their ratio for one invented campaign."""
    X, y, points = made_rows(attempts, coefficients, separated=separated)
    prior_sd = np.r_[2.5, np.full(coefficients - 1, 2.0)]
    seconds, means, error = ours(X, y, prior_sd, points)
    posterior = fit_posterior(X, y, 1, prior_sd)
    rows = collapse(X, y, np.ones(attempts))
    per_step, chain = sampler_chain(rows, prior_sd, posterior.mode)
    sampler = sampler_answer(chain, points, error)
    difference = float(np.sqrt(np.mean((means - sampler.means) ** 2)))
    if difference > 4.0 * sampler.error:
        raise RuntimeError(
            f"the two answers differ by {difference:.2g}, the sampler's error is {sampler.error:.2g}"
        )
    return {
        "coefficients": coefficients,
        "ours_ms": round(1e3 * seconds, 3),
        "sampler_ms": round(1e3 * per_step * sampler.steps, 1),
        "ratio": round(per_step * sampler.steps / seconds, 1),
        "standard_error": float(f"{error:.2g}"),
        "difference": float(f"{difference:.2g}"),
        "sampler_error_of_difference": float(f"{sampler.error:.2g}"),
        "sampler_steps": math.ceil(sampler.steps),
        "autocorrelation_time": round(sampler.autocorrelation_time, 1),
        "effective_sample_size": round(posterior.effective_sample_size),
        "pareto_k": round(posterior.pareto_k, 2),
    }


def run() -> dict[str, dict[str, float]]:
    """Compare on three invented campaigns of 60 attempts; ``ratio`` is sampler time over ours at equal error."""
    return {
        "4 coefficients": compare(60, 4, separated=False),
        "8 coefficients": compare(60, 8, separated=False),
        "8 coefficients, separated": compare(60, 8, separated=True),
    }


if __name__ == "__main__":
    print(json.dumps(run(), indent=2))
