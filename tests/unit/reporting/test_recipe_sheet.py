"""The bench sheet, the words around the recipe, and a recipe read again from its JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.reporting.recipe import Recipe
from stirfall.reporting.recipe_batch import BatchOrder
from stirfall.reporting.recipe_compare import (
    changed_evidence,
    compare_recipes,
    comparison_json,
    comparison_markdown,
)
from stirfall.reporting.recipe_evidence import attempt_digest
from stirfall.reporting.recipe_handbook import number_list
from stirfall.reporting.recipe_issue import issued_of, issued_recipe, issued_rows, shown_again
from stirfall.reporting.recipe_read import recipe_from_text
from stirfall.reporting.recipe_sheet import clock_text, code_text, make_bench_sheet, sheet_json, short_mark
from stirfall.reporting.recipe_sheet_markdown import sheet_markdown
from stirfall.reporting.recipe_text import recipe_text
from stirfall.reporting.square_code import square_code
from stirfall.session.analysis import Analysis, analyse

Make = Callable[..., Recipe]
SCHEMA = json.loads((Path(__file__).parents[3] / "resources/schemas/recipe.schema.json").read_text("utf-8"))


@pytest.fixture(scope="session")
def scaled(recipe_of: Make, analysis: Analysis, usual: Conditions) -> Recipe:
    return recipe_of(analysis, usual, batch=BatchOrder(charge_g=50.0, stirrer_mm=70.0))


# ------------------------------------------------------------------------------------------------------ the sheet


def test_every_caution_and_every_limit_is_on_the_sheet(
    scaled: Recipe, recipe_of: Make, superoxide: Analysis
) -> None:
    blocked = recipe_of(superoxide, Conditions({"sample age": 90.0}))
    assert blocked.blocked
    for recipe in (scaled, blocked):
        sheet = make_bench_sheet(recipe)
        assert sheet.cautions == recipe.cautions
        assert sheet.limits == recipe.limits
        text, document = sheet_markdown(sheet), json.dumps(sheet_json(sheet), ensure_ascii=False)
        for caution in recipe.cautions.items:
            assert json.dumps(caution.text, ensure_ascii=False)[1:-1] in document
            assert caution.text.split(".")[0] in text
        assert recipe.cautions.headline in text
        assert text.count("## Limits") == 1


def test_steps_have_values_tolerances_and_timers(scaled: Recipe) -> None:
    steps = {step.heading: step for step in make_bench_sheet(scaled).steps}
    stir = steps["Stir"]
    speed, time = stir.values
    assert (speed.name, speed.value.replace("\u2009", " ")) == ("stirring speed", "45 per min")
    assert speed.tolerance.replace("\u2009", " ").endswith("per min")
    assert (stir.timer, stir.timed) == ("2:00", "stirring time")
    assert time.tolerance
    assert {value.name for step in steps.values() for value in step.values} == {each.name for each in scaled.values}
    assert "- [ ] stirring time" in sheet_markdown(make_bench_sheet(scaled))


def test_a_sheet_that_forbids_gives_no_steps(recipe_of: Make, dross: CampaignState, usual: Conditions) -> None:
    cold = analyse(replace(dross, settings=replace(dross.settings, oil_flash_c=None)))
    sheet = make_bench_sheet(recipe_of(cold, usual))
    assert sheet.steps == ()
    assert sheet.stops
    assert "## Stop" in sheet_markdown(sheet)


def test_no_superoxide_former_is_asked_to_wait_on_the_bench(recipe_of: Make, superoxide: Analysis) -> None:
    usual = Conditions({each.name: each.middle for each in superoxide.limits.factors})
    made = recipe_of(superoxide, Conditions({**usual, **superoxide.limits.ceilings}))
    sheet = make_bench_sheet(made)
    assert sheet.steps
    told = " ".join(value.tolerance for each in sheet.steps for value in each.values)
    assert "at most" in told or "no slack" in told
    assert "Do not wait" in " ".join(each.text for each in sheet.steps)
    for step in made.steps:
        said = " ".join((step.bench, step.see, step.otherwise)).replace("Do not wait", "")
        assert not re.search(r"\b(wait|longer|yet|older|aged?)\b", said, re.IGNORECASE), said
    unknown = " ".join(made.handbook.unknown) if made.handbook else ""
    assert "no reason to age one" in unknown


@pytest.mark.parametrize(("seconds", "shown"), [(5, "0:05"), (120, "2:00"), (3599.6, "1:00:00"), (5400, "1:30:00")])
def test_a_timer_shows_minutes_and_seconds(seconds: float, shown: str) -> None:
    assert clock_text(seconds) == shown


def test_number_and_session_stand_in_a_small_square_code(scaled: Recipe) -> None:
    assert code_text(scaled) == ""
    text = code_text(replace(scaled, number=12))
    assert text == "STIRFALL RECIPE 12 0123456789AB"
    # ISO/IEC 18004: letters, digits and spaces alone make an alphanumeric code; version 3 has 29 modules.
    assert len(square_code(text).rows) <= 29
    assert short_mark("0123456789abcdef") == "0123 4567 89ab"


# ------------------------------------------------------------------------------------------- the words around it


def test_the_recipe_says_what_was_tested_failed_and_is_not_known(recipe: Recipe, dross: CampaignState) -> None:
    book = recipe.handbook
    assert book is not None
    graded = [each for each in dross.attempts if each.clean_count is not None]
    failed = [each for each in graded if each.clean_count != (1, 1)]
    assert book.failures[0] == f"{len(failed)} of {len(graded)} attempts used were not clean."
    told = " ".join(book.failures)
    assert all(f"Attempt {each.number} was broken off" in told for each in dross.attempts if each.aborted)
    reached = [each.conditions.number("temperature") or 0.0 for each in graded]
    line = next(each for each in book.tested if each.startswith("temperature"))
    assert f"{min(reached):g} to {max(reached):g}" in line
    assert any("Lots of crude behind the answer: 4" in each for each in book.unknown)
    assert any("no count fixed beforehand".casefold() in each.casefold() for each in book.unknown)
    assert recipe.fingerprint in " ".join(book.references)


def test_each_step_says_what_should_be_seen_and_what_to_do_when_not(recipe: Recipe) -> None:
    assert all(step.see and step.otherwise and step.bench for step in recipe.steps)


@pytest.mark.parametrize(
    ("numbers", "shown"), [([], ""), ([3], "3"), ([1, 2, 3, 7, 9, 10], "1 to 3, 7, 9 to 10"), ([5, 5, 4], "4 to 5")]
)
def test_numbers_are_written_as_runs(numbers: list[int], shown: str) -> None:
    assert number_list(numbers) == shown


# ------------------------------------------------------------------------------------------------ issued and read


@pytest.mark.parametrize("material", [None, MaterialClass.ALKALI_METAL, MaterialClass.SUPEROXIDE_FORMER])
def test_a_recipe_read_from_its_json_is_written_byte_for_byte_the_same(
    recipe_of: Make, dross: CampaignState, usual: Conditions, material: MaterialClass | None
) -> None:
    state = dross if material is None else replace(dross, settings=replace(dross.settings, material=material))
    made = recipe_of(analyse(state), usual, batch=BatchOrder(charge_g=120.0, jar_mm=60.0))
    text = recipe_text(made, ".json")
    again = recipe_from_text(text)
    assert recipe_text(again, ".json") == text
    assert recipe_text(replace(again, source=""), ".json") == text  # written anew from what was read
    assert recipe_text(again, ".md") == recipe_text(made, ".md")
    assert sheet_markdown(make_bench_sheet(again)) == sheet_markdown(make_bench_sheet(made))


def test_a_recipe_of_the_first_version_is_still_read(recipe: Recipe) -> None:
    old = json.loads(recipe_text(recipe, ".json"))
    for name in ("batch", "handbook"):
        del old[name]
    for name in ("attempts", "clean", "trials"):
        del old["evidence"][name]
    old["steps"] = [{"heading": each["heading"], "text": each["text"]} for each in old["steps"]]
    for point in old["curve"]["points"]:
        point.pop("drawn_permille")
    jsonschema.validate(old, SCHEMA)
    again = recipe_from_text(json.dumps(old), number=1)
    assert again.batch is None
    assert "## Cautions" in recipe_text(again, ".md")
    assert make_bench_sheet(again).batch == "Batch size not known"


def test_what_a_newer_program_added_is_kept_though_it_is_not_known(recipe: Recipe) -> None:
    newer = json.loads(recipe_text(recipe, ".json"))
    newer["moon"] = {"phase": "full"}
    again = recipe_from_text(json.dumps(newer), number=1)
    assert json.loads(recipe_text(again, ".json")) == newer
    assert recipe_text(replace(again, number=None), ".md") == recipe_text(recipe, ".md")


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"schema": "stirfall.recipe/1"}', '{"schema": "other"}'])
def test_what_is_no_recipe_is_said(text: str) -> None:
    with pytest.raises(InputError) as caught:
        recipe_from_text(text, number=3)
    assert caught.value.code == "recipe.not_readable"


def _put(document: object, path: Sequence[str | int], value: object) -> None:
    for key in path[:-1]:
        document = document[key]
    document[path[-1]] = value


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("conditions", 0, "value"), 1e308),
        (("conditions", 0, "low"), float("nan")),
        (("probability", "percent"), float("inf")),
        (("curve", "tried"), [1.0]),
        (("curve", "points"), []),
        (("curve", "points", 1, "x"), 0.0),
        (("steps", 5, "timer_s"), 1e400),
        (("material", "class"), "unobtainium"),
        (("evidence", "attempts"), [None]),
        (("created_at",), "yesterday"),
        (("cautions",), []),
    ],
)
def test_a_document_that_was_tampered_with_ends_in_a_message(
    recipe: Recipe, path: Sequence[str | int], value: object
) -> None:
    document = json.loads(recipe_text(recipe, ".json"))
    _put(document, path, value)
    with pytest.raises(InputError) as caught:
        recipe_from_text(json.dumps(document), number=1)
    assert caught.value.code == "recipe.not_readable"


def test_a_blocked_recipe_is_not_issued(recipe: Recipe) -> None:
    with pytest.raises(InputError) as caught:
        issued_of(replace(recipe, blocked=True))
    assert caught.value.code == "recipe.blocked"


def test_the_list_says_chance_with_interval_and_names_what_cannot_be_read(recipe: Recipe) -> None:
    kept = replace(issued_of(recipe, note=" to try "), number=1)
    broken = replace(kept, number=2, document="{}")
    first, second = issued_rows([broken, kept])
    assert (first.number, first.note, first.attempts) == (1, "to try", recipe.evidence.used)
    assert " to " in first.chance
    assert "cannot be read" in second.problem
    with pytest.raises(InputError) as caught:
        issued_recipe([kept], 7)
    assert caught.value.code == "recipe.no_number"


# ------------------------------------------------------------------------------------------------------- compared


def test_what_became_of_the_attempts_is_told_one_by_one(
    recipe_of: Make, dross: CampaignState, usual: Conditions
) -> None:
    first = shown_again(replace(issued_of(recipe_of(analyse(dross), usual)), number=1))
    clean = [each for each in dross.attempts if each.clean_count == (1, 1)]
    struck, corrected = clean[0], clean[1]
    changed = {
        struck.id: replace(struck, struck_reason="oil ran over"),
        corrected.id: replace(corrected, conditions=corrected.conditions.with_value("rosin dose", 9.5)),
    }
    new = replace(clean[2], id="new", number=1 + max(each.number for each in dross.attempts))
    attempts = (*(changed.get(each.id, each) for each in dross.attempts), new)
    second = recipe_of(analyse(replace(dross, attempts=attempts)), usual)
    found = changed_evidence(first.evidence.attempts, second.evidence.attempts)
    assert (found.added, found.struck, found.corrected) == ((new.number,), (struck.number,), (corrected.number,))
    assert (found.unstruck, found.missing) == ((), ())
    compared = compare_recipes(first, second)
    said = " ".join(compared.sentences)
    assert f"Struck out since: 1 attempt ({struck.number})." in said
    assert f"Corrected since: 1 attempt ({corrected.number})." in said
    assert "All conditions are the same." in said
    assert compared.evidence == found


def test_a_note_does_not_count_as_a_correction(dross: CampaignState) -> None:
    attempt = dross.attempts[0]
    assert attempt_digest(replace(attempt, note="seen later", struck_reason="x")) == attempt_digest(attempt)
    assert attempt_digest(replace(attempt, trials=2)) != attempt_digest(attempt)


def test_moved_conditions_ranges_and_chance_stand_in_words_and_in_the_table(
    recipe: Recipe, recipe_of: Make, analysis: Analysis, usual: Conditions
) -> None:
    other = recipe_of(analysis, usual.with_value("temperature", 150.0))
    compared = compare_recipes(replace(recipe, number=1), other)
    row = next(row for row in compared.rows if row.name == "temperature")
    assert row.moved.startswith("lower")
    chance = next(row for row in compared.rows if row.name == "chance")
    assert " to " in chance.first
    assert chance.moved.endswith(("lower", "higher"))
    assert any("The chance went from" in text for text in compared.sentences)
    assert "Both rest on the same attempts, unchanged." in compared.sentences
    assert comparison_json(compared)["first"] == compared.first
    assert compared.second in comparison_markdown(compared)


def test_another_batch_is_said_in_words(recipe_of: Make, analysis: Analysis, usual: Conditions) -> None:
    small, large = (recipe_of(analysis, usual, batch=BatchOrder(charge_g=size)) for size in (20.0, 50.0))
    said = compare_recipes(small, large).sentences
    assert "“batch” went from 20\u2009g to 50\u2009g." in said


def test_a_recipe_against_itself_says_that_nothing_changed(recipe: Recipe) -> None:
    compared = compare_recipes(recipe, recipe)
    assert all(row.moved == "" for row in compared.rows)
    assert compared.evidence.is_none


def test_attempts_that_are_too_many_to_list_are_not_said_to_be_the_same(recipe: Recipe) -> None:
    unlisted = replace(recipe, evidence=replace(recipe.evidence, attempts=()))
    compared = compare_recipes(unlisted, recipe)
    assert not compared.evidence.listed
    assert not compared.evidence.is_none
    assert any("too many attempts to follow" in text for text in compared.sentences)
