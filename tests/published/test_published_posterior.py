"""The posterior against a published analysis, against quadrature and against an independent sampler (emcee)."""

from __future__ import annotations

import csv
from pathlib import Path

import emcee
import numpy as np
import pytest
from scipy.special import expit, xlog1py, xlogy

from stirfall.inference.bayes import fit_posterior

DATA = Path(__file__).parent / "data"


def table(name: str) -> dict[str, np.ndarray]:
    with (DATA / f"{name}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([float(row[key]) for row in rows]) for key in rows[0]}


def log_posterior(beta, X, k, n, prior_sd):
    """Return the log posterior of coefficient vectors (m, p), written from the definition."""
    p = expit(beta @ X.T)
    with np.errstate(divide="ignore"):
        likelihood = (xlogy(k, p) + xlog1py(n - k, -p)).sum(axis=1)
    return likelihood - 0.5 * np.square(beta / prior_sd).sum(axis=1)


def on_grid(X, k, n, prior_sd, centre, reach, steps=801):
    """Return grid points (steps^2, 2) and their normalised posterior weights."""
    axes = [np.linspace(c - r, c + r, steps) for c, r in zip(centre, reach, strict=True)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    value = np.concatenate([log_posterior(part, X, k, n, prior_sd) for part in np.array_split(points, 40)])
    weight = np.exp(value - value.max())
    return points, weight / weight.sum()


def summary(values, weights):
    mean = weights @ values
    return float(mean), float(np.sqrt(weights @ (values - mean) ** 2))


def test_beetles_with_vague_priors_on_the_centred_line():
    """Printed (OpenBUGS validation results): alpha -60.841 (5.201), beta 34.341 (2.925), by Markov chain.

    By quadrature -60.802 (5.161) and 34.319 (2.901). The priors are N(0, precision 0.001) on the intercept at the
    mean dose and on the slope; alpha is the intercept at dose zero.
    """
    data = table("beetles")
    middle = data["log10_dose"].mean()
    X = np.column_stack([np.ones(8), data["log10_dose"] - middle])
    k, n, prior_sd = data["killed"], data["n"], np.full(2, np.sqrt(1000.0))
    points, weight = on_grid(X, k, n, prior_sd, (0.75, 34.3), (1.2, 18.0))
    posterior = fit_posterior(X, k, n, prior_sd)
    to_alpha = np.array([1.0, -middle])
    for turn, quadrature, printed in (
        (to_alpha, (-60.802, 5.161), (-60.841, 5.201)),
        (np.array([0.0, 1.0]), (34.319, 2.901), (34.341, 2.925)),
    ):
        assert summary(points @ turn, weight) == pytest.approx(quadrature, abs=0.51e-3)
        mean, sd = summary(posterior.draws @ turn, posterior.weights)
        noise = 4.0 * quadrature[1] / np.sqrt(posterior.effective_sample_size)
        assert mean == pytest.approx(quadrature[0], abs=noise)
        assert sd == pytest.approx(quadrature[1], rel=0.04)
        assert mean == pytest.approx(printed[0], abs=noise + 0.1)  # the printed chain has noise of its own


@pytest.mark.parametrize("prior_sd", [(2.5, 2.0), (10.0, 10.0)])
def test_bioassay_probabilities_agree_with_quadrature(prior_sd):
    # Racine et al. 1986, Appl. Stat. 35:93 (data); four groups of five animals, nearly separated
    data = table("bioassay")
    X = np.column_stack([np.ones(4), data["log_dose"]])
    k, n, sd = data["deaths"], data["n"], np.array(prior_sd)
    points, weight = on_grid(X, k, n, sd, (2.0, 14.0), (12.0, 34.0), 1001)
    posterior = fit_posterior(X, k, n, sd)
    for dose in (-0.86, -0.2, 0.0, 0.73):
        exact, spread = summary(expit(points @ [1.0, dose]), weight)
        mean, sd_here = summary(expit(posterior.draws @ [1.0, dose]), posterior.weights)
        assert mean == pytest.approx(exact, abs=4.0 * spread / np.sqrt(posterior.effective_sample_size))
        assert sd_here == pytest.approx(spread, rel=0.08)


def by_emcee(X, k, n, prior_sd, start, steps=3000, walkers=32):
    """Return draws of the ensemble sampler and the relative noise of their means, 1 / sqrt of their worth."""
    rng = np.random.RandomState(12)
    sampler = emcee.EnsembleSampler(walkers, X.shape[1], log_posterior, args=(X, k, n, prior_sd), vectorize=True)
    sampler.random_state = rng.get_state()
    sampler.run_mcmc(start + 0.1 * rng.normal(size=(walkers, X.shape[1])), steps)
    length = sampler.get_autocorr_time(tol=20).max()
    draws = sampler.get_chain(discard=int(10 * length), flat=True)
    return draws, np.sqrt(length / len(draws))


@pytest.mark.parametrize("name", ["vasoconstriction", "endometrial"])
def test_agrees_with_an_independent_sampler(name):
    # emcee: the affine-invariant ensemble sampler of Goodman & Weare 2010; priors N(0, 2.5^2) and N(0, 2^2)
    data = table(name)
    if name == "vasoconstriction":  # Finney 1947, Biometrika 34:320
        columns, y = [np.log(data["Volume"]), np.log(data["Rate"])], data["Y"]
    else:  # Heinze & Schemper 2002, Stat. Med. 21:2409: separated, maximum likelihood does not exist
        columns, y = [data["NV"], data["PI"] / 20 - 1, data["EH"] - 1.5], data["HG"]
    X = np.column_stack([np.ones(len(y)), *columns])
    prior_sd = np.r_[2.5, np.full(len(columns), 2.0)]
    posterior = fit_posterior(X, y, 1, prior_sd)
    draws, noise = by_emcee(X, y, np.ones(len(y)), prior_sd, posterior.mode)
    allowed = 4.0 * np.hypot(noise, 1 / np.sqrt(posterior.effective_sample_size))
    assert np.abs(posterior.mean - draws.mean(axis=0)) / posterior.sd == pytest.approx(0.0, abs=allowed)
    assert posterior.sd == pytest.approx(draws.std(axis=0), rel=0.1)
    for row in X[:: len(X) // 6]:
        ours, theirs = posterior.weights @ expit(posterior.draws @ row), expit(draws @ row)
        assert ours == pytest.approx(theirs.mean(), abs=allowed * theirs.std())
