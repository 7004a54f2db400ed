from __future__ import annotations

import math
import re
import subprocess
import sys

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.units import (
    MINUS,
    THIN_SPACE,
    convert,
    format_number,
    format_quantity,
    human_time,
    parse_number,
    parse_quantity,
    unit_kind,
    unit_label,
)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("72", "h", 72.0),
        ("3 d", "h", 72.0),
        ("72 h", "h", 72.0),
        ("1,5 h", "h", 1.5),
        ("1.5h", "min", 90.0),
        ("90 min", "h", 1.5),
        ("2 weeks", "d", 14.0),
        (" 45 s ", "s", 45.0),
        ("1e2 s", "s", 100.0),
        ("\u22125", "C", -5.0),
        ("-5", "C", -5.0),
        ("120 rpm", "1/min", 120.0),
        ("2 turns/s", "1/min", 120.0),
        ("3\u2009d", "h", 72.0),
        ("3\u00a0d", "h", 72.0),
    ],
)
def test_people_type_numbers_and_units_in_many_ways(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        # SI brochure, 9th ed., section 2.3.1: t/C = T/K - 273.15; Fahrenheit: NIST SP 811, B.8 (both from memory)
        ("230 F", "C", 110.0),
        ("212 F", "C", 100.0),
        ("32 °F", "C", 0.0),
        ("373.15 K", "C", 100.0),
        ("100 C", "K", 373.15),
        ("100 °C", "F", 212.0),
        # NIST SP 811, B.8: 1 lb = 453.592 37 g; 1 in = 25.4 mm (from memory, exact by definition)
        ("1 lb", "g", 453.59237),
        ("1 inch", "mm", 25.4),
    ],
)
def test_conversions_agree_with_the_published_definitions(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "number.unreadable"),
        ("soon", "number.unreadable"),
        ("h", "number.unreadable"),
        ("nan", "number.unreadable"),
        ("1e999", "number.unreadable"),
        ("1e308 weeks", "number.unreadable"),
        ("1,234", "number.ambiguous"),
        ("3 parsnips", "unit.unknown"),
        ("3 kg", "unit.mismatch"),
        ("3 d; drop", "unit.unknown"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_reason(text: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_quantity(text, "h")
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [("150 C", "F", 302), ("0 C", "F", 32), ("230 F", "C", 110), ("1.1 d", "h", 26.4), ("280.4 F", "C", 138)],
)
def test_a_converted_value_at_the_end_of_a_range_lies_in_the_range(text: str, unit: str, value: float) -> None:
    # The definitions of the scales are exact, so these are too; in binary steps 302 came out as 301.99999999999994.
    assert parse_quantity(text, unit) == value


@pytest.mark.parametrize("text", ["3 kg", "3 parsnips", "20 C"])
def test_a_unit_where_a_plain_number_is_wanted_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_quantity(text, "")
    assert caught.value.code == "unit.not_wanted"
    assert parse_quantity("50 %", "") == 0.5


def test_a_plain_number_takes_no_unit() -> None:
    assert parse_number("1,5") == 1.5
    with pytest.raises(InputError):
        parse_number("1.5 h")


@given(st.text(max_size=20), st.sampled_from(["h", "C", "1/min", "mg/g", ""]))
def test_any_text_gives_a_finite_number_or_an_input_error(text: str, unit: str) -> None:
    try:
        value = parse_quantity(text, unit)
    except InputError:
        return
    assert math.isfinite(value)


@given(
    st.floats(min_value=-1e6, max_value=1e6),
    st.sampled_from([("s", "min"), ("min", "h"), ("h", "d"), ("d", "weeks"), ("C", "F"), ("C", "K"), ("F", "K")]),
)
def test_conversion_there_and_back_changes_nothing(value: float, units: tuple[str, str]) -> None:
    there = convert(value, units[0], units[1])
    assert convert(there, units[1], units[0]) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.floats(min_value=-1e6, max_value=1e6), st.integers(min_value=2, max_value=7), st.sampled_from([".", ","]))
def test_a_shown_number_reads_back_to_its_digits(value: float, digits: int, decimal: str) -> None:
    assume(value == 0 or abs(value) > 1e-3)
    shown = format_number(value, digits=digits, decimal=decimal)
    assert "-" not in shown
    # A comma before exactly three digits may be a thousands mark: the reader asks instead of guessing.
    assume(not re.fullmatch(r"[1-9]\d{0,2},\d{3}", shown))
    assert parse_number(shown) == pytest.approx(value, rel=0.51 * 10 ** (1 - digits), abs=1e-12)


def test_a_quantity_is_shown_with_a_thin_space_and_a_true_minus() -> None:
    assert format_quantity(-12.5, "C", decimal=",") == f"{MINUS}12,5{THIN_SPACE}°C"
    assert format_quantity(3, "") == "3"
    assert unit_label("rpm") == "1/min"


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        (90, "s", "90 s"),
        (2, "min", "2 min"),
        (1.5, "h", "90 min"),
        (36, "h", "36 h"),
        (72, "h", "3 days"),
        (275, "s", "275 s"),
        (150, "s", "2.5 min"),
        (50, "h", "50 h"),
        (15.75, "h", "15.8 h"),
        (4.9, "h", "4.9 h"),
        (2.1, "h", "126 min"),
        (31, "days", "31 days"),
        (60, "h", "2.5 days"),
        (90.5, "h", "3.8 days"),
        (0.61, "h", "37 min"),
        (5, "weeks", "5 weeks"),
    ],
)
def test_a_time_is_said_as_a_person_would(value: float, unit: str, said: str) -> None:
    assert human_time(value, unit) == said.replace(" ", THIN_SPACE)


@pytest.mark.parametrize(
    ("unit", "kind"), [("hr", "time"), ("weeks", "time"), ("°F", "temperature"), ("mg/g", "other")]
)
def test_the_kind_of_a_unit_is_known(unit: str, kind: str) -> None:
    assert unit_kind(unit) == kind


def test_times_are_converted_without_loading_the_unit_library() -> None:
    code = (
        "import sys; from stirfall.bench.units import parse_quantity; "
        "assert parse_quantity('3 d', 'h') == 72; assert 'pint' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
