"""Firth with profile intervals and tests against a general optimiser with root-finding on the profile, in one run.

Both work on the endometrial data (Heinze & Schemper 2002, Statistics in Medicine 21:2409). The general way has the
same penalised likelihood in numpy with its exact gradient, BFGS with the same tolerance, each climb started where
the last one ended, and brentq on the profile, all from scipy.optimize.
"""

from __future__ import annotations

import math
import statistics
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize
from scipy.special import expit
from scipy.stats import chi2

from stirfall.inference.firth import fit_firth

FloatArray = NDArray[np.float64]
DATA = Path(__file__).resolve().parents[1] / "published" / "data" / "endometrial.csv"
AGREEMENT = 1e-5
_GRADIENT = 1e-6  # of the penalised log-likelihood on columns of size one
_PLACE = 1e-7  # of a limit, in standard errors
_RUNS = 25


def endometrial() -> tuple[FloatArray, FloatArray]:
    """Return the design matrix (79, 4), intercept first, and the outcomes (79,)."""
    table = np.genfromtxt(DATA, delimiter=",", skip_header=1)
    return np.column_stack([np.ones(len(table)), table[:, :3]]), table[:, 3]


class GeneralWay:
    """The penalised likelihood handed to scipy.optimize: four limits, four tests, one after the other."""

    def __init__(self, X: FloatArray, y: FloatArray) -> None:
        self.scale = np.abs(X).max(axis=0)
        self.X, self.y = X / self.scale, y

    def minus(self, beta: FloatArray) -> tuple[float, FloatArray]:
        """Return minus the penalised log-likelihood and its gradient."""
        X, y = self.X, self.y
        eta = X @ beta
        p = expit(eta)
        weighted = X * (p * (1.0 - p))[:, None]
        sign, log_det = np.linalg.slogdet(X.T @ weighted)
        if sign <= 0:
            return math.inf, np.zeros(len(beta))
        leverage = np.einsum("ij,ij->i", weighted @ np.linalg.inv(X.T @ weighted), X)
        value = y @ eta - np.logaddexp(0.0, eta).sum() + 0.5 * log_det
        return -float(value), -(X.T @ (y - p + leverage * (0.5 - p)))

    def held(self, place: int, value: float, start: FloatArray) -> tuple[float, FloatArray]:
        """Return the largest penalised log-likelihood with one coefficient held, and where it is."""
        others = np.arange(len(start)) != place

        def part(free: FloatArray) -> tuple[float, FloatArray]:
            beta = np.full(len(start), value)
            beta[others] = free
            height, gradient = self.minus(beta)
            return height, gradient[others]

        best = minimize(part, start[others], jac=True, method="BFGS", options={"gtol": _GRADIENT})
        beta = np.full(len(start), value)
        beta[others] = best.x
        return -float(best.fun), beta

    def fit(self, level: float = 0.95) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Return estimates, lower and upper limits, and p-values (p,)."""
        count = self.X.shape[1]
        best = minimize(self.minus, np.zeros(count), jac=True, method="BFGS", options={"gtol": _GRADIENT})
        top, beta = -float(best.fun), best.x
        p = expit(self.X @ beta)
        se = np.sqrt(np.diag(np.linalg.inv(self.X.T @ (self.X * (p * (1.0 - p))[:, None]))))
        goal = top - 0.5 * chi2.ppf(level, 1)
        lower, upper, tests = np.empty(count), np.empty(count), np.empty(count)
        for place in range(count):
            lower[place] = self.limit(place, beta, -se[place], goal)
            upper[place] = self.limit(place, beta, se[place], goal)
            tests[place] = chi2.sf(2.0 * (top - self.held(place, 0.0, beta)[0]), 1)
        return beta / self.scale, lower / self.scale, upper / self.scale, tests

    def limit(self, place: int, beta: FloatArray, step: float, goal: float) -> float:
        """Return where the profile reaches ``goal``, going from the top in steps that double."""
        near = beta

        def above(value: float) -> float:
            nonlocal near
            height, near = self.held(place, value, near)
            return height - goal

        inside, outside = beta[place], beta[place] + 2.0 * step
        while above(outside) > 0:
            inside, outside = outside, outside + 2.0 * (outside - inside)
        return float(brentq(above, inside, outside, xtol=_PLACE * abs(step), rtol=1e-12))


def firth_ratio(repeats: int = 5) -> tuple[float, str]:
    """Return how many times as long the general way takes, and the two times in words.

    Medians of ``repeats`` turns after one to warm up; a turn is one run of the general way and as many of ours as
    fill about the same time, so that a busy machine slows both alike. Raises AssertionError where the two differ by
    more than 1e-5 in any estimate, limit or p-value.
    """
    X, y = endometrial()
    general, ours = [], []
    for _ in range(repeats + 1):
        started = time.perf_counter()
        witness = GeneralWay(X, y).fit()
        middle = time.perf_counter()
        for _ in range(_RUNS):
            fit = fit_firth(X, y, 1)
        ended = time.perf_counter()
        general.append(middle - started)
        ours.append((ended - middle) / _RUNS)
    for mine, other in zip((fit.estimate, fit.lower, fit.upper, fit.p), witness, strict=True):
        np.testing.assert_allclose(mine, other, rtol=0.0, atol=AGREEMENT)
    slow, quick = statistics.median(general[1:]), statistics.median(ours[1:])
    return slow / quick, f"{1e3 * slow:.0f} ms against {1e3 * quick:.1f} ms"


if __name__ == "__main__":
    ratio, words = firth_ratio()
    print(f"general optimiser / Firth with profile intervals: {ratio:.0f} ({words})")
