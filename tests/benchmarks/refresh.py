"""The refined refresh, and its lots against an ensemble sampler (emcee) at equal accuracy; for run.py.

The refresh is timed from recording an attempt to everything that the odds pane shows. The sampler gets the same
posterior as one gate of one form: coefficients and the sd of the lots, the lots' effects integrated out by the same
code. Accuracy is the Monte-Carlo error of mean probabilities, measured as in posterior.py.
"""

from __future__ import annotations

import json
import math
import statistics
import sys
import time
from pathlib import Path

import emcee
import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parent))
from posterior import WALKERS, sampler_answer

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.inference.bayes import Posterior
from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.grouped import expit
from stirfall.inference.lot_draws import half_normal
from stirfall.inference.lot_kernel import lot_rows, marginal_log_likelihood
from stirfall.session.analysis import Analysis, analyse, refine
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document

FloatArray = NDArray[np.float64]

LOTS = 8
LOT_SD_PRIOR = 1.0
CHAIN_STEPS = 6000
SEEDS = 16


def refined_seconds(
    path: Path, settings: CampaignSettings, attempts: list[Attempt], *, later: int, suggestions: bool
) -> tuple[float, float]:
    """Return the median seconds from recording an attempt to the first, and to the refined answer in full.

    The last ``later`` attempts are recorded one by one; the first refresh of the process is not counted. With
    ``suggestions`` the first answer holds three next attempts as well.
    """
    first, whole = [], []
    lots = [Lot(name) for name in sorted({str(attempt.lot_id) for attempt in attempts})]
    with Document.create(path, settings, standard_factors(), lots=lots, attempts=attempts[:-later]) as document:
        for attempt in attempts[-later:]:
            started = time.perf_counter()
            document.execute(RecordAttempt(attempt))
            analysis = first_answer(document.state, attempt.conditions, suggestions=suggestions)
            first.append(time.perf_counter() - started)
            refined_answer(analysis, attempt.conditions)
            whole.append(time.perf_counter() - started)
    return statistics.median(first[1:]), statistics.median(whole[1:])


def first_answer(state: CampaignState, conditions: Conditions, *, suggestions: bool) -> Analysis:
    """Compute what the pane shows at once."""
    analysis = analyse(state)
    show(analysis, conditions)
    if suggestions and len(analysis.suggest(count=3, goal="reliable")) != 3:
        raise RuntimeError("three suggestions were expected")
    return analysis


def refined_answer(analysis: Analysis, conditions: Conditions) -> None:
    """Compute what replaces it: forms weighed, lots allowed for, effects."""
    refined = refine(analysis)
    show(refined, conditions)
    if len(refined.forms) < 2 or not refined.lots or not refined.effects():
        raise RuntimeError("forms, lots and effects were expected")


def show(analysis: Analysis, conditions: Conditions) -> None:
    """Ask for the estimate, the gates and the curve."""
    analysis.estimate(conditions)
    analysis.gate_estimates(conditions)
    analysis.curve("sample age", conditions)


def made_gate(attempts: int, coefficients: int) -> tuple[GateRows, FloatArray]:
    """Return the invented rows of one gate in several lots, and 24 design rows to ask about."""
    rng = np.random.default_rng(19)
    X = np.column_stack([np.ones(attempts), rng.uniform(-1, 1, (attempts, coefficients - 1))])
    lot = np.arange(attempts) % LOTS
    effect = rng.normal(size=LOTS)
    eta = X @ np.r_[0.3, rng.normal(size=coefficients - 1)] + effect[lot]
    k = (rng.random(attempts) < expit(eta)).astype(float)
    points = np.column_stack([np.ones(24), rng.uniform(-1, 1, (24, coefficients - 1))])
    return GateRows(X, k, np.ones(attempts), lot, LOTS, np.arange(attempts)), points


def ours(rows: GateRows, prior_sd: FloatArray, points: FloatArray) -> tuple[float, FloatArray, float, Posterior]:
    """Return the median seconds of a fit, the mean probabilities, their error over seeds, and the last fit."""
    names = tuple(f"L{place}" for place in range(LOTS))
    times, means = [], []
    for seed in range(SEEDS + 1):
        started = time.perf_counter()
        posterior = fit_gate(rows, prior_sd, lot_names=names, lot_sd_prior=LOT_SD_PRIOR, seed=seed)
        times.append(time.perf_counter() - started)
        means.append(posterior.weights @ expit(posterior.draws @ points.T))
    spread = np.std(means[1:], axis=0, ddof=1)
    return statistics.median(times[1:]), np.mean(means[1:], axis=0), math.sqrt(np.mean(spread**2)), posterior


def lots_against_sampler(attempts: int = 60, coefficients: int = 8) -> dict[str, float]:
    """Return times, errors and their ratio for one gate with lots; raises RuntimeError where answers differ."""
    rows, points = made_gate(attempts, coefficients)
    prior_sd = np.r_[2.5, np.full(coefficients - 1, 2.0)]
    seconds, means, error, posterior = ours(rows, prior_sd, points)
    per_step, chain = sampler_chain(rows, prior_sd, posterior.mode)
    # The score of the sd is a coefficient that no point asks about.
    sampler = sampler_answer(chain, np.column_stack([points, np.zeros(len(points))]), error)
    difference = float(np.sqrt(np.mean((means - sampler.means) ** 2)))
    if difference > 4.0 * sampler.error:
        raise RuntimeError(
            f"the two answers differ by {difference:.2g}, the sampler's error is {sampler.error:.2g}"
        )
    return {
        "coefficients": coefficients,
        "lots": LOTS,
        "ours_ms": round(1e3 * seconds, 2),
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


def sampler_chain(rows: GateRows, prior_sd: FloatArray, start: FloatArray) -> tuple[float, FloatArray]:
    """Return the seconds per step of the whole ensemble, and the chain (steps, walkers, coefficients and score)."""
    prepared = lot_rows(rows)

    def log_posterior(points: FloatArray) -> FloatArray:
        beta, score = points[:, :-1], points[:, -1]
        height = marginal_log_likelihood(prepared, beta, half_normal(score, LOT_SD_PRIOR))
        return height - 0.5 * np.square(beta / prior_sd).sum(axis=1) - 0.5 * score**2

    np.random.seed(5)
    sampler = emcee.EnsembleSampler(WALKERS, len(prior_sd) + 1, log_posterior, vectorize=True)
    first = np.r_[start, 0.0] + 0.1 * np.random.default_rng(5).normal(size=(WALKERS, len(prior_sd) + 1))
    started = time.perf_counter()
    sampler.run_mcmc(first, CHAIN_STEPS)
    return (time.perf_counter() - started) / CHAIN_STEPS, sampler.get_chain()


if __name__ == "__main__":
    print(json.dumps(lots_against_sampler(), indent=2))
