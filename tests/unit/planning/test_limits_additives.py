"""Limits of additives: class, dose and hydrogen, at the edge, just inside and just outside."""

from __future__ import annotations

import pytest
from limits_at_hand import (
    ADDITIVE,
    ALKALI,
    BASE,
    BATCH,
    DOSE,
    OTHER,
    SUPEROXIDE,
    at,
    campaign,
    said,
)

from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Masses
from stirfall.bench.substances import (
    AdditiveValues,
    OwnLimits,
)
from stirfall.planning.limits import (
    operating_limits,
)
from stirfall.planning.limits_additive import hydrogen_ml
from stirfall.planning.situation import Situation
from stirfall.reporting.sentences import sentence
from stirfall.storage.limit_table import additive_kinds, kind_of


def additive(kind: str = "tertiary alcohol", **more) -> tuple[AdditiveValues, ...]:
    return (AdditiveValues("A", kind, **more),)


@pytest.mark.parametrize("material", list(MaterialClass))
@pytest.mark.parametrize("kind", list(additive_kinds()))
def test_an_additive_is_forbidden_as_the_table_says_and_its_level_is_no_candidate(material, kind):
    known = additive_kinds()[kind]
    state = campaign(ADDITIVE, DOSE, material=material, additives=additive(kind))
    codes = {code for code, level in said(state, conditions=at(additive="A", dose=1.0)).items() if level == "block"}
    limits = operating_limits(state)
    if material in known.allowed:
        assert codes == set()
        assert limits.levels["additive"] == ("none", "A")
        return
    never = (known.halogenated or known.water_based) and material is not BASE
    special = "limits.additive_halogenated" if known.halogenated else "limits.additive_water"
    assert codes == {special if never else "limits.additive_class"}
    assert limits.levels["additive"] == ("none",)
    assert limits.ranges["dose"] == (0.0, 0.0)
    assert not limits.allows({"additive": "A", "dose": 0.0})


@pytest.mark.parametrize(
    ("material", "blocked"), [(BASE, False), (OTHER, False), (ALKALI, True), (SUPEROXIDE, True)]
)
def test_an_unknown_additive_blocks_a_reactive_metal_only(material, blocked):
    state = campaign(ADDITIVE, DOSE, material=material)
    codes = said(state, conditions=at(additive="A", dose=1.0))
    assert ("limits.additive_unknown" in codes) is blocked
    assert "limits.additive_unknown" not in said(state, conditions=at(additive="none", dose=0.0))
    assert operating_limits(state).levels["additive"] == (("none",) if blocked else ("none", "A"))


def test_a_dose_that_does_not_say_of_what_blocks_a_reactive_metal():
    alone = campaign(DOSE, material=ALKALI)
    assert said(alone, conditions=at(dose=1.0))["limits.additive_unknown"] == "block"
    assert operating_limits(alone).ranges["dose"] == (0.0, 0.0)
    assert said(alone, conditions=at(dose=0.0)) == {}
    only = campaign(DOSE, material=ALKALI, additives=additive("hydrocarbon"))
    assert said(only, conditions=at(dose=1.0)) == {}
    assert said(only, masses=Masses(charge_g=10.0, additive_g=0.1)) == {}
    open_choice = campaign(ADDITIVE, DOSE, material=ALKALI, additives=additive("hydrocarbon"))
    assert said(open_choice, conditions=at(dose=1.0))["limits.additive_unknown"] == "block"
    assert not operating_limits(open_choice).allows({"dose": 1.0})
    assert said(alone, masses=Masses(charge_g=10.0, additive_g=0.1))["limits.additive_unknown"] == "block"


def test_a_dose_range_of_a_forbidden_additive_that_begins_above_zero_blocks():
    dose = Factor("dose", "mg/g", 1.0, 20.0)
    limits = operating_limits(campaign(dose, material=ALKALI))
    assert [each.code for each in limits.findings if each.level == "block"] == ["limits.additive_unknown"]


def test_without_any_allowed_level_nothing_is_suggested():
    choice = Factor("additive", levels=("A", "B"))
    limits = operating_limits(campaign(choice, material=ALKALI))
    assert [each.code for each in limits.findings if each.level == "block"] == ["limits.no_level_left"]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Chloroform, dry", "halogenated"),
        ("water", "water-based"),
        ("water-free oil", None),
        ("non-halogenated soap", None),
        ("2-propanol", "short alcohol"),
        ("additive A", None),
    ],
)
def test_a_name_that_gives_its_class_away_counts_where_none_was_entered(name, kind):
    found = kind_of("", name)
    assert (found.key if found else None) == kind


def test_a_halogenated_name_counts_whatever_class_was_entered():
    choice = Factor("additive", levels=("none", "Chloroform"))
    named = (AdditiveValues("Chloroform", "hydrocarbon"),)
    state = campaign(choice, material=ALKALI, additives=named)
    assert said(state, conditions=at(additive="Chloroform")) == {"limits.additive_halogenated": "block"}


@pytest.mark.parametrize(("own", "cap"), [(None, 30.0), (12.0, 12.0), (99.0, 30.0)])
def test_the_dose_blocks_above_its_cap(own, cap):
    state = campaign(ADDITIVE, DOSE, additives=additive("hydrocarbon", dose_cap_mg_g=own))
    code = "limits.dose_above_cap"
    for value, blocked in ((cap, False), (cap - 0.01, False), (cap + 0.01, True)):
        assert (code in said(state, conditions=at(additive="A", dose=value))) is blocked
        masses = Masses(charge_g=10.0, additive_g=value / 100.0)
        assert (code in said(state, conditions=at(additive="A"), masses=masses)) is blocked
    limits = operating_limits(state)
    assert limits.ranges["dose"] == (0.0, cap)
    assert limits.allows({"additive": "A", "dose": cap})
    assert not limits.allows({"additive": "A", "dose": cap + 0.5})


def test_doses_in_other_units_are_compared_in_mg_per_g():
    for unit, edge in (("%", 3.0), ("g/kg", 30.0), ("mg/g", 30.0)):
        state = campaign(Factor("dose", unit, 0.0, 60.0), additives=additive("hydrocarbon"))
        assert operating_limits(state).ranges["dose"] == (0.0, edge)
        assert said(state, conditions=at(dose=edge)) == {}
        assert said(state, conditions=at(dose=edge + 0.01))["limits.dose_above_cap"] == "block"
    grams = campaign(Factor("dose", "g", 0.0, 9.0), BATCH, additives=additive("hydrocarbon"))
    assert operating_limits(grams).ranges["dose"] == (0.0, pytest.approx(0.15))  # 30 mg/g of 5 g
    assert said(grams, conditions=at(dose=0.3, batch=10.0)) == {}
    assert said(grams, conditions=at(dose=0.301, batch=10.0))["limits.dose_above_cap"] == "block"


def test_each_level_has_its_own_cap_in_suggestions():
    choice = Factor("additive", levels=("none", "A", "B"))
    known = (AdditiveValues("A", "hydrocarbon", 7.3), AdditiveValues("B", "hydrocarbon", 20.0))
    limits = operating_limits(campaign(choice, DOSE, additives=known))
    assert limits.ranges["dose"] == (0.0, 20.0)
    assert limits.allows({"additive": "A", "dose": 7.0})  # the largest step within 7.3
    assert not limits.allows({"additive": "A", "dose": 7.5})
    assert limits.allows({"additive": "B", "dose": 20.0})
    assert not limits.allows({"additive": "none", "dose": 1.0})


def test_a_level_whose_cap_lies_below_the_range_of_the_dose_is_no_candidate():
    choice = Factor("additive", levels=("A", "B"))
    dose = Factor("dose", "mg/g", 10.0, 60.0)
    known = (AdditiveValues("A", "hydrocarbon", 9.0), AdditiveValues("B", "hydrocarbon"))
    limits = operating_limits(campaign(choice, dose, additives=known))
    assert limits.levels["additive"] == ("B",)
    late = operating_limits(campaign(Factor("dose", "mg/g", 31.0, 60.0)))
    assert [each.code for each in late.findings if each.level == "block"] == ["limits.dose_range_above_cap"]


def test_a_tenth_of_a_gram_at_80_g_per_mol_gives_15_ml_of_hydrogen():
    # Ideal gas at 20 °C and 101.325 kPa: 24.055 L/mol, half a mole of H2 per mole: 0.1/80 x 0.5 x 24055 = 15.03 mL.
    assert hydrogen_ml(0.1, 80.0, 1.0) == pytest.approx(15.03, abs=0.01)
    assert hydrogen_ml(0.1, 80.0, 2.0) == pytest.approx(30.07, abs=0.01)


@pytest.mark.parametrize(("own", "cap"), [(None, 20.0), (10.0, 10.0)])
@pytest.mark.parametrize("material", [ALKALI, OTHER])
def test_hydrogen_blocks_above_its_cap(own, cap, material):
    known = additive(molar_mass_g_mol=80.0, hydrogens=1.0)
    state = campaign(ADDITIVE, DOSE, BATCH, material=material, additives=known, limits=OwnLimits(hydrogen_ml=own))
    code, grams = "limits.hydrogen_above_cap", cap / hydrogen_ml(1.0, 80.0, 1.0)
    for share, blocked in ((1.0, False), (0.999, False), (1.001, True)):
        dose = share * grams / 20.0 * 1000.0
        assert (code in said(state, conditions=at(additive="A", dose=dose, batch=20.0))) is blocked
        masses = Masses(charge_g=20.0, additive_g=share * grams)
        assert (code in said(state, conditions=at(additive="A"), masses=masses)) is blocked
    # Suggestions hold at the largest batch of the range.
    assert operating_limits(state).ranges["dose"][1] <= grams / 60.0 * 1000.0


def test_hydrogen_that_cannot_be_estimated_is_a_note_that_says_what_to_enter():
    state = campaign(ADDITIVE, DOSE, material=ALKALI, additives=additive())
    assert said(state, conditions=at(additive="A", dose=5.0)) == {"limits.hydrogen_unknown": "note"}
    assert said(state, conditions=at(additive="A", dose=0.0)) == {}
    known = campaign(ADDITIVE, DOSE, material=ALKALI, additives=additive(molar_mass_g_mol=80.0, hydrogens=1.0))
    found = operating_limits(known).judge(Situation(at(additive="A", dose=5.0)))
    assert "charge" in sentence(found[0].code, found[0].params)
    assert said(campaign(ADDITIVE, DOSE, additives=additive()), conditions=at(additive="A", dose=5.0)) == {}


def test_a_dose_of_no_additive_asks_which_it_was():
    assert said(campaign(ADDITIVE, DOSE), conditions=at(additive="none", dose=2.0)) == {
        "limits.dose_of_nothing": "warn"
    }
