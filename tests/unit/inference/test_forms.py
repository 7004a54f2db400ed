"""Which forms are candidates, what they are called for good, and the design that has the terms of all."""

from __future__ import annotations

import math

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.forms import (
    GATE_NAMES,
    Form,
    FormScore,
    candidate_forms,
    gate_design,
    possible_keys,
    union_design,
)
from stirfall.inference.refined import fit_refined
from stirfall.inference.table import build_table
from stirfall.reporting.sentences import sentence

AGE = Factor("sample age", "h", 1.0, 100.0, Scale.LOG)
HEAT = Factor("temperature", "C", 80.0, 180.0)
STIR = Factor("stirring speed", "1/min", 20.0, 180.0)
HOT = Factor("hot time", "min", 1.0, 60.0)
OIL = Factor("time under oil", "h", 0.5, 96.0)
DOSE = Factor("dose", "%", 0.0, 3.0)
ACTION = Factor("action", levels=("swirl", "fold"))
FILM = Factor("film index", "", 0.1, 10.0, Scale.LOG)


def table_of(*factors, gates=2, values=5, count=9, **settings):
    """Attempts in which every number takes ``values`` different values."""
    rows = []
    for number in range(count):
        chosen = {}
        for factor in factors:
            if factor.is_choice:
                chosen[factor.name] = factor.levels[number % len(factor.levels)]
            else:
                low, high = factor.bounds
                chosen[factor.name] = low + (high - low) * (number % values) / max(values, 2)
        grade = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL if number % 2 else Pooled.BEADS}
        if gates == 1:
            grade = {"successes": number % 2}
        rows.append(Attempt(f"a{number}", number + 1, Conditions(chosen), **grade))
    state = CampaignState(CampaignSettings(gates=gates, **settings), factors, attempts=tuple(rows))
    return build_table(state)


def keys(*factors, **others):
    return [form.key for form in candidate_forms(*table_of(*factors, **others))]


def test_with_two_gates_there_are_humps_at_either_gate_and_the_forms_of_one_gate():
    assert keys(AGE, HEAT, ACTION) == [
        "two gates, straight",
        "two gates, hump in sample age at gate 1",
        "two gates, hump in temperature at gate 1",
        "two gates, hump in sample age at gate 2",
        "two gates, hump in temperature at gate 2",
        "one gate, straight",
        "one gate, hump in sample age",
        "one gate, hump in temperature",
    ]


def test_with_one_gate_there_are_only_forms_of_one_gate():
    assert keys(AGE, STIR, gates=1) == [
        "one gate, straight",
        "one gate, hump in sample age",
        "one gate, hump in stirring speed",
    ]


def test_of_several_exposures_the_sample_age_may_have_the_hump():
    for factors, chosen in [
        ((HOT, OIL, AGE), "sample age"),
        ((HOT, OIL), "time under oil"),
        ((HOT,), "hot time"),
    ]:
        assert keys(*factors, gates=1) == ["one gate, straight", f"one gate, hump in {chosen}"]


@pytest.mark.parametrize(("values", "humps"), [(1, 0), (2, 0), (3, 1)])
def test_a_hump_needs_three_values(values, humps):
    assert len(keys(AGE, gates=1, values=values)) == 1 + humps


def test_without_attempts_the_straight_forms_are_left():
    assert keys(AGE, HEAT, count=0) == ["two gates, straight", "one gate, straight"]


def test_a_dose_and_a_choice_have_no_hump():
    assert keys(DOSE, ACTION, gates=1) == ["one gate, straight"]


def test_without_factors_there_is_one_form_per_number_of_gates():
    assert keys(gates=1) == ["one gate, straight"]
    assert keys(gates=2) == ["two gates, straight", "one gate, straight"]


def test_a_hump_that_the_settings_ask_for_is_no_candidate():
    assert keys(AGE, HEAT, gates=1, humps=("sample age",)) == [
        "one gate, straight",
        "one gate, hump in temperature",
    ]


def test_a_film_index_beside_an_age_gives_a_form_in_its_place():
    forms = candidate_forms(*table_of(AGE, HOT, FILM, gates=1))
    assert [(form.key, form.without) for form in forms] == [
        ("one gate, straight", ("film index",)),
        ("one gate, hump in sample age", ("film index",)),
        ("one gate, film index in place of age", ("sample age", "hot time")),
    ]
    two = [form.key for form in candidate_forms(*table_of(AGE, FILM))]
    assert "two gates, film index in place of age" in two
    assert "one gate, film index in place of age" in two


def test_a_film_index_alone_is_a_factor_like_any_other():
    forms = candidate_forms(*table_of(FILM, HEAT, gates=1))
    assert all(form.without == () for form in forms)


def test_a_film_index_that_counts_as_a_time_never_takes_its_own_place():
    film = Factor("film index", "h", 0.1, 10.0, Scale.LOG)
    for factors in ((AGE, film), (film, AGE)):
        design, table = table_of(*factors, gates=1)
        forms = candidate_forms(design, table)
        assert [form.without for form in forms] == [("film index",), ("film index",), ("sample age",)]
        assert forms[1].humps == ("sample age",)
        for form in forms:
            gate_design(design, form.humps[0], form.without)
    assert all(form.without == () for form in candidate_forms(*table_of(film, gates=1)))


@pytest.mark.parametrize("gates", [1, 2])
def test_every_form_has_a_key_of_its_own_gates_a_sentence_and_a_possible_key(gates):
    design, table = table_of(AGE, HEAT, STIR, FILM, gates=gates)
    forms = candidate_forms(design, table)
    assert len({form.key for form in forms}) == len(forms)
    words = [sentence(form.code, form.params) for form in forms]
    assert len(set(words)) == len(forms)
    assert not [word for word in words if "{" in word]
    assert {form.key for form in forms} <= possible_keys(design.factors)
    for form in forms:
        assert form.gates == len(form.humps) == len(GATE_NAMES[form.gates])
        assert form.key.startswith("one gate" if form.gates == 1 else "two gates")


def test_the_union_has_the_terms_of_every_form_once():
    design, table = table_of(AGE, HEAT, ACTION, products=(("sample age", "action"),))
    forms = candidate_forms(design, table)
    union = union_design(design, forms)
    assert union.humps == ("sample age", "temperature")
    names = [term.name for term in union.terms]
    assert len(set(names)) == len(names)
    for form in forms:
        for hump in form.humps:
            assert set(gate_design(design, hump, form.without).terms) <= set(union.terms)


def test_the_design_of_a_gate_has_its_hump_and_not_what_is_left_out():
    design, _ = table_of(AGE, HEAT, FILM, humps=("temperature",), products=(("sample age", "temperature"),))
    assert gate_design(design, None) == design
    assert gate_design(design, "sample age").humps == ("temperature", "sample age")
    by_film = gate_design(design, None, ("sample age",))
    assert [factor.name for factor in by_film.factors] == ["temperature", "film index"]
    assert by_film.products == ()


def test_candidates_depend_on_nothing_but_design_and_table():
    assert keys(AGE, HEAT, STIR) == keys(AGE, HEAT, STIR)


def test_a_pinned_form_has_all_the_weight_and_an_unknown_pin_is_ignored():
    design, table = table_of(AGE, gates=1, count=12)
    pinned = fit_refined(table, design, CampaignSettings(gates=1, form="one gate, hump in sample age"))
    assert {score.form.key: score.weight for score in pinned.forms} == {
        "one gate, straight": 0.0,
        "one gate, hump in sample age": 1.0,
    }
    assert [score.form.key for score in pinned.forms if score.is_pinned] == ["one gate, hump in sample age"]
    ignored = fit_refined(table, design, CampaignSettings(gates=1, form="one gate, hump in the moon"))
    free = fit_refined(table, design, CampaignSettings(gates=1))
    assert not any(score.is_pinned for score in ignored.forms)
    assert [score.weight for score in ignored.forms] == [score.weight for score in free.forms]


def test_scores_inside_their_noise_do_not_tell_forms_apart():
    form = Form("one gate, straight", (None,), "form.straight_one")

    def score(behind, behind_se):
        return FormScore(form, 0.5, -10.0, 1.0, behind, behind_se, 0.1, -12.0)

    assert score(20.0, 5.0).is_distinguishable
    assert not score(9.0, 5.0).is_distinguishable
    assert not score(0.0, 0.0).is_distinguishable
    assert not score(0.0, math.nan).is_distinguishable
