"""The few draws that planning works with say what the whole posterior says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.planning.draws import ThinDraws, thin

SPEED = Factor("stirring speed", "1/min", 20.0, 180.0)
DEPTH = Factor("oil depth", "mm", 5.0, 30.0)


def counted(number: int, speed: float, depth: float, *, clean: bool) -> Attempt:
    conditions = Conditions({"stirring speed": speed, "oil depth": depth})
    return Attempt(f"a{number}", number, conditions, successes=int(clean))


FEW = (counted(1, 20.0, 5.0, clean=True), counted(2, 180.0, 30.0, clean=False), counted(3, 60.0, 30.0, clean=True))


@pytest.mark.parametrize("size", [512, 1024])
@pytest.mark.parametrize("known", [0, 2, 3])
@pytest.mark.parametrize("factors", [(SPEED,), (SPEED, DEPTH)], ids=["one factor", "two factors"])
def test_thinned_draws_have_the_mean_and_the_spread_of_the_posterior(fit, factors, known, size):
    # With few attempts the weights are nearly equal, and equal steps through a Sobol sequence would take draws of a
    # narrow slab only: the means were then wrong by 0.05 to 0.13. Random draws err by 0.3 / sqrt(512) = 0.013.
    names = {factor.name for factor in factors}
    attempts = tuple(
        replace(each, conditions=Conditions({n: v for n, v in each.conditions.items() if n in names}))
        for each in FEW[:known]
    )
    model = fit(CampaignState(CampaignSettings(gates=1), factors, attempts=attempts))
    columns = {factor.name: np.repeat(np.linspace(*factor.bounds, 9), 9) for factor in factors}
    columns[factors[-1].name] = np.tile(np.linspace(*factors[-1].bounds, 9), 9)
    few: ThinDraws = thin(model, size)
    every, weights = model.probability_draws(columns), model.weights
    mean = weights @ every
    assert few.size == size
    assert np.abs(few.means(columns) - mean).max() < 0.025
    spread = np.sqrt(weights @ (every - mean) ** 2)
    np.testing.assert_allclose(few.clean(columns).std(axis=0), spread, rtol=0.1, atol=0.01)
