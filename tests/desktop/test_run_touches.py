"""The guided run in its window: touches per recorded attempt, other pages and the way back, a second start.

A touch is a key or a press that types no part of a number. Twelve is what the project asks of itself: no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget
from small_campaigns import one_jar

from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import CampaignSettings
from stirfall.bench.running import Step
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.first_run import FirstRun
from stirfall.desktop.run.keys import Once
from stirfall.desktop.run.page import RunPage
from stirfall.desktop.theme import LIGHT
from stirfall.desktop.window import MainWindow, WindowParts
from stirfall.desktop.workspace import PAGES, Workspace
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

MOST_TOUCHES = 12
HOT = (Step.HEAT, Step.HOLD, Step.ADDITIVE, Step.STIR, Step.SETTLE, Step.COOL, Step.LIFT)


class Hand:
    """One person at the window, who counts what is touched, in all and while the metal is hot."""

    def __init__(self, window: MainWindow, clock: FixedClock) -> None:
        assert window.parts.run is not None
        self.window, self.clock = window, clock
        self.run: RunPage = window.parts.run
        self.touches: list[Step | None] = []
        self.now_s = 0.0
        self.run.once = {act: Once(lambda: self.now_s) for act in self.run.once}

    def step(self) -> Step | None:
        return self.run.model.view.step if self.run.model.view is not None else None

    def is_running(self) -> bool:
        """Whether the run is in front."""
        return self.window.is_running

    def key(self, key: Qt.Key, held: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        self.now_s += 1.0
        self.touches.append(self.step())
        target = QApplication.focusWidget()
        assert target is not None
        QTest.keyClick(target, key, held)
        QApplication.processEvents()

    def number(self, text: str) -> None:
        """Type a number and Enter, which takes it; that is work, but no touch to count."""
        for sign in text:
            target = QApplication.focusWidget()
            assert target is not None
            QTest.keyClicks(target, sign)
        self.key(Qt.Key.Key_Return)
        self.touches.pop()

    def press(self, name: str) -> None:
        self.now_s += 1.0
        self.touches.append(self.step())
        button = self.window.findChild(QAbstractButton, name)
        assert button is not None, name
        assert button.isVisible(), name
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)
        QApplication.processEvents()

    def wait(self, seconds: float) -> None:
        self.clock.advance(seconds=seconds)
        self.run.model.look()

    def count(self, steps: tuple[Step | None, ...] | None = None) -> int:
        return len(self.touches) if steps is None else sum(step in steps for step in self.touches)


@pytest.fixture
def hand(
    workspace: Workspace,
    tmp_path: Path,
    campaign_settings: CampaignSettings,
    clock: FixedClock,
    put_on_screen: Callable[[QWidget, int, int], QWidget],
    monkeypatch: pytest.MonkeyPatch,
) -> Hand:
    """A window with form and run, on a file with one jar; the odds are not asked for."""
    monkeypatch.setattr(workspace, "refresh", lambda: None)
    bench = BenchPage(workspace)
    pages: dict[str, QWidget] = {name: QWidget() for name in PAGES} | {"bench": bench}
    run = RunPage(workspace, bench.model)
    window = MainWindow(workspace, WindowParts(pages, QWidget(), FirstRun(LIGHT, ()), run=run))
    workspace.open_document(one_jar(tmp_path, campaign_settings, clock))
    put_on_screen(window, 1280, 720)
    run.model._timer.setInterval(3_600_000)
    for name, text in (("temperature", "150"), ("stirring speed", "90"), ("stirring time", "150")):
        bench.model.type_value(name, text)
    bench.model.choose("stirring action", "swirl")
    return Hand(window, clock)


def walk_to_the_result(hand: Hand) -> None:
    """Go from the scanned jar through the hot stage to the step where the result is graded."""
    hand.window.workspace.request_run("J1")  # as the jar's code asks for it
    hand.touches.append(None)  # the scan
    assert hand.is_running()
    hand.key(Qt.Key.Key_Space)
    hand.wait(600)
    hand.number("150")
    hand.key(Qt.Key.Key_Space)
    hand.wait(300)
    hand.key(Qt.Key.Key_Space)
    hand.wait(60)
    hand.key(Qt.Key.Key_Return)
    hand.wait(90)
    for seconds in (120, 900):
        hand.key(Qt.Key.Key_Space)
        hand.wait(seconds)
    hand.number("35")
    hand.key(Qt.Key.Key_Space)
    hand.key(Qt.Key.Key_Space)
    assert hand.step() is Step.GRADE


def test_a_recorded_attempt_takes_twelve_touches_at_most(hand: Hand) -> None:
    walk_to_the_result(hand)
    assert hand.count(HOT) <= MOST_TOUCHES
    hand.key(Qt.Key.Key_4)
    hand.key(Qt.Key.Key_Space)
    hand.number("10")
    hand.number("8.4")
    hand.key(Qt.Key.Key_Space)
    document = hand.window.workspace.document
    assert document is not None
    (attempt,) = document.state.attempts
    assert (attempt.jar_id, attempt.outcome, attempt.masses.product_g) == ("J1", Outcome.CLEAN, 8.4)
    assert attempt.conditions["stirring time"] == 150.0
    assert attempt.conditions["temperature"] == 150.0
    recorded = hand.count()
    assert recorded <= MOST_TOUCHES
    # The closing list is three deliberate touches and the end; nothing of it may be skipped.
    for key in (Qt.Key.Key_Return, Qt.Key.Key_2, Qt.Key.Key_Return, Qt.Key.Key_Space):
        hand.key(key)
    assert hand.count() == recorded + 4
    assert document.state.open_run is None
    assert not hand.is_running()
    assert not hand.run.strip.isVisible()


def test_other_pages_are_looked_at_while_the_run_goes_on(hand: Hand) -> None:
    walk_to_the_result(hand)
    hand.key(Qt.Key.Key_Backspace)
    assert hand.step() is Step.LIFT
    hand.press("run_other_pages")
    assert not hand.is_running()
    assert hand.run.strip.isVisible()
    assert "Lift" in hand.run.strip.text.text()
    hand.wait(61)
    assert "1:0" in hand.run.strip.text.text(), "its time is live"
    hand.window.workspace.show_page("shelf")
    assert hand.run.strip.isVisible()
    hand.press("run_strip_back")
    assert hand.is_running()
    assert not hand.run.strip.isVisible()
    assert QApplication.focusWidget() is hand.run
    hand.window.workspace.show_page("attempts")
    assert not hand.is_running(), "a page that was asked for comes to the front"
    hand.press("step_bench")
    hand.press("begin_run")
    assert hand.is_running(), "the open run is shown; no second one is begun"


def test_a_run_that_was_left_stands_in_front_with_its_questions(hand: Hand, clock: FixedClock) -> None:
    hand.window.workspace.request_run("J1")
    for _ in range(4):
        hand.key(Qt.Key.Key_Space)
    document = hand.window.workspace.document
    assert document is not None
    path = document.path
    hand.window.workspace.close_document()
    assert not hand.is_running()
    clock.advance(seconds=300)
    hand.window.workspace.open_document(Document.open(path, clock=clock))
    assert hand.is_running()
    assert hand.run.middle.ask.isVisible()
    assert hand.window.size().toTuple() == (1280, 720), "the run makes no window larger"
