"""Compare intervals for Cohen's kappa at 5 to 30 pairs; its figures stand in ``inference/agreement.py``.

Run it by hand (about five minutes): ``python tests/generators/kappa_coverage.py``.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.agreement import agreement

K, REPEATS, DRAWS = 4, 400, 1500
Floats = NDArray[np.float64]
CLASSES = tuple("abcd")


def kappas(tables: NDArray[np.generic]) -> Floats:
    """Return kappa of tables (..., K, K), nan where it is 0 / 0."""
    shares = tables / tables.sum(axis=(-1, -2), keepdims=True)
    agreed = np.trace(shares, axis1=-2, axis2=-1)
    chance = (shares.sum(-1) * shares.sum(-2)).sum(-1)
    with np.errstate(all="ignore"):
        return np.where(chance < 1 - 1e-12, (agreed - chance) / (1 - chance), np.nan)


def truths() -> Iterator[tuple[str, Floats]]:
    """Yield 27 tables of probabilities: agreement mixed with chance, and neighbours that are confused."""
    for name, shares in {"even": [0.25] * 4, "uneven": [0.1, 0.2, 0.3, 0.4], "one": [0.05, 0.05, 0.2, 0.7]}.items():
        m = np.array(shares)
        for k in (0.2, 0.4, 0.6, 0.8, 0.9, 0.95):
            yield f"{name} {k}", k * np.diag(m) + (1 - k) * np.outer(m, m)
        for confused in (0.05, 0.15, 0.3):
            table = np.diag(m)
            for i in range(K - 1):
                part = confused * min(m[i], m[i + 1]) / 2
                table[[i, i + 1], [i, i + 1]] -= part
                table[[i, i + 1], [i + 1, i]] += part
            yield f"{name} neighbours {confused}", table


def asymptotic(table: NDArray[np.int64]) -> tuple[float, float]:
    """Return the interval of Fleiss, Cohen and Everitt (1969)."""
    from statsmodels.stats.inter_rater import cohens_kappa

    found = cohens_kappa(table)
    return max(-1.0, float(found.kappa_low)), min(1.0, float(found.kappa_upp))


def quantiles(draws: Floats) -> tuple[float, float]:
    """Return the middle 95 % of draws of kappa."""
    lower, upper = np.nanquantile(draws, [0.025, 0.975])
    return float(lower), float(upper)


def dirichlet(table: NDArray[np.int64], prior: Floats, generator: np.random.Generator) -> tuple[float, float]:
    """Return the posterior interval under a Dirichlet prior of the cells."""
    return quantiles(kappas(generator.gamma((table + prior)[None], size=(DRAWS, K, K)) + 1e-300))


def bootstrap(table: NDArray[np.int64], generator: np.random.Generator) -> tuple[float, float]:
    """Return the percentile interval over tables drawn from the one seen."""
    n = int(table.sum())
    return quantiles(kappas(generator.multinomial(n, table.ravel() / n, size=600).reshape(-1, K, K)))


def ours(table: NDArray[np.int64]) -> tuple[float, float]:
    """Return the interval of the program."""
    pairs = [(CLASSES[i], CLASSES[j]) for i in range(K) for j in range(K) for _ in range(table[i, j])]
    found = agreement(pairs, classes=CLASSES)
    return (found.lower, found.upper) if found.lower is not None and found.upper is not None else (-1.0, 1.0)


def main() -> None:
    """Print coverage (mean and worst over the truths) and width of each method, per number of pairs."""
    generator = np.random.default_rng(5)
    half = np.full((K, K), 0.5)
    light = np.where(np.eye(K, dtype=bool), 0.5 / K, 0.5 / (K * (K - 1)))
    for n in (5, 8, 12, 20, 30):
        held: dict[str, dict[str, list[bool]]] = defaultdict(lambda: defaultdict(list))
        width: dict[str, list[float]] = defaultdict(list)
        for name, truth in truths():
            kappa = float(kappas(truth))
            for table in generator.multinomial(n, truth.ravel(), size=REPEATS).reshape(-1, K, K):
                if np.isnan(kappas(table)):
                    continue
                for method, (lower, upper) in {
                    "asymptotic": asymptotic(table),
                    "bootstrap": bootstrap(table, generator),
                    "Dirichlet 1/2": dirichlet(table, half, generator),
                    "Dirichlet weight 1": dirichlet(table, light, generator),
                    "score": ours(table),
                }.items():
                    held[method][name].append(lower <= kappa <= upper)
                    width[method].append(upper - lower)
        for method, by_truth in held.items():
            shares = [float(np.mean(each)) for each in by_truth.values()]
            line = f"{n:3d} {method:20s} mean {np.mean(shares):.2f} worst {min(shares):.2f}"
            sys.stdout.write(f"{line} width {np.mean(width[method]):.2f}\n")


if __name__ == "__main__":
    main()
