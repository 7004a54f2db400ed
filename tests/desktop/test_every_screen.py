"""Every screen in every theme, at scale 1 and 2: it opens, it draws, nothing is cut, everything has a name."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from looking import cut_texts, laid_out, mnemonics, nameless
from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QWidget
from small_rehearsals import ALL_ORDERS, rehearsed_by_hand

from stirfall.bench.cancel import CancelToken
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import Attempt
from stirfall.desktop.app import make_parts
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.plan.rehearsal_asking import Answer
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import THEMES
from stirfall.desktop.workspace import PAGES
from stirfall.session.commands import Command, EndProof, RecordAttempt, StartProof
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from datetime import datetime

    from pytestqt.qtbot import QtBot

    from stirfall.session.document import Document

SMALLEST_SCREEN = QSize(1280, 720)
LARGEST_SCREEN = QSize(2560, 1440)
SCALE_TWO = "QT_SCALE_FACTOR"
DIALOGS = (
    "new campaign",
    "campaign settings",
    "campaign model",
    "factors",
    "preferences",
    "cautions",
    "about",
    "assay",
    "labels",
    "report",
    "working",
)
THEME_NAMES = tuple(THEMES)
ODDS_VIEWS = ("map", "outcomes", "time", "effects", "trust")
PANELS = ("melt", "film")


@pytest.fixture(scope="module")
def whole_program(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    """The whole program with its real parts and threads; one for all screens, since making one takes long."""
    made = Shell(qapp, Settings(tmp_path_factory.mktemp("settings") / "settings.json"), make_parts)
    made.window.show()
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


@pytest.fixture
def shell(whole_program: Shell, qtbot: QtBot) -> Shell:
    """The program in its first theme, in a window for the smallest screen, whatever the test before did."""
    whole_program.appearance.choose("light")
    whole_program.window.resize(SMALLEST_SCREEN)
    return whole_program


def settle(shell: Shell, qtbot: QtBot) -> None:
    """Wait until nothing is computed any more."""
    quiet = [0]

    def is_quiet() -> bool:
        quiet[0] = quiet[0] + 1 if shell.executor.is_idle else 0
        return quiet[0] > 3

    qtbot.waitUntil(is_quiet, timeout=60_000)


def open_screen(shell: Shell, qtbot: QtBot, document: Document, screen: str) -> QWidget:
    """Bring a screen up and return the widget that shows it."""
    if screen == "first run":
        shell.workspace.close_document()
        settle(shell, qtbot)
        return shell.window
    if shell.workspace.document is None:
        assert shell.files.open_path(reopened(document))
    shell.workspace.show_page(screen if screen in PAGES else "bench")
    settle(shell, qtbot)
    press(shell.window, f"side_{screen if screen in PANELS else 'odds'}")
    settle(shell, qtbot)
    if screen not in PANELS:
        press(shell.window, f"odds_view_{screen if screen in ODDS_VIEWS else 'curve'}")
        settle(shell, qtbot)
    return shell.window


def reopened(document: Document) -> Path:
    path = document.path
    document.close()
    return path


def press(root: QWidget, name: str) -> None:
    button = root.findChild(QAbstractButton, name)
    assert button is not None, name
    button.click()


def open_dialog(shell: Shell, name: str) -> QDialog:
    intents: dict[str, Callable[[], object]] = {
        "new campaign": shell.files.new_campaign,
        "campaign settings": shell._campaign_settings,
        "campaign model": shell._campaign_settings,
        "factors": shell._factors,
        "preferences": shell._preferences,
        "cautions": shell._cautions,
        "about": shell._about,
        "assay": shell._assay,
        "labels": shell._print_labels,
        "report": shell._report,
        "working": shell.window.parts.pages["plan"].open_working,
    }
    intents[name]()
    owner = {"new campaign": shell.files, "working": shell.window.parts.pages["plan"]}.get(name, shell)
    dialog = owner.dialog
    assert isinstance(dialog, QDialog)
    if name == "campaign model":
        press(dialog, "campaign_part_model")
    return dialog


def drawn_colours(widget: QWidget) -> int:
    image = widget.grab().toImage()
    step = max(1, image.width() // 200)
    return len({image.pixel(x, y) for x in range(0, image.width(), step) for y in range(0, image.height(), step)})


SCREENS = ("first run", *PAGES, *ODDS_VIEWS, *PANELS)


@pytest.mark.parametrize("theme", THEME_NAMES)
def test_every_screen_draws_whole_in_a_theme(shell: Shell, qtbot: QtBot, document: Document, theme: str) -> None:
    open_screen(shell, qtbot, document, "bench")
    shell.appearance.choose(theme)  # screens that are there already wear it as well as those that come
    for screen in (*SCREENS[1:], SCREENS[0]):
        shown = open_screen(shell, qtbot, document, screen)
        assert drawn_colours(shown) > 8, screen
        image = shown.grab().toImage()
        corner = image.pixelColor(2, round(60 * image.devicePixelRatio()))
        assert corner.name() == shell.appearance.theme.surface, screen


def test_every_stage_of_a_proof_draws_whole_in_all_themes(shell: Shell, qtbot: QtBot, document: Document) -> None:
    shell.workspace.close_document()  # a session of its own, which changes
    open_screen(shell, qtbot, document, "plan")
    press(shell.window, "plan_section_proof")
    section = shell.window.parts.pages["plan"].proof
    themes = list(THEME_NAMES)
    for stage, commands in stages_of_a_proof(document.now()).items():
        for command in commands(shell):
            assert shell.workspace.execute(command) is not None
        settle(shell, qtbot)
        for theme in themes:
            shell.appearance.choose(theme)
            shell.window.resize(LARGEST_SCREEN if theme == "dark" else SMALLEST_SCREEN)
            QApplication.processEvents()
            assert section.model.state.stage == stage
            assert section.plot.isVisible() == (stage != "planning")
            assert drawn_colours(section) > 8, (stage, theme)
            assert cut_texts(section) == [], (stage, theme)
        assert nameless(section) == [], stage
        themes.reverse()  # a theme is dear to put on, so each stage begins in the one that is worn
    shell.workspace.close_document()


def stages_of_a_proof(now: datetime) -> dict[str, Callable[[Shell], list[Command]]]:
    """Return what leads to each stage of a proof in sequence from the one before."""
    recipe = Conditions({"sample age": 40.0, "temperature": 152.0, "stirring action": "swirl"})
    widths = {"sample age": 4.0, "temperature": 3.0}
    proof = Proof("", now, recipe, ProofRule.SEQUENTIAL, 0.8, 0.95, 60, 0, 0.95, 0.1, widths)

    def attempts(shell: Shell) -> list[Command]:
        running = shell.workspace.document.state.open_proof
        pools = (Pooled.ONE_POOL, Pooled.BEADS, Pooled.ONE_POOL)
        return [
            RecordAttempt(Attempt("", 0, recipe, parted=Parted.YES, pooled=pool, proof_id=running.id))
            for pool in pools
        ]

    def start(shell: Shell) -> list[Command]:
        assert shell.workspace.execute(StartProof(proof)) is not None
        return attempts(shell)

    def end(shell: Shell) -> list[Command]:
        return [EndProof(shell.workspace.document.state.open_proof.id, "another lot is wanted")]

    return {"planning": lambda _: [], "running": start, "over": end}


@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_draws_whole_in_every_size(shell: Shell, qtbot: QtBot, document: Document, screen: str) -> None:
    shown = open_screen(shell, qtbot, document, screen)
    for size in (SMALLEST_SCREEN, LARGEST_SCREEN):
        shown.resize(size)
        settle(shell, qtbot)
        assert shown.size() == size
        assert cut_texts(shown) == [], size
    if screen != "first run":
        assert sum(shell.window.splitter.sizes()) > 0.98 * LARGEST_SCREEN.width()


@pytest.mark.parametrize("theme", THEME_NAMES)
def test_every_dialog_draws_whole_in_a_theme(shell: Shell, qtbot: QtBot, document: Document, theme: str) -> None:
    open_screen(shell, qtbot, document, "bench")
    opened = open_dialog(shell, "preferences")  # a dialog that is open wears a new theme at once
    shell.appearance.choose(theme)
    assert_drawn_whole(opened, "preferences")
    leave(opened)
    for name in DIALOGS:
        dialog = open_dialog(shell, name)
        assert dialog.isModal()
        assert_drawn_whole(dialog, name)
        assert dialog.width() <= SMALLEST_SCREEN.width(), name
        assert dialog.height() <= SMALLEST_SCREEN.height(), name
        leave(dialog)


def assert_drawn_whole(dialog: QDialog, name: str) -> None:
    for _ in range(3):  # what a worker brings is laid out in the round after it
        QApplication.processEvents()
    assert drawn_colours(dialog) > 4, name
    QApplication.processEvents()
    assert cut_texts(dialog) == [], name


def leave(dialog: QDialog) -> None:
    """Leave a dialog, and let it go: what stays would be dressed with each new theme."""
    dialog.reject()
    dialog.deleteLater()


def test_the_rehearsal_draws_whole_at_each_stage(shell: Shell, qtbot: QtBot, document_of_two: Document) -> None:
    window = open_screen(shell, qtbot, document_of_two, "plan")
    page = window.parts.pages["plan"]
    press(window, "plan_section_rehearsal")
    settle(shell, qtbot)
    model = page.rehearsal.model
    for theme, size in zip(THEME_NAMES, (SMALLEST_SCREEN, LARGEST_SCREEN, QSize(800, 1280)), strict=True):
        shell.appearance.choose(theme)
        window.resize(size)
        shell.workspace.show_page("plan")  # a narrow window shows one side only
        settle(shell, qtbot)
        for stage in ("empty", "running", "done"):  # results by hand: nothing is played here
            model._stop = CancelToken() if stage == "running" else None
            done = {"empty": 0, "running": 40, "done": model.state.of}[stage]
            told = rehearsed_by_hand() if done else None
            model._results = None
            model._take(Answer("", done, model.state.of, tuple(ALL_ORDERS), told))
            laid_out(page)
            assert page.rehearsal.plot.isVisible() == bool(done)
            assert drawn_colours(page) > 8, (theme, stage)
            assert (cut_texts(page), nameless(page)) == ([], []), (theme, stage)
    press(window, "plan_section_tonight")
    shell.workspace.close_document()


@pytest.mark.parametrize("screen", SCREENS)
def test_everything_on_a_screen_has_a_name_and_a_letter_of_its_own(
    shell: Shell, qtbot: QtBot, document: Document, screen: str
) -> None:
    shown = open_screen(shell, qtbot, document, screen)
    assert nameless(shown) == []
    letters = Counter(mnemonics(shown))
    assert [letter for letter, count in letters.items() if count > 1] == []


@pytest.mark.parametrize("name", DIALOGS)
def test_everything_in_a_dialog_has_a_name_and_a_letter_of_its_own(
    shell: Shell, qtbot: QtBot, document: Document, name: str
) -> None:
    open_screen(shell, qtbot, document, "bench")
    dialog = open_dialog(shell, name)
    assert nameless(dialog) == []
    letters = Counter(mnemonics(dialog))
    assert [letter for letter, count in letters.items() if count > 1] == []
    leave(dialog)


def test_no_letter_is_promised_twice_in_a_menu(shell: Shell, qtbot: QtBot, document: Document) -> None:
    open_screen(shell, qtbot, document, "bench")
    for top in shell.window.menuBar().actions():
        menus = [top.menu()]
        while menus:
            menu = menus.pop()
            assert menu is not None
            letters = Counter()
            for action in menu.actions():
                if action.isSeparator() or not action.isVisible():
                    continue
                plain = action.text().replace("&&", "")
                assert "&" in plain, f"no letter: {action.text()}"
                letters[plain[plain.index("&") + 1].lower()] += 1
                if action.menu() is not None:
                    menus.append(action.menu())
            twice = [letter for letter, count in letters.items() if count > 1]
            assert twice == [], f"{top.text()}: {twice}"


@pytest.mark.parametrize("screen", SCREENS)
def test_tab_reaches_everything_and_never_gets_stuck(
    shell: Shell, qtbot: QtBot, document: Document, screen: str
) -> None:
    window = open_screen(shell, qtbot, document, screen)
    with qtbot.waitActive(window):
        window.activateWindow()
    wanted = {
        widget
        for widget in focusable_widgets(window)
        if widget.isEnabled() and widget.focusProxy() is None and not is_radio_peer(widget)
    }
    first = next(iter(wanted))
    first.setFocus()
    seen: list[QWidget] = []
    for _ in range(2 * len(wanted) + 40):
        now = window.focusWidget()
        assert now is not None
        seen.append(now)
        qtbot.keyClick(now, Qt.Key.Key_Tab)
    missed = wanted - set(seen)
    assert {f"{type(widget).__name__} {widget.objectName()}" for widget in missed} == set()


def is_radio_peer(widget: QWidget) -> bool:
    """Whether the arrow keys lead to this button, as among the choices of one exclusive group."""
    return isinstance(widget, QAbstractButton) and widget.group() is not None and widget.group().exclusive()


@pytest.mark.slow
@pytest.mark.skipif(SCALE_TWO in os.environ, reason="this is the run at scale two")
def test_every_screen_at_scale_two() -> None:
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            __file__,
            "-k",
            "draws and not stage",
            "-n",
            "0",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:randomly",
        ],
        env={**os.environ, SCALE_TWO: "2", "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=220,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-3000:]
