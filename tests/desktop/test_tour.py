"""The tour of the window: its words and time, its keys, what it leaves as it was, and when it is not offered."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from stirfall.bench.running import PlannedStep, Run, Step
from stirfall.desktop.app import make_parts
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT
from stirfall.desktop.tour.steps import LONGEST_S, STEPS, TOUR, seconds_needed
from stirfall.desktop.tour.tour import Tour
from stirfall.desktop.workspace import PAGES, SIDES
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import BeginRun
from stirfall.session.document import Document
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot


@pytest.fixture(scope="module")
def one_shell(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    """One window for all tests: making it is what takes time."""
    made = Shell(qapp, Settings(tmp_path_factory.mktemp("tour") / "settings.json"), make_parts)
    made.window.resize(1280, 720)
    made.window.show()
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


@pytest.fixture
def shell(one_shell: Shell) -> Iterator[Shell]:
    """The window without a session and without a tour, at 1280 x 720."""
    one_shell.window.resize(1280, 720)
    yield one_shell
    if one_shell.tour is not None:
        one_shell.tour.leave()
    one_shell.workspace.close_document()


@pytest.fixture
def answered(shell: Shell, document_of_few: Document, qtbot: QtBot) -> Document:
    """A session of two attempts and two jars, open in the window and with its odds."""
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=10_000):
        shell.workspace.open_document(document_of_few)
    return document_of_few


def tour_of(shell: Shell) -> Tour:
    assert shell.show_round()
    assert shell.tour is not None
    return shell.tour


def test_reading_and_pressing_take_less_than_three_minutes() -> None:
    """At 200 words a minute (common practice, no source)."""
    assert seconds_needed() == pytest.approx(sum(step.words for step in TOUR) * 0.3 + 3.0 * len(TOUR))
    assert seconds_needed() < LONGEST_S == 180.0
    assert 8 <= len(TOUR) <= 10


def test_each_step_has_one_or_two_sentences_and_a_place() -> None:
    for step in TOUR:
        assert step.place in (*PAGES, *SIDES)
        assert 1 <= step.text.count(". ") + step.text.count("? ") + 1 <= 2, step.text
        assert "!" not in step.text
        assert step.words <= 35


def test_the_keys_walk_through_to_the_end_and_leave_no_trace(shell: Shell) -> None:
    shell.window.parts.first_run.button("tour").click()
    tour = shell.tour
    assert tour is not None
    document = shell.workspace.document
    assert document is not None
    folder = document.path.parent
    assert tour.place == 0
    assert sentence("tour.changes_nothing") in tour.card.notice.text()
    assert tour.card.notice.text().startswith("Invented data")
    QTest.keyClick(tour.card.next, Qt.Key.Key_Right)
    QTest.keyClick(tour.card.next, Qt.Key.Key_Return)
    QTest.keyClick(tour.card.next, Qt.Key.Key_Left)
    assert tour.place == 1
    for _ in range(len(TOUR) - 2):
        QTest.keyClick(tour.card.next, Qt.Key.Key_Enter)
    assert tour.card.next.text() == "Done"
    assert document.undo_name is None
    tour.card.next.click()
    assert not tour.is_on
    assert not tour.card.isVisible()
    assert not tour.frame.isVisible()
    assert shell.workspace.document is None
    assert not folder.exists()
    assert shell._settings.values.recent_files == ()


def test_each_step_points_at_something_that_can_be_seen(shell: Shell, answered: Document) -> None:
    tour = tour_of(shell)
    for place, step in enumerate(TOUR):
        assert tour.place == place
        assert tour.frame.isVisible()
        target = tour.frame.target
        assert target is not None
        if STEPS not in step.targets:
            assert target.objectName() in step.targets
        assert not tour.frame.around.intersects(tour.card.geometry())
        assert shell.window.rect().contains(tour.card.geometry())
        tour.go_on()


def test_on_an_open_session_nothing_is_written_and_the_page_comes_back(shell: Shell, answered: Document) -> None:
    document = answered
    shell.workspace.show_page("attempts")
    before, state = document.path.read_bytes(), document.state
    tour = tour_of(shell)
    for _ in range(4):
        tour.go_on()
    QTest.keyClick(tour.card.leave, Qt.Key.Key_Escape)
    assert not tour.is_on
    assert shell.window.page == "attempts"
    assert document.state is state
    assert document.path.read_bytes() == before


def test_it_is_not_offered_while_a_run_is_on_and_ends_when_one_begins(shell: Shell, answered: Document) -> None:
    document = answered
    tour = tour_of(shell)
    shell.workspace.execute(BeginRun(Run("", document.now(), steps=(PlannedStep(Step.CHECKS),))))
    assert not tour.is_on
    assert not shell.show_round()
    shell.actions._follow_run()
    assert not shell.actions.tour.isEnabled()


def test_a_sample_with_new_records_is_kept(shell: Shell) -> None:
    tour = tour_of(shell)
    document = shell.workspace.document
    assert document is not None
    from stirfall.session.commands import ChangeSettings

    settings = replace(document.state.settings, title="Mine now")
    shell.workspace.execute(ChangeSettings(settings))
    tour.leave()
    assert shell.workspace.document is document
    shell.workspace.close_document()
    assert document.path.exists()
    shutil.rmtree(document.path.parent)


def test_another_session_ends_it(shell: Shell, document_of_two: Document) -> None:
    tour = tour_of(shell)
    opened = shell.workspace.document
    assert opened is not None
    shell.workspace.open_document(document_of_two)
    assert not tour.is_on
    assert not opened.path.parent.exists()


def test_enter_on_back_and_leave_presses_them(shell: Shell, answered: Document) -> None:
    tour = tour_of(shell)
    tour.go_on()
    QTest.keyClick(tour.card.back, Qt.Key.Key_Space)
    assert tour.place == 0
    assert not tour.card.back.isEnabled()
    tour.card.leave.click()
    assert not tour.is_on


def test_it_names_itself_and_stands_in_every_theme(shell: Shell, answered: Document) -> None:
    tour = tour_of(shell)
    assert tour.card.accessibleName() == f"Tour, 1 of {len(TOUR)}: {TOUR[0].title}"
    assert TOUR[0].text in tour.card.next.accessibleDescription()
    for theme in (LIGHT, DARK, HIGH_CONTRAST):
        shell.workspace.set_theme(theme)
        assert not tour.card.grab().isNull()
    shell.window.resize(800, 1200)
    tour.go_on()
    assert shell.window.rect().contains(tour.card.geometry())
