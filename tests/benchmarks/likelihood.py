"""Maximum likelihood of a million rows against scikit-learn's exact solvers at the same accuracy, in one run.

Accuracy is the largest slope per row of the log-likelihood that is left: every solver gets the loosest of several
tolerances at which it leaves no more than 1e-8, and the fastest of them is the one to beat. No solver is penalised,
and the intercept is a column for all, so that the rows in memory are the same. Our time holds the checks of the
input, the proof that the estimate exists, standard errors and deviances, which the others do not give.
"""

from __future__ import annotations

import statistics
import time
import warnings

import numpy as np
from numpy.typing import NDArray
from sklearn.linear_model import LogisticRegression

from stirfall.inference.grouped import expit
from stirfall.inference.ml import fit_ml

FloatArray = NDArray[np.float64]

SOLVERS = ("lbfgs", "newton-cholesky", "newton-cg")
TOLERANCES = (1e-4, 1e-5, 1e-6, 1e-7, 1e-8, 1e-9)
SLOPE = 1e-8
AGREEMENT = 1e-5


def made_rows(rows: int, columns: int) -> tuple[FloatArray, FloatArray]:
    """Return an invented design matrix, intercept first, and outcomes."""
    rng = np.random.default_rng(1)
    X = np.column_stack([np.ones(rows), rng.uniform(-1.0, 1.0, (rows, columns - 1))])
    beta = np.r_[-0.5, rng.normal(size=columns - 1)]
    return X, (rng.random(rows) < expit(X @ beta)).astype(float)


def slope_left(X: FloatArray, y: FloatArray, beta: FloatArray) -> float:
    """Return the largest slope per row that is left."""
    return float(np.abs(X.T @ (y - expit(X @ beta))).max()) / len(y)


def contestants(X: FloatArray, y: FloatArray) -> dict[str, LogisticRegression]:
    """Return each solver with the loosest tolerance that is accurate enough."""
    found = {}
    for solver in SOLVERS:
        for tolerance in TOLERANCES:
            model = LogisticRegression(C=np.inf, solver=solver, tol=tolerance, fit_intercept=False, max_iter=500)
            model.fit(X, y)
            if slope_left(X, y, model.coef_[0]) <= SLOPE:
                found[solver] = model
                break
    return found


def likelihood_ratio(repeats: int = 5, *, rows: int = 1_000_000, columns: int = 8) -> tuple[float, str]:
    """Return how many times as long the fastest of the solvers takes, and the times in words.

    Medians of ``repeats`` turns in which all run one after the other, so that a busy machine slows all alike.
    Raises AssertionError where an answer differs from ours by more than 1e-5 or ours is less accurate.
    """
    X, y = made_rows(rows, columns)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of newer versions about the way to say "no penalty"
        others = contestants(X, y)
        times: dict[str, list[float]] = {name: [] for name in (*others, "ours")}
        for _ in range(repeats):
            for name, model in others.items():
                started = time.perf_counter()
                model.fit(X, y)
                times[name].append(time.perf_counter() - started)
            started = time.perf_counter()
            fit = fit_ml(X, y, 1)
            times["ours"].append(time.perf_counter() - started)
    assert fit.exists
    assert slope_left(X, y, fit.estimate) <= SLOPE
    for model in others.values():
        np.testing.assert_allclose(model.coef_[0], fit.estimate, rtol=0.0, atol=AGREEMENT)
    medians = {name: statistics.median(values) for name, values in times.items()}
    ours = medians.pop("ours")
    fastest = min(medians, key=lambda name: medians[name])
    words = ", ".join(f"{name} {1e3 * value:.0f} ms" for name, value in medians.items())
    return medians[fastest] / ours, f"{words}; ours {1e3 * ours:.0f} ms"


if __name__ == "__main__":
    ratio, words = likelihood_ratio()
    print(f"fastest solver of scikit-learn / ours, 1,000,000 x 8: {ratio:.1f} ({words})")
