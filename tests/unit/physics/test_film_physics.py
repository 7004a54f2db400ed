"""The film index: what it must do whatever the numbers are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.substances import Lid, OilHistory
from stirfall.physics.film import PARTS, Ageing, HotStep, film_amounts, film_of
from stirfall.physics.film_slab import slab_uptake
from stirfall.storage.film_table import film_constants

CONSTANTS = film_constants()
JAR = Ageing(20.0, 0.63, Lid.LOOSE, OilHistory.NEW, 20.0, 50.0, 20.0)
HOT = HotStep(5.0, 100.0, 20.0, 50.0)

ages = st.floats(0.01, 5000.0)
jars = st.builds(
    Ageing,
    depth_mm=st.floats(1.0, 100.0),
    floor_share=st.floats(0.01, 5.0),
    lid=st.sampled_from(list(Lid)),
    oil_history=st.sampled_from(list(OilHistory)),
    storage_c=st.floats(5.0, 40.0),
    room_rh_percent=st.floats(0.0, 100.0),
    headspace_mm=st.floats(0.0, 100.0),
    viscosity_mpa_s=st.one_of(st.none(), st.floats(1.0, 500.0)),
)


def index(age: object, jar: Ageing = JAR, hot: HotStep | None = None) -> np.ndarray:
    return film_amounts(age, jar, CONSTANTS, hot).index  # type: ignore[arg-type]


@given(jars, ages, st.floats(1.0, 50.0))
def test_more_time_never_takes_anything_back(jar: Ageing, age: float, times: float) -> None:
    earlier, later = index(np.array([age, age * times]), jar)
    assert later >= earlier * (1.0 - 1e-9)


@given(jars, ages, st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_a_moister_room_never_gives_less(jar: Ageing, age: float, one: float, other: float) -> None:
    dry, moist = (float(index(age, replace(jar, room_rh_percent=rh))) for rh in sorted((one, other)))
    assert moist >= dry * (1.0 - 1e-12)


@given(jars, ages)
def test_twice_the_metal_under_the_same_oil_gets_half_each(jar: Ageing, age: float) -> None:
    half = replace(jar, floor_share=float(jar.floor_share) / 2.0)  # type: ignore[arg-type]
    assert float(index(age, half)) == pytest.approx(float(index(age, jar)) / 2.0, rel=1e-12)


@given(jars, ages)
def test_a_closed_jar_never_gives_more_than_an_open_one_nor_than_it_held(jar: Ageing, age: float) -> None:
    closed, opened = replace(jar, lid=Lid.CLOSED), replace(jar, lid=Lid.OPEN)
    assert float(index(age, closed)) <= float(index(age, opened)) * (1.0 + 1e-9)
    assert float(index(1e12, closed)) >= float(index(age, closed)) * (1.0 - 1e-9)
    assert float(index(age, replace(jar, lid=Lid.INERT))) <= float(index(age, closed)) * (1.0 + 1e-9)


@given(jars, ages)
def test_an_oil_that_brought_more_never_gives_less(jar: Ageing, age: float) -> None:
    degassed, dried, new = (
        float(index(age, replace(jar, oil_history=word)))
        for word in (OilHistory.DEGASSED, OilHistory.DRIED, OilHistory.NEW)
    )
    assert degassed <= dried <= new


@given(jars, ages)
def test_the_index_is_the_sum_of_its_parts_and_none_is_negative(jar: Ageing, age: float) -> None:
    amounts = film_amounts(age, jar, CONSTANTS, HOT)
    assert tuple(key for key, _ in amounts.parts) == PARTS
    assert all(float(amount) >= -1e-9 for _, amount in amounts.parts)
    assert float(amounts.index) == pytest.approx(sum(float(amount) for _, amount in amounts.parts))
    assert float(amounts.index) == pytest.approx(2.0 * float(amounts.oxygen) + float(amounts.water))


@pytest.mark.parametrize("capacity", [np.inf, 0.0, 0.004, 0.125])
@pytest.mark.parametrize(("initial", "top"), [(1.4, 1.4), (0.07, 1.4), (1.4, 0.0)])
def test_early_and_late_forms_meet_without_a_step(capacity: float, initial: float, top: float) -> None:
    """The forms change at depth²/D times 0.015; the curve there is smooth to a millionth."""
    switch = 0.015 * 0.02**2 / 5e-10
    times = switch * np.array([0.9998, 0.9999999, 1.0000001, 1.0002])
    taken = slab_uptake(times, 0.02, 5e-10, initial=initial, top=top, capacity_m=capacity)
    slopes = np.diff(taken)[[0, 2]] / np.diff(times)[[0, 2]]
    assert taken[2] - taken[1] == pytest.approx(slopes.mean() * (times[2] - times[1]), abs=2e-8 * taken[1])
    assert slopes[1] == pytest.approx(slopes[0], rel=1e-3)


def test_a_closed_jar_gives_in_the_end_all_that_oil_and_gas_held() -> None:
    taken = slab_uptake(1e10, 0.02, 5e-10, initial=0.7, top=1.4, capacity_m=0.05)
    assert float(taken) == pytest.approx(0.7 * 0.02 + 1.4 * 0.05, rel=1e-12)


def test_a_very_large_headspace_acts_like_the_room() -> None:
    times = np.geomspace(60.0, 1e7, 30)
    closed = slab_uptake(times, 0.02, 5e-10, initial=1.4, top=1.4, capacity_m=1e5)
    renewed = slab_uptake(times, 0.02, 5e-10, initial=1.4, top=1.4)
    np.testing.assert_allclose(closed, renewed, rtol=1e-5)


def test_nothing_has_come_at_the_start_and_a_time_before_it_is_unknown() -> None:
    assert float(slab_uptake(0.0, 0.02, 5e-10, initial=1.4, top=1.4)) == 0.0
    assert np.isnan(slab_uptake(np.array([-1.0, np.nan]), 0.02, 5e-10, initial=1.4)).all()
    assert np.isnan(slab_uptake(np.nan, 0.02, 5e-10, initial=1.4, capacity_m=0.1))


def test_depth_and_diffusivity_enter_only_through_their_own_time() -> None:
    """Scaling: n times the depth at n² times the time takes n times as much."""
    times = np.geomspace(100.0, 1e7, 20)
    small = slab_uptake(times, 0.01, 5e-10, initial=1.0, top=1.4, capacity_m=0.03)
    large = slab_uptake(9.0 * times, 0.03, 5e-10, initial=1.0, top=1.4, capacity_m=0.09)
    np.testing.assert_allclose(large, 3.0 * small, rtol=1e-12)


def test_many_jars_and_times_at_once_are_each_as_alone() -> None:
    depths, hours = np.array([[5.0], [20.0], [40.0]]), np.array([1.0, 24.0, 500.0])
    for lid in Lid:
        together = index(hours, replace(JAR, depth_mm=depths, lid=lid), HOT)
        assert together.shape == (3, 3)
        alone = [[float(index(h, replace(JAR, depth_mm=d, lid=lid), HOT)) for h in hours] for d in depths[:, 0]]
        np.testing.assert_allclose(together, alone, rtol=1e-12)


def test_the_hot_step_adds_in_proportion_to_its_minutes_and_minutes_equal_hours() -> None:
    cold, five, ten = (float(index(24.0, JAR, replace(HOT, minutes=m))) for m in (0.0, 5.0, 10.0))
    assert ten - five == pytest.approx(five - cold, rel=1e-9)
    one_hour_more = float(index(25.0)) - float(index(24.0))
    assert five - cold > one_hour_more


def test_hot_oil_in_inert_gas_gets_nothing_and_hot_water_is_that_of_the_room() -> None:
    inert = dict(film_amounts(1.0, replace(JAR, lid=Lid.INERT), CONSTANTS, HOT).parts)
    assert float(inert["hot_oxygen"]) == float(inert["hot_water"]) == 0.0
    dry = dict(film_amounts(1.0, JAR, CONSTANTS, replace(HOT, room_rh_percent=0.0)).parts)
    assert float(dry["hot_water"]) == 0.0
    assert float(dry["hot_oxygen"]) > 0.0


def test_thinner_oil_lets_more_through() -> None:
    found = [float(index(24.0, replace(JAR, viscosity_mpa_s=viscosity))) for viscosity in (150.0, 30.0, 5.0)]
    assert found == sorted(found)
    assert found[1] == pytest.approx(float(index(24.0)), rel=1e-9)


def test_the_band_is_a_factor_of_three_either_way() -> None:
    film = film_of(film_amounts(24.0, JAR, CONSTANTS), CONSTANTS, age_h=24.0)
    assert film.high / film.index == pytest.approx(3.0)
    assert film.index / film.low == pytest.approx(3.0)
    assert film.index == pytest.approx(sum(part.amount for part in film.parts))
