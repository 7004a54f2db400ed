"""Ten thousand random keys and mouse events leave no traceback, no complaint of Qt and a session that passes check.

The seed is fixed; STIRFALL_MONKEY_SEED sets another one, STIRFALL_MONKEY_EVENTS another number of events. What the
window's threads deliver comes when it comes, so a seed does not always do the very same. No source: random input is
common practice.
"""

from __future__ import annotations

import logging
import os
import random
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from monkey_campaign import NOW, make_session
from PySide6.QtCore import QEvent, QEventLoop, QObject, QPoint, QPointF, QRegularExpression, Qt, QTimer
from PySide6.QtGui import QAction, QCloseEvent, QContextMenuEvent, QMouseEvent, QWheelEvent
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QCheckBox, QDialog, QFileDialog, QMenu, QWidget
from shiboken6 import isValid

from stirfall.bench.scan_codes import ACT_KEYS, act_code, attempt_code, jar_code, lot_code
from stirfall.desktop.app import make_parts
from stirfall.desktop.evidence.page import SECTIONS
from stirfall.desktop.shell import Shell
from stirfall.session.clock import FixedClock
from stirfall.session.settings import Settings
from stirfall.storage.check import check_file

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

EVENTS = int(os.environ.get("STIRFALL_MONKEY_EVENTS", "10000"))
DEEPEST = 4
SEED = 20261130
NO_SLASHES = "abcfghjlmnopsuxyz0123456789 .,-+%()°"  # so that no path can be typed
SINGLE = (
    Qt.Key.Key_Tab,
    Qt.Key.Key_Backtab,
    Qt.Key.Key_Space,
    Qt.Key.Key_Return,
    Qt.Key.Key_Escape,
    Qt.Key.Key_Backspace,
    Qt.Key.Key_Delete,
    Qt.Key.Key_Left,
    Qt.Key.Key_Right,
    Qt.Key.Key_Up,
    Qt.Key.Key_Down,
    Qt.Key.Key_Home,
    Qt.Key.Key_End,
    Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown,
    Qt.Key.Key_F1,
    Qt.Key.Key_Menu,
)
OF_A_RUN: tuple[str | Qt.Key, ...] = (*"01234567899pmbcotn,-", *[Qt.Key.Key_Space] * 8, *[Qt.Key.Key_Return] * 5)
WITH_CONTROL = "zzzyacvxenrrfp123456i"
WITH_ALT = "fesavmthd123"
OFTEN = ("Evi&dence", "&File", "&Recipe")  # menus whose acts are taken more often than their number
LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
NONE, CONTROL, ALT, SHIFT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
)


class StaysOpen(QObject):
    """Keeps the main window open, whatever the monkey presses."""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        del watched
        if isinstance(event, QCloseEvent):
            event.ignore()
            return True
        return False


class Monkey:
    """Presses, clicks, drags, turns and scans at random, while time goes by in leaps.

    Events go to widgets, never to windows: Qt's test functions for windows let other events in between press and
    release, when the window may be gone already.
    """

    def __init__(self, shell: Shell, clock: FixedClock, session: Path, seed: int) -> None:
        self.dresses = Dresses(shell)
        self.shell, self.clock, self.session = shell, clock, session
        self.chance = random.Random(seed)
        self.pages: set[str] = set()
        self.sections: set[str] = set()
        self.dialogs: set[str] = set()
        self.counts: dict[str, int] = {}
        self.left = self.depth = 0
        self.finished: Callable[[], None] = lambda: None
        self._near: tuple[QWidget, list[QWidget], int] | None = None

    # -- one after the other -----------------------------------------------------------------------

    def run(self, events: int) -> None:
        """Do so many things, one after the other from the event loop, also from that of a menu that is open."""
        self.left = events
        loop = QEventLoop()
        self.finished = loop.quit
        self._ask_for_the_next()
        loop.exec()

    def _ask_for_the_next(self) -> None:
        QTimer.singleShot(0, self.shell, self._step)

    def _step(self) -> None:
        """Do the next thing, after having asked for the one after it: a menu may hold this one up.

        A menu that is closed gives its loop back only when all that was opened after it is closed too, so
        everything is left now and then.
        """
        is_over = self.left <= 0
        if is_over and self.depth == 0:
            self.finished()
            return
        self._ask_for_the_next()
        if is_over or self.depth >= DEEPEST:
            leave_dialogs(self.shell)
            return
        self.depth += 1
        for _ in range(self.chance.randint(1, 4)):  # a busy window finds more than one event waiting
            self.left -= 1
            self._act()
        self.depth -= 1

    def _act(self) -> None:
        """Do one thing to whatever is in front."""
        window = self.shell.window
        self.pages.add("run" if window.is_running else window.page)
        if window.page == "evidence":
            self.sections.add(window.parts.pages["evidence"].section)
        if self.chance.random() < 0.03:
            self._let_time_pass()
        if self.left % 400 == 0:
            leave_dialogs(self.shell)
        document = self.shell.workspace.document
        if document is None or document.path != self.session:
            self.shell.files.open_path(self.session)  # another campaign was begun; so much for that
        front = QApplication.activePopupWidget() or QApplication.activeModalWidget() or QApplication.activeWindow()
        front = front or window
        if isinstance(front, QDialog):
            self.dialogs.add(type(front).__name__)
        if isinstance(front, (QFileDialog, QPrintDialog)):
            front.reject()  # files outside of the folder of the test are not for monkeys
            return
        runs = front is window and window.is_running
        menus = 2 if front is window else 0
        weights = (20, 24, 6, 12, 22, 4, 5, 1, 8 if runs else 0, 0 if runs else 1, menus)
        acts = (
            self.letter,
            self.key,
            self.shortcut,
            self.click,
            self.press_something,
            self.wheel,
            self.drag,
            self.scan,
            self.key_of_a_run,
            self.begin_a_run,
            self.act_of_a_menu,
        )
        act = self.chance.choices(acts, weights)[0]
        self.counts[act.__name__] = self.counts.get(act.__name__, 0) + 1
        act(front)

    def _let_time_pass(self) -> None:
        if self.chance.random() < 0.02:
            self.clock.set(self.clock.now() - timedelta(minutes=self.chance.randrange(90)))
        else:
            self.clock.advance(seconds=self.chance.expovariate(1.0 / 90.0))

    # -- keys --------------------------------------------------------------------------------------

    def letter(self, front: QWidget) -> None:
        type_key(front, self.chance.choice(NO_SLASHES))

    def key(self, front: QWidget) -> None:
        type_key(front, self.chance.choice(SINGLE), self.chance.choice((NONE, NONE, NONE, SHIFT)))

    def shortcut(self, front: QWidget) -> None:
        letters, held = self.chance.choice(((WITH_CONTROL, CONTROL), (WITH_ALT, ALT)))
        type_key(front, self.chance.choice(letters), held)

    def key_of_a_run(self, front: QWidget) -> None:
        type_key(front, self.chance.choice(OF_A_RUN))

    def begin_a_run(self, front: QWidget) -> None:
        """Scan the label of a jar and begin a run with it, perhaps with an empty form."""
        clear = self.shell.window.findChild(QAbstractButton, "clear_form")
        if clear is not None and self.chance.random() < 0.7:
            clear.click()
        self._scan(front, jar_code(self._jar()))
        type_key(front, "r", CONTROL)

    def scan(self, front: QWidget) -> None:
        """Scan a label or the card of acts, sometimes wrongly."""
        code = self.chance.choice(
            (
                jar_code(self._jar()),
                jar_code("none such"),
                lot_code("L1"),
                attempt_code(self.chance.randrange(1, 12)),
                act_code(self.chance.choice(ACT_KEYS)),
            )
        )
        if self.chance.random() < 0.2:
            code = code[:-2] + code[-1]
        self._scan(front, code)

    def _jar(self) -> str:
        document = self.shell.workspace.document
        jars = document.state.jars if document is not None else ()
        return self.chance.choice([jar.id for jar in jars]) if jars else "J1"

    def act_of_a_menu(self, front: QWidget) -> None:
        """Trigger an act of the menus, which brings up sections and dialogs that keys seldom reach."""
        del front
        tops = [each.menu() for each in self.shell.window.menuBar().actions()]
        often = [menu for menu in tops if menu.title() in OFTEN]
        menu = self.chance.choice(often if self.chance.random() < 0.5 else tops)
        acts = [each for each in menu.actions() if each.isEnabled() and not each.isSeparator()]
        while acts:
            action = self.chance.choice(acts)
            if action.menu() is None:
                action.trigger()
                return
            acts = [each for each in action.menu().actions() if each.isEnabled() and not each.isSeparator()]

    def _scan(self, front: QWidget, code: str) -> None:
        for letter in code:
            if isValid(front):
                type_key(front, letter)
        if isValid(front):
            type_key(front, Qt.Key.Key_Return)

    # -- pointer -----------------------------------------------------------------------------------

    def _place(self, front: QWidget) -> QPoint:
        return QPoint(self.chance.randrange(max(front.width(), 1)), self.chance.randrange(max(front.height(), 1)))

    def click(self, front: QWidget) -> None:
        place = self._place(front)
        under = front.childAt(place) or front
        self._click(under, under.mapFrom(front, place))

    def _click(self, widget: QWidget, place: QPoint) -> None:
        button = RIGHT if self.chance.random() < 0.2 else LEFT
        press_and_release(widget, button, place)
        if self.chance.random() < 0.1 and isValid(widget):
            QTest.mouseEvent(QTest.MouseAction.MouseDClick, widget, button, NONE, place)
            let_go(widget, button, place)

    def press_something(self, front: QWidget) -> None:
        """Click on a widget that can be used: at random places alone, most events would hit nothing."""
        near = [each for each in self._usable(front) if isValid(each) and each.isVisible() and each.isEnabled()]
        if near:
            widget = self.chance.choice(near)
            self._click(widget, widget.rect().center())

    def _usable(self, front: QWidget) -> list[QWidget]:
        """Return what can be used in a window; to look for it anew each time would take most of the test's time."""
        if self._near is None or self._near[0] is not front or self.left < self._near[2]:
            found = [
                child
                for child in front.findChildren(QWidget)
                if child.focusPolicy() != Qt.FocusPolicy.NoFocus and child.isVisible() and child.window() is front
            ]
            for child in found:
                if self.dresses.are_over and child.objectName() in ("preference_theme", "preference_text_scale"):
                    child.setEnabled(False)
            self._near = (front, found, self.left - 20)
        return self._near[1]

    def wheel(self, front: QWidget) -> None:
        place = self._place(front)
        under = front.childAt(place) or front
        event = QWheelEvent(
            QPointF(under.mapFrom(front, place)),
            QPointF(front.mapToGlobal(place)),
            QPoint(),
            QPoint(0, self.chance.choice((-120, 120))),
            Qt.MouseButton.NoButton,
            self.chance.choice((NONE, NONE, CONTROL)),
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(under, event)

    def drag(self, front: QWidget) -> None:
        first = self._place(front)
        under = front.childAt(first) or front
        at, to = under.mapFrom(front, first), under.mapFrom(front, self._place(front))
        QTest.mousePress(under, LEFT, NONE, at)
        for part in (0.3, 1.0):
            if isValid(under):
                place = QPointF(at + (to - at) * part)
                event = QMouseEvent(QEvent.Type.MouseMove, place, under.mapToGlobal(place), LEFT, LEFT, NONE)
                QApplication.sendEvent(under, event)
        if isValid(under):
            let_go(under, LEFT, to)


def type_key(front: QWidget, key: str | Qt.Key, held: Qt.KeyboardModifier = NONE) -> None:
    """Press and release a key where the keyboard is; the widget may be gone after the press."""
    widget = front.focusWidget() or front
    QTest.keyPress(widget, key, held)
    if isValid(widget):
        QTest.keyRelease(widget, key, held)


def press_and_release(widget: QWidget, button: Qt.MouseButton, place: QPoint) -> None:
    """Press and release at one place; the widget may be gone after the press, as a menu is."""
    QTest.mousePress(widget, button, NONE, place)
    if isValid(widget):
        let_go(widget, button, place)


def let_go(widget: QWidget, button: Qt.MouseButton, place: QPoint) -> None:
    QTest.mouseRelease(widget, button, NONE, place)
    if button is RIGHT and isValid(widget):
        event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, place, widget.mapToGlobal(place))
        QApplication.sendEvent(widget, event)


def leave_dialogs(shell: Shell) -> None:
    """Close what lies over the window, so that the monkey does not stay in one dialog for ever."""
    for _ in range(20):
        front = QApplication.activePopupWidget() or QApplication.activeModalWidget()
        if front is None:
            break
        if isinstance(front, QDialog):
            front.reject()
        else:
            type_key(front, Qt.Key.Key_Escape)  # as a person leaves a list or menu
        if isValid(front) and front.isVisible():
            front.close()
    for widget in QApplication.topLevelWidgets():
        if isinstance(widget, QDialog) and widget.isVisible():
            widget.close()
    shell.window.activateWindow()


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(NOW)


@pytest.fixture
def shell(
    qtbot: QtBot, qapp: QApplication, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, clock: FixedClock
) -> Iterator[Shell]:
    monkeypatch.chdir(tmp_path)
    settings = Settings(tmp_path / "settings" / "settings.json")
    settings.change(theme="light", last_folder=str(tmp_path), alarm_sound=False)
    made = Shell(qapp, settings, make_parts, clock=clock)
    keeper = StaysOpen(made.window)
    made.window.installEventFilter(keeper)
    made.window.resize(1280, 720)
    made.window.show()
    qtbot.waitExposed(made.window)
    yield made
    made.window.removeEventFilter(keeper)
    for dialog in made.window.findChildren(QDialog):
        dialog.close()
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def tick_the_checklist(window: QWidget) -> None:
    for box in window.findChildren(QCheckBox, QRegularExpression("^check ")):
        box.click()
    button = window.findChild(QAbstractButton, "finish_checklist")
    assert button is not None
    button.click()


class Dresses(QObject):
    """Lets the monkey change the look of the program a few times only: each takes a second for the whole window."""

    MOST = 3

    def __init__(self, shell: Shell) -> None:
        super().__init__(shell.window)
        self._shell, self._count = shell, 0
        shell.appearance.changed.connect(self._count_one)

    def _count_one(self) -> None:
        self._count += 1
        if self._count == self.MOST:
            for action in self._shell.window.findChildren(QAction):
                if action.text().replace("&", "") in ("Theme", "Larger text", "Smaller text"):
                    switch_off(action)
            for action in self._shell.actions.theme_actions.values():
                switch_off(action)

    @property
    def are_over(self) -> bool:
        return self._count >= self.MOST


def switch_off(action: QAction) -> None:
    action.setEnabled(False)
    action.setShortcuts([])
    if isinstance(menu := action.menu(), QMenu):
        menu.setEnabled(False)


def without_an_end(shell: Shell) -> None:
    """Take away the acts that end the program or close the session: a test of the rest needs both open."""
    for action in shell.window.findChildren(QAction):
        plain = action.text().replace("&", "")
        if plain in ("Quit", "Close campaign") or plain.startswith("Open"):
            switch_off(action)


@pytest.mark.slow
@pytest.mark.timeout(400)
@pytest.mark.qt_log_ignore(
    "This plugin does not support grabbing",
    "event.* not accepted by receiving widget",  # Qt's test functions say so where a widget is shut off
    extend=True,
)
def test_ten_thousand_random_events_leave_no_traceback_and_a_sound_session(
    shell: Shell, clock: FixedClock, qtbot: QtBot, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    session = tmp_path / "monkey.stirfall"
    make_session(session, clock)
    assert shell.files.open_path(session)
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)
    assert shell.workspace.document is not None
    before = {attempt.id for attempt in shell.workspace.document.state.attempts}
    tick_the_checklist(shell.window)
    without_an_end(shell)
    shell.workspace.request_run("J2")  # more of them are begun by scan and key
    assert shell.window.is_running
    monkey = Monkey(shell, clock, session, int(os.environ.get("STIRFALL_MONKEY_SEED", SEED)))
    with caplog.at_level(logging.WARNING):
        monkey.run(EVENTS)
    leave_dialogs(shell)
    shell.window.parts.pages["plan"].rehearsal.model.stop()  # one that was begun goes on for minutes
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)
    assert [record.getMessage() for record in caplog.records if record.levelno >= logging.WARNING] == []
    assert sum(monkey.counts.values()) > 0.9 * EVENTS, monkey.counts
    assert monkey.pages >= {"shelf", "plan", "bench", "attempts", "evidence", "recipe", "run"}
    assert monkey.sections >= set(SECTIONS)
    assert monkey.dialogs >= {"ImportDialog", "PoolingDialog", "ReportDialog"}, monkey.dialogs
    document = shell.workspace.document
    assert document is not None
    assert document.path == session
    print(monkey.counts, monkey.sections, monkey.dialogs)
    assert {attempt.id for attempt in document.state.attempts} >= before, "an attempt was lost"
    shell.workspace.close_document()
    assert [finding for finding in check_file(session) if finding.is_problem] == []
