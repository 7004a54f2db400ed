"""All pages and sides on a low screen, on tall tablets and with text of up to twice the size: nothing is cut.

One window is used for all of it, because opening one takes longer than looking at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from looking import clipped, cut_texts, laid_out, outside, sideways
from PySide6.QtCore import QSize, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QMainWindow
from whole_program import open_part

from stirfall.desktop.app import make_parts
from stirfall.desktop.first_run import FirstRun
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import LIGHT, apply_theme
from stirfall.desktop.two_sides import arrangement
from stirfall.desktop.window import SMALLEST
from stirfall.desktop.workspace import PAGES, SIDES
from stirfall.session.samples import samples
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication
    from pytestqt.qtbot import QtBot

LOW, WIDE, SMALL_TABLET, LARGE_TABLET = QSize(1280, 720), QSize(1366, 768), QSize(800, 1280), QSize(1200, 1920)
SIZES = (LOW, WIDE, SMALL_TABLET, LARGE_TABLET)
ATTEMPTS = 16  # so few are worked out fast
SCALES = (1.0, 1.5, 2.0)
WORK, SIDE = QSize(600, 640), QSize(470, 550)


@pytest.fixture(scope="module")
def shell(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    """The whole program over a part of a sample, with jars and attempts, its work done at once."""
    made = open_part(qapp, tmp_path_factory.mktemp("sizes"), attempts=ATTEMPTS, size=LOW)
    for name in reversed(SIDES):
        made.workspace.show_side(name)
    yield made
    made.window.close()
    made.appearance.set_scale(1.0)
    made.window.deleteLater()
    made.deleteLater()


@pytest.mark.parametrize("scale", SCALES)
def test_no_page_and_no_side_is_cut_at_any_size(shell: Shell, scale: float) -> None:
    shell.appearance.set_scale(scale)
    wrong = []
    for size in SIZES:
        shell.window.resize(size)
        for page in PAGES:
            shell.workspace.show_page(page)
            wrong += looked_at(shell, size, page, scale)
        if shell.window.splitter.arrangement == "one":
            for side in SIDES:
                shell.workspace.show_side(side)
                wrong += looked_at(shell, size, side, scale)
    assert wrong == []


def looked_at(shell: Shell, size: QSize, name: str, scale: float) -> list[str]:
    """Return what is wrong with the window as it stands; only larger text may make it scroll sideways."""
    window = shell.window
    laid_out(window)
    assert window.size() == size
    found = [*cut_texts(window), *outside(window), *clipped(window)]
    if scale == 1.0:
        found += [f"sideways {each}" for each in sideways(window)]
    if scale == 1.0 or size.width() >= LOW.width():
        found += [f"menu {each}" for each in hidden_menus(window)]
    return [f"{name} {size.toTuple()}: {each}" for each in found]


def hidden_menus(window: QMainWindow) -> list[str]:
    """Return the titles of the menu bar that have no room in it."""
    bar = window.menuBar()
    whole = bar.rect()
    corner = bar.cornerWidget()
    if corner is not None and corner.isVisible():
        whole.setRight(corner.geometry().left())
    return [each.text() for each in bar.actions() if not whole.contains(bar.actionGeometry(each))]


@pytest.mark.parametrize("scale", SCALES)
def test_the_first_page_is_whole_at_any_size(
    qapp: QApplication, qtbot: QtBot, tmp_path: Path, scale: float
) -> None:
    apply_theme(qapp, LIGHT, scale)
    first_run = FirstRun(LIGHT, samples())
    qtbot.addWidget(first_run)
    (tmp_path / "dross.stirfall").touch()
    first_run.show_recent([str(tmp_path / "dross.stirfall")])
    first_run.show()
    for size in SIZES:
        first_run.resize(size)
        laid_out(first_run)
        assert (cut_texts(first_run), first_run.horizontalScrollBar().maximum()) == ([], 0), size
    apply_theme(qapp, LIGHT)


def test_page_and_side_take_turns_where_there_is_room_for_one(shell: Shell, qtbot: QtBot) -> None:
    window = shell.window
    shell.appearance.set_scale(1.0)
    window.resize(SMALL_TABLET)
    shell.workspace.show_page("shelf")
    laid_out(window)
    assert window.splitter.arrangement == "one"
    assert window.pages.isVisible()
    assert not window.side.isVisible()
    assert not any(window.side.switch.button(name).isChecked() for name in SIDES)
    with qtbot.waitActive(window):
        window.activateWindow()
    QTest.keyClick(window, Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    assert window.side.isVisible()
    assert window.side.current == "melt"
    assert not window.pages.isVisible()
    assert window.side.switch.button("melt").isChecked()
    assert not any(window.step_bar.button(page).isChecked() for page in PAGES)
    QTest.mouseClick(window.step_bar.button("bench"), Qt.MouseButton.LeftButton)
    assert window.pages.isVisible()
    assert window.step_bar.button("bench").isChecked()
    window.resize(WIDE)
    laid_out(window)
    assert window.splitter.arrangement == "beside"
    assert window.pages.isVisible()
    assert window.side.isVisible()
    assert window.side.switch.button("melt").isChecked()


def test_the_large_tablet_shows_both_one_above_the_other(shell: Shell) -> None:
    window = shell.window
    shell.appearance.set_scale(1.0)
    window.resize(LARGE_TABLET)
    laid_out(window)
    assert window.splitter.arrangement == "stacked"
    upper, lower = window.splitter.sizes()
    assert min(upper, lower) > 0.3 * LARGE_TABLET.height()


@pytest.mark.parametrize(
    ("room", "wanted"),
    [
        (QSize(1280, 600), "beside"),
        (QSize(800, 1150), "one"),
        (QSize(800, 1250), "stacked"),
        (QSize(1200, 1800), "stacked"),
        (QSize(1200, 1190), "beside"),
        (QSize(1000, 1190), "one"),
        (QSize(500, 2000), "one"),
    ],
)
def test_the_arrangement_follows_from_the_room(room: QSize, wanted: str) -> None:
    assert arrangement(room, WORK, SIDE) == wanted


def test_the_window_may_be_as_narrow_as_a_small_tablet() -> None:
    assert SMALLEST.width() <= 800
    assert SMALLEST.height() <= 720 - 40


def test_the_side_that_was_chosen_is_there_again(shell: Shell, qapp: QApplication) -> None:
    shell.workspace.show_side("film")
    shell._keep_layout()
    again = Shell(qapp, Settings(shell._settings._path), make_parts)
    assert again.window.side.current == "film"
    assert again.actions.side_actions["film"].isChecked()
    assert again.window.splitter.front == "work"
    again.scanner.stop()
    again.window.deleteLater()
    again.deleteLater()
