"""Operating limits: what is never suggested, and what is said about conditions in hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.units import convert
from stirfall.planning.findings import from_celsius, to_celsius
from stirfall.planning.limits import operating_limits

AGE = Factor("sample age", "h", 0.5, 96.0, Scale.LOG)


def campaign(*factors: Factor, attempts: tuple[Attempt, ...] = (), **settings: object) -> CampaignState:
    known: dict[str, object] = {"melting_point_c": 138.0, "oil_flash_c": 220.0} | settings
    return CampaignState(CampaignSettings(**known), factors, attempts=attempts)


def codes(state: CampaignState, **conditions: float | str) -> list[tuple[str, str]]:
    values = Conditions({name.replace("_", " "): value for name, value in conditions.items()})
    return [(found.level, found.code) for found in operating_limits(state).check(values)]


@pytest.mark.parametrize(
    ("unit", "low", "high", "window"),
    [
        ("C", 80.0, 300.0, (143.0, 170.0)),
        # 143 C and 170 C in the Fahrenheit and Kelvin scales by their definitions, worked by hand
        ("F", 100.0, 500.0, (289.4, 338.0)),
        ("K", 300.0, 600.0, (416.15, 443.15)),
    ],
)
def test_temperature_window_runs_from_melting_to_flash_margin(unit, low, high, window):
    limits = operating_limits(campaign(Factor("bath", unit, low, high)))
    assert limits.ranges["bath"] == pytest.approx(window, abs=1e-9)
    assert not limits.blocked
    assert limits.allows({"bath": window[0]})
    assert limits.allows({"bath": window[1]})
    assert not limits.allows({"bath": window[0] - 0.01})
    assert not limits.allows({"bath": window[1] + 0.01})


def test_tighter_campaign_bounds_stay_in_force():
    limits = operating_limits(campaign(Factor("bath", "C", 150.0, 160.0)))
    assert limits.ranges["bath"] == (150.0, 160.0)


@pytest.mark.parametrize("unit", ["C", "°C", "degC", "F", "degF", "K", "kelvin", "celsius"])
@pytest.mark.parametrize("celsius", [-40.0, 0.0, 138.5, 231.93])
def test_celsius_conversion_agrees_with_a_units_library(unit, celsius):
    # pint is the independent witness here
    assert from_celsius(celsius, unit) == pytest.approx(convert(celsius, "C", unit), abs=1e-6)
    assert to_celsius(from_celsius(celsius, unit), unit) == pytest.approx(celsius, abs=1e-6)


def test_unknown_flash_point_blocks_heating_and_says_why():
    limits = operating_limits(campaign(Factor("bath", "C", 80.0, 180.0), AGE, oil_flash_c=None))
    assert limits.blocked
    assert [found.code for found in limits.findings if found.level == "block"] == ["limits.flash_unknown"]
    assert not limits.allows({"sample age": 5.0})
    with pytest.raises(InputError) as caught:
        limits.raise_if_blocked()
    assert caught.value.code == "limits.flash_unknown"


def test_unknown_flash_point_is_no_matter_without_a_visible_temperature():
    hidden = Factor("bath", "C", 80.0, 180.0, hidden=True)
    limits = operating_limits(campaign(hidden, AGE, oil_flash_c=None))
    assert not limits.blocked
    assert "bath" not in limits.ranges
    assert not limits.allows({"bath": 120.0, "sample age": 5.0})


def test_unknown_melting_point_is_a_note_and_leaves_the_upper_limit():
    limits = operating_limits(campaign(Factor("bath", "C", 80.0, 300.0), melting_point_c=None))
    assert limits.ranges["bath"] == (80.0, 170.0)
    assert [(found.level, found.code) for found in limits.findings] == [("note", "limits.melting_unknown")]


@pytest.mark.parametrize(
    ("melting", "flash", "low", "high", "code"),
    [
        (200.0, 220.0, 80.0, 300.0, "limits.window_empty"),
        (138.0, 220.0, 180.0, 300.0, "limits.window_outside_range"),
        (138.0, 220.0, 80.0, 120.0, "limits.window_outside_range"),
        (None, 100.0, 80.0, 120.0, "limits.window_outside_range"),
    ],
)
def test_empty_window_blocks(melting, flash, low, high, code):
    state = campaign(Factor("bath", "C", low, high), melting_point_c=melting, oil_flash_c=flash)
    limits = operating_limits(state)
    assert limits.blocked
    assert code in [found.code for found in limits.findings if found.level == "block"]


def test_window_of_a_single_temperature_is_not_empty():
    limits = operating_limits(campaign(Factor("bath", "C", 80.0, 300.0), melting_point_c=165.0, oil_flash_c=220.0))
    assert limits.ranges["bath"] == (170.0, 170.0)
    assert not limits.blocked


@pytest.mark.parametrize(
    "factor",
    [
        Factor("heater", "V", 1.0, 9.0, role=Role.TEMPERATURE),
        Factor("heater", levels=("low", "high"), role=Role.TEMPERATURE),
    ],
)
def test_temperature_that_cannot_be_compared_blocks(factor):
    assert [found.code for found in operating_limits(campaign(factor)).findings] == ["limits.temperature_unit"]


def exposed(hours: float, **more: object) -> Attempt:
    return Attempt(f"a{hours}", 1, Conditions({"sample age": hours}), parted=Parted.NO, **more)


def superoxide(*factors: Factor, attempts: tuple[Attempt, ...] = ()) -> CampaignState:
    return campaign(*factors, attempts=attempts, material=MaterialClass.SUPEROXIDE_FORMER)


def test_superoxide_former_pins_every_exposure_to_its_lowest_value():
    times = tuple(factor for factor in standard_factors() if factor.role in tuple(Role))
    limits = operating_limits(superoxide(*times, attempts=(exposed(4.0),)))
    assert dict(limits.pinned) == {
        "sample age": 0.5,
        "oil exposure time": 0.5,
        "hot time before stirring": 1.0,
    }
    assert not limits.may_wait
    assert limits.allows({"sample age": 0.5})
    assert not limits.allows({"sample age": 0.51})
    assert not limits.allows({"hot time before stirring": 2.0})


@pytest.mark.parametrize("more", [{}, {"struck_reason": "wrong"}, {"aborted": True}])
def test_superoxide_former_blocks_when_the_range_begins_above_the_shortest_recorded(more):
    limits = operating_limits(superoxide(AGE, attempts=(exposed(6.0), exposed(0.25, **more))))
    assert [found.code for found in limits.findings if found.level == "block"] == ["limits.exposure_above_shortest"]
    assert not limits.allows({"sample age": 0.5})


@pytest.mark.parametrize(
    ("low_d", "blocks"),
    [(5.0, True), (4.0 / 24.0, False), (0.1, False)],
)
def test_a_new_name_for_the_age_never_allows_a_longer_exposure(low_d, blocks):
    hidden = replace(AGE, hidden=True)
    renamed = Factor("days in the jar", "d", low_d, 50.0, Scale.LOG)
    limits = operating_limits(superoxide(hidden, renamed, attempts=(exposed(4.0), exposed(6.0))))
    assert limits.ceilings["days in the jar"] == pytest.approx(4.0 / 24.0)
    assert limits.blocked is blocks
    assert limits.allows({"days in the jar": low_d}) is not blocks


def test_records_of_its_own_are_the_ceiling_of_an_exposure_whatever_else_was_recorded():
    soak = Factor("soak", "min", 1.0, 60.0)
    attempt = Attempt("a1", 1, Conditions({"sample age": 4.0, "soak": 2.0}), parted=Parted.NO)
    assert operating_limits(superoxide(AGE, soak, attempts=(attempt,))).ceilings == {"sample age": 4.0, "soak": 2.0}


def test_superoxide_former_with_an_unordered_exposure_blocks():
    limits = operating_limits(superoxide(Factor("age class", levels=("fresh", "old"))))
    assert [found.code for found in limits.findings] == ["limits.exposure_unordered"]


def test_other_metals_keep_their_ages_free():
    limits = operating_limits(campaign(AGE, material=MaterialClass.ALKALI_METAL))
    assert limits.ranges["sample age"] == (0.5, 96.0)
    assert not limits.pinned
    assert limits.may_wait


def test_no_additive_means_no_dose():
    limits = operating_limits(campaign(*standard_factors()))
    assert limits.allows({"additive": "none", "additive dose": 0.0})
    assert not limits.allows({"additive": "none", "additive dose": 2.0})
    assert limits.allows({"additive": "additive A", "additive dose": 2.0})


def test_no_additive_says_nothing_about_a_dose_that_cannot_be_zero():
    dose = Factor("dose", "mg/g", 1.0, 20.0)
    limits = operating_limits(campaign(Factor("additive", levels=("none", "A")), dose))
    assert limits.allows({"additive": "none", "dose": 2.0})


@pytest.mark.parametrize("bad", [{"sample age": math.nan}, {"sample age": "5"}, {"nonsense": 1.0}])
def test_what_is_no_value_of_a_visible_factor_is_not_allowed(bad):
    assert not operating_limits(campaign(AGE)).allows(bad)


BATH = Factor("bath", "C", 80.0, 300.0)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (142.9, [("warn", "limits.below_melting_margin")]),
        (143.0, []),
        (170.0, []),
        (170.1, [("warn", "limits.near_flash")]),
        (195.0, [("warn", "limits.near_flash")]),
        (195.1, [("block", "limits.too_near_flash")]),
        (198.5, [("block", "limits.too_near_flash"), ("warn", "limits.far_above_melting")]),
        (
            301.0,
            [
                ("block", "limits.too_near_flash"),
                ("warn", "limits.far_above_melting"),
                ("note", "limits.outside_range"),
            ],
        ),
    ],
)
def test_form_check_at_the_edges_of_the_temperature_window(value, expected):
    assert codes(campaign(BATH), bath=value) == expected


def test_form_check_works_in_fahrenheit():
    state = campaign(Factor("bath", "F", 100.0, 600.0))
    assert codes(state, bath=convert(195.1, "C", "F")) == [("block", "limits.too_near_flash")]
    assert codes(state, bath=convert(160.0, "C", "F")) == []


def test_form_check_blocks_heating_without_a_flash_point_even_where_it_is_hidden():
    state = campaign(Factor("bath", "C", 80.0, 180.0, hidden=True), oil_flash_c=None)
    assert codes(state, bath=150.0) == [("block", "limits.flash_unknown")]


def test_form_check_notes_what_was_never_tried():
    attempts = (exposed(2.0), exposed(8.0), exposed(20.0, struck_reason="typing error"))
    state = campaign(AGE, attempts=attempts)
    assert codes(state, sample_age=4.0) == []
    assert codes(state, sample_age=9.0) == [("note", "limits.outside_tried")]
    assert codes(state, sample_age=200.0) == [
        ("note", "limits.outside_range"),
        ("note", "limits.outside_tried"),
    ]


def test_form_check_asks_about_what_looks_like_a_slip_of_the_hand():
    # Our proposal (no source): more than the width of the range beyond it, on the factor's own scale.
    speed = Factor("stirring speed", "1/min", 20.0, 180.0)
    assert codes(campaign(speed), stirring_speed=340.0) == [("note", "limits.outside_range")]
    assert codes(campaign(speed), stirring_speed=9590.0) == [("warn", "limits.far_outside")]
    age = Factor("sample age", "h", 1.0, 100.0, "log")
    assert codes(campaign(age, material=MaterialClass.BASE_METAL), sample_age=9_900.0) == [
        ("note", "limits.outside_range")
    ]
    assert codes(campaign(age, material=MaterialClass.BASE_METAL), sample_age=10_100.0) == [
        ("warn", "limits.far_outside")
    ]


def test_form_check_warns_of_a_longer_exposure_for_a_superoxide_former():
    state = superoxide(AGE, attempts=(exposed(2.0), exposed(8.0)))
    assert codes(state, sample_age=3.0) == [("warn", "limits.longer_exposure")]
    assert codes(state, sample_age=2.0) == []
