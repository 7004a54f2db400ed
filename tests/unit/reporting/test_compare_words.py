"""Comparisons in words: whole points, true minus signs, chances as people say them, the reader's decimal sign."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Masses
from stirfall.reporting import compare_words as words
from stirfall.reporting.compare_json import compared_json
from stirfall.reporting.sentences import error_sentence
from stirfall.session.analysis import analyse
from stirfall.session.comparing import compare
from stirfall.session.comparing_records import Compared
from stirfall.session.comparing_text import read_group

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
FACTORS = (Factor("bath", "C", 140.0, 180.0), Factor("additive", levels=("none", "rosin")))


def state_of(clean: str, *, grams: bool = False) -> CampaignState:
    made = []
    for number, mark in enumerate(clean, 1):
        additive = "none" if number <= len(clean) // 2 else "rosin"
        masses = Masses(charge_g=10.0, product_g=6.0 + 0.13 * number) if grams else Masses()
        pooled = Pooled.ONE_POOL if mark == "x" else Pooled.BEADS
        made.append(
            Attempt(
                f"a{number}",
                number,
                Conditions({"bath": 150.0 + number, "additive": additive}),
                parted=Parted.YES,
                pooled=pooled,
                masses=masses,
            )
        )
    return CampaignState(CampaignSettings(lot_effect="none"), FACTORS, attempts=tuple(made))


def compared(clean: str, measure: Measure = Measure.CLEAN, *, grams: bool = False) -> Compared:
    none, rosin = (Group("factor:additive", level=level) for level in ("none", "rosin"))
    return compare(analyse(state_of(clean, grams=grams)), Comparison("c", AT, none, rosin, measure))


@pytest.mark.parametrize(
    ("p", "text"),
    [
        (1.0, "100 %"),
        (0.148, "15 %"),
        (0.0104, "1 %"),
        (0.0042, "0.4 %"),
        (0.0001, "less than 0.1 %"),
        (0.0, "less than 0.1 %"),
    ],
)
def test_chances_as_people_say_them(p: float, text: str) -> None:
    assert words.chance_text(p).replace("\u2009", " ") == text


def test_chances_with_their_digits_take_the_readers_decimal_sign() -> None:
    assert words.chance_digits(0.14765, decimal=",") == "0,148"
    assert words.chance_digits(0.0504) == "0.0504"
    assert words.chance_digits(1e-9) == "below 0.001"


def test_differences_are_whole_points_with_a_true_minus_and_n() -> None:
    lines = words.difference_lines(compared("x.......xxx....."))
    assert lines[0].startswith("Difference \u221225 points (")
    assert lines[0].endswith("95\u2009% interval), n = 16.")
    assert "-" not in lines[0]


def test_every_line_is_calm_and_finished() -> None:
    for measure, grams in ((Measure.CLEAN, False), (Measure.PARTED, False), (Measure.RECOVERY, True)):
        for line in words.all_lines(compared("x.xxx.x.xxx.xxxx", measure, grams=grams), decimal=","):
            assert "{" not in line
            assert "!" not in line
            assert "significant" not in line
            assert "None" not in line
            assert line[0].isupper() or line[0].isdigit()


def test_numbers_carry_unit_interval_and_n() -> None:
    found = compared("xxxxxxxxxxxxxxxx", Measure.RECOVERY, grams=True)
    first = words.count_lines(found, decimal=",")[0]
    assert first.startswith("Additive none: 65,8 % on average (")
    assert first.endswith("n = 8.")
    assert words.amount(found, -2.345, decimal=",", signed=True) == "\u22122,3 points"
    document = compared_json(found)
    assert document["unit"] == "%"
    assert document["tests"]["permutation"]["exact"] is True  # type: ignore[index]


_anything = st.text(alphabet=st.characters(codec="utf-8"), max_size=40)
_nearly = st.builds(
    "{}={}".format,
    st.sampled_from(["lot", "bath", "additive", "factor:bath", "period", "attempts", "day", " BATH "]),
    st.one_of(
        _anything,
        st.sampled_from(["1..2", "..", "1-", "9-1", "\u0663", "1e999", "nan..inf", "0001-01-01..9999-12-31"]),
    ),
)


@settings(max_examples=60, deadline=None)
@given(st.one_of(_anything, _nearly))
def test_whatever_is_typed_as_a_group_is_read_or_gets_a_message(text: str) -> None:
    try:
        told = read_group(_STATE, text, UTC).what
    except InputError as error:
        message = error_sentence(error)
        told = "" if message.startswith(error.code) else message  # a code without a sentence stands for itself
    assert told


_STATE = state_of("x.x.")
