"""The analysis of a campaign: estimates, curves, maps, directions and what to try next, all from one fit."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.session.analysis import analyse

AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG, default=12.0)
SPEED = Factor("speed", "1/min", 20.0, 180.0, step=5.0, default=90.0)
ACTION = Factor("action", levels=("swirl", "fold", "press"))
AT = Conditions({"age": 12.0, "speed": 90.0, "action": "fold"})


def campaign(count: int = 40, **settings: object) -> CampaignState:
    """Two gates that follow age in opposite ways, so that clean separations have a hump in age."""
    rng = np.random.default_rng(12)
    rows = []
    for number in range(1, count + 1):
        age = AGE.snap(math.exp(rng.uniform(math.log(1.0), math.log(48.0))))
        values = {"age": age, "speed": SPEED.snap(rng.uniform(40, 150)), "action": ACTION.levels[rng.integers(3)]}
        z = math.log(age / 8.0)
        parted = rng.random() < 1 / (1 + math.exp(-1.0 - 1.8 * z))
        pool = Pooled.ONE_POOL if rng.random() < 1 / (1 + math.exp(-1.0 + 1.8 * z)) else Pooled.BEADS
        grade = {"parted": Parted.YES, "pooled": pool} if parted else {"parted": Parted.NO}
        rows.append(Attempt(f"a{number}", number, Conditions(values), **grade))
    return CampaignState(CampaignSettings(**settings), (AGE, SPEED, ACTION), attempts=tuple(rows))


@pytest.fixture(scope="module")
def analysis():
    return analyse(campaign())


def test_same_state_and_seed_give_the_same_answer(analysis):
    again = analyse(campaign())
    assert again.estimate(AT) == analysis.estimate(AT)
    assert again.suggest(3) == analysis.suggest(3)
    assert again.best() == analysis.best()


def test_estimate_carries_interval_level_and_number_of_attempts(analysis):
    found = analysis.estimate(AT)
    assert 0 < found.lower < found.mean < found.upper < 1
    assert (found.level, found.n) == (0.95, 40)


def test_mean_is_the_product_of_the_gates_and_gate_2_rests_on_parted_attempts(analysis):
    gates = analysis.gate_estimates(AT)
    assert analysis.estimate(AT).mean == pytest.approx(gates["parted"].mean * gates["pooled"].mean, rel=1e-9)
    parted = sum(attempt.parted is Parted.YES for attempt in analysis.state.attempts)
    assert (gates["parted"].n, gates["pooled"].n) == (40, parted)


def test_missing_factors_are_named(analysis):
    with pytest.raises(InputError) as caught:
        analysis.estimate(Conditions({"age": 3.0}))
    assert caught.value.code == "conditions.missing"
    assert caught.value.params["names"] == "speed, action"


def test_complete_fills_unknown_factors_and_says_which(analysis):
    filled = analysis.complete(Conditions({"age": 3.0}))
    assert dict(filled) == {"age": 3.0, "speed": 90.0, "action": "swirl"}
    assert filled.filled == ("speed", "action")
    assert analysis.complete(AT) == AT
    assert analysis.complete(AT).filled == ()
    assert 0 < analysis.estimate(filled).mean < 1


def test_curve_passes_through_the_estimates(analysis):
    curve = analysis.curve("age", AT, points=31)
    assert len(curve.x) == len(curve.mean) == len(curve.lower) == len(curve.upper) == 31
    for index in (0, 7, 30):
        point = analysis.estimate(AT.with_value("age", float(curve.x[index])))
        assert (point.mean, point.lower, point.upper) == pytest.approx(
            (curve.mean[index], curve.lower[index], curve.upper[index]), abs=1e-9
        )


def test_curve_has_even_steps_on_the_scale_of_its_factor(analysis):
    ages = analysis.curve("age", AT).x
    np.testing.assert_allclose(np.diff(np.log(ages)), np.log(ages[-1] / ages[0]) / 120, rtol=1e-9)
    speeds = analysis.curve("speed", AT).x
    np.testing.assert_allclose(np.diff(speeds), 160.0 / 120, rtol=1e-9)


def test_curve_says_what_was_tried(analysis):
    curve = analysis.curve("age", AT)
    recorded = [attempt.conditions["age"] for attempt in analysis.state.attempts]
    assert (curve.tried_low, curve.tried_high) == (min(recorded), max(recorded))
    np.testing.assert_array_equal(curve.tried, (curve.x >= min(recorded)) & (curve.x <= max(recorded)))
    assert not curve.tried.all()


def test_curve_does_not_need_its_own_factor_and_reaches_attempts_outside_the_range():
    state = campaign()
    far = replace(state.attempts[0], conditions=state.attempts[0].conditions.with_value("age", 300.0))
    curve = analyse(replace(state, attempts=(far, *state.attempts[1:]))).curve("age", AT.with_value("age", None))
    assert curve.x[-1] == pytest.approx(300.0)
    assert curve.x[0] == pytest.approx(0.5)


def test_curve_of_a_choice_has_one_point_per_level(analysis):
    curve = analysis.curve("action", AT)
    assert list(curve.x) == [0.0, 1.0, 2.0]
    for index, level in enumerate(ACTION.levels):
        assert curve.mean[index] == pytest.approx(analysis.estimate(AT.with_value("action", level)).mean, abs=1e-9)


def test_curve_of_a_hidden_factor_is_level():
    state = campaign()
    hidden = replace(state, factors=(AGE, replace(SPEED, hidden=True), ACTION))
    curve = analyse(hidden).curve("speed", AT)
    np.testing.assert_allclose(curve.mean, curve.mean[0], rtol=1e-12)


def test_curve_finds_the_hump_that_made_the_data(analysis):
    # The truth is highest near 8 h and symmetric in the log of age; 40 attempts place it within a factor of three.
    curve = analysis.curve("age", AT)
    assert 8.0 / 3.0 < curve.x[int(np.argmax(curve.mean))] < 8.0 * 3.0
    assert curve.mean.max() > max(curve.mean[0], curve.mean[-1]) + 0.1


def test_surface_holds_the_estimates_row_by_row(analysis):
    surface = analysis.surface("age", "speed", AT, points=9)
    assert surface.mean.shape == (9, 9)
    for row, column in ((0, 0), (3, 7), (8, 2)):
        point = AT.with_value("age", float(surface.x[column])).with_value("speed", float(surface.y[row]))
        assert surface.mean[row, column] == pytest.approx(analysis.estimate(point).mean, abs=1e-9)


def test_surface_of_one_factor_with_itself_is_refused(analysis):
    with pytest.raises(InputError) as caught:
        analysis.surface("age", "Age", AT)
    assert caught.value.code == "surface.same_factor"


def test_direction_points_to_the_hump_from_both_sides(analysis):
    assert analysis.direction(AT.with_value("age", 0.7)).code == "too_little_film"
    assert analysis.direction(AT.with_value("age", 90.0)).code == "too_much_film"


def test_direction_is_never_given_for_a_superoxide_former():
    found = analyse(campaign(material=MaterialClass.SUPEROXIDE_FORMER))
    assert found.direction(AT.with_value("age", 0.7)) is None


def test_direction_needs_an_exposure_factor():
    state = campaign()
    assert analyse(replace(state, factors=(replace(AGE, role="general"), SPEED, ACTION))).direction(AT) is None


def test_empty_campaign_shows_the_breadth_of_the_prior():
    found = analyse(replace(campaign(), attempts=()))
    estimate = found.estimate(AT)
    assert estimate.n == 0
    assert estimate.upper - estimate.lower > 0.9
    assert found.curve("age", AT).tried_low is None
    assert len(found.suggest(3)) == 3


def test_counts_say_what_is_left_out():
    state = campaign()
    rows = (
        replace(state.attempts[0], struck_reason="typing error"),
        replace(state.attempts[1], parted=None, pooled=None, aborted=True),
        *state.attempts[2:],
    )
    counts = analyse(replace(state, attempts=rows)).counts
    assert (counts.used, counts.struck, counts.aborted) == (38, 1, 1)


def jar_campaign() -> CampaignState:
    """Ages with an oil exposure of at most the age, in other units."""
    rng = np.random.default_rng(11)
    age, oil = Factor("sample age", "h", 1, 100, "log"), Factor("oil exposure", "min", 10, 6000, "log")
    rows = []
    for number in range(1, 31):
        hours = float(np.exp(rng.uniform(0, np.log(100))))
        conditions = Conditions({"sample age": hours, "oil exposure": 60 * hours * rng.uniform(0.2, 1)})
        rows.append(Attempt(f"a{number}", number, conditions, successes=int(hours > 10)))
    return CampaignState(CampaignSettings(), (age, oil), attempts=tuple(rows))


def test_no_picture_shows_an_oil_exposure_longer_than_the_age():
    found = analyse(jar_campaign())
    held = Conditions({"oil exposure": 600.0})
    curve = found.curve("sample age", held)
    young = curve.x < 10
    follows = [found.estimate(Conditions({"sample age": x, "oil exposure": 60 * x})).mean for x in curve.x[young]]
    stays = [found.estimate(held.with_value("sample age", x)).mean for x in curve.x[~young]]
    np.testing.assert_allclose(curve.mean, [*follows, *stays], rtol=1e-9)
    along_oil = found.curve("oil exposure", Conditions({"sample age": 2.0}))
    last = found.estimate(Conditions({"sample age": along_oil.x[-1] / 60, "oil exposure": along_oil.x[-1]}))
    assert along_oil.mean[-1] == pytest.approx(last.mean, rel=1e-9)


def test_gaps_are_filled_and_an_impossible_exposure_is_lowered_and_named():
    found = analyse(jar_campaign())
    whole = found.complete(Conditions({"sample age": 2.0}))
    assert whole["oil exposure"] == pytest.approx(120)
    assert (whole.filled, whole.lowered) == (("oil exposure",), ("oil exposure",))
    assert found.complete(Conditions({"sample age": 5.0, "oil exposure": 60.0})).lowered == ()
    assert "sample age" not in found.complete(Conditions(), skip=("sample age",))


def test_a_record_that_breaks_the_rule_ends_it():
    state = jar_campaign()
    odd = Attempt("odd", 31, Conditions({"sample age": 1.0, "oil exposure": 600.0}), successes=0)
    found = analyse(replace(state, attempts=(*state.attempts, odd)))
    assert found.complete(Conditions({"sample age": 2.0, "oil exposure": 600.0}))["oil exposure"] == 600.0


def test_cancelled_analysis_stops():
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        analyse(campaign(), token=token)


def test_importing_the_analysis_loads_no_window_and_none_of_the_heavy_libraries():
    heavy = ["PySide6", "pandas", "scipy", "pint", "pyqtgraph"]
    code = f"import sys, stirfall.session.analysis; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
