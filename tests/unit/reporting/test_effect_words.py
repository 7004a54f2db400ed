"""Effects, the advice about the exposure, and recovery, as they are read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Factor, Scale
from stirfall.inference.direction import Direction
from stirfall.inference.effect_steps import LEVEL_STEP, Step
from stirfall.inference.effects import Effect, Hump, Multiplier
from stirfall.reporting.direction_words import direction_sentence
from stirfall.reporting.effect_words import (
    effect_lines,
    effect_notes,
    effect_sentence,
    odds_factor,
    outcome_words,
)
from stirfall.reporting.recovery_words import grams_sentence
from stirfall.session.recovery import ExpectedGrams

OIL_TIME = Factor("time under oil", "h", 0.5, 96.0, Scale.LOG)
TEMPERATURE = Factor("temperature", "C", 80.0, 180.0)
DOSE = Factor("additive dose", "mg/g", 0.0, 20.0)
SPEED = Factor("stirring speed", "1/min", 20.0, 180.0)
ADDITIVE = Factor("additive", levels=("none", "rosin", "acid"))
SIZE = Multiplier(2.3, 2.31, 1.2, 5.1, 0.95, 0.97)


def effect(factor=OIL_TIME, step=None, size=SIZE, **fields):
    return Effect(fields.pop("gate", "parted"), factor, step or Step("ratio", 2.0), size, **fields)


def said(*arguments, may_wait=True, decimal=".", **fields):
    text = effect_sentence(effect(*arguments, **fields), may_wait=may_wait, decimal=decimal)
    return text.replace("\u2009", " ")


def test_a_doubling_in_one_sentence():
    assert said() == (
        "Each doubling of time under oil multiplies the odds of parting by 2.3 (1.2 to 5.1); "
        "97 % sure that longer is better."
    )


def test_the_decimal_sign_is_the_users():
    assert "by 2,3 (1,2 to 5,1)" in said(decimal=",")
    assert "by a factor of 1,2 " in said(OIL_TIME, Step("ratio", 1.2), decimal=",")


@pytest.mark.parametrize(
    ("factor", "step", "start", "better"),
    [
        (TEMPERATURE, Step("amount", 20.0), "Each rise of temperature by 20 °C", "hotter"),
        (DOSE, Step("amount", 5.0), "Each rise of additive dose by 5 mg/g", "more"),
        (SPEED, Step("amount", 50.0), "Each rise of stirring speed by 50 1/min", "higher"),
        (OIL_TIME, Step("ratio", 10.0), "Each tenfold rise of time under oil", "longer"),
        (OIL_TIME, Step("ratio", 1.2), "Each rise of time under oil by a factor of 1.2", "longer"),
    ],
)
def test_each_kind_of_factor_has_its_step_and_its_word(factor, step, start, better):
    text = said(factor, step)
    assert text.startswith(f"{start} multiplies the odds of parting by 2.3")
    assert text.endswith(f"97 % sure that {better} is better.")


@pytest.mark.parametrize(
    ("probability", "end"),
    [
        (0.999, "above 99 % sure that longer is better."),
        (0.95, "95 % sure that longer is better."),
        (0.94, "probably longer is better (94 %)."),
        (0.80, "probably longer is better (80 %)."),
        (0.79, "not known yet which way is better (79 % that longer is better)."),
        (0.30, "not known yet which way is better (70 % that shorter is better)."),
        (0.10, "probably shorter is better (90 %)."),
        (0.01, "99 % sure that shorter is better."),
    ],
)
def test_the_wording_follows_the_probability_of_the_sign(probability, end):
    assert said(OIL_TIME, None, replace(SIZE, prob_above=probability)).endswith(f"; {end}")


def test_levels_are_set_against_each_other_or_the_average():
    pair = said(ADDITIVE, LEVEL_STEP, level="rosin", against="none", gate="pooled")
    assert pair.startswith(
        "For additive, “rosin” instead of “none” multiplies the odds of pooling after parting by"
    )
    assert pair.endswith("sure that “rosin” is better than “none”.")
    worse = said(ADDITIVE, LEVEL_STEP, replace(SIZE, prob_above=0.02), level="rosin", against="none")
    assert worse.endswith("98 % sure that “none” is better than “rosin”.")
    one = said(ADDITIVE, LEVEL_STEP, level="acid", gate="clean")
    assert one.startswith(
        "For additive, “acid” instead of the average of those tried multiplies the odds of a clean"
    )
    assert one.endswith("“acid” is better than the average.")


def test_what_never_varied_says_so_without_a_number():
    assert said(OIL_TIME, None, None, n=5) == (
        "“time under oil” never varied where attempts tell about parting, so its effect is not known."
    )
    assert "No attempt tells about parting yet" in said(OIL_TIME, None, None, n=0)
    assert "“acid” (additive) was never tried" in said(ADDITIVE, LEVEL_STEP, None, level="acid")


def test_no_longer_exposure_is_ever_called_better_where_the_metal_must_not_wait():
    text = said(may_wait=False)
    assert "longer is better" not in text
    assert text.endswith("For this metal no longer exposure is ever advised, whatever this number says.")
    assert said(TEMPERATURE, Step("amount", 20.0), may_wait=False).endswith("hotter is better.")
    hump = Hump(1.0, 0.9, 0.8, 12.0, 6.0, 40.0)
    assert "best value" not in said(may_wait=False, hump=hump)


def test_a_hump_tells_its_peak_and_that_the_number_is_an_average():
    hump = Hump(1.0, 0.9, 0.71, 14.2, 6.0, 96.0, above_range=True)
    text = said(hump=hump)
    assert text.endswith(
        "A best value inside the range is 71 % probable; it would lie near 14 h (6 h to 4 days or more)."
    )
    assert effect_notes(effect(hump=hump)) == (
        "Where the model has a hump (time under oil), the number is the average effect over the range.",
    )
    assert "best value" not in said(hump=replace(hump, inside=0.1))
    assert effect_notes(effect(hump=replace(hump, square_weight=0.0))) == ()
    lines = effect_lines([effect(hump=hump), effect(hump=hump, gate="pooled")], may_wait=True)
    assert len([line for line in lines if "average effect" in line]) == 1


def test_a_product_tells_that_the_other_factor_stands_in_the_middle():
    assert effect_notes(effect(beside=("speed",))) == (
        "Here time under oil works together with speed: this is its effect with speed in the middle.",
    )


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (1.0, "1.0"),
        (2.34, "2.3"),
        (0.5, "0.50"),
        (0.0456, "0.046"),
        (0.996, "1.0"),
        (9.96, "10"),
        (12.4, "12"),
        (123.0, "120"),
        (999.0, "1000"),
        (5e8, "above 1000"),
        (float("inf"), "above 1000"),
        (0.0004, "below 0.001"),
    ],
)
def test_odds_factors_have_two_significant_digits(value, text):
    assert odds_factor(value) == text
    assert odds_factor(value, decimal=",") == text.replace(".", ",")


def test_all_effects_as_lines_with_levels_never_tried_in_one():
    lines = effect_lines(
        [
            effect(),
            effect(ADDITIVE, LEVEL_STEP, None, level="rosin"),
            effect(ADDITIVE, LEVEL_STEP, None, level="acid"),
            effect(gate="pooled"),
        ],
        may_wait=True,
    )
    assert [line.strip() for line in lines if not line.startswith("  ")] == [
        "What moves the odds of parting, the surest first:",
        "What moves the odds of pooling after parting, the surest first:",
    ]
    assert "  Never tried, so not known, for additive: rosin, acid." in lines
    assert len(lines) == 5


def test_the_outcomes_have_names():
    assert "only part" in outcome_words("failed")["not_parted"]
    assert "only part" not in outcome_words("success")["not_parted"]
    assert outcome_words("ordinal")["clean"] == "clean separation"


def direction(longer, shorter, neither):
    return Direction("unsure", {}, 0.5, longer, shorter, "age", prob_neither=neither)


@pytest.mark.parametrize(
    ("longer", "shorter", "neither", "text"),
    [
        (0.97, 0.02, 0.01, "Too little film: a longer exposure helps (97 % sure)."),
        (0.84, 0.10, 0.06, "Probably too little film: a longer exposure should help (84 %)."),
        (0.08, 0.72, 0.20, "Perhaps too much film: the attempts lean to a shorter exposure (72 %)"),
        (0.05, 0.08, 0.87, "The exposure is probably near its best"),
        (0.35, 0.40, 0.25, "The attempts do not say yet"),
    ],
)
def test_the_advice_says_how_sure_it_is(longer, shorter, neither, text):
    assert direction_sentence(direction(longer, shorter, neither)).replace("\u2009", " ").startswith(text)


def test_no_step_of_the_advice_turns_it_over():
    """Just above and just below each step the advice names the same way, and 80 % is written on both sides."""
    for step in (0.6, 0.8, 0.95):
        above, below = (direction(p, (1 - p) / 2, (1 - p) / 2) for p in (step + 1e-6, step - 1e-6))
        assert above.leans_to == below.leans_to
        said_above, said_below = direction_sentence(above), direction_sentence(below)
        if step > 0.6:
            assert f"{round(100 * step)}" in said_above
            assert f"{round(100 * step)}" in said_below
            assert "longer" in said_above
            assert "longer" in said_below


def test_grams_in_one_sentence():
    one = Estimate(0.5, 0.3, 0.7, 0.95, 20)
    grams = ExpectedGrams(9.96, 5.04, 13.4, 0.95, 19.9, 31.07, 0.8, one, one)
    assert grams_sentence(grams).replace("\u2009", " ") == (
        "To be expected per attempt: 10 g of clean metal, 5 g to 13 g, from a charge of 31.1 g; "
        "about 20 g when it comes out clean."
    )
