"""The look of the surface: asked first where it matters, folded where not, loud where it is alarming."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Jar, Lot
from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.value_edit import NumberRow
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import AddJar, AddLot, ChangeSettings, InspectJar, TickChecklist

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton
ALARMING = [look for look in SurfaceLook if look.is_alarming]
MATTERS = [material for material in MaterialClass if material is not MaterialClass.BASE_METAL]


@pytest.fixture
def page(put_on_screen: Callable[..., BenchPage], workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    workspace.open_document(document)
    made = put_on_screen(BenchPage(workspace), 600, 640)
    yield made
    workspace.close_document()


def of_class(page: BenchPage, material: MaterialClass) -> None:
    document = page.workspace.document
    assert document is not None
    page.workspace.execute(ChangeSettings(replace(document.state.settings, material=material)))
    keys = tuple(item.key for item in load_cautions(material).checklist)
    page.workspace.execute(TickChecklist(day_of(document.now()), keys))
    if document.state.jar("J9") is None:
        page.workspace.execute(AddLot(Lot("L9")))  # of unknown date, so that no class finds it too old
        page.workspace.execute(AddJar(Jar("J9", "L9", document.now() - timedelta(hours=1))))
    page.model.pick_jar("J9")
    page.model.set_parted(Parted.NO)
    QApplication.processEvents()


def code(page: BenchPage) -> str:
    assert page.model.state is not None
    return page.model.state.missing.code if page.model.state.missing else ""


@pytest.mark.parametrize("material", MATTERS)
def test_where_a_crust_may_explode_the_look_stands_below_the_jar_and_must_be_told(
    page: BenchPage, document: Document, material: MaterialClass
) -> None:
    of_class(page, material)
    assert page.look.isVisible()
    assert page.look.mapTo(page, QPoint()).y() < page.rows["sample age"].mapTo(page, QPoint()).y()
    assert code(page) == "bench.missing.look"
    assert not page.record_bar.record.isEnabled()
    QTest.mouseClick(page.look.segments.button("bright"), LEFT)
    page.model.give_limit_reason("all looked at")
    assert code(page) == ""
    assert page.model.record()
    assert document.state.attempts[-1].facts.look == "bright"


def test_for_a_base_metal_the_look_is_folded_away_and_nothing_more_is_asked(
    page: BenchPage, document: Document
) -> None:
    of_class(page, MaterialClass.BASE_METAL)
    assert not page.look.isVisible()
    assert not page.folded_look.isVisible()
    assert code(page) == ""
    page.folds.open("fold_seen")
    QTest.mouseClick(page.folded_look.segments.button("white"), LEFT)
    assert not page.look_alarm.isVisible()
    assert page.model.record()
    assert document.state.attempts[-1].facts.look == "white"


@pytest.mark.parametrize("material", MATTERS)
def test_an_alarming_look_says_at_once_in_large_words_to_leave_it_closed(
    page: BenchPage, material: MaterialClass
) -> None:
    of_class(page, material)
    for look in ALARMING:
        QTest.mouseClick(page.look.segments.button(look.value), LEFT)
        QApplication.processEvents()
        words = page.look_alarm.words
        assert words.isVisible(), look
        assert "Do not open" in words.text()
        assert "Get help" in words.text()
        assert words.fontInfo().pointSizeF() > 2 * page.fontInfo().pointSizeF()
        assert page.rect().contains(words.mapTo(page, QPoint(words.width() - 1, words.height() - 1))), look
        assert not page.record_bar.record.isEnabled()
        assert code(page) == "limits.alarming_look"
        QTest.mouseClick(page.look.segments.button("bright"), LEFT)
        assert not words.isVisible(), look


def test_the_alarm_cannot_be_closed_or_reasoned_away(page: BenchPage) -> None:
    of_class(page, MaterialClass.SUPEROXIDE_FORMER)
    page.model.set_look("furry")
    page.model.give_limit_reason("it looked fine to me")
    assert page.look_alarm.isVisible()
    assert not page.model.record()
    page.model.set_look("grey")
    assert not page.look_alarm.isVisible()


def test_the_look_is_noted_on_the_jar_with_one_touch_and_shows_there_from_then_on(
    page: BenchPage, document: Document
) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    page.model.set_look("white")
    assert "jar J9" in page.look_alarm.note.text()
    assert page.look_alarm.note.height() >= TARGET
    QTest.mouseClick(page.look_alarm.note, LEFT)
    jar = document.state.jar("J9")
    assert jar is not None
    assert (jar.look, jar.looked_at) == ("white", document.now())
    assert "white" in page.look.jar_look.text()
    assert page.look_alarm.note.isHidden()
    page.model.set_look("bright")
    assert page.look_alarm.isVisible()  # the jar still stands noted as white
    assert "J9" in page.look_alarm.more.text()


def test_a_jar_noted_as_alarming_alarms_as_soon_as_it_is_picked(page: BenchPage, document: Document) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    page.workspace.execute(InspectJar("J3", "yellow", document.now()))
    assert not page.look_alarm.isVisible()
    page.model.pick_jar("J3")
    assert page.look_alarm.isVisible()


def test_another_jar_asks_for_its_own_look(page: BenchPage) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    page.model.set_look("bright")
    page.model.pick_jar("J3")
    assert page.model.state is not None
    assert page.model.state.look.look == ""


def test_a_broken_off_attempt_with_an_alarming_look_is_still_put_on_record(
    page: BenchPage, document: Document
) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    page.model.set_look("yellow")
    page.record_bar.abort.click()
    page.model.set_text("abort_reason", "crust seen, closed again")
    assert page.model.record()
    attempt = document.state.attempts[-1]
    assert attempt.aborted
    assert attempt.facts.look == "yellow"
    assert "limits.alarming_look" in {item.code for item in attempt.facts.accepted}


def test_after_the_jar_the_keyboard_goes_to_the_look_and_a_digit_answers_it(page: BenchPage) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    page.jar.jar_line.setFocus()
    page.jar.jar_line.setText("J3")
    QTest.keyClick(page.jar.jar_line, Qt.Key.Key_Return)
    assert QApplication.focusWidget() in [page.look.segments.button(each) for each in page.look.segments.levels]
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_2)
    assert page.model.state is not None
    assert page.model.state.look.look == "grey"


def test_the_form_of_a_base_metal_is_no_longer_than_it_was_and_asks_for_no_more_touches(page: BenchPage) -> None:
    of_class(page, MaterialClass.BASE_METAL)
    bottom = page.folds.y() + page.folds.height()
    last = page.empties.parentWidget()
    assert last is not None
    assert bottom <= last.y() + last.height() + 2 * TARGET  # before, the folds of masses and notes took two rows
    assert isinstance(page.rows["temperature"], NumberRow)


def test_all_six_looks_are_large_enough_for_gloves_and_named_for_screen_readers(page: BenchPage) -> None:
    of_class(page, MaterialClass.ALKALI_METAL)
    for look in SurfaceLook:
        button = page.look.segments.button(look.value)
        assert button.height() >= TARGET
        assert look.value in button.text()
        assert look.value in button.accessibleName()
