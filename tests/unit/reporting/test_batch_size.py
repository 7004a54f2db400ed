"""The batch size calculator over a campaign: what it keeps, what it asks for, and what it warns of or refuses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.substances import NOTHING_KNOWN, AdditiveValues
from stirfall.bench.units import THIN_SPACE
from stirfall.reporting.batch_size import batch_size, charge_conditions, clean_charges_g
from stirfall.reporting.recipe import Recipe
from stirfall.reporting.recipe_batch import BatchOrder, BatchSize
from stirfall.session.analysis import Analysis, analyse

Make = Callable[..., Recipe]


def _size(analysis: Analysis, usual: Conditions, **order: float) -> BatchSize:
    return batch_size(analysis, analysis.complete(usual), BatchOrder(**order))


def codes(batch: BatchSize) -> set[str]:
    return {each.code for each in batch.warnings}


def test_the_proven_batch_is_the_middle_one_of_those_that_came_out_clean(
    analysis: Analysis, usual: Conditions, dross: CampaignState
) -> None:
    by_hand = sorted(
        each.masses.charge_g
        for each in dross.attempts
        if each.masses.charge_g and each.clean_count is not None and each.clean_count[0]
    )
    assert clean_charges_g(dross) == tuple(by_hand)
    batch = _size(analysis, usual)
    assert batch.charge_g == batch.from_g == by_hand[(len(by_hand) - 1) // 2]
    assert not batch.is_other_size
    assert codes(batch) == set()


def test_amounts_and_settings_follow_the_size(analysis: Analysis, usual: Conditions) -> None:
    batch = _size(analysis, usual, charge_g=50.0, from_g=25.0, stirrer_mm=70.0)
    additive, turns = batch.line("additive"), batch.line("turns")
    assert additive is not None
    assert turns is not None
    assert additive.after == pytest.approx(0.4)  # worked here: 8 mg/g of 50 g
    assert turns.after == pytest.approx(45.0)  # worked here: 90 per min, circle 35 mm to 70 mm
    assert dict(batch.scaled) == {"stirring speed": pytest.approx(0.5)}


def test_beyond_the_largest_proven_size_it_warns_and_beyond_three_times_it_names_the_steps(
    analysis: Analysis, usual: Conditions
) -> None:
    largest = _size(analysis, usual).largest_g
    assert largest is not None
    assert "batch.beyond_proven" not in codes(_size(analysis, usual, charge_g=largest))
    assert "batch.beyond_proven" in codes(_size(analysis, usual, charge_g=1.1 * largest))
    assert {"batch.large_step", "limits.batch"} <= codes(_size(analysis, usual, charge_g=2.5 * largest))
    far = _size(analysis, usual, charge_g=3.5 * largest)
    assert "batch.far" in codes(far)
    assert "prove each before the next" in " ".join(each.text for each in far.warnings)


def test_a_vessel_that_would_be_too_full_is_said(analysis: Analysis, usual: Conditions) -> None:
    assert "batch.too_full" in codes(_size(analysis, usual, charge_g=50.0, vessel_ml=70.0))
    assert "batch.too_full" not in codes(_size(analysis, usual, charge_g=50.0, vessel_ml=200.0))


def test_a_metal_that_is_molten_in_its_jar_has_the_same_film_in_any_jar(
    dross: CampaignState, usual: Conditions
) -> None:
    warm = tuple(replace(jar, storage_c=145.0) for jar in dross.jars)
    batch = _size(analyse(replace(dross, jars=warm)), usual, charge_g=50.0)
    film = batch.line("film")
    assert film is not None
    assert film.after == 1.0
    assert "covers the floor" in film.how
    assert batch.line("jar") is None


def test_unknown_inputs_are_asked_for(dross: CampaignState, usual: Conditions) -> None:
    bare = analyse(replace(dross, settings=replace(dross.settings, substances=NOTHING_KNOWN)))
    batch = _size(bare, usual, charge_g=50.0)
    turns = batch.line("turns")
    assert turns is not None
    assert turns.after is None
    assert turns.shown_after == "not known"
    assert any("stirring circle" in text for text in batch.asked)
    assert any("diameter of the campaign's vessel" in text for text in batch.asked)


def test_without_a_known_charge_nothing_is_scaled(dross: CampaignState, usual: Conditions) -> None:
    attempts = tuple(
        replace(each, masses=replace(each.masses, charge_g=None), jar_id=None) for each in dross.attempts
    )
    batch = _size(analyse(replace(dross, attempts=attempts)), usual, charge_g=30.0)
    assert batch.lines == ()
    assert codes(batch) == {"batch.nothing_proven"}
    assert batch.asked


def test_hydrogen_beyond_the_cap_refuses_the_size(dross: CampaignState, usual: Conditions, recipe_of: Make) -> None:
    # Worked here: 8 mg/g of 34 g at 280 g/mol and one hydrogen atom give 12 mL, of 200 g 69 mL; the cap is 20 mL.
    acid = AdditiveValues("long acid", "fatty acid", 20.0, molar_mass_g_mol=280.0, hydrogens=1.0)
    substances = replace(dross.settings.substances, additives=(acid,))
    settings = replace(dross.settings, material=MaterialClass.ALKALI_METAL, substances=substances)
    analysis = analyse(replace(dross, settings=settings))
    assert not _size(analysis, usual).is_refused
    assert not recipe_of(analysis, usual).blocked
    large = _size(analysis, usual, charge_g=200.0)
    assert "limits.hydrogen_above_cap" in codes(large)
    assert large.is_refused
    blocked = recipe_of(analysis, usual, batch=BatchOrder(charge_g=200.0))
    assert blocked.blocked
    assert blocked.steps == ()


def test_a_superoxide_former_is_never_given_more_air(
    superoxide: Analysis, usual: Conditions, recipe_of: Make
) -> None:
    at = Conditions({**usual, **superoxide.limits.ceilings})
    jar = batch_size(superoxide, superoxide.complete(at), BatchOrder(charge_g=20.0)).line("jar")
    assert jar is not None
    assert jar.how.startswith("at most")
    wide = batch_size(superoxide, superoxide.complete(at), BatchOrder(charge_g=20.0, jar_mm=200.0))
    assert "batch.more_film" in codes(wide)
    assert wide.is_refused
    assert recipe_of(superoxide, at, batch=BatchOrder(charge_g=20.0, jar_mm=200.0)).steps == ()


def test_a_superoxide_former_never_settles_longer_for_a_larger_batch(
    superoxide: Analysis, usual: Conditions, dross: CampaignState
) -> None:
    factor = Factor("settling time", "min", 1.0, 20.0, default=4.0)
    for state, after in ((superoxide.state, 240.0), (dross, 480.0)):
        attempts = tuple(
            replace(each, conditions=each.conditions.with_value("settling time", 2.0 + each.number % 5))
            for each in state.attempts
        )
        analysis = analyse(replace(state, factors=(*state.factors, factor), attempts=attempts))
        at = Conditions({**usual, **analysis.limits.ceilings, "settling time": 4.0})
        batch = batch_size(analysis, analysis.complete(at), BatchOrder(charge_g=40.0, from_g=20.0))
        line = batch.line("settle")
        assert line is not None
        assert line.after == pytest.approx(after)
        assert ("settling time" in dict(batch.scaled)) == (after > 240.0)


def test_the_charge_of_a_campaign_that_varies_it_becomes_a_condition(
    dross: CampaignState, usual: Conditions
) -> None:
    factor = Factor("batch size", "g", 5.0, 100.0, default=20.0)
    attempts = tuple(
        replace(each, conditions=each.conditions.with_value("batch size", 10.0 + each.number))
        for each in dross.attempts
    )
    analysis = analyse(replace(dross, factors=(*dross.factors, factor), attempts=attempts))
    at = charge_conditions(analysis, usual, BatchOrder(charge_g=40.0))
    assert at.number("batch size") == 40.0


def test_the_steps_are_written_for_the_batch_and_the_table_for_the_evidence(
    recipe_of: Make, analysis: Analysis, usual: Conditions
) -> None:
    made = recipe_of(analysis, usual, batch=BatchOrder(charge_g=50.0, stirrer_mm=70.0))
    stir = next(step for step in made.steps if step.key == "stir")
    assert "45 turns a minute" in stir.text
    assert next(value for value in made.values if value.name == "stirring speed").value == 90.0
    take, add = (next(step for step in made.steps if step.key == key) for key in ("take", "add"))
    assert take.amounts == (("charge", f"50{THIN_SPACE}g"),)
    assert add.amounts == (("rosin", f"0.4{THIN_SPACE}g"),)


@pytest.mark.parametrize("value", [0.0, -3.0, float("nan"), float("inf")])
def test_a_size_that_is_none_is_refused(value: float) -> None:
    with pytest.raises(InputError) as caught:
        BatchOrder(charge_g=value)
    assert caught.value.code == "batch.not_positive"
