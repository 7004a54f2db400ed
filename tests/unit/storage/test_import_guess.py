"""What columns are taken for: by name, synonym and unit, by their cells; what is not told is asked."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tables_of_attempts import CAMPAIGN, LAB, column_of, plan_of, table_of

from stirfall.bench.errors import InputError
from stirfall.storage.import_guess import reguess
from stirfall.storage.import_mapping import with_mapping, with_signs, with_word_texts
from stirfall.storage.import_plan import ASK, GUESS, LIKELY, SURE, Meaning, Result
from stirfall.storage.import_units import split_heading


@pytest.mark.parametrize(
    ("heading", "name", "unit"),
    [
        ("T (°C)", "T", "C"),
        ("age [h]", "age", "h"),
        ("Temp_C", "Temp", "C"),
        ("Temperature in °C", "Temperature", "C"),
        ("time, s", "time", "s"),
        ("T/°C", "T", "C"),
        ("stir speed rpm", "stir speed", "1/min"),
        ("rpm", "rpm", "1/min"),
        ("stirring speed, turns per minute", "stirring speed", "1/min"),
        ("days in oil", "days in oil", "d"),
        ("dose mg/g", "dose", "mg/g"),
        ("T", "T", ""),
        ("t_stir_s", "t_stir", "s"),
        ("no of pieces", "no of pieces", ""),
    ],
)
def test_a_unit_in_a_heading_is_told_from_the_name(heading: str, name: str, unit: str) -> None:
    assert split_heading(heading) == (name, unit)


def test_a_lab_table_is_understood_as_a_whole() -> None:
    plan = plan_of(LAB)
    told = {each.heading: (str(each.meaning), each.factor, each.unit, each.confidence) for each in plan.columns}
    assert told == {
        "run": ("attempt number", "", "", LIKELY),
        "date": ("date and time", "", "", LIKELY),
        "lot": ("lot", "", "", LIKELY),
        "who": ("operator", "", "", LIKELY),
        "T (°C)": ("factor", "temperature", "C", LIKELY),
        "age [h]": ("factor", "sample age", "h", LIKELY),
        "stir/min": ("factor", "stirring speed", "1/min", GUESS),
        "stir time": ("factor", "stirring time", "s", LIKELY),
        "additive": ("factor", "additive", "", SURE),
        "dose mg/g": ("factor", "additive dose", "mg/g", LIKELY),
        "result": ("outcome", "", "", LIKELY),
        "note": ("note", "", "", LIKELY),
    }
    assert plan.column(1).dates == "day-first"  # the 14th is no month
    assert plan.column(4).decimal == ","
    assert plan.unclear() == ()


def test_stir_per_minute_is_a_time_where_the_numbers_say_so() -> None:
    assert column_of("T,stir/min,result\n150,90,clean\n151,60,no\n", "stir/min").factor == "stirring speed"
    short = column_of("T,stir/min,result\n150,2,clean\n151,1.5,no\n", "stir/min")
    assert (short.factor, short.unit) == ("stirring time", "min")


def test_a_unit_that_is_not_told_is_the_factors_own_and_said_so() -> None:
    column = column_of("T,age,result\n150,24,clean\n151,48,no\n", "age")
    assert column.unit == "h"
    assert [each.code for each in column.remarks] == ["import.unit_taken"]


def test_a_unit_is_asked_where_the_numbers_speak_against_the_factors_own() -> None:
    fahrenheit = column_of("T,age,result\n302,24,clean\n310,48,no\n", "T")
    assert fahrenheit.unit == ASK
    assert "import.ask_unit" in [each.code for each in plan_of("T,result\n302,clean\n310,no\n").unclear()]
    assert column_of("T (K),result\n423.15,clean\n430,no\n", "T (K)").unit == "K"


def test_the_unit_of_the_cells_counts_where_the_heading_has_none() -> None:
    column = column_of("T,stir time,result\n150,90 s,clean\n151,120 s,no\n", "stir time")
    assert (column.unit, column.remarks) == ("s", ())


@pytest.mark.parametrize(
    ("cells", "decimal"),
    [
        (("150", "151"), ""),
        (("150.5", "151"), "."),
        (("150,5", "151"), ","),
        (("1,234", "2,345"), ASK),
        (("1,234", "2,5"), ","),
        (("0,125", "1,234"), ","),
        (("1,234.5", "2"), "."),
        (("1.234,5", "2"), ","),
        (("1,234,567", "2"), "."),
        (("1.5", "2,5"), ""),
    ],
)
def test_the_decimal_sign_is_told_by_the_column_or_asked(cells: tuple[str, str], decimal: str) -> None:
    text = f"dose (mg/g);result\n{cells[0]};clean\n{cells[1]};no\n"
    assert column_of(text, "dose (mg/g)").decimal == decimal


def test_the_sign_of_other_columns_decides_what_one_leaves_open() -> None:
    column = column_of("T;charge (g);result\n150,5;1,234;clean\n151,5;2,345;no\n", "charge (g)")
    assert (column.meaning, column.decimal) == (Meaning.CHARGE, ",")
    assert [each.code for each in column.remarks] == ["import.decimal_of_table"]


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        (("2026-03-04", "2026-05-06"), "year-first"),
        (("14.03.2026", "15.03.2026"), "day-first"),
        (("3/14/2026", "3/15/2026"), "month-first"),
        (("3/4/2026", "5/6/2026"), ASK),
        (("4 Mar 2026", "6 May 2026"), "day-first"),
    ],
)
def test_the_order_of_day_and_month_is_told_or_asked(cells: tuple[str, str], order: str) -> None:
    column = column_of(f"date,T,result\n{cells[0]},150,clean\n{cells[1]},151,no\n", "date")
    assert (column.meaning, column.dates) == (Meaning.DATE, order)


def test_dates_and_times_are_told_by_their_cells() -> None:
    text = "when it was,time,T,result\n2026-03-04 10:00,10:00,150,clean\n2026-03-05 11:00,11:00,151,no\n"
    assert column_of(text, "when it was").meaning is Meaning.MOMENT
    assert column_of(text, "time").meaning is Meaning.TIME
    assert "import.moment_twice" in [each.code for each in plan_of(text).unclear()]


@pytest.mark.parametrize(
    ("words", "results"),
    [
        (("clean", "beads", "part.", "none"), (Result.CLEAN, Result.BEADS, Result.PARTLY, Result.NOTHING)),
        (("yes", "no"), (Result.COUNTS_CLEAN, Result.COUNTS_NOT)),
        (("1", "0"), (Result.COUNTS_CLEAN, Result.COUNTS_NOT)),
        (("+", "-", "+/-"), (Result.CLEAN, Result.NOTHING, Result.PARTLY)),
        (("clean", "no"), (Result.COUNTS_CLEAN, Result.COUNTS_NOT)),
        (("YES", "Partial ", "aborted"), (Result.CLEAN, Result.PARTLY, Result.ABORTED)),
        (("clean", "meh"), (Result.COUNTS_CLEAN, None)),
    ],
)
def test_words_of_outcomes_are_known_or_listed(words: tuple[str, ...], results: tuple[Result | None, ...]) -> None:
    text = "T,result\n" + "".join(f"150,{word}\n" for word in words * 2)
    plan = plan_of(text)
    found = {each.word: each.result for each in plan.words}
    assert [found[word.strip()] for word in words] == list(results)
    assert ("import.ask_words" in [each.code for each in plan.unclear()]) == (None in results)


def test_gates_have_their_own_words() -> None:
    plan = plan_of("T,gate 1,gate 2\n150,yes,one pool\n151,partly,beads\n152,no,\n153,yes,few pieces\n")
    found = {(each.place, each.word): each.result for each in plan.words}
    assert found[1, "yes"] is Result.PARTED
    assert found[1, "no"] is Result.NOTHING
    assert found[2, "one pool"] is Result.CLEAN
    assert found[2, "few pieces"] is Result.PIECES


def test_an_outcome_is_told_by_its_cells_where_the_heading_says_nothing() -> None:
    assert column_of("T,x7\n150,clean\n151,beads\n152,none\n", "x7").meaning is Meaning.OUTCOME


def test_what_is_not_known_becomes_a_new_condition_or_goes_into_the_note() -> None:
    text = "T,power (W),colour,result\n150,5,dull grey as before,clean\n151,7,bright with a film,no\n"
    power, colour = column_of(text, "power (W)"), column_of(text, "colour")
    assert (power.meaning, power.factor) == (Meaning.FACTOR, "power")
    assert [each.code for each in power.remarks] == ["import.new_factor"]
    assert colour.meaning is Meaning.NOTE


@pytest.mark.parametrize("heading", ["result", "yield"])
def test_how_well_it_went_never_becomes_a_condition(heading: str) -> None:
    plan = plan_of(f"T,{heading}\n150,0.87\n151,0.45\n")
    assert plan.column(1).meaning is Meaning.NOTE
    assert "import.no_result" in [each.code for each in plan.unclear()]


def test_trials_without_the_clean_ones_are_left_out_and_said() -> None:
    column = column_of("T,n,result\n150,3,clean\n151,4,no\n", "n")
    assert (column.meaning, [each.code for each in column.remarks]) == (
        Meaning.LEAVE,
        ["import.trials_without_clean"],
    )


def test_the_surer_of_two_columns_wins_and_the_other_is_left_out() -> None:
    plan = plan_of("T,temperature,result\n150,151,clean\n151,152,no\n")
    assert [(each.meaning, each.factor) for each in plan.columns[:2]] == [
        (Meaning.LEAVE, ""),
        (Meaning.FACTOR, "temperature"),
    ]


def test_a_new_campaign_takes_the_standard_conditions_under_their_names() -> None:
    plan = plan_of(LAB, None)
    assert [each.factor for each in plan.having(Meaning.FACTOR)][:3] == [
        "temperature",
        "sample age",
        "stirring speed",
    ]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("note\nfirst note here\nsecond one is longer\n", "import.no_factor"),
        ("T,age\n150,24\n151,48\n", "import.no_result"),
    ],
)
def test_what_is_essential_and_missing_is_said(text: str, code: str) -> None:
    assert code in [each.code for each in plan_of(text).unclear()]


def test_contradictions_are_said() -> None:
    plan = plan_of(LAB)
    lots = plan.with_column(replace(plan.column(3), meaning=Meaning.LOT))
    assert "import.meaning_twice" in [each.code for each in lots.unclear()]
    twice = plan.with_column(replace(plan.column(5), factor="temperature"))
    assert "import.factor_twice" in [each.code for each in twice.unclear()]
    graded = plan.with_column(replace(plan.column(11), meaning=Meaning.PARTED))
    assert "import.result_twice" in [each.code for each in graded.unclear()]
    alone = plan.with_column(replace(plan.column(10), meaning=Meaning.POOLED))
    assert "import.pool_without_parting" in [each.code for each in alone.unclear()]


# -- what the person says --------------------------------------------------------------------------------


def test_a_column_taken_for_something_else_is_looked_at_anew() -> None:
    table = table_of(LAB)
    plan = plan_of(LAB)
    changed = reguess(plan, table, CAMPAIGN, replace(plan.column(11), meaning=Meaning.OUTCOME))
    assert [each.word for each in changed.words if each.place == 11] == ["first", "looked dull"]


def test_columns_and_words_can_be_named_in_text() -> None:
    table, plan = table_of(LAB), plan_of(LAB)
    mapped = with_mapping(
        plan, table, CAMPAIGN, ["T (°C)=temperature [F]", "#7=factor turns [1/s]:log", "note=leave out"]
    )
    assert (mapped.column(4).factor, mapped.column(4).unit) == ("temperature", "F")
    assert (mapped.column(6).factor, mapped.column(6).unit, mapped.column(6).is_log) == ("turns", "1/s", True)
    assert mapped.column(11).meaning is Meaning.LEAVE
    worded = with_word_texts(mapped, ["Partial=aborted"])
    assert [each.result for each in worded.words if each.word == "partial"] == [Result.ABORTED]
    asked = plan_of("date,T,result\n3/4/2026,1,clean\n5/6/2026,2,no\n")
    assert with_signs(asked, dates="month-first").column(0).dates == "month-first"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("T", "import.map_unreadable"),
        ("nothing=lot", "import.column_unknown"),
        ("note=moon", "import.role_unknown"),
        ("note=factor", "import.role_unknown"),
    ],
)
def test_what_cannot_be_meant_is_refused(text: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        with_mapping(plan_of(LAB), table_of(LAB), CAMPAIGN, [text])
    assert caught.value.code == code
