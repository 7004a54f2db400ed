"""The section "Drift": its picture, tables, marks and measures; and who and tool in form, ledger and filters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from looking import cut_texts, nameless
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.issued import ChangeMark, MarkKind
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.run_facts import RunFacts
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.evidence.drift_building import key_of
from stirfall.desktop.evidence.drift_export import drift_table
from stirfall.desktop.evidence.drift_picture import picture_of
from stirfall.desktop.evidence.drift_plot import DriftPlot
from stirfall.desktop.evidence.drift_section import DriftSection
from stirfall.desktop.evidence.page import EvidencePage
from stirfall.desktop.ledger.columns import Source, all_columns
from stirfall.desktop.ledger.corrections import Entered, correctables, history_lines, read_correction
from stirfall.desktop.ledger.csv_rows import csv_steps
from stirfall.desktop.ledger.facts import fact_sections
from stirfall.desktop.ledger.filters import quick_filters
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT
from stirfall.reporting.paper_sheet import make_paper_sheet
from stirfall.session.clock import FixedClock
from stirfall.session.commands import CorrectAttempt, MarkChange
from stirfall.session.document import Document
from stirfall.session.drift import drift
from stirfall.session.ledger_filter import Around, Condition, How, matcher, subjects

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace

LEFT = Qt.MouseButton.LeftButton
BEGIN = datetime(2026, 11, 1, 18, tzinfo=UTC)
OUTCOMES = "111101110111110111111011011" + "000001000000110"


def attempts() -> tuple[Attempt, ...]:
    return tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"temperature": 150.0 + number % 6}),
            started_at=BEGIN + timedelta(hours=2 * number),
            parted=Parted.YES,
            pooled=Pooled.ONE_POOL if outcome == "1" else Pooled.BEADS,
            facts=RunFacts(operator="Ada" if number < 21 else "Ben", tool="glass rod"),
        )
        for number, outcome in enumerate(OUTCOMES, 1)
    )


@pytest.fixture
def drifting(tmp_path: Path, campaign_settings: CampaignSettings, clock: FixedClock) -> Iterator[Document]:
    """A campaign of 42 attempts in which clean separations become rare after attempt 27."""
    factors = (Factor("temperature", "C", 145.0, 170.0),)
    path = tmp_path / "drifting.stirfall"
    with Document.create(path, campaign_settings, factors, attempts=attempts(), clock=clock) as made:
        yield made


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, drifting: Document) -> Iterator[EvidencePage]:
    workspace.open_document(drifting)
    made = EvidencePage(workspace)
    qtbot.addWidget(made)
    made.resize(620, 800)
    made.show()
    qtbot.waitExposed(made)
    made.show_section("drift")
    yield made
    workspace.close_document()


@pytest.fixture
def section(page: EvidencePage) -> DriftSection:
    return page.drift


class TestSection:
    def test_the_verdict_stands_on_top_and_the_picture_below(self, section: DriftSection) -> None:
        assert section.verdict.text().startswith("Since attempt 28 (")
        assert section.plot.isVisible()
        assert len(section.plot.spots) == 42
        assert section.plot.accessibleDescription() == section.model.state.verdict
        assert section.caveat.text().startswith("The conditions do not explain it.")
        assert "conditions do not explain" not in section.lines.text()

    def test_nothing_is_worked_out_while_another_section_is_in_front(
        self, qtbot: QtBot, workspace: Workspace, drifting: Document
    ) -> None:
        workspace.open_document(drifting)
        made = EvidencePage(workspace)
        qtbot.addWidget(made)
        made.show()
        assert made.drift.model.state.found is None
        made.show_section("drift")
        assert made.drift.model.state.found is not None

    def test_charts_and_measures_are_switched(self, section: DriftSection) -> None:
        titles = []
        for chart in ("cusum", "ewma", "values"):
            QTest.mouseClick(section.charts.button(chart), LEFT)
            assert section.model.state.picture is not None
            titles.append(section.model.state.picture.title)
        assert titles == ["Cumulative sum", "Clean separation, average", "Clean separation"]
        section.measure.setCurrentIndex(section.measure.findData("pooled"))
        section.measure.activated.emit(section.measure.currentIndex())
        assert section.model.state.measure == "pooled"
        assert "single pools" in section.verdict.text()

    def test_a_measure_without_values_says_what_it_needs(self, section: DriftSection) -> None:
        section.model.choose_measure("parting time")
        assert "first powder" in section.verdict.text()
        assert not section.plot.isVisible()
        assert not section.signals.isVisible()
        assert section.mark.isEnabled()

    def test_without_a_session_it_says_what_will_stand_here(self, workspace: Workspace, page: EvidencePage) -> None:
        workspace.close_document()
        assert "in the order of time" in page.drift.message.text()

    def test_with_the_arrow_keys_an_attempt_is_named_and_enter_opens_it(
        self, section: DriftSection, workspace: Workspace, qtbot: QtBot
    ) -> None:
        section.plot.setFocus()
        QTest.keyClick(section.plot, Qt.Key.Key_Right)
        QTest.keyClick(section.plot, Qt.Key.Key_Right)
        assert section.pointed.text().startswith("Attempt 2, ")
        assert "clean" in section.pointed.text()
        picture = section.plot.picture
        with qtbot.waitSignal(workspace.page_requested) as asked:
            QTest.keyClick(section.plot, Qt.Key.Key_Return)
        assert asked.args == ["attempts"]
        assert workspace.in_hand.label == "Attempt 2"
        assert section.plot.picture is picture  # naming an attempt draws nothing anew

    def test_a_click_on_a_point_opens_its_attempt(self, section: DriftSection, workspace: Workspace) -> None:
        x, y = section.plot.spot_points[9]
        place = section.plot.viewport_position(float(x), float(y))
        QTest.mouseMove(section.plot.viewport(), place.toPoint())
        QTest.mouseClick(section.plot.viewport(), LEFT, pos=place.toPoint())
        assert workspace.in_hand.label == "Attempt 10"

    def test_a_signal_opens_its_attempt(self, section: DriftSection, workspace: Workspace) -> None:
        rows = section.model.state.signals
        assert rows
        section.signals.selectRow(0)
        assert section.model.state.pointed_id == rows[0].attempt_id
        QTest.keyClick(section.signals, Qt.Key.Key_Return)
        assert workspace.in_hand.label == f"Attempt {rows[0].number}"

    def test_the_button_opens_what_is_named(self, section: DriftSection, workspace: Workspace) -> None:
        assert not section.open.isEnabled()
        section.model.point_at("a31")
        assert section.open.isEnabled()
        QTest.mouseClick(section.open, LEFT)
        assert workspace.in_hand.label == "Attempt 31"

    def test_numbers_of_the_picture_can_be_read_and_saved(self, section: DriftSection, tmp_path: Path) -> None:
        found = section.model.state.found
        assert found is not None
        table = drift_table(found, "cusum")
        assert len(table.shown) == len(table.exact) == 42
        for suffix in ("png", "svg", "csv"):
            path = tmp_path / f"drift.{suffix}"
            section.picture.save(path)
            assert path.stat().st_size > 300
        section.picture.show_table()
        assert section.picture.dialog is not None

    @pytest.mark.parametrize("width", [560, 800])
    def test_nothing_is_cut_and_everything_has_a_name(self, page: EvidencePage, width: int) -> None:
        page.resize(width, 700)
        assert cut_texts(page.drift) == []
        assert nameless(page.drift) == []

    def test_it_is_drawn_in_every_theme(self, section: DriftSection, workspace: Workspace) -> None:
        seen = set()
        for theme in (DARK, HIGH_CONTRAST, LIGHT):
            workspace.set_theme(theme)
            image = section.plot.grab().toImage()
            seen.add(image.pixelColor(3, 3).name())
        assert len(seen) > 1


class TestMarks:
    def test_a_change_is_marked_undone_and_done_again(
        self, section: DriftSection, workspace: Workspace, drifting: Document
    ) -> None:
        QTest.mouseClick(section.mark, LEFT)
        dialog = section.dialog
        assert dialog is not None
        assert not dialog.verb.isEnabled()
        QTest.keyClicks(dialog.words, "new can of oil")
        QTest.mouseClick(dialog.kinds.button("tool"), LEFT)
        QTest.mouseClick(dialog.verb, LEFT)
        (mark,) = drifting.state.marks
        assert (mark.text, mark.kind) == ("new can of oil", MarkKind.TOOL)
        assert [row.words for row in section.model.state.marks if row.mark_id] == ["new can of oil"]
        workspace.undo()
        assert not [row for row in section.model.state.marks if row.mark_id]
        workspace.redo()
        assert [row.words for row in section.model.state.marks if row.mark_id] == ["new can of oil"]

    def test_only_a_mark_of_a_person_is_taken_away(self, section: DriftSection, drifting: Document) -> None:
        at = BEGIN + timedelta(hours=55)
        section.workspace.execute(MarkChange(ChangeMark("", at, MarkKind.OIL, "new can")))
        assert "near this change: new can" in section.verdict.text()
        rows = section.model.state.marks
        assert [(row.words, bool(row.mark_id)) for row in rows] == [("operator: Ben", False), ("new can", True)]
        section.marks.selectRow(0)
        assert not section.drop.isEnabled()
        section.marks.selectRow(1)
        assert section.drop.isEnabled()
        QTest.mouseClick(section.drop, LEFT)
        assert drifting.state.marks == ()
        assert "near this change" not in section.verdict.text()

    def test_an_act_from_the_menus_brings_the_section_to_the_front(self, page: EvidencePage) -> None:
        page.show_section("rivals")
        page.drift.mark.click()
        assert page.section == "drift"
        assert page.drift.dialog is not None

    def test_escape_leaves_without_a_mark(self, section: DriftSection, drifting: Document) -> None:
        section.open_mark_dialog()
        assert section.dialog is not None
        QTest.keyClick(section.dialog, Qt.Key.Key_Escape)
        assert drifting.state.marks == ()


class TestPicture:
    def test_shares_lie_between_rails_and_numbers_at_their_height(self, drifting: Document) -> None:
        found = drift(drifting.state)
        shares, sums = picture_of(found, "values"), picture_of(found, "cusum")
        assert shares is not None
        assert sums is not None
        assert shares.rails == ("clean", "not clean")
        assert shares.bounds == (0.0, 100.0)
        assert sums.rails is None
        assert sums.bounds[0] < 0 < sums.bounds[1]
        assert shares.numbers == tuple(range(1, 43))

    def test_a_signal_on_screen_is_a_shape_with_a_word(self, drifting: Document) -> None:
        picture = picture_of(drift(drifting.state), "cusum")
        assert picture is not None
        assert [(mark.way, mark.word) for mark in picture.signals] == [(-1, "sum")]

    def test_every_attempt_can_be_pointed_at_in_a_large_campaign(self, drifting: Document, qtbot: QtBot) -> None:
        state = drifting.state
        many = tuple(
            replace(state.attempts[n % 42], id=f"b{n}", number=n + 1, started_at=BEGIN + timedelta(minutes=n))
            for n in range(2100)
        )
        picture = picture_of(drift(replace(state, attempts=many)), "values")
        plot = DriftPlot(LIGHT)
        qtbot.addWidget(plot)
        plot.resize(600, 340)
        plot.show_picture(picture, "")
        assert len(plot.spots) == 2000
        assert picture is not None
        assert (picture.start, picture.numbers[0], picture.ends) == (100, 101, (100.5, 2100.5))
        assert "newest 2000" in key_of(picture).replace("\u00a0", " ")
        assert np.isfinite(plot.spot_points).all()
        assert plot.spot_at(QPointF(-50, -50)) is None


class TestWhoAndTool:
    @pytest.fixture
    def bench(self, qtbot: QtBot, workspace: Workspace, drifting: Document) -> Iterator[BenchPage]:
        workspace.open_document(drifting)
        made = BenchPage(workspace)
        qtbot.addWidget(made)
        made.resize(640, 900)
        made.show()
        qtbot.waitExposed(made)
        yield made
        workspace.close_document()

    def test_the_last_words_are_there_and_seen_while_folded_away(self, bench: BenchPage) -> None:
        assert bench.folds.toggles["fold_seen"].text() == "▸ What was seen: Ben, glass rod"
        assert bench.seen.words.edits["operator"].text() == "Ben"
        state = bench.model.state
        assert state is not None
        assert (state.facts.operator, state.facts.tool) == ("Ben", "glass rod")

    def test_what_is_typed_goes_into_the_next_attempt_and_stays(self, bench: BenchPage, drifting: Document) -> None:
        bench.folds.open("fold_seen")
        edit = bench.seen.words.edits["tool"]
        edit.selectAll()
        QTest.keyClicks(edit, "steel rod")
        bench.model.type_value("temperature", "155")
        bench.model.set_parted(Parted.NO)
        bench.checklist.hide()
        for item in bench.model.state.checklist.items if bench.model.state else ():
            bench.model.tick(item.key, True)
        bench.model.finish_checklist()
        assert bench.model.record(), bench.model.state and bench.model.state.missing
        newest = drifting.state.attempts[-1]
        assert (newest.facts.operator, newest.facts.tool) == ("Ben", "steel rod")
        assert bench.model.state is not None
        assert bench.model.state.form.tool == "steel rod"

    def test_earlier_words_are_offered(self, bench: BenchPage) -> None:
        completer = bench.seen.words.edits["operator"].completer()
        completer.setCompletionPrefix("a")
        assert completer.currentCompletion() == "Ada"

    def test_nobody_has_to_say_who(self, bench: BenchPage) -> None:
        bench.model.set_text("operator", "")
        bench.model.set_text("tool", " ")
        state = bench.model.state
        assert state is not None
        assert (state.facts.operator, state.facts.tool) == ("", "")
        assert bench.folds.toggles["fold_seen"].text() == "▸ What was seen"

    def test_ledger_columns_facts_and_csv_tell_them(self, drifting: Document) -> None:
        state, first = drifting.state, drifting.state.attempts[0]
        columns = {column.key: column for column in all_columns(Source(state), ".")}
        assert (columns["operator"].text(first), columns["tool"].text(first)) == ("Ada", "glass rod")
        assert not columns["operator"].usual
        lines = {line.label: line.text for part in fact_sections(first, state, ".") for line in part.lines}
        assert (lines["Who"], lines["Tool"]) == ("Ada", "glass rod")
        steps = csv_steps(state.attempts, state)
        parts: list[bytes] = []
        try:
            while True:
                next(steps)
        except StopIteration as end:
            parts = end.value
        header, row = b"".join(parts).decode().split("\r\n")[:2]
        assert header.endswith(",operator,tool")
        assert row.endswith(",Ada,glass rod")

    def test_they_are_corrected_with_a_reason_and_the_history_says_so(self, drifting: Document) -> None:
        first = drifting.state.attempts[0]
        keys = [item.key for item in correctables(first, drifting.state, ".")]
        assert {"facts.operator", "facts.tool"} <= set(keys)
        read = read_correction(
            Entered("facts.operator", "Cleo", reason="the wrong name"), first, drifting.state, "."
        )
        assert read.changes is not None
        drifting.execute(CorrectAttempt(first.id, read.changes, "the wrong name"))
        assert drifting.state.attempts[0].facts.operator == "Cleo"
        (line,) = history_lines(drifting.corrections(first.id), drifting.state, ".")
        assert (line.what, line.old, line.new) == ("who", "Ada", "Cleo")

    def test_the_ledger_is_filtered_by_them(self, drifting: Document) -> None:
        state = drifting.state
        known = {subject.key: subject for subject in subjects(state)}
        assert known["operator"].levels == ("Ada", "Ben")
        around = Around.of(state, BEGIN)
        by_ada = matcher([Condition("operator", How.IS, "Ada")], around)
        assert sum(by_ada(each) for each in state.attempts) == 20
        assert quick_filters("tool", state.attempts[0])[0] == Condition("tool", How.IS, "glass rod")
        assert quick_filters("tool", replace(state.attempts[0], facts=RunFacts())) == (
            Condition("tool", How.KNOWN),
        )

    def test_the_blank_record_asks_for_them(self, drifting: Document) -> None:
        labels = [blank.label for blank in make_paper_sheet(drifting.state).jar]
        assert labels[-2:] == ["Who", "Tool"]
