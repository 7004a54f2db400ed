"""The large buttons of one choice: one press, a digit or the arrows; two rows where one is too narrow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.bench_form.segments import Segments

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

LEVELS = ("beads", "few pieces", "one pool", "not observed")


@pytest.fixture
def choice(qtbot: QtBot, themed: QApplication) -> Segments:
    made = Segments("Did the metal become one pool?", LEVELS)
    qtbot.addWidget(made)
    made.resize(made.sizeHint())
    made.show()
    qtbot.waitExposed(made)
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow, timeout=3000)
    return made


def told(choice: Segments) -> list[object]:
    seen: list[object] = []
    choice.chosen.connect(seen.append)
    return seen


def test_a_press_chooses_and_a_second_press_takes_it_back(choice: Segments) -> None:
    seen = told(choice)
    QTest.mouseClick(choice.button("one pool"), Qt.MouseButton.LeftButton)
    assert choice.value == "one pool"
    QTest.mouseClick(choice.button("one pool"), Qt.MouseButton.LeftButton)
    assert choice.value is None
    assert seen == ["one pool", None]


def test_digits_and_arrows_choose_and_the_focus_follows(choice: Segments) -> None:
    seen = told(choice)
    choice.setFocus()
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_3)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Right)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Right)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_9)
    assert seen == ["one pool", "not observed", "beads"]
    assert QApplication.focusWidget() is choice.button("beads")


def test_only_one_button_is_a_tab_stop_as_in_a_radio_group(choice: Segments) -> None:
    def stops() -> list[str]:
        tab = Qt.FocusPolicy.TabFocus
        return [level for level in LEVELS if choice.button(level).focusPolicy() & tab]

    assert stops() == ["beads"]
    choice.set_value("one pool")
    assert stops() == ["one pool"]


def test_what_is_chosen_is_said_in_shape_and_to_screen_readers(choice: Segments) -> None:
    choice.set_value("few pieces")
    chosen = choice.button("few pieces")
    assert chosen.text().startswith("●")
    assert choice.button("beads").text().startswith("○")
    assert chosen.accessibleName() == "Did the metal become one pool? few pieces"
    assert "chosen, 2 of 4" in chosen.accessibleDescription()


def test_setting_a_value_from_outside_tells_nobody(choice: Segments) -> None:
    seen = told(choice)
    choice.set_value("beads")
    choice.set_value("beads")
    assert seen == []


def test_the_buttons_go_into_two_rows_where_one_is_too_narrow_and_none_is_cut(choice: Segments) -> None:
    narrow = choice.minimumSizeHint().width()
    assert narrow < choice.sizeHint().width()
    assert choice.heightForWidth(narrow) > choice.heightForWidth(choice.sizeHint().width())
    choice.resize(narrow, choice.heightForWidth(narrow))
    places = [choice.button(level).geometry() for level in LEVELS]
    assert len({place.top() for place in places}) == 2
    for level, place in zip(LEVELS, places, strict=True):
        assert place.width() >= choice.button(level).minimumSizeHint().width()
        assert place.height() >= TARGET
        assert choice.rect().contains(place)
    assert not any(one.intersects(two) for one in places for two in places if one is not two)
