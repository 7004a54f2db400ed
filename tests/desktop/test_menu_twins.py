"""Every button of every page is reached without a pointer: by a twin in the menus, or by Tab; acts have twins."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton

from stirfall.desktop.app import make_parts
from stirfall.desktop.page_menus import (
    BENCH,
    EVIDENCE,
    FILL_IN,
    LEDGER,
    ODDS,
    PLAN,
    RECIPE,
    REPEAT_LAST,
    SHELF,
    Twin,
)
from stirfall.desktop.shell import Shell
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QApplication

TWINS: tuple[Twin, ...] = (*SHELF, *PLAN, *BENCH, *LEDGER, *EVIDENCE, *RECIPE, *ODDS, REPEAT_LAST, FILL_IN)
# Answers, steps of a value, folds, ticks and parts of an open form: Tab, arrows and digits reach them.
PARTS_OF_A_FORM = re.compile(
    r": |(_cancel|_accept|_close|_more|_toggle|_photo|_look|_capped|_oil|_date|_shown|_tares|_jar)$"
    r"|(_less| less| more)$"
    r"|^(clock |check |example |facts_|qt_|fold_|shelf_view_|shelf_lot_|shelf_residue|plan_evening_)"
    r"|^(counts_|proof_(source|claim|confidence|asks|giving|picture))"
    r"|^rehearsal_(source|measure|order|guess)|^why_listed"
    r"|^(change_|start_now|aborted|finish_)|^$"
)
OTHER_MENUS = {
    "all_cautions": "Cautions",
    "bench_tonight_fill": "Fill in the form for the next",
    "shelf_tonight_fill": "Fill in the form for the next",
    "odds_picture_menu": "Odds picture",
    "odds_trust_unpin": "Settings",
    "odds_trust_form_details": "Settings",
}


@pytest.fixture(scope="module")
def shell(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    """The program without a session; its buttons are all there."""
    folder: Path = tmp_path_factory.mktemp("twins")
    made = Shell(qapp, Settings(folder / "settings.json"), make_parts)
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def buttons(shell: Shell) -> dict[str, list[QAbstractButton]]:
    places = {**shell.window.parts.pages, "odds": shell.window.parts.odds}
    return {name: place.findChildren(QAbstractButton) for name, place in places.items()}


def test_every_act_of_every_page_has_a_twin_in_the_menus(shell: Shell) -> None:
    known = {(twin.page, twin.button) for twin in TWINS}
    missing = [
        f"{page}: {button.objectName()!r} {button.text()!r}"
        for page, found in buttons(shell).items()
        for button in found
        if not PARTS_OF_A_FORM.search(button.objectName())
        and button.objectName() not in OTHER_MENUS
        and (page, button.objectName()) not in known
    ]
    assert missing == [], "\n".join(missing)


def test_every_twin_has_its_button(shell: Shell) -> None:
    there = {(page, button.objectName()) for page, found in buttons(shell).items() for button in found}
    late = {f"odds_next_{number}_take" for number in (1, 2, 3)}  # rows that come with the suggestions
    assert [twin for twin in TWINS if (twin.page, twin.button) not in there and twin.button not in late] == []


def test_every_button_takes_the_keyboard(shell: Shell) -> None:
    """Those of a row of answers may leave it to the row; a corner of a table is no button of ours."""
    without = [
        f"{page}: {button.objectName()!r} {button.text()!r}"
        for page, found in buttons(shell).items()
        for button in found
        if not button.focusPolicy() & Qt.FocusPolicy.TabFocus
        and button.group() is None
        and not button.objectName().startswith("qt_")
        and ": " not in button.objectName()
        and button.objectName()
    ]
    assert without == []
