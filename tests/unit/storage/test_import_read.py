"""Rows of a table as attempts: units converted, words graded, every unusable cell refused with a reason."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tables_of_attempts import CAMPAIGN, LAB, imported, plan_of, table_of, workbook

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.reporting.sentences import all_sentences
from stirfall.storage.import_numbers import read_quantity, split_quantity
from stirfall.storage.import_origin import origin_note, place_of
from stirfall.storage.import_read import read_with
from stirfall.storage.import_source import ReadingChoices
from stirfall.storage.imported import Imported


def why(found: Imported) -> list[tuple[int, str, str]]:
    return [(each.row, each.column, each.why.code) for each in found.refused]


def test_a_lab_table_becomes_attempts() -> None:
    found = imported(LAB)
    assert found.is_ready
    assert found.rows == (4, 5, 6, 7)
    first, second, third, fourth = found.attempts
    assert first.started_at == datetime(2026, 3, 14, 10, 20, tzinfo=UTC)
    assert (first.number, first.lot_id, first.facts.operator) == (1, "L1", "A")
    assert dict(first.conditions) == {
        "temperature": 150.0,
        "sample age": 24.0,
        "stirring speed": 90.0,
        "stirring time": 120.0,
        "additive": "none",
        "additive dose": 0.0,
    }
    assert second.conditions["temperature"] == 151.5
    assert third.conditions["stirring time"] == 90.0  # 1 min 30 s
    assert third.conditions["additive dose"] == 5.5
    assert "temperature" not in fourth.conditions  # n/a is unknown, not zero
    outcomes = [each.outcome for each in found.attempts]
    assert outcomes == [Outcome.CLEAN, Outcome.PARTED_BEADS, Outcome.PARTLY_PARTED, Outcome.NOTHING_PARTED]
    assert [lot.id for lot in found.lots] == ["L1", "L2"]
    assert found.factors is None


def test_each_attempt_keeps_where_it_comes_from() -> None:
    attempt = imported(LAB).attempts[0]
    sha256 = hashlib.sha256(LAB.encode()).hexdigest()  # FIPS 180-4
    assert table_of(LAB).sha256 == sha256
    assert attempt.note == f"first [spring.csv, row 4, number 1, SHA-256 {sha256[:16]}]"
    assert place_of(attempt.note) == ("spring.csv", 4, sha256[:16])
    assert attempt.origin is None  # it was made at this bench, not at another one


@given(name=st.text(max_size=40), sheet=st.text(max_size=20), row=st.integers(1, 10**6))
def test_where_an_attempt_comes_from_is_read_back(name: str, sheet: str, row: int) -> None:
    place = place_of("a note " + origin_note(name, sheet, row, 0, "0123456789abcdef" * 4))
    assert place is not None
    assert (place.row, place.sha256) == (row, "0123456789abcdef")
    assert place_of(name) is None or "SHA-256" in name


@pytest.mark.parametrize(
    ("cell", "decimal", "bare", "wanted", "value"),
    [
        ("90", "", "s", "s", 90.0),
        ("90 s", "", "min", "s", 90.0),
        ("1.5 h", "", "", "min", 90.0),
        ("1 h 30 min", "", "", "h", 1.5),
        ("302", "", "F", "C", 150.0),  # exact by the definition of the scales
        ("150 °C", "", "", "F", 302.0),
        ("423.15 K", "", "", "C", 150.0),
        ("3", "", "d", "h", 72.0),
        ("1,5", ",", "h", "h", 1.5),
        ("1,234", ".", "g", "g", 1234.0),
        ("1,234", ",", "g", "g", 1.234),
        ("1.234,5", "", "g", "g", 1234.5),
        ("1,234.5", "", "g", "g", 1234.5),
        ("1\u2009234,5", "", "g", "g", 1234.5),
        ("\u22125", "", "C", "C", -5.0),
        ("2 turns/s", "", "", "1/min", 120.0),
        ("5000 mg", "", "", "g", 5.0),
        ("1.5e3", "", "g", "g", 1500.0),
    ],
)
def test_quantities_are_read_in_the_unit_of_the_campaign(
    cell: str, decimal: str, bare: str, wanted: str, value: float
) -> None:
    assert read_quantity(cell, decimal, bare, wanted) == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize(
    ("cell", "decimal", "code"),
    [
        ("abc", "", "number.unreadable"),
        ("~90", "", "number.unreadable"),
        ("1e999", "", "number.unreadable"),
        ("1,2,3", "", "number.unreadable"),
        ("1,234", "", "number.ambiguous"),
        ("1.234", ",", "import.two_signs"),
        ("9" * 200, "", "number.unreadable"),
        ("5 furlongs", "", "unit.mismatch"),
        ("5 blorps", "", "unit.unknown"),
        ("5 9**9**9", "", "unit.unknown"),  # would be computed for days
        ("5 s^9^9^9", "", "unit.unknown"),
        ("5 (9**9)**9", "", "unit.unknown"),
    ],
)
def test_what_is_no_quantity_is_refused(cell: str, decimal: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        read_quantity(cell, decimal, "g", "g")
    assert caught.value.code == code


@given(value=st.floats(-1e6, 1e6, allow_nan=False), digits=st.integers(0, 4))
def test_a_number_written_with_either_sign_reads_the_same(value: float, digits: int) -> None:
    text = f"{value:.{digits}f}"
    assert split_quantity(text, ".") == (float(text), "")
    assert split_quantity(text.replace(".", ","), ",") == (float(text), "")


def test_refused_cells_leave_their_rows_out_and_say_why() -> None:
    text = (
        "date,lot,T (°C),age (h),charge (g),humidity %,result\n"
        "2026-03-14,L1,150,24,5,40,clean\n"
        "2026-02-31,L1,150,24,5,40,clean\n"
        "2026-03-14,L1,warm,24,5,40,clean\n"
        "2026-03-14,L1,150,-3,5,40,clean\n"
        "2026-03-14,L1,150,24,-5,40,clean\n"
        "2026-03-14,L1,150,24,5,140,clean\n"
        "2026-03-14,L1,=A1,24,5,40,clean\n"
        "2026-03-14,L1,150,24,5,40,clean,7\n"
    )
    found = imported(text)
    assert found.rows == (2,)
    assert why(found) == [
        (3, "date", "import.no_date"),
        (4, "T (°C)", "number.unreadable"),
        (5, "age (h)", "value.log_needs_positive"),
        (6, "charge (g)", "mass.negative"),
        (7, "humidity %", "facts.impossible"),
        (8, "T (°C)", "import.formula"),
        (9, "", "import.beyond_headings"),
    ]
    assert all(each.why.code in all_sentences() for each in found.refused)
    assert found.refused_rows == 7


def test_a_formula_is_refused_with_its_stored_value_and_taken_if_asked() -> None:
    data = workbook(("s", [["T (°C)", "result"], [150, "clean"], ["=A2+1", "no"]]))
    found = imported(data)
    assert why(found) == [(3, "T (°C)", "import.formula")]
    table = table_of(data, choices=ReadingChoices(stored=True))
    stored = read_with(plan_of(data), table, CAMPAIGN, zone=UTC)
    assert [each.conditions.get("temperature") for each in stored.attempts] == [150.0, None]


def test_a_number_of_a_workbook_is_never_read_as_thousands() -> None:
    data = workbook(("s", [["charge (g)", "T", "result"], [1.234, 150, "clean"], [2.5, 151, "no"]]))
    assert [each.masses.charge_g for each in imported(data).attempts] == [1.234, 2.5]


@pytest.mark.parametrize(
    ("header", "cells", "expected"),
    [
        ("gate 1,gate 2", "yes,one pool", (Parted.YES, Pooled.ONE_POOL, None, 1)),
        ("gate 1,gate 2", "partly,beads", (Parted.PARTLY, Pooled.BEADS, None, 1)),
        ("gate 1,gate 2", "no,", (Parted.NO, None, None, 1)),
        ("gate 1,gate 2", "no,not observed", (Parted.NO, None, None, 1)),
        ("clean ones,trials", "3,5", (None, None, 3, 5)),
        ("clean ones,trials", ",", (None, None, None, 1)),
        ("result,lot", "2/3,L1", (None, None, 2, 3)),
        ("result,lot", "yes,L1", (None, None, 1, 1)),
    ],
)
def test_results_are_told_in_several_ways(header: str, cells: str, expected: tuple[object, ...]) -> None:
    filler = {"gate 1,gate 2": "yes,beads", "clean ones,trials": "1,4", "result,lot": "no,L1"}[header]
    found = imported(f"T,{header}\n150,{cells}\n151,{filler}\n")
    attempt = found.attempts[0]
    assert (attempt.parted, attempt.pooled, attempt.successes, attempt.trials) == expected


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("T,gate 1,gate 2\n150,no,beads\n151,yes,beads\n", "table.pool_before_parting"),
        ("T,clean ones,trials\n150,5,3\n151,1,4\n", "table.more_than_trials"),
        ("T,clean ones,trials\n150,1,0\n151,1,4\n", "table.no_trials"),
        ("T,clean ones\n150,3\n151,1\n", "import.count_without_trials"),
        ("T,result\n150,5 of 3\n151,clean\n152,no\n", "table.more_than_trials"),
    ],
)
def test_impossible_results_are_refused(text: str, code: str) -> None:
    assert [each.why.code for each in imported(text).refused] == [code]


def test_dates_without_a_time_keep_noon_and_times_join_their_date() -> None:
    noon = imported("date,T,result\n2026-03-14,150,clean\n2026-03-15,151,no\n")
    assert noon.attempts[0].started_at == datetime(2026, 3, 14, 12, tzinfo=UTC)
    assert "import.noon" in [each.code for each in noon.news]
    both = imported("date,time,T,result\n2026-03-14,9:05,150,clean\n2026-03-15,25:00,151,no\n2026-03-15,,151,no\n")
    assert both.attempts[0].started_at == datetime(2026, 3, 14, 9, 5, tzinfo=UTC)
    assert why(both) == [(3, "time", "import.no_clock")]
    zoned = imported("when,T,result\n2026-03-14T09:05:00+01:00,150,clean\n2026-03-15T10:00:00Z,151,no\n")
    assert zoned.attempts[0].started_at == datetime(2026, 3, 14, 8, 5, tzinfo=UTC)


def test_cells_are_not_judged_while_something_about_their_column_is_asked() -> None:
    found = imported('date,T,dose (mg/g),result\n3/4/2026,302,"1,234",clean\n5/6/2026,310,"2,345",no\n')
    assert [each.code for each in found.unclear] == ["import.ask_dates", "import.ask_unit", "import.ask_decimal"]
    assert found.refused == ()
    assert not found.is_ready


def test_new_levels_factors_and_values_outside_a_range_are_said() -> None:
    text = "T (°C),additive,power (W),result\n150,none,5,clean\n250,Additive B,7,no\n"
    found = imported(text)
    assert found.factors is not None
    by_name = {each.name: each for each in found.factors}
    assert by_name["additive"].levels == ("none", "additive A", "Additive B")
    assert (by_name["power"].low, by_name["power"].high, by_name["power"].unit) == (5.0, 7.0, "W")
    assert by_name["temperature"].high == 180.0
    assert found.outside == {"temperature": 1}
    codes = [each.code for each in found.news]
    assert codes == ["import.outside_range", "import.new_levels", "import.made_factor"]
    wider = imported(text, plan=replace(plan_of(text), widens=True))
    assert wider.factors is not None
    assert next(each for each in wider.factors if each.name == "temperature").high == 250.0


def test_the_range_of_an_exposure_never_grows_for_a_metal_that_may_not_wait() -> None:
    state = replace(CAMPAIGN, settings=CampaignSettings(material=MaterialClass.SUPEROXIDE_FORMER))
    text = "age (h),T,result\n500,150,clean\n24,250,no\n"
    plan = replace(plan_of(text, state), widens=True)
    found = imported(text, state, plan)
    assert found.factors is not None
    by_name = {each.name: each for each in found.factors}
    assert (by_name["sample age"].high, by_name["temperature"].high) == (240.0, 250.0)
    assert "import.outside_range_kept" in [each.code for each in found.news]


def test_lots_and_jars_are_matched_whatever_their_letter_case() -> None:
    jar = Jar("J1", "L1", datetime(2026, 3, 1, tzinfo=UTC))
    state = replace(CAMPAIGN, lots=(Lot("L1"), Lot("L2")), jars=(jar,))
    found = imported("lot,jar,T,result\nl1,j1,150,clean\nL2,J9,151,no\nL2,J1,152,no\n,J1,153,no\n", state)
    assert [(each.lot_id, each.jar_id) for each in found.attempts] == [("L1", "J1"), ("L2", None), ("L1", "J1")]
    assert [each.note.startswith("jar J9 [") for each in found.attempts] == [False, True, False]
    assert why(found) == [(4, "jar", "attempt.lot_differs")]
    assert found.lots == ()
    assert "import.jars_in_note" in [each.code for each in found.news]


def test_rows_that_the_session_has_are_left_out_but_repeats_stay() -> None:
    text = "T,age (h),result\n150,24,clean\n150,24,clean\n151,48,no\n"
    known = Attempt("a", 7, Conditions({"temperature": 150.0, "sample age": 24.0, "additive": "none"}), successes=1)
    state = replace(CAMPAIGN, attempts=(known,))
    found = imported(text, state)
    assert [(each.row, each.number) for each in found.twins] == [(2, 7)]
    assert found.rows == (3, 4)
    both = imported(text, state, replace(plan_of(text, state), takes_twins=True))
    assert both.rows == (2, 3, 4)
    assert len(both.twins) == 1


def test_a_table_brought_in_twice_is_its_own_twin_whatever_was_corrected() -> None:
    first = imported(LAB)
    kept = tuple(
        replace(each, id=f"a{place}", number=place, note=f"corrected {each.note}", parted=Parted.NO, pooled=None)
        for place, each in enumerate(first.attempts, 1)
    )
    again = imported(LAB, replace(CAMPAIGN, attempts=kept))
    assert [each.number for each in again.twins] == [1, 2, 3, 4]
    assert again.attempts == ()


def test_recoveries_go_into_the_note_as_they_are_written() -> None:
    found = imported("T,recovery (%),result\n150,87,clean\n151,45,no\n")
    assert found.attempts[0].note.startswith("recovery (%): 87 [")
    assert "import.recovery_in_note" in [each.code for each in found.news]


def test_a_new_campaign_gets_its_factors_from_the_table() -> None:
    found = imported(LAB, None)
    assert found.factors is not None
    assert [each.name for each in found.factors][:2] == ["temperature", "sample age"]
    assert (found.factors[0].low, found.factors[0].high, found.factors[0].unit) == (149.0, 151.5, "C")


@pytest.mark.parametrize("text", ["T,result\n150,clean\n151,no\n", LAB])
def test_every_remark_has_a_sentence(text: str) -> None:
    found, plan = imported(text), plan_of(text)
    codes = [each.code for each in (*found.news, *found.unclear, *table_of(text).remarks)]
    codes += [each.code for column in plan.columns for each in column.remarks]
    assert [code for code in codes if code not in all_sentences()] == []
