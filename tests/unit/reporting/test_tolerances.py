from __future__ import annotations

import numpy as np
import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.reporting.tolerances import find_tolerances, rounded_inward
from stirfall.session.analysis import Analysis

DROP = 0.10


def test_inside_every_range_the_lower_bound_stays_within_the_drop(analysis: Analysis, usual: Conditions) -> None:
    base = analysis.estimate(usual).lower
    for found in find_tolerances(analysis, usual, drop=DROP):
        assert found.low is not None
        assert found.high is not None
        assert found.low <= found.value <= found.high
        for x in np.linspace(found.low, found.high, 23):
            lower = analysis.estimate(usual.with_value(found.factor.name, float(x))).lower
            assert lower >= base - DROP - 0.005, (found.factor.name, x)


def test_just_outside_a_range_that_a_drop_ends_the_lower_bound_is_below(
    analysis: Analysis, usual: Conditions
) -> None:
    base = analysis.estimate(usual).lower
    checked = 0
    for found in find_tolerances(analysis, usual, drop=DROP):
        assert found.low is not None
        assert found.high is not None
        width = found.high - found.low
        reach = 0.12 if found.factor.scale is Scale.LOG else 0.0  # rounding to two digits may take a tenth away
        for edge, end, sign in ((found.low, found.ends[0], -1.0), (found.high, found.ends[1], 1.0)):
            if end == "drop":
                beyond = edge * (1 + sign * reach) + sign * (0.03 * width + (found.factor.step or 0.0))
                assert analysis.estimate(usual.with_value(found.factor.name, beyond)).lower < base - DROP
                checked += 1
    assert checked >= 8


def test_no_range_leaves_the_operating_limits_or_what_was_tried(analysis: Analysis, usual: Conditions) -> None:
    for found in find_tolerances(analysis, usual, drop=0.9):
        assert found.low is not None
        assert found.high is not None
        low, high = analysis.limits.ranges[found.factor.name]
        tried_low, tried_high = analysis.limits.tried.ranges[found.factor.name]
        assert max(low, tried_low) <= found.low <= found.high <= min(high, tried_high)
        assert "drop" not in found.ends


def test_a_smaller_drop_gives_a_narrower_range(analysis: Analysis, usual: Conditions) -> None:
    narrow = find_tolerances(analysis, usual, drop=0.03)
    wide = find_tolerances(analysis, usual, drop=0.20)
    for small, large in zip(narrow, wide, strict=True):
        assert small.low is not None
        assert large.low is not None
        assert small.high is not None
        assert large.high is not None
        assert large.low <= small.low <= small.high <= large.high
    assert any(small.high < large.high for small, large in zip(narrow, wide, strict=True))  # type: ignore[operator]


def test_a_value_that_was_never_tried_gets_no_range(analysis: Analysis, usual: Conditions) -> None:
    far = usual.with_value("oil depth", 30.0)
    assert not analysis.limits.tried.holds(analysis.state.factors[6], 30.0)
    (found,) = [each for each in find_tolerances(analysis, far, drop=DROP) if each.factor.name == "oil depth"]
    assert (found.low, found.high, found.tried) == (None, None, False)


def test_an_exposure_that_must_never_grow_is_a_ceiling_without_a_lower_end(
    superoxide: Analysis, usual: Conditions
) -> None:
    found = {each.factor.name: each for each in find_tolerances(superoxide, usual, drop=DROP)}
    for name in ("sample age", "oil exposure time"):
        assert found[name].is_ceiling
        assert (found[name].low, found[name].high) == (None, usual[name])
    assert not found["temperature"].is_ceiling


@pytest.mark.parametrize("drop", [0.0, 1.0, -0.1])
def test_a_senseless_drop_is_refused(analysis: Analysis, usual: Conditions, drop: float) -> None:
    with pytest.raises(InputError) as caught:
        find_tolerances(analysis, usual, drop=drop)
    assert caught.value.code == "recipe.drop"


@pytest.mark.parametrize(
    ("edge", "value", "step", "rounded"),
    [
        (12.34, 20.0, 1.0, 13.0),
        (27.9, 20.0, 1.0, 27.0),
        (19.7, 20.0, 1.0, 20.0),
        (20.3, 20.0, 1.0, 20.0),
        (12.34, 20.0, None, 12.4),
        (20.0, 20.0, 5.0, 20.0),
    ],
)
def test_ends_are_rounded_towards_the_value(edge: float, value: float, step: float | None, rounded: float) -> None:
    factor = Factor("depth", "mm", 0, 100, Scale.LINEAR, step)
    assert rounded_inward(factor, edge, value) == pytest.approx(rounded)
