from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from stirfall import __version__
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.markdown import render_markdown
from stirfall.reporting.recipe import Recipe
from stirfall.reporting.shares import in_full
from stirfall.session.analysis import Analysis, analyse

Make = Callable[..., Recipe]


def steps_text(recipe: Recipe) -> str:
    return " ".join(f"{step.heading}: {step.text}" for step in recipe.steps)


def test_the_recipe_carries_value_evidence_and_origin(
    recipe: Recipe, analysis: Analysis, usual: Conditions
) -> None:
    assert recipe.probability == analysis.estimate(usual)
    assert dict(recipe.gates) == analysis.gate_estimates(usual)
    assert recipe.program_version == __version__
    assert recipe.fingerprint == "0123456789abcdef" * 4
    assert recipe.invented
    assert {value.name: value.value for value in recipe.values} == dict(usual)
    evidence = recipe.evidence
    assert sum(count for _, count in evidence.outcomes) == evidence.used == analysis.counts.used
    assert sum(count for _, count in evidence.left_out) == analysis.counts.left_out
    assert evidence.inside[0] <= evidence.inside[1] <= evidence.used
    assert evidence.draws >= 4096


def test_attempts_inside_all_ranges_are_counted_by_hand(recipe: Recipe, dross: CampaignState) -> None:
    clean = trials = 0
    for attempt in dross.attempts:
        if attempt.clean_count is None:
            continue
        values = [attempt.conditions.number(value.name) for value in recipe.values]
        if any(value is None for value in values):
            continue
        if all(v.low <= x <= v.high for v, x in zip(recipe.values, values, strict=True)):  # type: ignore[operator]
            clean, trials = clean + attempt.clean_count[0], trials + 1
    assert recipe.evidence.inside == (clean, trials)


def test_each_factor_is_told_in_exactly_one_step(recipe: Recipe) -> None:
    for value in recipe.values:
        shown = value.shown().replace("per\u2009min", "turns a minute").replace("90\u2009", "90 ")
        whole = rf"(?<!\d){re.escape(shown)}"  # "2 min" is not told by the end of "162 min"
        assert len(re.findall(whole, steps_text(recipe))) == 1, value.name


def test_the_steps_come_in_the_order_of_the_bench(recipe: Recipe) -> None:
    headings = [step.heading for step in recipe.steps]
    assert headings == [
        "Check", "Take", "Prepare", "Warm", "Add", "Stir", "Settle", "Cool", "Weigh", "Record",
    ]  # fmt: skip


def test_cautions_and_limits_are_always_in_it(recipe: Recipe) -> None:
    assert recipe.cautions == load_cautions(MaterialClass.BASE_METAL)
    said = " ".join(recipe.limits)
    assert "138\u2009°C" in said
    assert "225\u2009°C" in said
    assert "145 to 170\u2009°C" in said
    assert "Local rules" in said


def test_values_that_were_not_given_are_named(recipe_of: Make, analysis: Analysis, usual: Conditions) -> None:
    recipe = recipe_of(analysis, Conditions({"temperature": 160.0}))
    filled = {value.name for value in recipe.values if value.filled}
    assert filled == set(usual) - {"temperature"}
    (remark,) = [remark for remark in recipe.remarks if remark.code == "recipe.filled"]
    assert "sample age" in remark.text


def test_an_unknown_factor_is_refused(recipe_of: Make, analysis: Analysis) -> None:
    with pytest.raises(InputError) as caught:
        recipe_of(analysis, Conditions({"colour": 1.0}))
    assert caught.value.code == "factor.unknown"


def test_what_lies_outside_the_tried_range_is_said(recipe_of: Make, analysis: Analysis, usual: Conditions) -> None:
    recipe = recipe_of(analysis, usual.with_value("oil depth", 30.0))
    assert any(remark.code == "limits.outside_tried" and "oil depth" in remark.text for remark in recipe.remarks)
    (value,) = [value for value in recipe.values if value.name == "oil depth"]
    assert not value.tried
    assert value.shown_range() == ""


def test_a_temperature_near_the_flash_point_gets_no_steps_no_ranges_and_no_curve(
    recipe_of: Make, analysis: Analysis, usual: Conditions
) -> None:
    recipe = recipe_of(analysis, usual.with_value("temperature", 205.0))
    assert recipe.blocked
    assert recipe.steps == ()
    assert recipe.curve is None
    assert all(value.low is None and value.high is None for value in recipe.values)
    assert recipe.remarks[0].level == "block"
    assert "flash point" in recipe.remarks[0].text


def test_an_unknown_flash_point_blocks_the_recipe(recipe_of: Make, dross: CampaignState, usual: Conditions) -> None:
    unknown = replace(dross, settings=replace(dross.settings, oil_flash_c=None))
    recipe = recipe_of(analyse(unknown), usual)
    assert recipe.blocked
    assert any("flash point" in line and "Heat nothing" in line for line in recipe.limits)


def test_few_attempts_are_said(recipe_of: Make, dross: CampaignState, usual: Conditions) -> None:
    recipe = recipe_of(analyse(replace(dross, attempts=dross.attempts[:6])), usual)
    codes = {remark.code for remark in recipe.remarks}
    assert {"recipe.few_attempts", "recipe.wide"} <= codes


# ---------------------------------------------------------------------------------------------- superoxide formers


def test_a_longer_exposure_than_was_ever_recorded_blocks_the_recipe(
    recipe_of: Make, superoxide: Analysis, usual: Conditions
) -> None:
    recipe = recipe_of(superoxide, usual)
    assert recipe.blocked
    assert recipe.steps == ()
    assert {r.code for r in recipe.remarks if r.level == "block"} == {"recipe.longer_exposure"}


def test_no_step_and_no_range_of_a_superoxide_former_asks_for_waiting(
    recipe_of: Make, superoxide: Analysis, usual: Conditions
) -> None:
    shortest = superoxide.limits.ceilings
    recipe = recipe_of(superoxide, Conditions({**usual, **shortest}))
    assert not recipe.blocked
    said = steps_text(recipe)
    assert "Do not wait" in said
    assert f"sample age is at most 45\u2009min" in said  # noqa: F541
    for value in recipe.values:
        if value.name in shortest:
            assert (value.low, value.high) == (None, value.value)
            assert value.shown_range() == f"at most {value.shown()}"
            assert "never longer" in value.note
    assert recipe.curve is not None
    assert recipe.curve.factor == "temperature"
    assert any("never suggested" in line for line in recipe.limits)
    assert "out of the question" in " ".join(item.text for item in recipe.cautions.items)


def test_without_records_the_lowest_allowed_exposure_is_the_ceiling(
    recipe_of: Make, usual: Conditions, superoxide: Analysis
) -> None:
    empty = analyse(replace(superoxide.state, attempts=()))
    assert recipe_of(empty, usual).blocked
    assert not recipe_of(empty, Conditions({**usual, **empty.limits.pinned})).blocked


def test_reactive_metal_is_lifted_only_when_cold(recipe_of: Make, superoxide: Analysis, usual: Conditions) -> None:
    recipe = recipe_of(superoxide, Conditions({**usual, **superoxide.limits.ceilings}))
    assert "no warmer than 40\u2009°C" in steps_text(recipe)


# ----------------------------------------------------------------------------------------- other kinds of campaigns


def test_choices_a_missing_additive_and_one_gate_read_well(recipe_of: Make) -> None:
    factors = (
        Factor("temperature", "C", 80, 120),
        Factor("stirring action", levels=("swirl", "fold", "press")),
        Factor("additive", levels=("none", "additive A")),
        Factor("additive dose", "mg/g", 0, 10),
        Factor("hot time before stirring", "min", 1, 60),
        Factor("settling time", "min", 1, 10),
    )
    base = {"temperature": 100.0, "additive": "none", "additive dose": 0.0, "settling time": 5.0}
    tried = tuple(
        Attempt(
            f"a{index}",
            index,
            Conditions({**base, "stirring action": action, "hot time before stirring": 5.0 + index}),
            parted=Parted.YES if clean else Parted.NO,
            pooled=Pooled.ONE_POOL if clean else None,
        )
        for index, (action, clean) in enumerate([("fold", True), ("swirl", False)] * 8)
    )
    settings = CampaignSettings(melting_point_c=70, oil_flash_c=200, gates=1, material=MaterialClass.BASE_METAL)
    analysis = analyse(CampaignState(settings, factors, attempts=tried))
    recipe = recipe_of(analysis, Conditions({**base, "stirring action": "fold", "hot time before stirring": 9.0}))
    said = steps_text(recipe)
    assert "Stir by folding" in said
    assert "Add no additive" in said
    assert "Hold it hot for 9\u2009min" in said
    assert "settle for 5\u2009min" in said
    (action,) = [value for value in recipe.values if value.name == "stirring action"]
    assert action.levels == ("fold",)


def test_a_campaign_without_attempts_still_gives_an_honest_recipe(
    recipe_of: Make, dross: CampaignState, usual: Conditions
) -> None:
    recipe = recipe_of(analyse(replace(dross, attempts=())), usual)
    assert recipe.evidence.used == 0
    assert recipe.probability.upper - recipe.probability.lower > 0.8
    assert recipe.evidence.inside == (0, 0)
    assert "No attempt lies inside every range above." in recipe.evidence.lines("every range above")
    assert {remark.code for remark in recipe.remarks} >= {"recipe.few_attempts", "recipe.wide"}


def test_attempts_that_hold_several_trials_are_not_counted_as_one_each(recipe_of: Make) -> None:
    speed = Factor("stirring speed", "1/min", 20.0, 180.0)
    rows = ((40.0, 5, 6), (90.0, 4, 6), (160.0, 0, 4))
    attempts = tuple(
        Attempt(f"a{number}", number, Conditions({"stirring speed": at}), successes=clean, trials=trials)
        for number, (at, clean, trials) in enumerate(rows, 1)
    )
    grouped = analyse(CampaignState(CampaignSettings(), (speed,), attempts=attempts))
    recipe = recipe_of(grouped, Conditions({"stirring speed": 90.0}))
    text = render_markdown(recipe)
    assert in_full(recipe.probability).endswith("16 trials")
    assert in_full(recipe.probability) in text
    assert "16 attempts" not in text
    assert recipe.evidence.lines("every range above")[0] == "3 attempts used: 3 counted; 9 clean of 16 trials."
    single = analyse(replace(grouped.state, attempts=tuple(replace(a, successes=1, trials=1) for a in attempts)))
    assert in_full(recipe_of(single, Conditions({"stirring speed": 90.0})).probability).endswith("3 attempts")
