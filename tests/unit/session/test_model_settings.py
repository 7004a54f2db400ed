"""Settings that name factors: what a command takes, what it refuses, and what stays true when factors change."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.forms import candidate_forms
from stirfall.inference.table import build_table
from stirfall.reporting.sentences import all_sentences, error_sentence
from stirfall.session.analysis import analyse
from stirfall.session.commands import ChangeFactors, ChangeSettings, RecordAttempt
from stirfall.session.document import Document

AGE = Factor("age", "h", 1.0, 100.0, "log")
WARMTH = Factor("temperature", "C", 80.0, 180.0)
ACTION = Factor("action", levels=("swirl", "fold"))
MODEL = CampaignSettings(humps=("age",), products=(("age", "temperature"),), lot_effect="action")


def refusal(document: Document, command: ChangeSettings | ChangeFactors) -> InputError:
    before = document.state
    with pytest.raises(InputError) as caught:
        document.execute(command)
    assert document.state is before
    assert caught.value.code in all_sentences()
    assert "{" not in error_sentence(caught.value)
    return caught.value


def test_attempts_may_share_a_lot_a_jar_nothing_or_a_choice(document: Document) -> None:
    wanted = ("jar", "none", "action", "lot")
    for name in wanted:
        document.execute(ChangeSettings(replace(document.state.settings, lot_effect=name)))
        assert document.state.settings.lot_effect == name
    undone = []
    for _ in wanted:
        document.undo()
        undone.append(document.state.settings.lot_effect)
    assert undone == ["action", "none", "jar", "lot"]


@pytest.mark.parametrize(
    ("settings", "code"),
    [
        (CampaignSettings(lot_effect="vessel"), "settings.lot_effect_unknown"),
        (CampaignSettings(lot_effect="Lot"), "settings.lot_effect_unknown"),
        (CampaignSettings(lot_effect=""), "settings.lot_effect_unknown"),
        (CampaignSettings(lot_effect="age"), "settings.lot_effect_of_number"),
        (CampaignSettings(humps=("bench",)), "factor.unknown"),
        (CampaignSettings(humps=("action",)), "design.hump_of_choice"),
        (CampaignSettings(products=(("age", "bench"),)), "factor.unknown"),
        (CampaignSettings(products=(("age", "age"),)), "design.product_of_itself"),
        (CampaignSettings(lot_sd_prior=float("inf")), "settings.prior_not_finite"),
        (CampaignSettings(form="straight"), "settings.form_unknown"),
        (CampaignSettings(form="two gates, hump in action at gate 1"), "settings.form_unknown"),
    ],
)
def test_names_that_the_model_cannot_use_are_refused(
    document: Document, settings: CampaignSettings, code: str
) -> None:
    assert refusal(document, ChangeSettings(settings)).code == code


def test_every_form_that_is_ever_weighed_can_be_pinned(document: Document) -> None:
    for number, (age, warmth) in enumerate(((2.0, 90.0), (9.0, 100.0), (30.0, 120.0), (50.0, 150.0))):
        tried = Conditions({"age": age, "temperature": warmth, "action": "fold"})
        parted = Parted.YES if number else Parted.NO
        document.execute(RecordAttempt(Attempt("", 0, tried, parted=parted)))
    forms = candidate_forms(*build_table(document.state))
    assert len(forms) > 5
    for form in forms:
        document.execute(ChangeSettings(replace(document.state.settings, form=form.key)))
        assert document.state.settings.form == form.key


def test_a_refused_lot_effect_tells_what_could_be_chosen(document: Document) -> None:
    words = error_sentence(refusal(document, ChangeSettings(CampaignSettings(lot_effect="vessel"))))
    assert "lot, jar, bench, none, action" in words


def test_squares_and_products_that_are_named_twice_stand_once(document: Document) -> None:
    pairs = (("age", "temperature"), ("action", "age"), ("temperature", "age"))
    document.execute(ChangeSettings(CampaignSettings(humps=("age", "temperature", "age"), products=pairs)))
    assert document.state.settings.humps == ("age", "temperature")
    assert document.state.settings.products == (("age", "temperature"), ("action", "age"))


@pytest.mark.parametrize(
    ("factors", "code"),
    [
        ((WARMTH, ACTION), "factor.in_model"),
        ((AGE, ACTION), "factor.in_model"),
        ((AGE, WARMTH), "factor.in_model"),
        ((Factor("age", levels=("young", "old")), WARMTH, ACTION), "factor.in_model_number"),
        ((AGE, WARMTH, Factor("action", "1/min", 1.0, 9.0)), "factor.in_model_choice"),
    ],
)
def test_a_factor_that_the_model_names_stays_and_keeps_its_kind(
    document: Document, factors: tuple[Factor, ...], code: str
) -> None:
    document.execute(ChangeSettings(MODEL))
    assert refusal(document, ChangeFactors(factors)).code == code


def test_hiding_takes_a_factor_out_of_the_model_and_showing_brings_it_back(document: Document) -> None:
    document.execute(ChangeSettings(MODEL))
    for action, age in (("swirl", 5.0), ("fold", 9.0)):
        tried = Conditions({"age": age, "temperature": 100.0, "action": action})
        document.execute(RecordAttempt(Attempt("", 0, tried, successes=1)))
    shown = analyse(document.state)
    assert shown.table.grouping == "action"
    factors = document.state.factors
    document.execute(ChangeFactors(tuple(replace(each, hidden=each.name != "temperature") for each in factors)))
    # Another setting can still be changed while the factors are hidden.
    document.execute(ChangeSettings(replace(document.state.settings, title="Other")))
    assert document.state.settings.humps == ("age",)
    hidden = analyse(document.state)
    assert (hidden.table.grouping, hidden.table.group) == ("none", None)
    assert [term.name for term in hidden.model.design.terms] == ["(intercept)", "temperature"]
    document.execute(ChangeFactors(factors))
    assert analyse(document.state).table.grouping == "action"


def test_a_new_session_is_held_to_the_same_rules(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        Document.create(tmp_path / "a.stirfall", replace(MODEL, lot_effect="vessel"), (AGE, WARMTH, ACTION))
    assert caught.value.code == "settings.lot_effect_unknown"
    assert not (tmp_path / "a.stirfall").exists()
    with Document.create(tmp_path / "b.stirfall", MODEL, (AGE, WARMTH, ACTION)) as made:
        assert made.state.settings == MODEL
