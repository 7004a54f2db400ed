"""What a recipe says about how its answer was found: forms, lots, and what partly parted counts as."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.reporting.markdown import render_markdown
from stirfall.reporting.recipe import Recipe
from stirfall.reporting.recipe_method import method_sentences, partly_rule
from stirfall.session.analysis import Analysis, analyse

AGE = Factor("sample age", "h", 1.0, 100.0, "log")
BENCH = Factor("bench", levels=("window", "door"))
Make = Callable[..., Recipe]


def attempt(number: int, age: float, parted: Parted, pooled: Pooled | None = None) -> Attempt:
    tried = Conditions({"sample age": age, "bench": "door" if number % 3 else "window"})
    return Attempt(f"a{number}", number, tried, parted=parted, pooled=pooled, lot_id=f"L{number % 2}")


ATTEMPTS = (
    attempt(1, 2.0, Parted.NO),
    attempt(2, 4.0, Parted.PARTLY, Pooled.ONE_POOL),
    attempt(3, 8.0, Parted.PARTLY, Pooled.BEADS),
    attempt(4, 20.0, Parted.YES, Pooled.ONE_POOL),
    attempt(5, 50.0, Parted.YES, Pooled.ONE_POOL),
    attempt(6, 90.0, Parted.YES, Pooled.BEADS),
)


def refined(*attempts: Attempt, **settings: object) -> Analysis:
    lots = (Lot("L0"), Lot("L1"))
    settled = CampaignSettings(oil_flash_c=225.0, **settings)  # type: ignore[arg-type]
    return analyse(CampaignState(settled, (AGE, BENCH), lots, attempts=attempts or ATTEMPTS), refined=True)


def said(analysis: Analysis, words: str) -> str:
    (found,) = [text for text in method_sentences(analysis) if words in text]
    return found


def test_every_form_that_weighs_much_is_named_and_the_rest_counted() -> None:
    analysis = refined()
    text = said(analysis, "forms are weighed")
    assert text.startswith(f"{len(analysis.forms)} forms are weighed")
    assert ("Their scores do not differ beyond their noise." in text) != analysis.forms_differ
    assert f"{len(analysis.forms) - 3} more share the rest" in text
    heaviest = max(analysis.forms, key=lambda score: score.weight)
    assert f"{round(100 * heaviest.weight)} %" in text.replace("\u2009", " ").replace("\u202f", " ")
    assert "In forms with two gates" in method_sentences(analysis)[0]
    assert said(analysis, "straight line").endswith("but for the humps of the forms named below.")


def test_a_pinned_form_is_named_alone() -> None:
    free = refined()
    key = next(score.form.key for score in free.forms if score.form.humps == (None,))
    pinned = refined(form=key)
    assert said(pinned, "Only one form is used") == (
        "Only one form is used, as the campaign settings say: one gate, straight."
    )
    assert "(one gate)" in method_sentences(pinned)[0]
    assert said(pinned, "straight line").endswith("on its own scale.")


def test_lots_that_are_allowed_for_are_told_with_whom_the_answer_is_for() -> None:
    analysis = refined(lot_sd_prior=0.5)
    assert "same lot may be alike" in said(analysis, "alike")
    assert "(2 known): half-normal prior of scale 0.5" in said(analysis, "alike")
    assert "a new one" in said(analysis, "The chance is for")
    assert said(analysis.for_lot("L1"), "The chance is for") == "The chance is for “L1”."
    assert "counts as independent" in said(refined(lot_effect="none"), "independent")
    assert "Fewer than two" in said(refined(lot_effect="jar"), "jar")


def test_many_attempts_are_said_to_be_approximated() -> None:
    many = [replace(ATTEMPTS[n % 6], id=f"m{n}", number=n + 1, lot_id=f"L{n % 2}") for n in range(500)]
    assert "normal approximation" in said(refined(*many), "Found by")
    assert "importance sampling" in said(refined(), "Found by")


def test_a_first_answer_says_that_it_is_one() -> None:
    first = analyse(refined().state)
    assert "A first answer: one form" in said(first, "first answer")
    assert not [text for text in method_sentences(first) if "The chance is for" in text]


@pytest.mark.parametrize(("partly", "told"), [("failed", False), ("success", True), ("ordinal", True)])
def test_what_partly_counts_as_is_told_where_the_record_does_not_show_it(
    partly: str, told: bool, recipe_of: Make
) -> None:
    analysis = refined(partly=partly)
    rule = partly_rule(analysis)
    assert bool(rule) == told
    recipe = recipe_of(analysis, Conditions({"sample age": 20.0, "bench": "door"}))
    for text in rule:
        assert f"counts as {'success' if partly == 'success' else 'between'}" in text
        assert "2 attempts of those used" in text
        assert text in recipe.evidence.sentences
        assert text in render_markdown(recipe)
    assert ("recipe.partly.success" in [remark.code for remark in recipe.remarks]) == (partly == "success")


def test_counts_keep_the_words_of_the_record_whatever_partly_counts_as(recipe_of: Make) -> None:
    counted = []
    for partly in ("failed", "success", "ordinal"):
        evidence = recipe_of(refined(partly=partly), Conditions({"sample age": 20.0, "bench": "door"})).evidence
        counted.append((evidence.outcomes, evidence.clean))
    assert counted[0] == counted[1] == counted[2]
    assert (str(Outcome.PARTLY_PARTED), 2) in counted[0][0]
    assert counted[0][1] == 2


def test_partly_as_success_raises_the_chance_and_the_ordinal_form_does_not_make_it_clean() -> None:
    conditions = Conditions({"sample age": 4.0, "bench": "door"})
    means = {
        partly: refined(partly=partly).estimate(conditions).mean for partly in ("failed", "success", "ordinal")
    }
    assert means["success"] > means["failed"] + 0.05
    assert means["success"] > means["ordinal"]


def test_a_choice_that_attempts_share_is_not_called_too_seldom_recorded(recipe_of: Make) -> None:
    recipe = recipe_of(refined(lot_effect="bench"), Conditions({"sample age": 20.0, "bench": "door"}))
    (bench,) = [value for value in recipe.values if value.name == "bench"]
    assert "shared by attempts" in bench.note
    assert "too few" not in bench.note


def test_the_recipe_answers_for_the_level_that_it_names(recipe_of: Make) -> None:
    analysis = refined(lot_effect="bench")
    conditions = Conditions({"sample age": 20.0, "bench": "door"})
    recipe = recipe_of(analysis, conditions)
    assert recipe.probability == analysis.for_lot("door").estimate(conditions)
    assert recipe.probability != analysis.estimate(conditions)
    assert "The chance is for “door”." in recipe.evidence.sentences


def test_products_and_squares_of_the_settings_are_told() -> None:
    shapes = said(refined(humps=("sample age",), products=(("sample age", "bench"),)), "straight line")
    assert "hump in sample age" in shapes
    assert "product of sample age and bench" in shapes


def test_attempts_that_are_left_out_do_not_count_as_partly() -> None:
    struck = replace(ATTEMPTS[1], struck_reason="wrong jar")
    analysis = refined(ATTEMPTS[0], struck, *ATTEMPTS[2:], partly="success")
    assert "(1 attempt of those used" in partly_rule(analysis)[0]
