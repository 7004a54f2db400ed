"""What the ledger writes: cells, CSV, corrections and history; pure functions."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.number_style import NumberStyle
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Lot, Masses
from stirfall.bench.run_facts import AcceptedWarning, RunFacts, WeighingSheet
from stirfall.bench.running import EventKind, Regrade, Run, RunEvent
from stirfall.desktop.ledger.cells import note_text, outcome_text
from stirfall.desktop.ledger.columns import ColumnChoice, Source, all_columns, base_columns, natural
from stirfall.desktop.ledger.corrections import Entered, Kind, correctables, history_lines, read_correction
from stirfall.desktop.ledger.csv_rows import csv_steps, table_steps
from stirfall.desktop.ledger.filters import quick_filters
from stirfall.session.ledger_filter import Condition, How
from stirfall.session.ledger_rows import finished

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
FACTORS = standard_factors()
ATTEMPT = Attempt(
    "a1",
    7,
    Conditions({"sample age": 72.0, "temperature": 150.0, "stirring action": "fold"}),
    started_at=NOW,
    lot_id="L1",
    parted=Parted.YES,
    pooled=Pooled.BEADS,
    masses=Masses(charge_g=12.5),
    note='grey, "dull"\nskin',
)
CAMPAIGN = CampaignState(CampaignSettings(), FACTORS, (Lot("L1"), Lot("L2")), attempts=(ATTEMPT,))


def text(attempt: Attempt, title: str) -> str:
    return next(column.text(attempt) for column in base_columns(FACTORS, ".") if column.title == title)


def as_csv(attempt: Attempt) -> bytes:
    return b"".join(finished(csv_steps([attempt], CAMPAIGN)))


def test_headers_carry_units_and_unknown_is_said() -> None:
    assert text(ATTEMPT, "Sample age, h") == "72"
    assert text(ATTEMPT, "Temperature, °C") == "150"
    assert text(ATTEMPT, "Stirring speed, 1/min") == "unknown"
    assert text(ATTEMPT, "Stirring action") == "fold"


def test_a_struck_out_attempt_says_so_in_words() -> None:
    struck = replace(ATTEMPT, struck_reason="wrong jar")
    assert outcome_text(struck) == "struck out (parted but beads)"
    assert note_text(struck).startswith("Struck out: wrong jar")


def test_the_copied_table_has_one_line_per_attempt_whatever_the_note_holds() -> None:
    columns = base_columns(FACTORS, ",")
    lines = finished(table_steps([ATTEMPT], columns)).splitlines()
    assert len(lines) == 2
    assert lines[0].count("\t") == lines[1].count("\t") == len(columns) - 1


def test_csv_follows_rfc_4180() -> None:
    # RFC 4180: lines end with CRLF, fields with quotes or line breaks are quoted, quotes are doubled.
    data = as_csv(ATTEMPT)
    assert data.endswith(b"\r\n")
    assert b'"grey, ""dull""\nskin"' in data
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))
    assert len(rows) == 1
    row = rows[0]
    assert row["note"] == ATTEMPT.note
    assert row["sample age [h]"] == "72"
    assert row["stirring speed [1/min]"] == ""
    assert row["charge_g"] == "12.5"
    # ISO 8601 in UTC
    assert datetime.fromisoformat(row["started_at"]) == NOW


@given(value=st.floats(allow_nan=False, allow_infinity=False, min_value=1e-6, max_value=1e6))
def test_numbers_in_csv_come_back_to_fifteen_digits(value: float) -> None:
    attempt = replace(ATTEMPT, conditions=Conditions({"sample age": value}))
    row = next(csv.DictReader(io.StringIO(as_csv(attempt).decode("utf-8"), newline="")))
    assert float(row["sample age [h]"]) == pytest.approx(value, rel=1e-14)


def read(entered: Entered) -> object:
    return read_correction(entered, ATTEMPT, CAMPAIGN, ".").changes


def test_a_typed_correction_is_read_with_its_unit_and_told_back() -> None:
    done = read_correction(Entered("factor:sample age", "2 d", reason="misread"), ATTEMPT, CAMPAIGN, ".")
    assert done.changes == {"conditions": ATTEMPT.conditions.with_value("sample age", 48.0)}
    assert done.echo == "= 48\u2009h"


def test_a_correction_without_reason_or_without_change_is_not_done_yet() -> None:
    nothing = read_correction(Entered("factor:sample age", "72", reason="x"), ATTEMPT, CAMPAIGN, ".")
    assert nothing.changes is None
    assert nothing.problem is not None
    assert nothing.problem.code == "ledger.nothing_changed"
    silent = read_correction(Entered("factor:sample age", "48"), ATTEMPT, CAMPAIGN, ".")
    assert silent.problem is not None
    assert silent.problem.code == "ledger.reason_missing"


def test_each_kind_of_field_can_be_corrected() -> None:
    why = "graded again"
    assert read(Entered("outcome", parted=Parted.NO, pooled=Pooled.BEADS, reason=why)) == {
        "parted": Parted.NO,
        "pooled": Pooled.NOT_OBSERVED,
    }
    assert read(Entered("aborted", "yes", reason=why)) == {"aborted": True}
    assert read(Entered("lot_id", "L2", reason=why)) == {"lot_id": "L2"}
    assert read(Entered("charge_g", "13 g", reason=why)) == {"masses": Masses(charge_g=13.0)}
    assert read(Entered("charge_g", "", reason=why)) == {"masses": Masses()}
    assert read(Entered("note", "bright", reason=why)) == {"note": "bright"}
    assert read(Entered("factor:stirring action", "press", reason=why)) == {
        "conditions": ATTEMPT.conditions.with_value("stirring action", "press")
    }
    assert read(Entered("factor:temperature", "", reason=why)) == {
        "conditions": ATTEMPT.conditions.with_value("temperature", None)
    }


def test_a_value_that_cannot_be_read_keeps_the_attempt_as_it_is() -> None:
    done = read_correction(Entered("factor:temperature", "warm", reason="x"), ATTEMPT, CAMPAIGN, ".")
    assert done.changes is None
    assert done.problem is not None
    assert done.problem.code == "number.unreadable"


def test_everything_that_can_be_corrected_shows_what_stands_there_now() -> None:
    items = {item.key: item for item in correctables(ATTEMPT, CAMPAIGN, ".")}
    assert items["factor:temperature"].now == "150\u2009°C"
    assert items["factor:stirring action"].kind is Kind.CHOICE
    assert items["outcome"].now == "parted but beads"
    assert items["product_g"].now == "not weighed"
    assert items["lot_id"].levels == ("L1", "L2")


def test_history_reads_old_and_new_values_with_units_and_reasons() -> None:
    kept = (
        Correction(NOW, "attempt", "a1", "conditions.temperature", "184.0", "148.0", "digits swapped", "Correct"),
        Correction(NOW, "attempt", "a1", "pooled", '"one pool"', '"few pieces"', "graded again", "Correct"),
        Correction(NOW, "attempt", "a1", "struck_reason", "null", '"wrong jar"', "", "Strike out attempt 7"),
    )
    first, second, third = history_lines(kept, CAMPAIGN, ".")
    assert (first.what, first.old, first.new, first.why) == (
        "temperature",
        "184\u2009°C",
        "148\u2009°C",
        "digits swapped",
    )
    assert (second.what, second.old, second.new) == ("became one pool", "one pool", "few pieces")
    assert (third.old, third.new, third.why) == ("none", "wrong jar", "Strike out attempt 7")


def test_csv_has_facts_sheet_and_run_behind_the_columns_of_old() -> None:
    # RFC 4180, read back by the csv module of the standard library.
    moment = NOW + timedelta(minutes=40)
    run = Run(
        "r1",
        NOW,
        attempt_id="a1",
        ended_at=moment,
        events=(RunEvent("e1", "r1", EventKind.STEP, NOW, "heat"), RunEvent("e2", "r1", EventKind.NOTE, moment)),
    )
    attempt = replace(
        ATTEMPT,
        run_id="r1",
        facts=RunFacts(
            "bright",
            room_rh_percent=41.5,
            peak_c=161.0,
            ticked=("a", "b"),
            accepted=(AcceptedWarning("limits.hot", "temperature", 'Too "hot", by far.', "thermometer, checked"),),
        ),
        sheet=WeighingSheet((("charge_g", 101.25),), step_g=0.01, oil_removed="wiped"),
        overrides=(AgeOverride("sample age", 70.0, "label read late"),),
    )
    campaign = replace(
        CAMPAIGN, attempts=(attempt,), runs=(run,), regrades=(Regrade("g", "a1", NOW, "clean separation"),)
    )
    data = b"".join(finished(csv_steps([attempt], campaign))).decode("utf-8")
    reader = csv.DictReader(io.StringIO(data, newline=""))
    row = next(reader)
    assert reader.fieldnames is not None
    assert list(reader.fieldnames[:4]) == ["number", "started_at", "lot", "jar"]
    assert reader.fieldnames.index("note") == 4 + len(FACTORS) + 7 + 5
    expected = {
        "look": "bright",
        "room_rh_percent": "41.5",
        "oil_ml": "",
        "peak_c": "161",
        "checks_ticked": "2",
        "accepted_warnings": 'limits.hot: Too "hot", by far. Why: thermometer, checked',
        "ages_typed_by_hand": "sample age: clock 70, label read late",
        "tare_charge_g": "101.25",
        "step_g": "0.01",
        "oil_removed": "wiped",
        "run_id": "r1",
        "run_events": "2",
        "second_grade": "clean separation",
        "id": "a1",
    }
    assert {name: row[name] for name in expected} == expected
    assert datetime.fromisoformat(row["run_ended_at"]) == moment


def test_each_column_writes_something_and_sorts_for_any_attempt() -> None:
    source = Source()
    source.show(replace(CAMPAIGN, attempts=(ATTEMPT,)), frozenset({"a1"}))
    bare = Attempt("a2", 8, Conditions())
    for column in all_columns(source, NumberStyle(",", "F")):
        assert isinstance(column.text(ATTEMPT), str)
        assert isinstance(column.text(bare), str)
        keys = [key for key in (column.sort_key(ATTEMPT), column.sort_key(bare)) if key is not None]
        assert sorted(keys) is not None
    titles = {column.key: column for column in all_columns(source, NumberStyle(",", "F"))}
    assert titles["factor:temperature"].title == "Temperature, °F"
    assert titles["factor:temperature"].text(ATTEMPT) == "302"  # 150 °C, by the definition of the scale
    assert titles["photos"].text(ATTEMPT) == "yes"


def test_a_marked_attempt_tells_its_place_in_the_proof() -> None:
    recipe = ATTEMPT.conditions
    proof = Proof("p1", NOW, recipe, ProofRule.COUNT, 0.9, 0.95, 29)
    marked = [
        replace(ATTEMPT, id=f"m{number}", number=number, proof_id="p1", recorded_at=NOW + timedelta(hours=number))
        for number in (1, 2, 3)
    ]
    unmarked = replace(ATTEMPT, id="u", number=4, recorded_at=NOW + timedelta(hours=4))
    campaign = replace(CAMPAIGN, attempts=(*marked, unmarked), proofs=(proof,))
    source = Source()
    source.show(campaign, frozenset())
    (column,) = (each for each in all_columns(source, ".") if each.key == "proof")
    # The first failure ends a proof that allows none: what follows does not count.
    assert [column.text(each) for each in campaign.attempts] == [
        "1 of the proof",
        "of the proof, not counted",
        "of the proof, not counted",
        "",
    ]
    struck = replace(marked[0], struck_reason="wrong jar")
    another = replace(proof, id="p2", started_at=NOW + timedelta(days=1))
    campaign = replace(campaign, attempts=(struck, *marked[1:], unmarked), proofs=(proof, another))
    assert source.show(campaign, frozenset())  # the places of other rows have changed too
    assert column.text(struck) == "of proof 1, not counted"
    assert column.text(marked[1]) == "1 of proof 1"
    assert column.sort_key(unmarked) is None
    assert (quick_filters("proof", struck), quick_filters("proof", unmarked)) == (
        (Condition("proof", How.YES),),
        (Condition("proof", How.NO),),
    )
    data = b"".join(finished(csv_steps(campaign.attempts, campaign))).decode("utf-8")
    rows = list(csv.DictReader(io.StringIO(data, newline="")))  # RFC 4180, read by the standard library
    assert [(row["proof"], row["proof_place"]) for row in rows] == [("p1", ""), ("p1", "1"), ("p1", ""), ("", "")]


def test_the_choice_of_columns_survives_as_text_and_never_loses_a_new_column() -> None:
    source = Source()
    source.show(CAMPAIGN, frozenset())
    columns = all_columns(source, ".")
    usual = [column.key for column in ColumnChoice().arranged(columns)]
    assert usual == [column.key for column in base_columns(FACTORS, ".")]
    choice = (
        ColumnChoice().with_shown("note", False).with_shown("look", True).with_order(["number", "look", "time"])
    )
    choice = choice.with_order(["look", "number"])
    again = ColumnChoice.of_text(choice.to_text())
    assert again == choice
    keys = [column.key for column in again.arranged(columns)]
    assert keys[:2] == ["look", "number"]
    assert "note" not in keys
    assert {key for key in usual if key.startswith("factor:")} <= set(keys)
    assert ColumnChoice.of_text("{broken") == ColumnChoice.of_text("[1]") == ColumnChoice()


def test_jars_are_sorted_as_people_count() -> None:
    assert sorted(["J10", "J2", "j1"], key=natural) == ["j1", "J2", "J10"]


def test_history_says_lists_and_plain_numbers_in_words() -> None:
    warned = '[{"code": "c", "factor": "f", "text": "Too hot by far.", "reason": "checked"}]'
    kept = (
        Correction(NOW, "attempt", "a1", "facts.accepted", "[]", warned, "why", "Correct"),
        Correction(NOW, "attempt", "a1", "facts.ticked", '["one", "two"]', "[]", "why", "Correct"),
        Correction(NOW, "attempt", "a1", "trials", "1.5", "2", "why", "Correct"),
    )
    lines = history_lines(kept, CAMPAIGN, ",")
    assert [(line.old, line.new) for line in lines] == [
        ("none", "Too hot by far. Why: checked"),
        ("one; two", "none"),
        ("1,5", "2"),
    ]
