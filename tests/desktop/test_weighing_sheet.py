"""The weighing sheet and what was seen: lines, tares, questions that come when they matter, and what adds up."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.run_facts import NO_SHEET, OIL_REMOVALS
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.draft import from_draft, to_draft
from stirfall.desktop.bench_form.form import Form, fresh_form
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.weighing import MASS_NAMES, read_weighing
from stirfall.desktop.labelled import focusable_widgets
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.sentences import all_sentences
from stirfall.session.commands import TickChecklist

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def page(put_on_screen: Callable[..., BenchPage], workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))
    workspace.open_document(document)
    made = put_on_screen(BenchPage(workspace), 600, 900)
    made.folds.open("fold_masses")
    yield made
    workspace.close_document()


def type_into(page: BenchPage, name: str, text: str) -> None:
    line = page.weighing.masses.edits.get(name) or page.weighing.sheet.edits[name]
    line.setFocus()
    QTest.keyClicks(line, text)


def grade(page: BenchPage) -> None:
    page.model.set_parted(Parted.YES)
    page.model.set_pooled(Pooled.BEADS)


def test_there_is_one_line_for_each_mass_until_tares_are_wanted(page: BenchPage) -> None:
    sheet = page.weighing
    assert all(line.isVisible() for line in sheet.masses.edits.values())
    assert not any(line.isVisible() for line in sheet.masses.tares.values())
    QTest.mouseClick(sheet.tares, LEFT)
    QApplication.processEvents()
    assert all(line.isVisible() for line in sheet.masses.tares.values())
    QTest.mouseClick(sheet.tares, LEFT)
    assert not any(line.isVisible() for line in sheet.masses.tares.values())


def test_a_tare_is_taken_off_what_stood_on_the_balance_and_the_net_mass_is_kept_with_it(
    page: BenchPage, document: Document
) -> None:
    QTest.mouseClick(page.weighing.tares, LEFT)
    type_into(page, "product_g", "31.42")
    page.weighing.masses.tares["product_g"].setFocus()
    QTest.keyClicks(page.weighing.masses.tares["product_g"], "20.11")
    assert page.model.state is not None
    assert "11.31" in page.model.state.weighing.masses[1].echo
    grade(page)
    assert page.model.record()
    attempt = document.state.attempts[-1]
    assert attempt.masses.product_g == 11.31
    assert attempt.sheet.tare("product_g") == 20.11
    assert attempt.sheet.tare("charge_g") is None


def test_a_tare_above_the_balance_is_told_and_closes_the_record_button(page: BenchPage) -> None:
    grade(page)
    page.model.set_mass("product_g", "10")
    page.model.set_tare("product_g", "12")
    assert not page.weighing.problem.isHidden()
    assert "tare" in page.weighing.problem.text()
    assert not page.record_bar.record.isEnabled()
    page.model.set_tare("product_g", "")
    assert page.weighing.problem.isHidden()
    assert page.record_bar.record.isEnabled()


def test_how_the_oil_was_removed_is_asked_only_when_product_or_beads_are_weighed(
    page: BenchPage, document: Document
) -> None:
    assert not page.weighing.removal.isVisible()
    type_into(page, "charge_g", "12.4")
    assert not page.weighing.removal.isVisible()
    type_into(page, "beads_g", "1.2")
    assert page.weighing.removal.isVisible()
    assert page.weighing.removal.levels == OIL_REMOVALS
    QTest.mouseClick(page.weighing.removal.button("wiped"), LEFT)
    grade(page)
    assert page.model.record()
    assert document.state.attempts[-1].sheet.oil_removed == "wiped"


def test_the_bead_size_is_asked_with_beads_and_purity_with_the_product(page: BenchPage) -> None:
    edits = page.weighing.sheet.edits
    assert [name for name, line in edits.items() if line.isVisible()] == ["step_g"]
    type_into(page, "beads_g", "1.2")
    assert edits["bead_mm"].isVisible()
    assert not edits["purity_percent"].isVisible()
    type_into(page, "product_g", "7")
    assert edits["purity_percent"].isVisible()


# By definition: yield = product / charge, closure = (product + beads + residue - additive) / charge.
def test_one_quiet_line_says_what_the_weighings_add_up_to_with_their_uncertainty(page: BenchPage) -> None:
    assert not page.weighing.line.isVisible()
    for name, text in (("charge_g", "10"), ("product_g", "8"), ("residue_g", "1.9"), ("step_g", "0.01")):
        type_into(page, name, text)
    line = page.weighing.line.text()
    assert "80.0" in line
    assert "99.0" in line
    assert "±" in line
    assert page.weighing.flags.isHidden()


def test_a_closure_that_cannot_be_is_flagged_with_a_shape_and_never_blocks(page: BenchPage) -> None:
    grade(page)
    for name, text in (("charge_g", "10"), ("product_g", "9"), ("residue_g", "1.5")):
        type_into(page, name, text)
    assert "⚠" in page.weighing.flags.text()
    assert "102" in page.weighing.flags.text()
    assert page.record_bar.record.isEnabled()


def test_what_was_seen_is_understood_in_any_unit_and_kept(page: BenchPage, document: Document) -> None:
    page.folds.open("fold_seen")
    for name, text in (
        ("room_rh_percent", "52"),
        ("oil_ml", "0,06 l"),
        ("peak_c", "320 F"),
        ("lifted_at_c", "35"),
    ):
        line = page.seen.grid.edits[name]
        line.setFocus()
        QTest.keyClicks(line, text)
    assert "160" in page.seen.grid.said.text()  # 320 F = 160 °C, definition of the scale
    grade(page)
    assert page.model.record()
    facts = document.state.attempts[-1].facts
    assert facts.room_rh_percent == 52.0
    assert facts.oil_ml == pytest.approx(60.0)
    assert facts.peak_c == pytest.approx(160.0)
    assert facts.lifted_at_c == 35.0


def test_an_impossible_humidity_is_told_once_the_line_was_left(page: BenchPage) -> None:
    grade(page)
    page.folds.open("fold_seen")
    line = page.seen.grid.edits["room_rh_percent"]
    line.setFocus()
    QTest.keyClicks(line, "520")
    assert page.seen.grid.problem.isHidden()
    assert not page.record_bar.record.isEnabled()
    QTest.keyClick(line, Qt.Key.Key_Tab)
    assert not page.seen.grid.problem.isHidden()
    assert "humidity" in page.seen.grid.problem.text()


def test_nothing_of_the_sheet_is_needed_to_record(page: BenchPage, document: Document) -> None:
    grade(page)
    assert page.model.record()
    assert document.state.attempts[-1].sheet == NO_SHEET


def test_the_next_form_keeps_the_balance_and_nothing_else_of_the_sheet(page: BenchPage, document: Document) -> None:
    grade(page)
    type_into(page, "product_g", "8")
    type_into(page, "step_g", "0.01")
    page.model.set_sheet("oil_removed", "wiped")
    page.model.set_seen("peak_c", "160")
    assert page.model.record()
    assert page.model.state is not None
    assert dict(page.model.state.form.sheet) == {"step_g": "0.01"}
    assert not page.model.state.form.seen
    assert dict(fresh_form(document.state, ".").sheet) == {"step_g": "0.01"}


def test_undo_brings_sheet_and_facts_back(page: BenchPage, workspace: Workspace) -> None:
    grade(page)
    page.model.set_mass("product_g", "31.42")
    page.model.set_tare("product_g", "20.11")
    page.model.set_sheet("oil_removed", "drained")
    page.model.set_seen("room_rh_percent", "41")
    page.model.set_look("grey")
    said = []
    workspace.notified.connect(said.append)
    assert page.model.state is not None
    before = page.model.state.form
    assert page.model.record()
    said[-1].on_act()
    assert page.model.state.form == before


def test_every_line_of_the_whole_sheet_has_a_name(page: BenchPage) -> None:
    page.model.set_mass("beads_g", "1")
    page.model.set_mass("product_g", "1")
    QTest.mouseClick(page.weighing.tares, LEFT)
    QApplication.processEvents()
    assert [w.objectName() for w in focusable_widgets(page.weighing) if not w.accessibleName()] == []


TEXTS = st.one_of(st.text(max_size=6), st.floats(0, 100).map(lambda value: f"{value:.4g}"))


@given(
    masses=st.dictionaries(st.sampled_from(MASS_NAMES), TEXTS),
    tares=st.dictionaries(st.sampled_from(MASS_NAMES), TEXTS),
    sheet=st.dictionaries(st.sampled_from(["step_g", "bead_mm", "purity_percent", "purity_u_percent"]), TEXTS),
)
def test_whatever_is_typed_the_sheet_answers_and_what_it_keeps_adds_up(
    masses: dict[str, str], tares: dict[str, str], sheet: dict[str, str]
) -> None:
    state = read_weighing(masses, tares, sheet, ".", None)
    for mass in state.masses:
        assert mass.value is None or mass.value >= 0
        assert mass.problem is None or mass.problem.code in all_sentences()
        assert (mass.value is None) == (not mass.text.strip() or mass.problem is not None)
    assert all(line.problem is None or line.problem.code in all_sentences() for line in state.sheet_lines)
    if not state.unread:
        assert set(dict(state.sheet.tares)) <= {mass.name for mass in state.masses if mass.value is not None}


def test_a_draft_of_the_first_version_is_still_read_and_one_of_now_comes_back_whole() -> None:
    old = to_draft(replace(Form(), note="before", masses={"charge_g": "3"}))
    for name in ("look", "seen", "tares", "sheet", "reasons", "planned", "planned_jar"):
        del old[name]
    form = from_draft({**old, "version": 1})
    assert form is not None
    assert (form.note, form.masses["charge_g"], form.look) == ("before", "3", "")
    whole = Form(
        look="grey",
        seen={"peak_c": "160"},
        tares={"product_g": "20"},
        sheet={"oil_removed": "wiped", "step_g": "0.01"},
        reasons={"limits.near_flash|temperature|words": "checked"},
        planned={"temperature": 150.0, "stirring action": "fold"},
        planned_jar="J1",
    )
    assert from_draft(to_draft(whole)) == whole
