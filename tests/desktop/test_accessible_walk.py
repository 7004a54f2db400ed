"""A walk by keyboard through the whole window: every page, side, form, dialog and the guided run.

What takes the keyboard has a name; what is drawn has words; Tab comes to everything and back, nothing holds it, and
the ring shows where it is. One window is used for all of it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from looking import laid_out, lonely_labels, mnemonics, nameless, silent_pictures, walk, wanted_stops
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QFileDialog, QMenu, QWidget
from whole_program import open_part

from stirfall import desktop
from stirfall.bench.running import EventKind, RunEvent
from stirfall.bench.scan_codes import act_code
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.evidence.page import SECTIONS
from stirfall.desktop.focus_ring import FocusRing
from stirfall.desktop.shell import Shell
from stirfall.desktop.workspace import PAGES, SIDES, InHand
from stirfall.session.commands import AddRunEvent, TickChecklist

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

ATTEMPTS = 12
ODDS_VIEWS = ("curve", "map", "outcomes", "effects", "trust")
SHELF_FORMS = (
    "shelf_start_jar",
    "shelf_split_lot",
    "shelf_register_lot",
    "shelf_register_residue",
    "shelf_inspect",
)
LEDGER_PANELS = ("ledger_facts_open", "ledger_history", "ledger_correct", "ledger_strike", "ledger_add_filter")
RUN_ACTS = 9
_NO_DIALOG = re.compile(r"^(Open|Save a copy|As |Export|Same but|Clear)")


@pytest.fixture(scope="module")
def shell(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    """The whole program over a part of a sample, today's checklist ticked, its work done at once."""
    made = open_part(qapp, tmp_path_factory.mktemp("walk"), attempts=ATTEMPTS, size=QSize(1440, 1000))
    document = made.workspace.document
    assert document is not None
    keys = tuple(item.key for item in made.window.parts.pages["bench"].model.state.checklist.items)
    made.workspace.execute(TickChecklist(day_of(document.now()), keys))
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def press(root: QWidget, name: str) -> None:
    button = root.findChild(QAbstractButton, name)
    assert button is not None, name
    button.click()


def told(root: QWidget, name: str) -> list[str]:
    """Return what a person who hears the screen would miss on it, and letters that mean two things."""
    laid_out(root)
    twice = [letter for letter, count in Counter(mnemonics(root)).items() if count > 1]
    found = [f"no name: {each}" for each in nameless(root)]
    found += [f"no words: {each}" for each in silent_pictures(root)]
    found += [f"no buddy: {each}" for each in lonely_labels(root)]
    found += [f"letter {letter} twice" for letter in twice]
    return [f"{name}: {each}" for each in found]


def walked(root: QWidget, name: str) -> list[str]:
    """Walk forward and back; return what was not reached, what held the keyboard, where no ring was seen."""
    wanted = wanted_stops(root)
    ring = root.window().findChild(FocusRing)
    first = root.window().focusWidget()
    if first is None or first not in wanted:
        next(iter(wanted)).setFocus(Qt.FocusReason.TabFocusReason)
    found = []
    for key in (Qt.Key.Key_Tab, Qt.Key.Key_Backtab):
        seen = walk(root, key)
        missed = wanted - set(seen)
        found += [f"{key.name} misses {type(each).__name__} {each.objectName()!r}" for each in missed]
    if ring is None or not ring.isVisible():
        found.append("no ring")
    return [f"{name}: {each}" for each in found]


def screens(shell: Shell) -> Iterator[tuple[str, QWidget]]:
    """Bring up every page with its forms, every side and every view of the odds, one after the other."""
    window, workspace = shell.window, shell.workspace
    document = workspace.document
    assert document is not None
    for side in SIDES:
        workspace.show_side(side)
        yield f"side {side}", window
    workspace.show_side("odds")
    for view in ODDS_VIEWS:
        press(window, f"odds_view_{view}")
        yield f"odds {view}", window
    press(window, "odds_view_curve")
    workspace.show_page("shelf")
    window.parts.pages["shelf"].model.select(document.state.shelf[0].id)
    yield "shelf", window
    for name in SHELF_FORMS:
        press(window, name)
        yield f"shelf {name}", window
        window.parts.pages["shelf"].close_panels()
    workspace.show_page("bench")
    for fold in ("fold_seen", "fold_masses", "fold_note"):
        press(window, fold)
    yield "bench", window
    workspace.show_page("attempts")
    workspace.set_in_hand(InHand.of_attempt(document.state.attempts[-1]))
    for name in LEDGER_PANELS:
        press(window, name)
        yield f"attempts {name}", window
        for close in window.parts.pages["attempts"].findChildren(QAbstractButton):
            if close.objectName().endswith(("_close", "_cancel")) and close.isVisible():
                close.click()
    workspace.show_page("evidence")
    for section in SECTIONS:
        press(window, f"evidence_section_{section}")
        yield f"evidence {section}", window
    workspace.show_page("recipe")
    for section in ("issued", "make"):
        press(window, f"recipe_section_{section}")
        yield f"recipe {section}", window
    workspace.show_page("plan")
    for section in ("proof", "rehearsal", "tonight"):
        press(window, f"plan_section_{section}")
        yield f"plan {section}", window


def test_everything_on_every_screen_has_a_name(shell: Shell) -> None:
    missing = [line for name, root in screens(shell) for line in told(root, name)]
    assert missing == [], "\n".join(missing)


def test_tab_comes_to_everything_and_back(shell: Shell, qtbot: QtBot) -> None:
    window = shell.window
    with qtbot.waitActive(window):
        window.activateWindow()
    found = []
    for page in PAGES:
        shell.workspace.show_page(page)
        laid_out(window)
        found += walked(window, page)
    shell.workspace.show_page("evidence")
    for section in SECTIONS:
        press(window, f"evidence_section_{section}")
        laid_out(window)
        found += walked(window, f"evidence {section}")
    shell.workspace.show_page("recipe")
    for side in ("melt", "film", "odds"):
        shell.workspace.show_side(side)
        laid_out(window)
        found += walked(window, side)
    assert found == [], "\n".join(found)


def dialogs(shell: Shell) -> Iterator[tuple[str, QDialog]]:
    """Open every dialog of our own that a menu leads to, one after the other."""
    for text, act in entries(shell):
        if text.endswith("…") and not _NO_DIALOG.match(text) and act.isEnabled():
            before = set(shown_dialogs())
            act.trigger()
            opened = set(shown_dialogs()) - before
            for chooser in [each for each in opened if isinstance(each, QFileDialog)]:
                chooser.reject()  # not of our own, and it stands over ours
                opened.discard(chooser)
            QApplication.processEvents()
            for dialog in opened:
                yield text, dialog
                dialog.reject()
                QApplication.processEvents()


def shown_dialogs() -> list[QDialog]:
    return [each for each in QApplication.topLevelWidgets() if isinstance(each, QDialog) and each.isVisible()]


def entries(shell: Shell) -> Iterator[tuple[str, QAction]]:
    menus: list[QMenu] = [top.menu() for top in shell.window.menuBar().actions()]
    while menus:
        for action in menus.pop().actions():
            if action.menu() is not None:
                menus.append(action.menu())
            elif not action.isSeparator():
                yield action.text().replace("&", ""), action


def test_every_dialog_is_told_and_walked(shell: Shell, qtbot: QtBot) -> None:
    found, names = [], []
    for name, dialog in dialogs(shell):
        names.append(name)
        dialog.activateWindow()
        qtbot.waitUntil(dialog.isActiveWindow, timeout=3000)
        found += told(dialog, name)
        found += walked(dialog, name)
    assert {"Preferences…", "Settings…", "Factors…", "Assay calculator…", "Cautions…"} <= set(names)
    assert {"Import a table…", "Pool sessions…", "Report and bundle…", "Mark a change…"} <= set(names)
    assert found == [], "\n".join(found)


def test_the_guided_run_is_told_step_by_step(shell: Shell, qtbot: QtBot) -> None:
    window, workspace = shell.window, shell.workspace
    run = window.parts.run
    assert run is not None
    workspace.request_run(workspace.document.state.shelf[0].id)
    assert window.is_running, window.strip.notice
    with qtbot.waitActive(window):
        window.activateWindow()
    found: list[str] = []
    for number in range(RUN_ACTS):
        found += told(window, f"run {number}")
        if number < 2:
            found += walked(run, f"run {number}")
        workspace.request_act("NEXT")
    window.leave_run()
    assert found == [], "\n".join(found)


def test_card_foot_switch_and_undo_key_reach_the_run(shell: Shell, qtbot: QtBot) -> None:
    window, workspace = shell.window, shell.workspace
    acts: list[str] = []
    workspace.act_requested.connect(acts.append)
    workspace.request_run(workspace.document.state.shelf[0].id)
    assert window.is_running
    with qtbot.waitActive(window):
        window.activateWindow()
    run = window.parts.run
    run.setFocus()
    for letter in act_code("MARK"):
        QTest.keyClick(window.focusWidget(), letter)
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Return)
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_PageDown)
    assert acts == ["MARK", "NEXT"]
    before = len(workspace.open_run.events)
    note = RunEvent("", workspace.open_run.id, EventKind.NOTE, workspace.document.now(), text="the oil is clear")
    workspace.execute(AddRunEvent(note))
    assert len(workspace.open_run.events) == before + 1
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert len(workspace.open_run.events) == before
    assert window.strip.notice.text.startswith("Undone: ")
    QTest.keyClick(window.focusWidget(), Qt.Key.Key_F1)
    guide = window.findChild(QWidget, "guide_window")
    assert guide.contents.currentItem().text() == "Run step by step"
    guide.close()
    window.leave_run()
    QTest.keyClick(window, Qt.Key.Key_PageDown)
    assert acts == ["MARK", "NEXT"]


def test_nothing_in_the_window_flashes_or_moves_by_itself() -> None:
    """WCAG 2.2, criterion 2.3.1: no more than three flashes in a second; there are no animations at all."""
    moving: Callable[[str], bool] = re.compile(r"QPropertyAnimation|QMovie|QVariantAnimation|flashTime").search
    sources = Path(desktop.__file__).parent.rglob("*.py")
    assert [path.name for path in sources if moving(path.read_text(encoding="utf-8"))] == []
