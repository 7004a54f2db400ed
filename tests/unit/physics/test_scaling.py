"""Batch sizes: hand-worked numbers; where nothing else is named they were worked here from the formula in words."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from stirfall.physics import scaling as s
from stirfall.physics.scaling import Batch, Scaled, scale
from stirfall.physics.settling import pool_depth, settling_time, stokes_speed
from stirfall.physics.stirring import tip_speed

SMALL = Batch(
    charge_g=10.0,
    metal_kg_m3=8500.0,
    dose_mg_g=8.0,
    vessel_mm=40.0,
    vessel_ml=60.0,
    stirrer_mm=30.0,
    turns_per_min=120.0,
    oil_ml=25.0,
    hot_c=160.0,
    settle_s=120.0,
    heat_up_s=600.0,
    jar_mm=40.0,
    jar_oil_mm=15.0,
    metal_area_cm2=20.0,
)
LARGE = replace(SMALL, charge_g=30.0, vessel_mm=60.0, vessel_ml=150.0, stirrer_mm=45.0, jar_mm=None)


def _found(old: Batch = SMALL, new: Batch = LARGE) -> dict[str, Scaled]:
    return {each.key: each for each in scale(old, new)}


def test_the_dose_per_gram_is_kept() -> None:
    # Worked here: 8 mg/g of 30 g are 240 mg.
    additive = _found()["additive"]
    assert (additive.before, additive.after) == pytest.approx((0.08, 0.24))


def test_the_edge_of_the_stirring_circle_keeps_its_speed() -> None:
    # Trade notes of the project (1.5, worked there): 2 turns/s on a 40 mm circle are 0.25 m/s.
    assert float(tip_speed(0.040, 2.0)) == pytest.approx(0.25, abs=0.005)
    turns = _found()["turns"].after or 0.0
    assert turns == pytest.approx(80.0)  # worked here: 120 * 30 / 45
    assert float(tip_speed(0.045, turns / 60.0)) == pytest.approx(float(tip_speed(0.030, 2.0)))


def test_a_jar_three_times_as_large_in_floor_keeps_the_film() -> None:
    # Worked here: three times the mass in the same pieces has three times the area: the width grows by sqrt(3).
    found = _found()
    assert found["metal_area"].after == pytest.approx(60.0)
    assert found["jar"].after == pytest.approx(40.0 * math.sqrt(3.0))
    assert s.film_ratio(40.0, 20.0, 40.0 * math.sqrt(3.0), 60.0) == pytest.approx(1.0)
    # Trade notes 1.6: 12.6 cm² of jar over 20 cm² of metal; the same jar over 60 cm² gives a third.
    assert s.floor_cm2(40.0) == pytest.approx(12.6, abs=0.05)
    in_the_same_jar = _found(new=replace(LARGE, jar_mm=40.0))["film"]
    assert in_the_same_jar.after == pytest.approx(1.0 / 3.0)
    assert in_the_same_jar.is_estimate


def test_several_jars_of_the_proven_kind_do_as_well_as_one_wide_one() -> None:
    for share in (2, 3, 5):
        assert s.film_ratio(40.0, 20.0, 40.0 * math.sqrt(share), 20.0 * share) == pytest.approx(1.0)


def test_pieces_are_balls() -> None:
    # Ten balls of 8 mm: 10 pi 0.64 cm² = 20.1 cm² (worked here).
    assert s.pieces_cm2(10, 8.0) == pytest.approx(20.106, abs=1e-3)


def test_oil_stands_as_deep_as_before() -> None:
    # Worked here: 25 mL over 12.566 cm² are 19.9 mm; 60 mm wide is 28.274 cm², so 56.25 mL.
    found = _found()
    assert found["oil_depth"].after == pytest.approx(19.894, abs=1e-3)
    assert found["oil"].after == pytest.approx(56.25)
    # Cold: trade notes 4.1 say 8 % for 110 K at 0.07 %/K; here 140 K are 9.8 %.
    assert found["oil_cold"].after == pytest.approx(56.25 / 1.098)
    assert s.cold_ml(108.0, 130.0, 20.0) == pytest.approx(100.0, abs=0.3)


def test_oil_and_metal_fill_the_vessel_together() -> None:
    # Worked here: 56.25 mL and 30 g / 8.5 g/mL = 3.53 mL in 150 mL.
    assert _found()["fill"].after == pytest.approx(100.0 * (56.25 + 30.0 / 8.5) / 150.0)


def test_settling_takes_as_much_longer_as_the_pool_is_deeper() -> None:
    settle = _found()["settle"]
    assert settle.after == pytest.approx(120.0 * 3.0 * (40.0 / 60.0) ** 2)
    # The same by the law of Stokes itself: the time through the pool, at a speed that knows no depth.
    speed = stokes_speed(20e-6, 6900.0, 8500.0, 2e-3)
    times = [
        float(settling_time(pool_depth(each.charge_g / 1000, 8500.0, each.vessel_mm / 1000), speed))
        for each in (SMALL, LARGE)
    ]
    assert times[1] / times[0] == pytest.approx((settle.after or 0.0) / 120.0)


def test_heating_up_grows_with_length_squared_and_is_called_an_estimate() -> None:
    heat = _found(new=replace(LARGE, charge_g=80.0))["heat_up"]
    assert heat.after == pytest.approx(600.0 * 4.0)  # worked here: eight times the mass, twice the length
    assert heat.is_estimate
    unknown = _found(replace(SMALL, heat_up_s=None))["heat_up"]
    assert (unknown.unit, unknown.needs) == ("times", ("heat_up_s",))


def test_the_same_batch_again_changes_nothing() -> None:
    for each in scale(SMALL, replace(SMALL, jar_mm=None)):
        assert each.before == pytest.approx(each.after), each.key


def test_there_and_back_again() -> None:
    there = _found()
    back = replace(
        LARGE,
        turns_per_min=there["turns"].after,
        oil_ml=there["oil"].after,
        settle_s=there["settle"].after,
        heat_up_s=there["heat_up"].after,
        metal_area_cm2=there["metal_area"].after,
        jar_mm=there["jar"].after,
    )
    for key, each in _found(back, replace(SMALL, jar_mm=None)).items():
        assert each.after == pytest.approx(_found(SMALL, replace(SMALL, jar_mm=None))[key].after), key


@pytest.mark.parametrize(
    ("field", "key"),
    [
        ("dose_mg_g", "additive"),
        ("turns_per_min", "turns"),
        ("stirrer_mm", "turns"),
        ("oil_ml", "oil"),
        ("vessel_mm", "settle"),
        ("settle_s", "settle"),
        ("metal_area_cm2", "jar"),
        ("jar_mm", "jar"),
    ],
)
def test_what_is_unknown_is_asked_for_and_never_guessed(field: str, key: str) -> None:
    old = replace(SMALL, **{field: None})
    each = _found(old)[key]
    assert each.after is None
    assert field in each.needs


def test_a_metal_that_covers_the_floor_has_the_same_film_in_any_jar() -> None:
    assert _found(replace(SMALL, surface=s.POOL))["film"].rule == "film_pool"


def test_large_steps_are_parted_into_steps_of_at_most_twice() -> None:
    assert s.sizes_between(10.0, 20.0) == (20.0,)
    assert s.sizes_between(10.0, 40.0) == pytest.approx((20.0, 40.0))
    sizes = s.sizes_between(10.0, 50.0)
    assert len(sizes) == 3
    assert all(b / a <= 2.0 for a, b in zip((10.0, *sizes), sizes, strict=False))
    assert s.sizes_between(10.0, 5.0) == (5.0,)
