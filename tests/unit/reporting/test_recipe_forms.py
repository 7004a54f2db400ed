from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from stirfall.bench.estimates import Estimate, whole_percent
from stirfall.bench.factors import Conditions
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.json_form import recipe_json
from stirfall.reporting.markdown import plain, render_markdown
from stirfall.reporting.recipe import Recipe
from stirfall.reporting.shares import in_full
from stirfall.session.analysis import Analysis

Make = Callable[..., Recipe]
SCHEMA = json.loads(
    (Path(__file__).parents[3] / "resources" / "schemas" / "recipe.schema.json").read_text(encoding="utf-8")
)


def validator() -> jsonschema.Draft202012Validator:
    # The published meta-schema of JSON Schema 2020-12 comes with the library.
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    checker = jsonschema.Draft202012Validator.FORMAT_CHECKER
    return jsonschema.Draft202012Validator(SCHEMA, format_checker=checker)


def test_the_json_form_fits_its_schema(recipe: Recipe) -> None:
    document = json.loads(json.dumps(recipe_json(recipe), allow_nan=False))
    assert document["schema"] == "stirfall.recipe/1"
    validator().validate(document)


def test_a_blocked_recipe_and_one_without_attempts_fit_too(
    recipe_of: Make, superoxide: Analysis, usual: Conditions, analysis: Analysis
) -> None:
    for made in (recipe_of(superoxide, usual), recipe_of(analysis, Conditions())):
        validator().validate(json.loads(json.dumps(recipe_json(made))))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("probability", "percent"), 100),
        (("probability", "lower_percent"), 0),
        (("schema",), "stirfall.recipe/2"),
        (("cautions", "items"), []),
        (("limits",), []),
        (("blocked",), True),
        (("extra",), 1),
    ],
)
def test_the_schema_refuses_what_must_not_be(recipe: Recipe, path: tuple[str, ...], value: object) -> None:
    document = json.loads(json.dumps(recipe_json(recipe)))
    target = document
    for key in path[:-1]:
        target = target[key]
    target[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        validator().validate(document)


@pytest.mark.parametrize(("share", "shown"), [(0.0, 1), (0.004, 1), (0.625, 62), (0.996, 99), (1.0, 99)])
def test_no_probability_is_ever_shown_as_0_or_100(share: float, shown: int) -> None:
    assert whole_percent(share) == shown


def test_an_estimate_is_written_in_full() -> None:
    assert in_full(Estimate(0.62, 0.38, 0.81, 0.95, 47)) == "62\u2009%, 38 to 81\u2009%, 47 attempts"
    assert in_full(Estimate(0.5, 0.1, 0.9, 0.95, 1)).endswith("1 attempt")
    assert in_full(Estimate(0.5, 0.1, 0.9, 0.95, 481, of_trials=True)).endswith("481 trials")


def test_markdown_holds_every_part(recipe: Recipe) -> None:
    text = render_markdown(recipe)
    for heading in ("# Recipe", "## Conditions", "## Steps", "## Evidence", "## Limits", "## Cautions"):
        assert heading in text
    assert INVENTED_NOTICE in text
    assert in_full(recipe.probability) in text
    assert recipe.fingerprint in text
    for item in recipe.cautions.items:
        assert plain(item.text) in text
        assert plain(item.source) in text
    for step in recipe.steps:
        assert plain(step.text) in text
    for line in recipe.limits:
        assert plain(line) in text
    assert not re.search(r"\b(0|100)\u2009%(?! to)", text.split("## Evidence")[0].replace("10\u2009%", ""))


def test_markdown_tables_have_as_many_cells_in_each_row(recipe: Recipe) -> None:
    widths = {}
    for block in render_markdown(recipe).split("\n\n"):
        if block.startswith("|"):
            counts = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
            assert len(counts) == 1
            widths[block[:20]] = counts
    assert len(widths) == 3


def test_typed_text_cannot_change_the_page(recipe: Recipe) -> None:
    nasty = replace(recipe, title="# <script> [x](y) | `rm` *bold*\n## New", session_name="a|b")
    text = render_markdown(nasty)
    assert "<script>" not in text.replace("\\<script\\>", "")
    assert "\n## New" not in text
    assert text.splitlines()[0].startswith("# Recipe: \\# \\<script\\>")


def test_a_blocked_recipe_says_so_and_gives_no_steps(
    recipe_of: Make, superoxide: Analysis, usual: Conditions
) -> None:
    text = render_markdown(recipe_of(superoxide, usual))
    assert "**Stop:**" in text
    assert "No steps are given" in text
    assert "1. **" not in text


def test_the_decimal_comma_reaches_every_number(recipe_of: Make, analysis: Analysis, usual: Conditions) -> None:
    uneven = usual.with_value("rosin dose", 8.5).with_value("oil depth", 15.5)
    made = recipe_of(analysis, uneven, decimal=",")
    text = render_markdown(made, decimal=",")
    assert len(re.findall(r"\d,\d", text)) >= 3
    assert not re.search(r"\d\.\d", text.split("## Cautions")[0].replace("Stirfall 0.1.0", ""))


def test_the_table_of_the_curve_uses_times_that_people_say(recipe: Recipe) -> None:
    part = render_markdown(recipe).split("## Chance along sample age")[1].split("## Evidence")[0]
    firsts = [line.split("|")[1].strip() for line in part.splitlines() if line.startswith("|")][2:]
    assert firsts == [f"{text}" for text in (
        "30\u2009min", "60\u2009min", "2\u2009h", "4\u2009h", "8\u2009h", "12\u2009h", "24\u2009h", "2\u2009days",
        "4\u2009days",
    )]  # fmt: skip
    assert part.count("untested") == 1 + 1
