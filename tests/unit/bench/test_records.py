from __future__ import annotations

from dataclasses import FrozenInstanceError, fields
from datetime import UTC, datetime, timedelta, timezone
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled, derive_outcome
from stirfall.bench.records import (
    Attempt,
    CampaignSettings,
    Jar,
    Lot,
    Masses,
    computed_ages,
    find_factor,
)

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


def _attempt(**changes: object) -> Attempt:
    return Attempt(id="a", number=1, conditions=Conditions(), **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fields_given", "outcome", "clean"),
    [
        ({"parted": Parted.NO}, Outcome.NOTHING_PARTED, (0, 1)),
        ({"parted": Parted.NO, "pooled": Pooled.NOT_OBSERVED}, Outcome.NOTHING_PARTED, (0, 1)),
        ({"parted": Parted.PARTLY, "pooled": Pooled.ONE_POOL}, Outcome.PARTLY_PARTED, (0, 1)),
        ({"parted": Parted.YES, "pooled": Pooled.BEADS}, Outcome.PARTED_BEADS, (0, 1)),
        ({"parted": Parted.YES, "pooled": Pooled.FEW_PIECES}, Outcome.PARTED_BEADS, (0, 1)),
        ({"parted": Parted.YES, "pooled": Pooled.ONE_POOL}, Outcome.CLEAN, (1, 1)),
        ({"parted": Parted.YES}, Outcome.NOT_GRADED, None),
        ({"parted": Parted.YES, "pooled": Pooled.NOT_OBSERVED}, Outcome.NOT_GRADED, None),
        ({"successes": 1}, Outcome.CLEAN, (1, 1)),
        ({"successes": 0}, Outcome.NOT_CLEAN, (0, 1)),
        ({"successes": 4, "trials": 6}, Outcome.COUNTED, (4, 6)),
        ({}, Outcome.NOT_GRADED, None),
        ({"aborted": True, "parted": Parted.YES, "pooled": Pooled.ONE_POOL}, Outcome.ABORTED, None),
        ({"successes": 1, "struck_reason": "wrong jar"}, Outcome.CLEAN, None),
    ],
)
def test_the_outcome_follows_from_the_grades(
    fields_given: dict[str, object], outcome: Outcome, clean: tuple[int, int] | None
) -> None:
    attempt = _attempt(**fields_given)
    assert attempt.outcome is outcome
    assert attempt.clean_count == clean


def test_every_combination_of_grades_has_exactly_one_outcome_and_only_one_of_them_is_clean() -> None:
    clean = []
    for parted, pooled, aborted in product([None, *Parted], [None, *Pooled], [False, True]):
        outcome = derive_outcome(parted=parted, pooled=pooled, successes=None, trials=1, aborted=aborted)
        assert isinstance(outcome, Outcome)
        if outcome is Outcome.CLEAN:
            clean.append((parted, pooled, aborted))
    assert clean == [(Parted.YES, Pooled.ONE_POOL, False)]


@pytest.mark.parametrize(
    ("fields_given", "code"),
    [
        ({"trials": 0}, "attempt.no_trials"),
        ({"successes": 2}, "attempt.count_outside"),
        ({"successes": -1}, "attempt.count_outside"),
        ({"successes": 1, "parted": Parted.YES}, "attempt.gates_and_count"),
        ({"parted": Parted.NO, "pooled": Pooled.BEADS}, "attempt.pool_without_parting"),
        ({"pooled": Pooled.BEADS}, "attempt.pool_without_gate_1"),
    ],
)
def test_grades_that_contradict_each_other_are_refused(fields_given: dict[str, object], code: str) -> None:
    with pytest.raises(InputError) as caught:
        _attempt(**fields_given)
    assert caught.value.code == code


@given(st.integers(min_value=0, max_value=50), st.integers(min_value=1, max_value=50))
def test_a_count_never_exceeds_its_trials(successes: int, trials: int) -> None:
    if successes > trials:
        with pytest.raises(InputError):
            _attempt(successes=successes, trials=trials)
    else:
        assert _attempt(successes=successes, trials=trials).clean_count == (successes, trials)


@pytest.mark.parametrize("name", [field.name for field in fields(Masses)])
def test_a_negative_mass_is_refused(name: str) -> None:
    with pytest.raises(InputError) as caught:
        Masses(**{name: -0.1})
    assert caught.value.params["name"] == name


def test_a_mass_that_is_no_number_is_refused() -> None:
    with pytest.raises(InputError):
        Masses(charge_g=float("nan"))


@pytest.mark.parametrize(
    ("fields_given", "code"),
    [
        ({"gates": 3}, "settings.gates"),
        ({"level": 1.0}, "settings.level"),
        ({"level": 0.4}, "settings.level"),
        ({"intercept_prior_sd": 0.0}, "settings.prior_not_positive"),
        ({"effect_prior_sd": -1.0}, "settings.prior_not_positive"),
    ],
)
def test_settings_without_sense_are_refused(fields_given: dict[str, object], code: str) -> None:
    with pytest.raises(InputError) as caught:
        CampaignSettings(**fields_given)  # type: ignore[arg-type]
    assert caught.value.code == code


def test_ages_come_from_the_lot_and_the_jar_in_the_unit_of_the_factor() -> None:
    factors = (Factor("sample age", "d", 0.1, 30.0), Factor("oil exposure time", "min", 1.0, 9999.0))
    lot = Lot("L1", made_at=NOON)
    jar = Jar("J1", "L1", started_at=NOON + timedelta(hours=12))
    ages = computed_ages(factors, lot=lot, jar=jar, started_at=NOON + timedelta(hours=36))
    assert ages == pytest.approx({"sample age": 1.5, "oil exposure time": 24 * 60})


def test_an_age_without_its_time_stamp_stays_unknown() -> None:
    assert dict(computed_ages(standard_factors(), lot=Lot("L1"), jar=None, started_at=NOON)) == {}


def test_an_age_without_a_unit_of_time_is_left_to_the_person() -> None:
    # Hours written into a column that its name says is in days would be wrong by a factor of 24.
    factors = (Factor("age in days", "", 0.1, 30.0), Factor("aged", "score", 1.0, 5.0))
    assert dict(computed_ages(factors, lot=Lot("L1", made_at=NOON), jar=None, started_at=NOON)) == {}


def test_local_clocks_do_not_change_an_age() -> None:
    # Summer time begins on the last Sunday of March at 01:00 UTC: Directive 2000/84/EC, article 2 (from memory).
    winter, summer = timezone(timedelta(hours=1)), timezone(timedelta(hours=2))
    lot = Lot("L1", made_at=datetime(2026, 3, 28, 12, tzinfo=winter))
    started = datetime(2026, 3, 29, 12, tzinfo=summer)
    assert computed_ages(standard_factors(), lot=lot, jar=None, started_at=started)["sample age"] == 23.0


def test_a_factor_is_found_whatever_its_letter_case() -> None:
    assert find_factor(standard_factors(), " Sample  AGE ").name == "sample age"
    with pytest.raises(InputError) as caught:
        find_factor(standard_factors(), "colour")
    assert "sample age" in str(caught.value.params["known"])


def test_the_state_shows_what_counts_now() -> None:
    hidden = Factor("x", "g", 0.0, 1.0, hidden=True)
    shown = Factor("y", "g", 0.0, 1.0)
    held, gone = Jar("J1", "L1", NOON), Jar("J2", "L1", NOON, emptied_at=NOON)
    state = CampaignState(CampaignSettings(), (hidden, shown), (Lot("L1"),), (held, gone), (_attempt(),))
    assert state.visible_factors == (shown,)
    assert state.shelf == (held,)
    assert state.lot("L1") == Lot("L1")
    assert state.lot("L9") is None
    assert state.jar("J2") == gone
    assert state.attempt("a").number == 1
    with pytest.raises(InputError):
        state.attempt("b")


def test_records_cannot_be_changed_in_place() -> None:
    with pytest.raises(FrozenInstanceError):
        _attempt().note = "changed"  # type: ignore[misc]


@pytest.mark.parametrize(
    ("text", "material"),
    [
        ("base metal", MaterialClass.BASE_METAL),
        ("Base_Metal", MaterialClass.BASE_METAL),
        ("alkali metal, sodium-like", MaterialClass.ALKALI_METAL),
        ("SUPEROXIDE_FORMER", MaterialClass.SUPEROXIDE_FORMER),
    ],
)
def test_a_material_class_is_read_from_its_name(text: str, material: MaterialClass) -> None:
    assert MaterialClass.parse(text) is material


def test_only_the_superoxide_former_forbids_a_longer_age() -> None:
    assert [member for member in MaterialClass if not member.may_lengthen_age] == [MaterialClass.SUPEROXIDE_FORMER]
    assert [member for member in MaterialClass if member.is_reactive] == [
        MaterialClass.ALKALI_METAL,
        MaterialClass.SUPEROXIDE_FORMER,
    ]
    with pytest.raises(InputError):
        MaterialClass.parse("cheese")
