"""Inspecting and correcting jars and lots: old value and reason stay, an alarm is not lightly taken back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt, Jar, Lot
from stirfall.bench.run_facts import RunFacts, WeighingSheet
from stirfall.bench.substances import MetalValues, Substances
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document


def jar_of(document: Document) -> Jar:
    jar = document.state.jar("J1")
    assert jar is not None
    return jar


def refused(document: Document, command: c.Command) -> str:
    before = document.state
    with pytest.raises(InputError) as caught:
        document.execute(command)
    assert document.state == before
    return caught.value.code


def test_an_inspection_is_kept_with_its_time_and_can_be_undone(
    document: Document, clock: FixedClock, reopened: Callable[[], Document]
) -> None:
    at = clock.now() + timedelta(days=3)
    changes = document.execute(c.InspectJar("J1", "grey", at))
    assert (changes.name, changes.shelf) == ("Inspect jar J1", True)
    assert (jar_of(document).look, jar_of(document).looked_at) == ("grey", at)
    assert reopened().state == document.state
    document.undo()
    assert (jar_of(document).look, jar_of(document).looked_at) == ("", None)


def test_an_alarming_look_is_taken_back_only_with_a_reason(document: Document, clock: FixedClock) -> None:
    document.execute(c.InspectJar("J1", "furry", clock.now()))
    assert refused(document, c.InspectJar("J1", "bright", clock.now())) == "jar.look_taken_back"
    document.execute(c.InspectJar("J1", "yellow", clock.now()))  # worse needs no reason
    document.execute(c.InspectJar("J1", "grey", clock.now(), "lamp was yellow; judged by the safety officer"))
    assert jar_of(document).look == "grey"
    told = [(each.field, each.old, each.new, each.reason) for each in document.corrections("J1")]
    assert ("look", '"yellow"', '"grey"', "lamp was yellow; judged by the safety officer") in told


def test_a_look_needs_a_known_word_a_known_jar_and_a_time_after_the_start(
    document: Document, clock: FixedClock
) -> None:
    assert refused(document, c.InspectJar("J1", "pink", clock.now())) == "jar.word"
    assert refused(document, c.InspectJar("J9", "grey", clock.now())) == "jar.unknown"
    early = clock.now() - timedelta(hours=1)
    assert refused(document, c.InspectJar("J1", "grey", early)) == "time.runs_backwards"


def test_a_corrected_jar_keeps_what_it_was(document: Document, reopened: Callable[[], Document]) -> None:
    document.execute(
        c.ChangeJar(replace(jar_of(document), oil_depth_mm=22, inner_diameter_mm=40), "measured again")
    )
    assert (jar_of(document).oil_depth_mm, jar_of(document).inner_diameter_mm) == (22.0, 40.0)
    changed = {(each.field, each.old, each.new, each.reason) for each in document.corrections("J1")}
    assert changed == {
        ("oil_depth_mm", "null", "22.0", "measured again"),
        ("inner_diameter_mm", "null", "40.0", "measured again"),
    }
    assert reopened().state == document.state
    document.undo()
    assert jar_of(document).oil_depth_mm is None


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"oil_depth_mm": -1.0}, "amount.impossible"),
        ({"inner_diameter_mm": 0.0}, "amount.impossible"),
        ({"piece_count": 0}, "amount.impossible"),
        ({"room_rh_percent": 101.0}, "amount.above_hundred"),
        ({"storage_c": -300.0}, "amount.impossible"),
        ({"lot_id": "L9"}, "lot.unknown"),
    ],
)
def test_a_jar_cannot_be_corrected_into_nonsense(document: Document, changes: dict[str, object], code: str) -> None:
    assert refused(document, c.ChangeJar(replace(jar_of(document), **changes), "why")) == code  # type: ignore[arg-type]


def test_a_correction_of_a_jar_or_a_lot_needs_a_reason(document: Document) -> None:
    assert refused(document, c.ChangeJar(replace(jar_of(document), note="x"), " ")) == "correction.no_reason"
    assert refused(document, c.ChangeLot(Lot("L1", note="x"), "")) == "correction.no_reason"


def test_a_jar_that_attempts_came_from_keeps_its_lot(document: Document) -> None:
    document.execute(c.AddLot(Lot("L2")))
    document.execute(c.ChangeJar(replace(jar_of(document), lot_id="L2"), "label was wrong"))
    document.execute(c.ChangeJar(replace(jar_of(document), lot_id="L1"), "label was right"))
    document.execute(c.RecordAttempt(Attempt("", 0, Conditions({"age": 3}), jar_id="J1", parted=Parted.NO)))
    assert refused(document, c.ChangeJar(replace(jar_of(document), lot_id="L2"), "why")) == "jar.lot_in_use"


def test_a_corrected_lot_keeps_what_it_was(document: Document, reopened: Callable[[], Document]) -> None:
    lot = document.state.lot("L1")
    assert lot is not None
    document.execute(c.ChangeLot(replace(lot, metal_percent=82.5, metal_u_percent=0.4, assays=3), "assayed"))
    assert reopened().state.lot("L1") == replace(lot, metal_percent=82.5, metal_u_percent=0.4, assays=3)
    assert {each.field for each in document.corrections("L1")} == {"metal_percent", "metal_u_percent", "assays"}
    assert refused(document, c.ChangeLot(replace(lot, metal_percent=100.1), "why")) == "amount.above_hundred"


def test_facts_and_sheet_of_an_attempt_are_corrected_part_by_part(document: Document) -> None:
    facts = RunFacts(look="grey", peak_c=151)
    command = c.RecordAttempt(Attempt("", 0, Conditions({"age": 3}), parted=Parted.NO, facts=facts))
    attempt_id = document.execute(command).new_attempt_id
    assert attempt_id is not None
    changes = {"facts": replace(facts, peak_c=153.0), "sheet": WeighingSheet(step_g=0.01)}
    document.execute(c.CorrectAttempt(attempt_id, changes, "read again"))
    told = {(each.field, each.old, each.new) for each in document.corrections(attempt_id)}
    assert told == {("facts.peak_c", "151.0", "153.0"), ("sheet.step_g", "null", "0.01")}
    assert (
        refused(document, c.CorrectAttempt(attempt_id, {"facts": {"look": "grey"}}, "why"))
        == "correction.wrong_kind"
    )


@pytest.mark.parametrize(
    ("key", "material", "fits"),
    [
        ("potassium", MaterialClass.SUPEROXIDE_FORMER, True),
        ("potassium", MaterialClass.ALKALI_METAL, False),
        ("sodium-potassium", MaterialClass.OTHER, False),
        ("sodium", MaterialClass.ALKALI_METAL, True),
        ("sodium", MaterialClass.SUPEROXIDE_FORMER, True),
        ("sodium", MaterialClass.OTHER, True),
        ("sodium", MaterialClass.BASE_METAL, False),
        ("tin", MaterialClass.OTHER, True),
    ],
)
def test_a_metal_of_the_table_is_never_entered_in_a_milder_class(
    document: Document, key: str, material: MaterialClass, fits: bool
) -> None:
    chosen = replace(document.state.settings, material=material, substances=Substances(metal=MetalValues(key)))
    if fits:
        document.execute(c.ChangeSettings(chosen))
        assert document.state.settings.material is material
    else:
        assert refused(document, c.ChangeSettings(chosen)) == "settings.class_too_mild"


def test_changed_substances_are_told_one_by_one(document: Document) -> None:
    before = document.state.settings
    substances = replace(before.substances, oil=replace(before.substances.oil, autoignition_c=330))
    document.execute(c.ChangeSettings(replace(before, substances=substances)))
    told = [(each.field, each.old, each.new) for each in document.corrections("settings")]
    assert told == [("substances.oil.autoignition_c", "null", "330.0")]
