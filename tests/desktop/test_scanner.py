"""A scanner types: codes never reach a field, and what a person types is never lost, doubled or moved.

The keys are real key events, through Qt's own way of delivering them. A clock of the test tells
the router of pauses; the one test with real time measures how late a lone letter comes.
"""

from __future__ import annotations

import itertools
import random
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QStringListModel, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QLineEdit,
    QListView,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.factors import Conditions
from stirfall.bench.records import RESIDUE, Jar
from stirfall.bench.running import Run
from stirfall.bench.scan_codes import ScanCode, act_code, attempt_code, jar_code, lot_code
from stirfall.desktop.bench_form.filling import find_jar
from stirfall.desktop.scan_burst import GAP_MS, MISREAD, Burst
from stirfall.desktop.scan_routes import ScanRoutes
from stirfall.desktop.scanner import ScanRouter
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.session.document import Document

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.notifier import Notice

SHIFT, NONE = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.NoModifier
JAR = jar_code("J3")


class Bench(QWidget):
    """A window with a line, a note, a list with type-ahead, a combo box and a button that counts its clicks."""

    def __init__(self) -> None:
        super().__init__()
        self.line, self.note, self.list, self.combo, self.button = (
            QLineEdit(),
            QPlainTextEdit(),
            QListView(),
            QComboBox(),
            QPushButton("Act"),
        )
        self.list.setModel(QStringListModel(["apple", "jar", "sand", "stone"]))
        self.combo.addItems(["apple", "jar", "sand", "stone"])
        self.clicks = 0
        self.button.clicked.connect(self._count)
        column = QVBoxLayout(self)
        for each in (self.line, self.note, self.list, self.combo, self.button):
            column.addWidget(each)

    def _count(self) -> None:
        self.clicks += 1


class Scanner:
    """Types with pauses of its own choice: a clock that only the test moves."""

    def __init__(self, app: QApplication) -> None:
        self.now = 1000.0
        self.codes: list[ScanCode] = []
        self.misreads = 0
        self.router = ScanRouter(app, stamp=lambda _event: self.now)
        self.router.scanned.connect(self.codes.append)
        self.router.misread.connect(self._count)

    def _count(self) -> None:
        self.misreads += 1

    def press(self, widget: QWidget, key: str | Qt.Key, pause: float, *, shift: bool = False) -> None:
        self.now += pause
        QTest.keyClick(widget, key, SHIFT if shift else NONE)

    def scan(self, widget: QWidget, text: str, pause: float = 8.0, end: Qt.Key | None = Qt.Key.Key_Return) -> None:
        for letter in text:
            self.press(widget, letter, pause, shift=letter.isupper())
        if end is not None:
            self.press(widget, end, pause)


@pytest.fixture
def bench(put_on_screen: Callable[[Bench, int, int], Bench]) -> Bench:
    return put_on_screen(Bench(), 300, 400)


@pytest.fixture
def scanner(qapp: QApplication) -> Iterator[Scanner]:
    made = Scanner(qapp)
    yield made
    made.router.stop()
    made.router.deleteLater()


PLACES = ("line", "note", "list", "combo", "button", "nowhere")


@pytest.mark.parametrize("end", [Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Tab, None])
@pytest.mark.parametrize("place", PLACES)
def test_a_scan_is_routed_and_reaches_no_widget(
    bench: Bench, scanner: Scanner, place: str, end: Qt.Key | None
) -> None:
    widget = bench if place == "nowhere" else getattr(bench, place)
    if place == "nowhere":
        bench.focusWidget() and bench.focusWidget().clearFocus()
    else:
        widget.setFocus()
    focused = bench.focusWidget()
    scanner.scan(widget, JAR, end=end)
    if end is None:
        assert scanner.codes == []
        scanner.router.settle()
    assert scanner.codes == [ScanCode("jar", "J3")]
    assert (bench.line.text(), bench.note.toPlainText(), bench.clicks) == ("", "", 0)
    assert (bench.list.currentIndex().row(), bench.combo.currentText()) in ((-1, "apple"), (0, "apple"))
    assert bench.focusWidget() is focused


@pytest.mark.parametrize("text", [JAR.lower(), JAR.swapcase(), JAR])
def test_the_case_of_the_letters_does_not_matter(bench: Bench, scanner: Scanner, text: str) -> None:
    scanner.scan(bench.line, text)
    assert scanner.codes == [ScanCode("jar", "J3")]


@pytest.mark.qt_log_ignore("grabbing the keyboard", extend=True)
def test_a_scan_in_a_dialog_and_in_an_open_list_is_routed(bench: Bench, scanner: Scanner, qtbot: QtBot) -> None:
    dialog = QDialog(bench)
    line = QLineEdit(dialog)
    accepted = []
    dialog.accepted.connect(lambda: accepted.append(True))
    with qtbot.waitActive(dialog):
        dialog.open()
    scanner.scan(line, lot_code("L1"))
    assert (scanner.codes, line.text(), accepted) == ([ScanCode("lot", "L1")], "", [])
    dialog.reject()
    bench.combo.showPopup()
    scanner.scan(bench.combo.view(), attempt_code(12))
    assert scanner.codes[-1] == ScanCode("attempt", "12")
    assert bench.combo.view().isVisible()
    bench.combo.hidePopup()


def test_an_enter_that_comes_late_still_belongs_to_the_scan(bench: Bench, scanner: Scanner) -> None:
    bench.button.setFocus()
    bench.button.setDefault(True)
    scanner.scan(bench.button, JAR, end=None)
    scanner.router.settle()
    scanner.press(bench.button, Qt.Key.Key_Return, GAP_MS + 100)
    assert bench.clicks == 0
    scanner.press(bench.button, Qt.Key.Key_Space, 400)
    assert bench.clicks == 1


def test_a_scan_read_wrongly_types_nothing_and_says_so(bench: Bench, scanner: Scanner) -> None:
    wrong = JAR[:-1] + ("B" if JAR[-1] != "B" else "C")
    for end in (Qt.Key.Key_Return, None):
        scanner.scan(bench.line, wrong, end=end)
        scanner.router.settle()
    assert scanner.misreads == 2
    assert scanner.codes == []
    assert bench.line.text() == ""


def test_two_scans_in_a_row_are_two(bench: Bench, scanner: Scanner) -> None:
    scanner.scan(bench.line, JAR)
    scanner.scan(bench.line, act_code("NEXT"))
    scanner.scan(bench.line, act_code("G1"), end=None)
    scanner.now += 200
    scanner.scan(bench.line, attempt_code(7))
    assert [code.value for code in scanner.codes] == ["J3", "NEXT", "G1", "7"]
    assert bench.line.text() == ""


def test_a_lone_letter_of_a_person_comes_by_itself(bench: Bench, qapp: QApplication, qtbot: QtBot) -> None:
    router = ScanRouter(qapp)
    begin = time.monotonic()
    QTest.keyClick(bench.line, "s")
    assert bench.line.text() == ""
    qtbot.waitUntil(lambda: bench.line.text() == "s", timeout=2000)
    assert time.monotonic() - begin < 0.4  # 80 ms, and what a busy machine adds
    router.stop()


def test_what_waits_comes_before_a_click_elsewhere(bench: Bench, scanner: Scanner, qtbot: QtBot) -> None:
    bench.line.setFocus()
    scanner.press(bench.line, "s", 500)
    qtbot.mouseClick(bench.note.viewport(), Qt.MouseButton.LeftButton)
    scanner.press(bench.note, "f", 5)
    assert (bench.line.text(), bench.note.toPlainText()) == ("s", "f")


def test_what_waits_comes_before_the_focus_moves(bench: Bench, scanner: Scanner) -> None:
    bench.line.setFocus()
    scanner.press(bench.line, "s", 500)
    bench.note.setFocus()
    assert bench.line.text() == "s"


def test_a_shortcut_of_one_letter_waits_its_turn(bench: Bench, scanner: Scanner) -> None:
    done: list[str] = []
    for letter in ("S", "F", "1"):
        shortcut = QShortcut(QKeySequence(letter), bench)
        shortcut.activated.connect(lambda which=letter: done.append(which))
    bench.button.setFocus()
    for letter in ("s", "1", "f", "s", "f", "1"):
        scanner.press(bench.button, letter, 20)
    scanner.router.settle()
    assert done == ["S", "1", "F", "S", "F", "1"]
    scanner.scan(bench.button, JAR)
    assert len(done) == 6
    bench.line.setFocus()
    scanner.press(bench.line, "s", 300)
    scanner.router.settle()
    assert (bench.line.text(), len(done)) == ("s", 6)


def test_keys_that_are_no_letters_keep_their_place(bench: Bench, scanner: Scanner) -> None:
    bench.line.setFocus()
    scanner.press(bench.line, "s", 300)
    scanner.press(bench.line, Qt.Key.Key_Backspace, 10)
    scanner.press(bench.line, "a", 10)
    scanner.press(bench.line, Qt.Key.Key_Left, 10)
    scanner.press(bench.line, "S", 10, shift=True)
    scanner.press(bench.line, Qt.Key.Key_End, 10)
    assert bench.line.text() == "Sa"


ALPHABET = "sfjalkSFJALKbcd3 x"


@pytest.mark.parametrize("seed", range(4))
def test_nothing_typed_is_lost_doubled_or_moved(bench: Bench, scanner: Scanner, seed: int) -> None:
    """Random typing, rich in beginnings of codes, with random scans between; the text must be what was typed."""
    chance = random.Random(seed)
    codes = [JAR, act_code("NEXT"), attempt_code(31), lot_code("L 2")]
    typed, scans = "", 0
    for _ in range(60):
        if chance.random() < 0.12:
            scanner.now += 200
            code = chance.choice(codes)
            scanner.scan(bench.line, chance.choice((code, code.lower())), chance.uniform(0, 60))
            scans += 1
            scanner.now += 400
        else:
            for letter in chance.choices(ALPHABET, k=chance.randint(1, 5)):
                scanner.press(bench.line, letter, chance.choice((60.0, 75.0, 120.0, 300.0)), shift=letter.isupper())
                typed += letter
            if chance.random() < 0.3:
                scanner.router.settle()
    scanner.router.settle()
    assert bench.line.text() == typed
    assert len(scanner.codes) == scans
    assert scanner.misreads == 0


def test_every_way_to_break_off_a_code_gives_back_all_letters() -> None:
    """All texts of up to five letters that begin codes, at a person's pace: each is kept or given back whole."""
    for length in range(1, 6):
        for letters in itertools.product("sfjx", repeat=length):
            burst, out = Burst(), ""
            for at, letter in enumerate(letters):
                if not burst.take(letter, 70.0 * at):
                    out += burst.text
                    burst.clear()
                    if not burst.take(letter, 70.0 * at):
                        out += letter.upper()
            assert out + burst.text == "".join(letters).upper()
            assert burst.result(ended=False) is None


def test_a_person_is_no_scanner() -> None:
    burst = Burst()
    assert all(burst.take(letter, 70.0 * at) for at, letter in enumerate("sflows"))
    assert burst.result(ended=False) is None
    burst.clear()
    assert all(burst.take(letter, 10.0 * at) for at, letter in enumerate("sflows"))
    assert burst.result(ended=False) == MISREAD


# -- where a scan leads ----------------------------------------------------------------------------


class Heard:
    """What the workspace was asked for."""

    def __init__(self, workspace: Workspace) -> None:
        self.forms: list[FormRequest] = []
        self.pages: list[str] = []
        self.acts: list[str] = []
        self.jars: list[str] = []
        self.notices: list[Notice] = []
        workspace.form_requested.connect(self.forms.append)
        workspace.page_requested.connect(self.pages.append)
        workspace.act_requested.connect(self.acts.append)
        workspace.jar_scanned.connect(self.jars.append)
        workspace.notified.connect(self.notices.append)

    @property
    def said(self) -> str:
        return self.notices[-1].text if self.notices else ""


@pytest.mark.qt_log_ignore("This plugin does not support grabbing", extend=True)
def test_a_letter_that_waits_while_its_dialog_goes_harms_nothing(bench: Bench, scanner: Scanner) -> None:
    # The list of a combo box gets a close event when it is destroyed, and its neighbours are half gone by then.
    dialog = QDialog(bench)
    content = QWidget()
    lists = (QComboBox(), QComboBox())
    column = QVBoxLayout(content)
    for each in lists:
        each.addItems(["one", "two"])
        column.addWidget(each)
    QVBoxLayout(dialog).addWidget(content)
    dialog.show()
    lists[0].showPopup()
    lists[0].hidePopup()
    dialog.close()
    QTest.keyPress(lists[1], "s")
    assert scanner.router.is_waiting
    dialog.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    scanner.router.settle()
    assert not scanner.router.is_waiting


@pytest.fixture
def heard(workspace: Workspace, document: Document) -> Heard:
    now = document.now()
    jars = (
        *document.state.jars,
        Jar("GONE", "L1", now - timedelta(days=9), emptied_at=now - timedelta(days=1)),
        Jar("WASTE", "L1", now - timedelta(days=9), contents=RESIDUE),
        Jar("LATER", "L1", now + timedelta(days=1), planned=True),
    )
    document._state = replace(document.state, jars=jars)
    workspace.open_document(document)
    return Heard(workspace)


def test_a_jar_fills_the_form(workspace: Workspace, heard: Heard) -> None:
    ScanRoutes(workspace, {}).follow(ScanCode("jar", "J3"))
    assert [(form.jar_id, form.conditions) for form in heard.forms] == [("J3", Conditions())]
    assert heard.pages == ["bench"]


@pytest.mark.parametrize(
    ("jar", "words"), [("GONE", "taken off"), ("WASTE", "residue"), ("LATER", "planned"), ("J99", "not in this")]
)
def test_a_jar_that_is_not_for_an_attempt_is_refused_with_its_reason(
    workspace: Workspace, heard: Heard, jar: str, words: str
) -> None:
    ScanRoutes(workspace, {}).follow(ScanCode("jar", jar))
    assert heard.forms == []
    assert heard.notices[-1].kind == "warn"
    assert words in heard.said
    assert jar in heard.said


def test_an_attempt_comes_in_hand_in_the_ledger(workspace: Workspace, heard: Heard) -> None:
    routes = ScanRoutes(workspace, {})
    routes.follow(ScanCode("attempt", "12"))
    assert (workspace.in_hand.label, heard.pages) == ("Attempt 12", ["attempts"])
    routes.follow(ScanCode("attempt", "999"))
    assert heard.notices[-1].kind == "warn"


def test_a_lot_opens_the_shelf(workspace: Workspace, heard: Heard) -> None:
    routes = ScanRoutes(workspace, {})
    routes.follow(ScanCode("lot", "L1"))
    assert heard.pages == ["shelf"]
    routes.follow(ScanCode("lot", "L9"))
    assert "L9" in heard.said
    assert heard.pages == ["shelf"]


def test_while_a_run_is_open_its_jar_is_compared(workspace: Workspace, document: Document, heard: Heard) -> None:
    routes = ScanRoutes(workspace, {})
    routes.follow(ScanCode("act", "NEXT"))
    assert (heard.acts, heard.notices[-1].kind) == ([], "warn")
    document._state = replace(document.state, runs=(Run("r1", document.now(), jar_id="J1"),))
    routes.follow(ScanCode("jar", "J3"))
    assert "another jar" in heard.said
    assert heard.notices[-1].kind == "warn"
    routes.follow(ScanCode("jar", "J1"))
    assert heard.notices[-1].kind == "info"
    routes.follow(ScanCode("act", "NEXT"))
    assert (heard.acts, heard.jars, heard.forms) == (["NEXT"], ["J3", "J1"], [])


def test_without_a_session_a_scan_says_what_to_do(workspace: Workspace) -> None:
    heard = Heard(workspace)
    ScanRoutes(workspace, {}).follow(ScanCode("jar", "J3"))
    assert "Open a session" in heard.said


def test_a_code_that_came_too_slowly_and_was_typed_names_its_jar_all_the_same(document: Document) -> None:
    for text in (JAR, JAR.lower(), "j3", "Jar J3", " J3 "):
        found = find_jar(text, document.state)
        assert found is not None
        assert found.id == "J3"
    assert find_jar(lot_code("J3"), document.state) is None
