"""Witnesses that share no code with the program: quadrature over a grid, and small made-up data."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.special import expit, xlog1py, xlogy


def log_posterior_on_grid(X, k, n, prior_sd, axes):
    """Return the unnormalised log posterior on the product of the axes, with the normal constants of the prior."""
    grid = np.meshgrid(*axes, indexing="ij")
    eta = sum(g[..., None] * X[:, j] for j, g in enumerate(grid))
    p = expit(eta)
    with np.errstate(divide="ignore"):
        value = (xlogy(k, p) + xlog1py(n - k, -p)).sum(axis=-1)
    for g, sd in zip(grid, prior_sd, strict=True):
        value = value - 0.5 * (g / sd) ** 2 - np.log(sd) - 0.5 * np.log(2 * np.pi)
    return value


@pytest.fixture
def quadrature() -> Callable:
    """Return means, sds and log marginal of a one- or two-coefficient posterior by the rectangle rule."""

    def run(X, k, n, prior_sd, axes):
        value = log_posterior_on_grid(
            np.asarray(X, float), np.asarray(k, float), np.asarray(n, float), prior_sd, axes
        )
        weight = np.exp(value - value.max())
        cell = np.prod([axis[1] - axis[0] for axis in axes])
        log_marginal = float(value.max() + np.log(weight.sum() * cell))
        weight /= weight.sum()
        means, sds = [], []
        for j, axis in enumerate(axes):
            others = tuple(i for i in range(len(axes)) if i != j)
            marginal = weight.sum(axis=others)
            mean = float(marginal @ axis)
            means.append(mean)
            sds.append(float(np.sqrt(marginal @ (axis - mean) ** 2)))
        return np.array(means), np.array(sds), log_marginal, weight

    return run


@pytest.fixture
def made_up() -> Callable:
    """Return a design with an intercept and uniform columns, and outcomes from a seeded truth."""

    def make(rows: int, columns: int, seed: int = 0, *, separated: bool = False):
        rng = np.random.default_rng(seed)
        X = np.column_stack([np.ones(rows), rng.uniform(-1, 1, (rows, columns - 1))])
        truth = rng.normal(size=columns) * 2.0
        eta = X @ truth
        y = (eta > 0) if separated else (rng.random(rows) < expit(eta))
        return X, y.astype(float)

    return make
