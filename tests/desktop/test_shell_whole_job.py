"""The main job through the window, with real clicks and keys only: sample, suggestion, record, odds, recipe."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QFileDialog, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.app import make_parts
from stirfall.desktop.shell import Shell
from stirfall.session.document import Document
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


@pytest.fixture
def shell(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> Iterator[Shell]:
    settings = Settings(tmp_path / "settings.json")
    settings.change(last_folder=str(tmp_path), theme="light")
    made = Shell(qapp, settings, make_parts)
    made.window.resize(1440, 900)
    with qtbot.waitExposed(made.window):
        made.window.show()
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def settle(shell: Shell, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)


def click(root: QWidget, name: str, qtbot: QtBot) -> None:
    button = root.findChild(QAbstractButton, name)
    assert button is not None, name
    assert button.isVisible(), name
    assert button.isEnabled(), name
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


@pytest.mark.slow
def test_the_main_job_runs_from_the_first_page_to_the_recipe(shell: Shell, qtbot: QtBot, tmp_path: Path) -> None:
    window = shell.window
    # A sample is opened at a place of one's own.
    click(window, "first_run_sample", qtbot)
    dialog = shell.files.dialog
    assert isinstance(dialog, QFileDialog)
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        dialog.accept()
    settle(shell, qtbot)
    document = shell.workspace.document
    attempts_before = len(document.state.attempts)

    # The start checklist is ticked line by line; only then can be recorded.
    bench = window.parts.pages["bench"]
    for line in bench.checklist.lines.values():
        qtbot.mouseClick(line.box, Qt.MouseButton.LeftButton)
    click(bench, "finish_checklist", qtbot)
    settle(shell, qtbot)

    # A suggestion goes into the form, and the odds then answer for the form.
    suggestion = shell.workspace.analysis.suggest(count=1, goal="learn", now=document.now())[0]
    click(window.parts.odds, "odds_next_1_take", qtbot)
    settle(shell, qtbot)
    assert window.page == "bench"
    in_form = shell.workspace.in_hand.conditions
    assert shell.workspace.in_hand.source == "form"
    taken = {name: value for name, value in suggestion.conditions.items() if in_form.get(name) == value}
    assert len(taken) >= len(suggestion.conditions) - 2  # ages may follow the clock of the jar
    before = shell.workspace.analysis.estimate(in_form)

    # Two questions, one touch to record.
    gates = bench.record_bar.gates
    qtbot.mouseClick(gates.parted.button("no"), Qt.MouseButton.LeftButton)
    assert not bench.record_bar.why.isVisible() or bench.record_bar.why.text() == "suggested by this program"
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        click(bench, "record", qtbot)
    settle(shell, qtbot)
    assert len(document.state.attempts) == attempts_before + 1
    recorded = document.state.attempts[-1]
    assert recorded.outcome is Outcome.NOTHING_PARTED

    # What was learned: at the recorded conditions a clean separation is less probable than before.
    after = shell.workspace.analysis.estimate(recorded.conditions)
    assert after.n == before.n + 1
    assert after.mean < before.mean

    # The recipe is exported.
    click(window, "step_recipe", qtbot)
    settle(shell, qtbot)
    recipe_page = window.parts.pages["recipe"]
    qtbot.mouseClick(recipe_page.source.button("best condition"), Qt.MouseButton.LeftButton)
    export = recipe_page.findChild(QAbstractButton, "recipe_export_json")
    qtbot.waitUntil(export.isEnabled, timeout=60_000)
    click(recipe_page, "recipe_export_json", qtbot)
    chooser = next(dialog for dialog in window.findChildren(QFileDialog) if dialog.isVisible())
    chooser.setDirectory(str(tmp_path))
    chooser.selectFile("recipe.json")
    target = Path(chooser.selectedFiles()[0])
    assert target.parent == tmp_path
    chooser.accept()
    qtbot.waitUntil(target.exists, timeout=20_000)
    assert json.loads(target.read_text(encoding="utf-8"))["schema"]
    settle(shell, qtbot)

    # Everything is on disk without ever having been saved by hand.
    path = document.path
    window.close()
    with Document.open(path) as again:
        assert again.state.attempts[-1].id == recorded.id
