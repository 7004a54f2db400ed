"""A published posterior with a random intercept, reproduced by the sampler that integrates the lots out."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from stirfall.inference.gate_posterior import fit_gate
from stirfall.inference.gate_rows import GateRows

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="module")
def posterior():
    """Crowder 1978: seeds that germinated on 21 plates, each a lot; seed, extract and their product.

    Priors as published are N(0, 1000^2) for the coefficients and uniform on (0, 10) for the sd of the plates; a
    half-normal law of scale 10 is level to half a per cent where the sd is below one, and it is.
    """
    with (DATA / "germination.csv").open(newline="") as stream:
        rows = [{key: float(value) for key, value in row.items()} for row in csv.DictReader(stream)]
    X = np.array([[1.0, row["seed"], row["extract"], row["seed"] * row["extract"]] for row in rows])
    k, n = (np.array([row[name] for row in rows]) for name in ("germinated", "seeds"))
    plates = np.arange(21, dtype=np.intp)
    names = tuple(f"plate {place + 1}" for place in range(21))
    return fit_gate(GateRows(X, k, n, plates, 21, plates), np.full(4, 1000.0), lot_names=names, lot_sd_prior=10.0)


# The benchmark statistics that come with the "classic BUGS" examples, volume 1, Seeds with a uniform prior on sigma
# (bench-test4.R and bench-test5.R; seen in a public copy): mean, sd, and time-series standard error of the mean,
# for the intercept, seed, extract, their product, and sigma, from two parametrisations of the same model.
RUNS = {
    "hidden covariate": [
        (-0.564078, 0.212654, 0.006519),
        (0.092086, 0.326121, 0.009501),
        (1.385591, 0.293199, 0.008966),
        (-0.872654, 0.460193, 0.013571),
        (0.351140, 0.151717, 0.003651),
    ],
    "other parametrisation": [
        (-0.552305, 0.214113, 0.004653),
        (0.072980, 0.342843, 0.007397),
        (1.372244, 0.307109, 0.006800),
        (-0.849563, 0.482850, 0.010576),
        (0.349196, 0.154502, 0.003397),
    ],
}


@pytest.mark.parametrize("run", RUNS)
def test_germination_agrees_with_two_published_markov_chains(posterior, run):
    draws = np.column_stack([posterior.draws, posterior.lots.sd])
    mean = posterior.weights @ draws
    sd = np.sqrt(posterior.weights @ np.square(draws - mean))
    error = sd / np.sqrt(posterior.effective_sample_size)
    for place, (printed, printed_sd, printed_error) in enumerate(RUNS[run]):
        assert mean[place] == pytest.approx(printed, abs=3.0 * np.hypot(printed_error, error[place]))
        # An sd from a chain of so many steps is known to about four per cent.
        assert sd[place] == pytest.approx(printed_sd, rel=0.09)


def test_such_wide_priors_leave_the_weights_sound(posterior):
    assert posterior.pareto_k < 0.7
    assert posterior.effective_sample_size > 1000
