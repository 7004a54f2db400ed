"""The foot switch: one key means next in a run, and is what it always was elsewhere; the program learns it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog, QLineEdit, QScrollArea, QVBoxLayout, QWidget

from stirfall.bench.scan_codes import act_code
from stirfall.desktop.foot_switch import FootSwitch
from stirfall.desktop.preferences_dialog import PreferencesDialog
from stirfall.desktop.scanner import ScanRouter
from stirfall.session.settings import ProgramSettings

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace

Key = Qt.Key


class Bench(QWidget):
    """A line, and a long page that a key scrolls."""

    def __init__(self) -> None:
        super().__init__()
        self.line, self.page = QLineEdit(), QScrollArea()
        inside = QWidget()
        inside.setFixedSize(200, 4000)
        self.page.setWidget(inside)
        column = QVBoxLayout(self)
        column.addWidget(self.line)
        column.addWidget(self.page)
        self.is_running = False


@pytest.fixture
def bench(put_on_screen: Callable[[Bench, int, int], Bench]) -> Bench:
    return put_on_screen(Bench(), 300, 200)


@pytest.fixture
def foot(qapp: QApplication, workspace: Workspace, bench: Bench) -> Iterator[FootSwitch]:
    router = ScanRouter(qapp)
    made = FootSwitch(workspace, "PgDown", lambda: bench.is_running)
    router.then = made.take
    router.scanned.connect(lambda code: workspace.request_act(code.value))
    yield made
    router.stop()


@pytest.fixture
def acts(workspace: Workspace) -> list[str]:
    heard: list[str] = []
    workspace.act_requested.connect(heard.append)
    return heard


def test_elsewhere_the_key_is_what_it_always_is(bench: Bench, foot: FootSwitch, acts: list[str]) -> None:
    QTest.keyClick(bench.page, Key.Key_PageDown)
    assert bench.page.verticalScrollBar().value() > 0
    assert acts == []


def test_in_a_run_it_asks_for_the_same_as_the_card(bench: Bench, foot: FootSwitch, acts: list[str]) -> None:
    bench.is_running = True
    QTest.keyClick(bench.page, Key.Key_PageDown)
    assert bench.page.verticalScrollBar().value() == 0
    QTest.keyClicks(bench.page, act_code("NEXT"))
    QTest.keyClick(bench.page, Key.Key_Return)
    assert acts == ["NEXT", "NEXT"]
    QTest.keyClick(bench.page, Key.Key_PageDown, Qt.KeyboardModifier.ControlModifier)
    assert len(acts) == 2


def test_without_a_foot_switch_and_for_another_key(bench: Bench, foot: FootSwitch, acts: list[str]) -> None:
    bench.is_running = True
    foot.key = ""
    QTest.keyClick(bench.page, Key.Key_PageDown)
    foot.key = "F13"
    QTest.keyClick(bench.line, Key.Key_F13)
    assert acts == ["NEXT"]
    foot.key = "Space"
    bench.line.setFocus()
    QTest.keyClick(bench.line, Key.Key_Space)  # a space is typed, as ever
    assert (acts, bench.line.text()) == (["NEXT"], " ")
    bench.page.setFocus()
    QTest.keyClick(bench.page, Key.Key_Space)
    assert acts == ["NEXT", "NEXT"]


@pytest.fixture
def dialog(qtbot: QtBot, themed: QApplication) -> PreferencesDialog:
    made = PreferencesDialog(ProgramSettings())
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    with qtbot.waitActive(made):
        made.show()
    return made


def test_the_preferences_learn_the_key_that_the_switch_sends(dialog: PreferencesDialog, qtbot: QtBot) -> None:
    told: list[tuple[str, object]] = []
    dialog.changed.connect(lambda name, value: told.append((name, value)))
    field = dialog.foot_switch
    assert "Page Down" in field.said.text() or "PgDown" in field.said.text()
    qtbot.mouseClick(field.learn, Qt.MouseButton.LeftButton)
    assert field.said.text() == "Press the foot switch now."
    QTest.keyClick(field.learn, Key.Key_Tab)
    assert "means something else" in field.said.text()
    QTest.keyClick(field.learn, Key.Key_1)
    QTest.keyClick(field.learn, Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    assert told == []
    QTest.keyClick(field.learn, Key.Key_F14)
    assert told == [("foot_switch_key", "F14")]
    assert "F14" in field.said.text()
    assert not field.learn.isChecked()
    qtbot.mouseClick(field.none, Qt.MouseButton.LeftButton)
    assert told[-1] == ("foot_switch_key", "")


def test_escape_ends_the_learning_and_leaves_the_dialog_open(dialog: QDialog, qtbot: QtBot) -> None:
    field = dialog.foot_switch
    qtbot.mouseClick(field.learn, Qt.MouseButton.LeftButton)
    QTest.keyClick(field.learn, Key.Key_Escape)
    assert dialog.isVisible()
    assert not field.learn.isChecked()
    qtbot.mouseClick(field.learn, Qt.MouseButton.LeftButton)
    dialog.theme.setFocus()
    assert not field.learn.isChecked()
