"""The section "Other benches": a line per bench, the one that is picked out in words, and how to come by others."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from looking import cut_texts, laid_out, nameless
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "unit" / "session"))

from pool_benches import MADE, a_bench, planted

from stirfall.desktop.evidence.benches_section import BenchesSection
from stirfall.desktop.evidence.benches_state import state_of
from stirfall.desktop.evidence.benches_table import benches_table
from stirfall.desktop.ledger.columns import Source, all_columns
from stirfall.desktop.ledger.facts import fact_sections
from stirfall.desktop.ledger.filters import quick_filters
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.session.commands import StrikeAttempt
from stirfall.session.document import Document
from stirfall.session.ledger_filter import Around, Condition, How, value_of
from stirfall.session.pooling import pool

LEFT = Qt.MouseButton.LeftButton
Put = Callable[[BenchesSection, int, int], BenchesSection]


@pytest.fixture(scope="module")
def _pooled_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pooled") / "pooled.stirfall"
    pool(planted((0.2, -0.2, 0.1, -4.5), 12, seed=3), made_at=MADE).write(path).close()
    return path


@pytest.fixture
def pooled(_pooled_once: Path, tmp_path: Path) -> Iterator[Document]:
    path = tmp_path / "pooled.stirfall"
    path.write_bytes(_pooled_once.read_bytes())
    with Document.open(path) as document:
        yield document


@pytest.fixture
def section(workspace: Workspace, pooled: Document, put_on_screen: Put) -> BenchesSection:
    workspace.open_document(pooled)
    return put_on_screen(BenchesSection(workspace), 620, 700)


def test_every_bench_has_a_line_and_the_new_one_stands_last(section: BenchesSection) -> None:
    lines = section.model.state.lines
    assert [line.name for line in lines] == [*(f"Bench {at}" for at in range(1, 5)), "Not seen yet"]
    assert [line.is_new for line in lines] == [False] * 4 + [True]
    assert lines[3].way == "fewer"
    assert section.verdict.text().startswith("It may not hold everywhere: Bench 4")
    assert "bench not seen yet has a chance of" in section.answer.text()
    assert not section.model.state.is_stale


def test_the_bench_outside_is_picked_out_first_and_keys_and_clicks_pick_others(section: BenchesSection) -> None:
    assert section.model.state.picked == 3
    assert section.picked.text().startswith("Bench 4, 12 attempts.")
    section.plot.setFocus()
    QTest.keyClick(section.plot, Qt.Key.Key_Up)
    assert section.picked.text().startswith("Bench 3")
    assert section.plot.accessibleDescription().startswith("Bench 3")
    row = section.plot.sizeHint().height() / (len(section.model.state.lines) + 0.6)
    QTest.mouseClick(section.plot, LEFT, pos=QPoint(40, round(1.2 * row)))
    assert section.model.state.picked == section.plot.row_at(round(1.2 * row)) >= 0
    section.model.pick(0)
    QTest.keyClick(section.plot, Qt.Key.Key_Up)  # there is none above
    assert section.model.state.picked == 0


@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_nothing_is_cut_or_nameless_in_any_theme(
    section: BenchesSection, qapp: QApplication, theme: object
) -> None:
    apply_theme(qapp, theme)  # type: ignore[arg-type]
    section.workspace.set_theme(theme)  # type: ignore[arg-type]
    for width in (620, 380):
        section.resize(width, 700)
        laid_out(section)
        assert cut_texts(section) == []
        assert nameless(section) == []
        assert not section.plot.grab().isNull()
    assert not section.plot.has_words
    apply_theme(qapp, LIGHT)


def test_the_numbers_are_a_table(section: BenchesSection) -> None:
    found = section.model.state.found
    assert found is not None
    table = benches_table(found, decimal=",")
    assert len(table.shown) == len(table.exact) == 5
    assert all(len(row) == len(table.header) for row in table.shown)
    assert all(len(row) == len(table.exact_header) for row in table.exact)
    QTest.mouseClick(section.table, LEFT)
    assert section.dialog is not None
    section.dialog.close()


def test_one_bench_teaches_how_to_come_by_others(workspace: Workspace, tmp_path: Path, put_on_screen: Put) -> None:
    with Document.create_from(tmp_path / "one.stirfall", a_bench("North", (True, False)).state) as document:
        workspace.open_document(document)
        section = put_on_screen(BenchesSection(workspace), 620, 500)
        assert "All attempts are of one bench" in section.verdict.text()
        assert "pool them with yours" in section.how.text()
        assert not section.plot.isVisible()
        asked: list[bool] = []
        section.pool_wanted.connect(lambda: asked.append(True))
        QTest.mouseClick(section.pool, LEFT)
        assert asked == [True]
        workspace.close_document()


def test_without_a_session_it_says_so(workspace: Workspace, put_on_screen: Put) -> None:
    section = put_on_screen(BenchesSection(workspace), 620, 500)
    assert section.message.text().startswith("Open a session")


def test_nothing_is_worked_out_while_another_section_is_in_front(workspace: Workspace, pooled: Document) -> None:
    section = BenchesSection(workspace)
    workspace.open_document(pooled)
    assert section.model.state.found is None
    section.deleteLater()


def test_a_change_asks_anew_and_keeps_what_is_picked_out(section: BenchesSection, pooled: Document) -> None:
    section.model.pick(1)
    before = section.model.state.found
    section.workspace.execute(StrikeAttempt(pooled.state.attempts[0].id, "the wrong jar"))
    after = section.model.state.found
    assert after is not None
    assert after is not before
    assert len(section.model.state.lines) == 5


def test_same_answer_same_state(section: BenchesSection) -> None:
    found = section.model.state.found
    assert found is not None
    assert state_of(found) == state_of(found)
    assert state_of(found, decimal=",").lines[0].details != state_of(found).lines[0].details


def test_the_ledger_tells_where_a_pooled_attempt_was_made(pooled: Document) -> None:
    state = pooled.state
    attempt = state.attempts[0]
    assert attempt.origin is not None
    bench = attempt.origin.bench
    column = next(each for each in all_columns(Source(state), ".") if each.key == "bench")
    assert column.text(attempt) == bench
    (where,) = [each for each in fact_sections(attempt, state, ".") if each.title == "Where it was made"]
    assert where.lines[0].text == bench
    assert quick_filters("bench", attempt) == (Condition("bench", How.IS, bench),)
    value = value_of("bench", Around(MADE))
    assert [value(each) for each in state.attempts].count(bench) == 12
