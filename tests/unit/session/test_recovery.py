"""Recovery of a campaign: which weighings count, what is doubtful, and how many grams to expect."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.inference.recovery import fit_recovery, new_attempt
from stirfall.session.analysis import analyse
from stirfall.session.recovery import recovery_of

AGE = Factor("sample age", "h", 0.5, 96.0, Scale.LOG, default=12.0)
SPEED = Factor("speed", "1/min", 20.0, 180.0, default=90.0)
AT = Conditions({"sample age": 10.0, "speed": 90.0})
CLEAN = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL}
BEADS = {"parted": Parted.YES, "pooled": Pooled.BEADS}
LOTS = (Lot("L1", solids_percent=20.0), Lot("L2"))


def attempt(number, charge=10.0, product=7.2, *, age=10.0, lot="L1", grade=None, **fields):
    masses = Masses(charge_g=charge, product_g=product)
    values = Conditions({"sample age": age, "speed": 60.0 + number})
    return Attempt(f"a{number}", number, values, masses=masses, lot_id=lot, **(grade or CLEAN), **fields)


def found(*attempts, lots=LOTS, factors=(AGE, SPEED), jars=(), **settings):
    state = CampaignState(CampaignSettings(**settings), factors, lots, jars, attempts=attempts)
    return recovery_of(state, analyse(state))


def test_recovery_is_told_per_metal_where_the_solids_of_all_lots_are_known():
    recovery = found(attempt(1), attempt(2, 20.0, 12.0))
    assert (recovery.n, recovery.basis, recovery.without_solids) == (2, "metal", 0)
    assert recovery.observed == pytest.approx((7.2 / 8.0, 12.0 / 16.0))
    assert recovery.metal_share == pytest.approx(0.8)


def test_one_lot_without_solids_makes_it_per_charge():
    recovery = found(attempt(1), attempt(2, 20.0, 12.0, lot="L2"))
    assert (recovery.basis, recovery.without_solids, recovery.metal_share) == ("charge", 1, 1.0)
    assert recovery.observed == pytest.approx((0.72, 0.6))


def test_the_lot_of_the_jar_counts_where_the_attempt_names_none():
    jar = Jar("J1", "L1", datetime(2026, 3, 1, tzinfo=UTC))
    recovery = found(attempt(1, lot=None, jar_id="J1"), jars=(jar,))
    assert recovery.basis == "metal"


def test_only_clean_weighed_attempts_count():
    recovery = found(
        attempt(1),
        attempt(2, grade=BEADS),
        attempt(3, product=None),
        attempt(4, charge=None),
        attempt(5, charge=0.0),
        attempt(6, struck_reason="wrong jar"),
        attempt(7, aborted=True),
        attempt(8, grade={"parted": Parted.NO}),
        attempt(9, grade={"parted": Parted.PARTLY, "pooled": Pooled.ONE_POOL}),
    )
    assert (recovery.n, recovery.unweighed) == (1, 3)


def test_a_partly_parted_pool_counts_where_the_model_counts_it_as_clean():
    partly = attempt(2, grade={"parted": Parted.PARTLY, "pooled": Pooled.ONE_POOL})
    assert found(attempt(1), partly, partly="success").n == 2
    assert found(attempt(1), partly).n == 1


def test_a_simple_count_of_clean_serves_too():
    recovery = found(attempt(1, grade={"successes": 1}), attempt(2, grade={"successes": 0}), gates=1)
    assert recovery.n == 1


def test_without_a_clean_weighed_attempt_there_is_none():
    assert found() is None
    assert found(attempt(1, grade=BEADS), attempt(2, product=None)) is None


def test_more_than_there_was_is_held_counted_and_named():
    recovery = found(attempt(1), attempt(2, 10.0, 8.0), attempt(3, 10.0, 11.0), attempt(4, 10.0, 7.98))
    assert recovery.over_one == ("a2", "a3")
    assert (recovery.held, recovery.is_doubtful) == (3, True)
    assert recovery.average.new_attempt.upper < 1
    assert not found(attempt(1)).is_doubtful


def test_few_attempts_carry_no_effect_and_eight_carry_the_exposures_that_varied():
    few = [attempt(n, age=float(n)) for n in range(1, 8)]
    assert found(*few).effects == ()
    assert found(*few, attempt(8, age=8.0)).effects == ("sample age",)
    assert found(*(attempt(n) for n in range(1, 10))).effects == ()


def test_an_effect_shows_at_conditions():
    falling = [attempt(n, product=7.8 - 0.4 * n, age=1.6**n) for n in range(1, 11)]
    recovery = found(*falling)
    early, late = recovery.at(AT.with_value("sample age", 2.0)), recovery.at(AT.with_value("sample age", 80.0))
    assert early.mean.mean > late.mean.mean + 0.2
    assert early.mean.lower > late.mean.upper
    with pytest.raises(InputError, match=r"conditions\.missing"):
        recovery.at(Conditions({"speed": 90.0}))


def test_it_is_the_model_of_the_recoveries():
    recovery = found(attempt(1), attempt(2, product=6.0), attempt(3, product=7.7))
    fit = fit_recovery(np.ones((3, 1)), np.array([0.9, 0.75, 0.9625]))
    bands = new_attempt(fit, np.ones((1, 1)), 0.95)
    told = recovery.average.new_attempt
    assert (told.mean, told.lower, told.upper) == pytest.approx(
        (bands.mean[0], bands.lower[0], bands.upper[0]), rel=1e-12
    )
    assert (told.n, told.level) == (3, 0.95)


def test_the_order_of_attempts_does_not_matter():
    rows = [attempt(n, product=5.0 + 0.3 * n, age=float(n)) for n in range(1, 10)]
    one, other = found(*rows), found(*rows[::-1])
    # One exposure and one seed: the same law, told by the same draws.
    assert one.average.mean.mean == pytest.approx(other.average.mean.mean, rel=1e-9)
    assert one.average.new_attempt.lower == pytest.approx(other.average.new_attempt.lower, rel=1e-9)


# -- grams ------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def campaign():
    rng = np.random.default_rng(3)
    rows = []
    for number in range(1, 31):
        age = math.exp(rng.uniform(0, math.log(80)))
        clean = rng.random() < 0.6
        rows.append(attempt(number, 10.0 + number, (10.0 + number) * 0.8 * rng.uniform(0.8, 0.95), age=age))
        if not clean:
            rows[-1] = replace(rows[-1], pooled=Pooled.BEADS)
    return found(*rows)


def test_expected_grams_are_chance_times_recovery_times_metal(campaign):
    grams = campaign.expected_grams(AT, 20.0, "L1")
    chance, recovery = campaign.analysis.estimate(AT), campaign.at(AT).mean
    assert grams.mean == pytest.approx(chance.mean * recovery.mean * 20.0 * 0.8, rel=1e-12)
    assert grams.if_clean == pytest.approx(recovery.mean * 16.0)
    assert (grams.probability, grams.charge_g, grams.metal_share) == (chance, 20.0, pytest.approx(0.8))


def test_their_interval_holds_both_uncertainties(campaign):
    grams = campaign.expected_grams(AT, 20.0)
    chance, recovery = grams.probability, grams.recovery
    whole = 16.0
    assert grams.lower < grams.mean < grams.upper < whole
    # Wider, relative to the mean, than either part alone, and not wider than both at their worst.
    spread = (grams.upper - grams.lower) / grams.mean
    assert spread > (recovery.upper - recovery.lower) / recovery.mean
    assert spread > 0.97 * (chance.upper - chance.lower) / chance.mean
    assert grams.lower > chance.lower * recovery.lower * whole
    assert grams.upper < chance.upper * recovery.upper * whole


def test_their_interval_agrees_with_independent_sampling(campaign):
    """Another pairing of other draws: 400,000 products of chance and recovery, by plain Monte Carlo."""
    rng = np.random.default_rng(8)
    model = campaign.analysis.model
    draws = model.probability_draws(model.design.columns([AT]))[:, 0]
    chance = rng.choice(draws, 400_000, p=model.weights / model.weights.sum())
    fit = campaign.fit
    s2 = fit.scale / rng.gamma(fit.shape, size=400_000)
    design_row = campaign._row(AT)[0]
    eta = rng.normal(design_row @ fit.mean, np.sqrt(s2 * (design_row @ fit.covariance @ design_row)))
    error = rng.normal(size=(40, 1)) * np.sqrt(s2[:20_000])
    recovered = (1 / (1 + np.exp(-(eta[:20_000] + error)))).mean(axis=0)
    bounds = np.quantile(chance[:20_000] * recovered * 16.0, [0.025, 0.975])
    grams = campaign.expected_grams(AT, 20.0)
    assert (grams.lower, grams.upper) == pytest.approx(tuple(bounds), abs=0.25)


def test_the_median_charge_serves_where_none_is_given(campaign):
    assert campaign.median_charge_g == pytest.approx(25.5)
    assert campaign.expected_grams(AT).charge_g == pytest.approx(25.5)
    assert campaign.expected_grams(AT, 51.0).mean == pytest.approx(2 * campaign.expected_grams(AT).mean)


def test_the_lot_decides_how_much_metal_there_is(campaign):
    analysis = campaign.analysis
    state = replace(
        analysis.state, lots=(Lot("L1", solids_percent=20.0), Lot("L3", solids_percent=60.0), Lot("L2"))
    )
    recovery = recovery_of(state, replace(analysis, state=state))
    rich, poor = recovery.expected_grams(AT, 20.0, "L1"), recovery.expected_grams(AT, 20.0, "L3")
    assert poor.mean == pytest.approx(rich.mean / 2)
    assert recovery.expected_grams(AT, 20.0, "L2").metal_share == pytest.approx(0.8)


def test_the_lot_that_the_answers_are_for_decides_where_none_is_named():
    rng = np.random.default_rng(5)
    rows = []
    for number in range(1, 21):
        row = attempt(number, age=math.exp(rng.uniform(0, 4)), lot="L1" if number % 2 else "L3")
        rows.append(row if rng.random() < 0.6 else replace(row, pooled=Pooled.BEADS))
    lots = (Lot("L1", solids_percent=20.0), Lot("L3", solids_percent=60.0))
    state = CampaignState(CampaignSettings(), (AGE, SPEED), lots, attempts=tuple(rows))
    analysis = analyse(state, refined=True)
    for lot, share in (("L1", 0.8), ("L3", 0.4)):
        grams = analysis.for_lot(lot).recovery.expected_grams(AT, 20.0)
        assert grams.metal_share == pytest.approx(share)
        assert grams.probability == analysis.for_lot(lot).estimate(AT)


@pytest.mark.parametrize("charge", [0.0, -1.0, math.nan, math.inf])
def test_a_charge_that_cannot_be_is_refused(campaign, charge):
    with pytest.raises(InputError, match=r"charge\.not_positive"):
        campaign.expected_grams(AT, charge)
