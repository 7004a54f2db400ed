"""The dialog "Pool sessions": files are read, benches named, what is found is shown, and a new session is made."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from looking import cut_texts, laid_out, nameless
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "unit" / "session"))

from pool_benches import SETTINGS, a_bench

from stirfall.desktop.pooling.dialog import PoolingDialog
from stirfall.desktop.workspace import Workspace
from stirfall.session.document import Document
from stirfall.storage.package import write_package

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def places(tmp_path: Path) -> dict[str, str]:
    """A session, a package, a session with other outcome rules, and a file that is none."""
    Document.create_from(tmp_path / "north.stirfall", a_bench("North").state).close()
    write_package(a_bench("South", day=0.3).state, (), tmp_path / "south")
    west = a_bench("West", settings=replace(SETTINGS, partly="success"), day=0.6)
    Document.create_from(tmp_path / "west.stirfall", west.state).close()
    (tmp_path / "letter.stirfall").write_text("Dear all")
    names = ("north.stirfall", "south", "west.stirfall", "letter.stirfall")
    return {name.split(".")[0]: str(tmp_path / name) for name in names}


@pytest.fixture
def dialog(
    workspace: Workspace, tmp_path: Path, put_on_screen: Callable[[PoolingDialog, int, int], PoolingDialog]
) -> PoolingDialog:
    made = PoolingDialog(workspace, tmp_path)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)  # the test looks at it after it closed
    return put_on_screen(made, 760, 640)


def add(dialog: PoolingDialog, *places: str) -> None:
    dialog.model.add(places)
    dialog.model.check()


def test_two_benches_are_checked_and_pooled(dialog: PoolingDialog, places: dict[str, str], tmp_path: Path) -> None:
    assert not dialog._verb.isEnabled()
    add(dialog, places["north"], places["south"])
    assert [edit.text() for edit in dialog.benches.values()] == ["North", "South"]
    assert dialog.verdict.text().startswith("Together: 6 attempts of 2 benches")
    assert "They are closed in the pooled session" in dialog.notes.text()
    made: list[str] = []
    dialog.pooled.connect(made.append)
    QTest.mouseClick(dialog._verb, LEFT)
    assert made == [str(tmp_path / "pooled.stirfall")]
    with Document.open(made[0], read_only=True) as document:
        assert len(document.state.attempts) == 6


def test_a_bench_is_called_as_the_person_types(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"])
    edit = dialog.benches[places["south"]]
    edit.setFocus()
    edit.selectAll()
    QTest.keyClicks(edit, "north")
    dialog.model.check()
    assert "Two benches are called" in dialog.refusals.text()
    assert not dialog._verb.isEnabled()
    QTest.keyClicks(edit, " 2")
    dialog.model.check()
    assert dialog._verb.isEnabled()
    assert dialog.refusals.text() == ""


def test_what_stands_in_the_way_is_said_and_can_be_left_out(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"], places["west"])
    assert dialog.verdict.text() == "These sessions cannot be one yet."
    assert "rule for partly parted attempts differs" in dialog.refusals.text()
    QTest.mouseClick(dialog.remove_button(places["west"]), LEFT)
    dialog.model.check()
    assert dialog._verb.isEnabled()


def test_a_file_that_is_no_session_is_named_beside_itself(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"], places["letter"])
    entry = dialog.model.state.sources[2]
    assert entry.problem
    assert not dialog._verb.isEnabled()
    assert dialog.verdict.text() == "Leave out what cannot be read, or put it right."


def test_a_place_that_is_taken_is_said_and_the_dialog_stays(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"])
    dialog.model.set_out(places["west"])
    QTest.mouseClick(dialog._verb, LEFT)
    assert "exists already" in dialog.problem.text()
    assert dialog.isVisible()
    dialog.model.set_out(" ")
    QTest.mouseClick(dialog._verb, LEFT)
    assert dialog.problem.text() == "Say where the new session goes."


def test_the_same_file_is_added_once(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["north"])
    add(dialog, places["north"])
    assert len(dialog.model.state.sources) == 1
    assert "Add the session of another bench" in dialog.refusals.text()


def test_what_is_taken_along_is_ticked(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"])
    dialog.takes["grades"].click()
    assert dialog.model.state.takes == {"grades"}
    dialog.takes["grades"].click()
    assert dialog.model.state.takes == frozenset()


def test_nothing_is_cut_or_nameless(dialog: PoolingDialog, places: dict[str, str]) -> None:
    add(dialog, places["north"], places["south"], places["west"], places["letter"])
    laid_out(dialog)
    assert cut_texts(dialog) == []
    assert nameless(dialog) == []


def test_a_dialog_that_was_closed_takes_no_late_answer(
    workspace: Workspace, tmp_path: Path, places: dict[str, str]
) -> None:
    dialog = PoolingDialog(workspace, tmp_path)
    dialog.model.add([places["north"]])
    dialog.model.remove(places["north"])
    dialog.model._not_read(places["north"], ValueError("late"))
    assert dialog.model.state.sources == ()
    dialog.deleteLater()
