"""The film index of jars and attempts: what is known, what is assumed, what is never said."""

from __future__ import annotations

import math
import pickle
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import RESIDUE, AgeOverride, Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.substances import MetalValues, OilValues, Substances
from stirfall.reporting.sentences import sentence
from stirfall.session.film import (
    UNIT,
    FilmRule,
    add_film_factor,
    compare,
    film_gaps,
    film_notes,
    film_of_attempt,
    film_of_jar,
    film_values,
    input_words,
    wait_for_index,
)
from stirfall.session.film_inputs import metal_area_cm2

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
FULL = Jar(
    "J1",
    "L1",
    START,
    oil_depth_mm=20,
    inner_diameter_mm=40,
    metal_area_cm2=20,
    lid="loose",
    oil_history="new",
    storage_c=20,
    room_rh_percent=50,
)
FILM = Factor("film index", UNIT, 1.0, 300.0, Scale.LOG)
HOT = "hot time before stirring"


def campaign(*jars: Jar, factors: tuple[Factor, ...] | None = None, **settings: object) -> CampaignState:
    known = CampaignSettings(**settings)  # type: ignore[arg-type]
    return CampaignState(known, factors or (*standard_factors(), FILM), (Lot("L1", START),), jars or (FULL,))


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def index(state: CampaignState, jar: Jar, hours: float, **hot: float) -> float:
    film = film_of_jar(state, jar, at(hours), **hot)
    assert film is not None
    return film.index


def test_a_jar_that_says_everything_assumes_only_the_viscosity_of_the_oil() -> None:
    film = film_of_jar(campaign(), FULL, at(24))
    assert film is not None
    assert film.assumed == ("oil_viscosity",)
    assert film.age_h == 24
    assert (film.low, film.high) == (pytest.approx(film.index / 3), pytest.approx(film.index * 3))


def test_what_is_taken_as_usual_is_named_and_has_words() -> None:
    bare = replace(FULL, lid="cork", oil_history="", storage_c=None, room_rh_percent=None)
    film = film_of_jar(campaign(), bare, at(24), hot_min=5)
    assert film is not None
    assert set(film.assumed) == {
        "lid",
        "oil_history",
        "storage_c",
        "room_rh_percent",
        "oil_viscosity",
        "temperature_c",
    }
    assert set(film.assumed) <= set(input_words())
    closed = film_of_jar(campaign(), replace(FULL, lid="closed"), at(24))
    assert closed is not None
    assert "headspace_mm" in closed.assumed


@pytest.mark.parametrize(
    ("missing", "code"),
    [
        ({"oil_depth_mm": None}, "film.needs_depth"),
        ({"oil_depth_mm": 0.0}, "film.uncovered"),
        ({"inner_diameter_mm": None}, "film.needs_diameter"),
        ({"metal_area_cm2": None}, "film.needs_area"),
        ({"contents": RESIDUE}, "film.residue"),
    ],
)
def test_a_jar_that_says_too_little_has_no_index_and_tells_what_to_enter(
    missing: dict[str, object], code: str
) -> None:
    jar = replace(FULL, **missing)  # type: ignore[arg-type]
    state = campaign(jar)
    assert film_of_jar(state, jar, at(24)) is None
    gaps = film_gaps(state, jar)
    assert [gap.code for gap in gaps] == [code]
    assert "J1" in sentence(gaps[0].code, gaps[0].params)
    assert film_gaps(state, FULL) == ()


def test_the_area_comes_from_entry_then_pieces_then_charge_and_density() -> None:
    settings = CampaignSettings(substances=Substances(metal=MetalValues(density_kg_m3=1000.0)))
    nothing = replace(FULL, metal_area_cm2=None)
    assert metal_area_cm2(settings, FULL) == 20
    pieces = replace(nothing, piece_count=5, piece_mm=10)
    assert metal_area_cm2(settings, pieces) == pytest.approx(5 * math.pi)
    # 8 balls of 10 mm of density 1 weigh 8 pi/6 g and have 8 pi cm².
    charge = replace(nothing, charge_g=8 * math.pi / 6)
    assert metal_area_cm2(settings, replace(charge, piece_count=8)) == pytest.approx(8 * math.pi)
    assert metal_area_cm2(settings, replace(charge, piece_mm=10)) == pytest.approx(8 * math.pi)
    assert metal_area_cm2(settings, charge) is None
    assert metal_area_cm2(CampaignSettings(), replace(charge, piece_count=8)) is None


def test_the_density_comes_from_the_shipped_table_where_the_campaign_has_none() -> None:
    jar = replace(FULL, metal_area_cm2=None, charge_g=10.0, piece_count=1)
    named = metal_area_cm2(CampaignSettings(substances=Substances(metal=MetalValues(key="sodium"))), jar)
    # Sodium at its melting point is 927 kg/m³ (Fink and Leibowitz 1995, ANL/RE-95/2).
    assert named == pytest.approx(math.pi * (6 * 10 / 0.927 / math.pi) ** (2 / 3), rel=2e-3)
    assert metal_area_cm2(CampaignSettings(metal="unheard-of"), jar) is None


def test_an_emptied_jar_stops_and_one_that_starts_later_has_none() -> None:
    emptied = replace(FULL, emptied_at=at(24))
    state = campaign(emptied)
    assert index(state, emptied, 500) == pytest.approx(index(state, FULL, 24))
    assert film_of_jar(state, FULL, at(-1)) is None
    assert film_values(state, FULL, at(-1), {}) == {}
    with pytest.raises(InputError, match=r"time\.without_zone"):
        film_of_jar(state, FULL, datetime(2026, 3, 3))  # noqa: DTZ001


def test_old_words_for_inert_gas_still_mean_it() -> None:
    old, new = (replace(FULL, lid=lid, headspace_mm=20) for lid in ("inert gas", "under inert gas"))
    state = campaign()
    assert index(state, old, 100) == index(state, new, 100) < index(state, FULL, 100)


def test_plastic_walls_are_noted_once() -> None:
    film = film_of_jar(campaign(), replace(FULL, material="plastic"), at(1))
    assert film is not None
    assert [note.code for note in film.notes] == ["film.plastic_jar"]


def test_thin_oil_of_the_campaign_gives_more_but_not_to_a_jar_with_another_oil() -> None:
    thin = Substances(
        oil=OilValues(viscosity_1_mm2_s=8.0, viscosity_1_at_c=20.0, viscosity_2_mm2_s=2.0, viscosity_2_at_c=100.0)
    )
    known, unknown = campaign(oil="white oil", substances=thin), campaign()
    own, other = replace(FULL, oil="White oil"), replace(FULL, oil="another")
    # Viscosity to the power -2/3 into the square root of time: (30 / (8 x 0.855))^(1/3).
    assert index(known, own, 2) / index(unknown, own, 2) == pytest.approx((30 / (8 * 0.855)) ** (1 / 3), rel=2e-3)
    assert index(known, other, 2) == index(unknown, other, 2)


def attempt(**changes: object) -> Attempt:
    return replace(Attempt("a", 1, Conditions(), jar_id="J1", started_at=at(24)), **changes)  # type: ignore[arg-type]


def test_an_attempt_takes_the_age_of_its_jar_and_its_own_hot_step() -> None:
    state = campaign()
    cold = film_of_attempt(state, attempt())
    hot = film_of_attempt(state, attempt(conditions=Conditions({HOT: 10.0, "temperature": 150.0})))
    assert cold is not None
    assert hot is not None
    assert cold.index == pytest.approx(index(state, FULL, 24))
    assert hot.index == pytest.approx(index(state, FULL, 24, hot_min=10, temperature_c=150))
    assert "temperature_c" not in hot.assumed


def test_an_attempt_without_jar_or_start_has_none_unless_its_exposure_was_typed() -> None:
    state = campaign()
    assert film_of_attempt(state, attempt(jar_id=None)) is None
    assert film_of_attempt(state, attempt(started_at=None)) is None
    typed = attempt(started_at=None, conditions=Conditions({"oil exposure time": 48.0}))
    found = film_of_attempt(state, typed)
    assert found is not None
    assert found.index == pytest.approx(index(state, FULL, 48))


def test_an_exposure_typed_over_the_clock_counts_in_its_place() -> None:
    override = AgeOverride("oil exposure time", 24.0, "the clock was wrong")
    conditions = Conditions({"oil exposure time": 96.0})
    state = campaign()
    plain = film_of_attempt(state, attempt(conditions=conditions))
    typed = film_of_attempt(state, attempt(conditions=conditions, overrides=(override,)))
    assert plain is not None
    assert typed is not None
    assert (plain.age_h, typed.age_h) == (24.0, 96.0)


def test_the_humidity_of_the_attempt_holds_where_the_jar_says_none() -> None:
    silent = replace(FULL, room_rh_percent=None)
    moist = attempt(facts=RunFacts(room_rh_percent=80.0))
    unsaid, said = (film_of_attempt(campaign(jar), moist) for jar in (silent, FULL))
    assert unsaid is not None
    assert said is not None
    assert "room_rh_percent" not in unsaid.assumed
    assert unsaid.index > said.index


def test_values_of_the_form_are_quick_and_in_the_unit_of_the_factor() -> None:
    other = Factor("oxide supply", "µmol/cm²", 0.1, 30.0, Scale.LOG, role=Role.FILM_INDEX)
    strange = Factor("film in words", "turns", 0.1, 30.0, role=Role.FILM_INDEX)
    hidden = Factor("film before", UNIT, 0.1, 30.0, role=Role.FILM_INDEX, hidden=True)
    state = campaign(factors=(*standard_factors(), FILM, other, strange, hidden))
    conditions = Conditions({HOT: 5.0, "temperature": 150.0})
    values = film_values(state, FULL, at(30), conditions)
    assert set(values) == {"film index", "oxide supply"}
    assert values["film index"] == pytest.approx(index(state, FULL, 30, hot_min=5, temperature_c=150), rel=1e-3)
    assert values["oxide supply"] == pytest.approx(values["film index"] / 10, rel=1e-3)
    took = []
    for _ in range(20):
        began = time.perf_counter()
        film_values(state, replace(FULL, lid="closed"), at(3000), conditions)
        took.append(time.perf_counter() - began)
    assert min(took) < 2e-3


def test_a_fresh_jar_has_an_index_that_a_log_scale_can_hold() -> None:
    assert index(campaign(), FULL, 0.0) > 0.0


def test_waiting_as_long_as_said_reaches_the_index_and_not_before() -> None:
    state = campaign()
    hours = wait_for_index(state, FULL, 60.0, at(10))
    assert hours is not None
    assert index(state, FULL, 10 + hours) == pytest.approx(60.0, rel=1e-3)
    assert index(state, FULL, 10 + 0.99 * hours) < 60.0
    assert wait_for_index(state, FULL, 1.0, at(10)) == 0.0


def test_there_is_no_wait_for_what_never_comes_or_must_not_be_waited_for() -> None:
    state = campaign()
    closed = replace(FULL, lid="closed", headspace_mm=5)
    assert wait_for_index(state, closed, 1e4, at(10)) is None
    assert wait_for_index(state, replace(FULL, emptied_at=at(5)), 60.0, at(10)) is None
    assert wait_for_index(state, replace(FULL, metal_area_cm2=None), 60.0, at(10)) is None
    assert wait_for_index(state, FULL, math.nan, at(10)) is None
    assert wait_for_index(state, FULL, 60.0, at(-1)) is None
    hazard = campaign(material=MaterialClass.SUPEROXIDE_FORMER)
    assert wait_for_index(hazard, FULL, 60.0, at(10)) is None
    assert wait_for_index(hazard, FULL, 1.0, at(10)) is None


def test_every_text_says_what_the_index_is_not_and_warns_where_it_is_a_hazard() -> None:
    assert [note.code for note in film_notes(campaign())] == ["film.ranking_aid"]
    hazard = campaign(material=MaterialClass.SUPEROXIDE_FORMER)
    assert [note.code for note in film_notes(hazard)] == ["film.hazard_only", "film.ranking_aid"]


def test_two_jars_side_by_side_tell_what_each_difference_alone_does() -> None:
    second = replace(FULL, id="J2", started_at=at(-72), oil_depth_mm=10, metal_area_cm2=10)
    found = compare(campaign(FULL, second), FULL, second, at(24))
    assert found.first is not None
    assert found.second is not None
    assert found.ratio == pytest.approx(found.second.index / found.first.index)
    rows = {row.key: row for row in found.rows}
    assert {key for key, row in rows.items() if row.differs} == {"age_h", "depth_mm", "metal_area_cm2"}
    assert rows["metal_area_cm2"].effect == pytest.approx(2.0)
    state = campaign()
    older = index(state, replace(FULL, started_at=at(-72)), 24) / index(state, FULL, 24)
    assert rows["age_h"].effect == pytest.approx(older)
    assert rows["lid"].effect is None
    assert all(row.label == input_words()[row.key] for row in found.rows)


def test_only_a_difference_beyond_what_the_jars_do_not_share_is_called_likely() -> None:
    def code(**changes: object) -> str:
        other = replace(FULL, id="J2", **changes)  # type: ignore[arg-type]
        return compare(campaign(FULL, other), FULL, other, at(24)).code

    assert code(metal_area_cm2=19.0) == "film.compare_alike"
    assert code(metal_area_cm2=14.0) == "film.compare_doubtful"
    assert code(metal_area_cm2=8.0) == "film.compare_clear"
    assert code(metal_area_cm2=8.0, material="plastic") == "film.compare_doubtful"
    assert code(metal_area_cm2=5.0, material="plastic") == "film.compare_clear"
    assert code(metal_area_cm2=None) == "film.compare_unknown"


def test_the_sentence_of_a_comparison_names_both_jars_and_says_that_the_band_is_shared() -> None:
    other = replace(FULL, id="J2", metal_area_cm2=5.0)
    found = compare(campaign(FULL, other), FULL, other, at(24))
    text = sentence(found.code, found.params)
    assert text.startswith("Jar J2 has received about 4 times as much")
    assert "common to both jars" in text


def test_a_rule_agrees_with_the_one_jar_that_it_was_made_of() -> None:
    state = campaign()
    rule = FilmRule.of(state)
    assert rule is not None
    found = rule.index({"oil exposure time": np.array([24.0, 240.0]), HOT: np.array([np.nan, 5.0])})
    expected = [index(state, FULL, 24), index(state, FULL, 240, hot_min=5)]
    np.testing.assert_allclose(found, expected, rtol=1e-9)


def test_a_rule_reads_ages_depth_humidity_and_temperature_in_any_unit() -> None:
    factors = (
        Factor("days under oil", "d", 0.1, 10.0, Scale.LOG, role=Role.OIL_EXPOSURE),
        Factor("sample age", "h", 1.0, 240.0, Scale.LOG),
        Factor(HOT, "s", 30.0, 3600.0, Scale.LOG),
        Factor("bath temperature", "F", 180.0, 350.0),
        Factor("storage temperature", "C", 5.0, 40.0),
        Factor("oil depth", "cm", 0.5, 5.0),
        Factor("room humidity", "%", 20.0, 90.0),
        FILM,
    )
    rule = FilmRule.of(campaign(factors=factors))
    assert rule is not None
    columns = {
        "days under oil": np.array([2.0, np.nan, np.nan]),
        "sample age": np.array([1.0, 48.0, np.nan]),
        HOT: np.array([300.0, 300.0, 300.0]),
        "bath temperature": np.array([302.0, 302.0, 302.0]),
        "storage temperature": np.array([25.0, 25.0, 25.0]),
        "oil depth": np.array([1.0, 1.0, 1.0]),
        "room humidity": np.array([80.0, 80.0, 80.0]),
    }
    jar = replace(FULL, oil_depth_mm=10, storage_c=25, room_rh_percent=80)
    expected = index(campaign(jar), jar, 48, hot_min=5, temperature_c=150)
    found = rule.index(columns)
    np.testing.assert_allclose(found[:2], expected, rtol=1e-9)
    assert np.isnan(found[2])


def test_a_rule_follows_the_unit_of_the_film_index_and_grows_with_age() -> None:
    other = Factor("film index", "umol/cm2", 0.1, 30.0, Scale.LOG)
    plain, scaled = (FilmRule.of(campaign(factors=(*standard_factors(), f))) for f in (FILM, other))
    assert plain is not None
    assert scaled is not None
    ages = {"sample age": np.geomspace(0.1, 5000, 200)}
    np.testing.assert_allclose(scaled.index(ages), plain.index(ages) / 10.0)
    assert (np.diff(plain.index(ages)) > 0).all()


def test_a_rule_is_hashable_and_travels_between_processes() -> None:
    rule = FilmRule.of(campaign())
    assert rule is not None
    assert pickle.loads(pickle.dumps(rule)) == rule
    assert hash(rule) == hash(FilmRule.of(campaign()))


def test_the_usual_jar_is_the_middle_of_the_jars_that_say_enough() -> None:
    jars = [replace(FULL, id=f"J{k}", oil_depth_mm=depth) for k, depth in enumerate((10.0, 20.0, 60.0))]
    silent = replace(FULL, id="J9", inner_diameter_mm=None, oil_depth_mm=1.0)
    rule, alone = FilmRule.of(campaign(*jars, silent)), FilmRule.of(campaign(FULL))
    assert rule == alone
    assert FilmRule.of(campaign(silent)) is None


def test_a_campaign_without_ages_in_the_columns_gets_no_numbers() -> None:
    rule = FilmRule.of(campaign())
    assert rule is not None
    assert np.isnan(rule.index({"temperature": np.array([150.0, 160.0])})).all()


def test_a_ready_factor_spans_what_the_jars_reach_over_the_ages() -> None:
    state = campaign(factors=standard_factors())
    factor = add_film_factor(state)
    assert (factor.name, factor.unit, factor.role, factor.scale) == ("film index", UNIT, Role.FILM_INDEX, Scale.LOG)
    assert factor.low == pytest.approx(index(state, FULL, 0.5), rel=0.1)
    assert factor.high == pytest.approx(index(state, FULL, 240), rel=0.1)
    assert factor.holds(index(state, FULL, 0.5))
    assert factor.holds(index(state, FULL, 240))
    bare = add_film_factor(campaign(replace(FULL, oil_depth_mm=None), factors=standard_factors()))
    assert bare.bounds == (1.0, 300.0)
    assert factor.role is not None
    assert factor.role.is_exposure
