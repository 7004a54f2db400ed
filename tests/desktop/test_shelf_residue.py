"""The register of residue: its notes, registering in few touches, adding to a jar, and handing over."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLineEdit

from stirfall.bench.records import Jar
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.shelf.page import ShelfPage
from stirfall.desktop.shelf.residue_entry import ResidueEntry
from stirfall.desktop.shelf.residue_form import ResidueForm, new_residue_form, read_residue
from stirfall.desktop.shelf.residue_note import ResidueNote, added_to, handed_over, read_note
from stirfall.desktop.shelf.table import RESIDUE_COLUMNS
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import all_sentences
from stirfall.session.commands import AddJar, ChangeJar
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


LEFT = Qt.MouseButton.LeftButton
NOW = datetime(2026, 12, 3, 9, 30, tzinfo=UTC)


@pytest.fixture
def document(document_of_few: Document) -> Document:
    return document_of_few


@pytest.fixture
def page(put_on_screen: Callable[..., ShelfPage], workspace: Workspace, document: Document) -> Iterator[ShelfPage]:
    workspace.open_document(document)
    made = put_on_screen(ShelfPage(workspace), 600, 620)
    made.show_view("residue")
    yield made
    workspace.close_document()


def cell(page: ShelfPage, row: int, column: str) -> str:
    return str(page.residue_model.index(row, RESIDUE_COLUMNS.index(column)).data())


# -- the note --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "note",
    [
        ResidueNote(),
        ResidueNote((12,), "in the steel cupboard", True, True),
        ResidueNote((3, 14, 15), "at the back", True, False, "", "Smells of rosin."),
        ResidueNote((), "", False, True, "on 3 Dec 2026 09:30 to M. of the waste service"),
        ResidueNote(rest="skimmings of the first week"),
    ],
)
def test_a_note_reads_as_it_was_written(note: ResidueNote) -> None:
    again = read_note(note.write())
    assert again == replace(note, handed=note.handed.replace("M. of", "M, of"))
    assert read_note(again.write()) == again


def test_a_note_is_plain_english_and_an_older_note_is_kept_as_it_is() -> None:
    note = ResidueNote((12, 14), "in the steel cupboard.", True, True, rest="Two lumps.")
    assert note.write() == "From attempts 12, 14. Stands in the steel cupboard. Capped, under oil. Two lumps."
    old = "beads and dross of the 12th, see the list"
    assert read_note(old) == ResidueNote(rest=old)


def test_adding_to_a_jar_keeps_what_was_in_it_and_an_unknown_mass_stays_unknown() -> None:
    jar = Jar("R1", "L1", NOW, charge_g=4.0, note="From attempt 3. Stands here. Old.", contents="residue")
    more = added_to(jar, ResidueNote((5,), "", True, True), 2.5)
    assert more.charge_g == 6.5
    assert more.note == "From attempts 3, 5. Stands here. Capped, under oil. Old."
    assert added_to(jar, ResidueNote((5,)), None).charge_g is None
    assert added_to(more, ResidueNote((5,)), 1.0).note.startswith("From attempts 3, 5.")


def test_a_handed_over_jar_says_when_and_to_whom() -> None:
    jar = Jar("R1", "L1", NOW - timedelta(days=3), note="From attempt 3.", contents="residue")
    gone = handed_over(jar, NOW, "the waste service", UTC)
    assert gone.emptied_at == NOW
    assert gone.note == "From attempt 3. Handed over on 3 Dec 2026 09:30 to the waste service."
    assert read_note(handed_over(jar, NOW, "", UTC).note).handed == "on 3 Dec 2026 09:30"


# -- the form --------------------------------------------------------------------------------------------------


def test_what_is_wrong_stands_beside_its_entry(document: Document) -> None:
    state, now = document.state, document.now()

    def codes(**entries: object) -> dict[str, str]:
        form = ResidueForm(**{"place": "here", **entries})  # type: ignore[arg-type]
        return {name: each.code for name, each in read_residue(form, state, now).problems.items()}

    assert codes() == {}
    assert codes(place="") == {"place": "residue.place_missing"}
    assert codes(attempts="99") == {"attempts": "residue.attempt_unknown"}
    assert codes(attempts="soon") == {"attempts": "residue.attempt_unknown"}
    assert codes(mass="-1") == {"mass": "shelf.negative"}
    assert codes(into="R9") == {"into": "residue.jar_gone"}
    assert new_residue_form(state).attempts == "2"


def test_residue_of_the_newest_attempt_is_registered_with_five_touches(
    page: ShelfPage, document: Document, workspace: Workspace
) -> None:
    assert "No residue is registered" in page.empty.text()
    QTest.mouseClick(page.register_residue, LEFT)
    entry = page.residue_entry
    assert entry.isVisible()
    assert entry.attempts.text() == "2"
    assert "⚠" in entry.unsafe.text()
    QTest.keyClicks(entry.place, "in the steel cupboard")
    QTest.mouseClick(entry.capped, LEFT, pos=entry.capped.rect().center() - entry.capped.rect().topLeft() / 2)
    entry.capped.setChecked(True)
    entry.under_oil.setChecked(True)
    assert not entry.unsafe.isVisible()
    QTest.keyClicks(entry.mass, "3.2")
    QTest.mouseClick(entry.accept, LEFT)
    (jar,) = document.state.residues
    assert (jar.id, jar.lot_id, jar.charge_g, jar.lid, jar.oil) == ("R1", "L1", 3.2, "closed", "invented white oil")
    assert jar.started_at == document.now()
    assert not entry.isVisible()
    assert [cell(page, 0, column) for column in ("Jar", "From", "Stands", "Mass")] == [
        "R1",
        "attempt 2",
        "in the steel cupboard",
        "3.2\u2009g",
    ]
    workspace.undo()
    assert document.state.residues == ()


def test_more_goes_into_a_jar_that_stands_there(page: ShelfPage, document: Document) -> None:
    document.execute(
        AddJar(Jar("R1", "L1", document.now(), charge_g=2.0, note="From attempt 1.", contents="residue"))
    )
    page.register_residue.click()
    entry = page.residue_entry
    QTest.mouseClick(entry.into.button("R1"), LEFT)
    entry.mass.setText("1.5")
    QTest.mouseClick(entry.accept, LEFT)
    (jar,) = document.state.residues
    assert jar.charge_g == 3.5
    assert read_note(jar.note).attempts == (1, 2)


def test_a_hand_over_is_noted_leaves_the_register_and_comes_back_with_one_undo(
    page: ShelfPage, document: Document, workspace: Workspace
) -> None:
    document.execute(AddJar(Jar("R1", "L1", document.now() - timedelta(days=2), contents="residue")))
    place = page.residues.visualRect(page.residue_model.index(0, 0)).center()
    QTest.mouseClick(page.residues.viewport(), LEFT, pos=place)
    QTest.mouseClick(page.detail.hand_over, LEFT)
    QTest.keyClicks(page.hand_over_panel.to, "the waste service")
    QTest.mouseClick(page.hand_over_panel.accept, LEFT)
    assert document.state.residues == ()
    jar = document.state.jar("R1")
    assert jar is not None
    assert jar.emptied_at == document.now()
    assert "to the waste service" in jar.note
    workspace.undo()
    (back,) = document.state.residues
    assert back.note == ""


def test_a_jar_that_was_corrected_by_hand_still_reads(page: ShelfPage, document: Document) -> None:
    jar = Jar("R1", "L1", document.now(), note="From attempt 3. Stands here.", contents="residue")
    document.execute(AddJar(jar))
    document.execute(ChangeJar(replace(jar, note="Stands outside. From attempts 3, 4. More words."), "moved"))
    assert cell(page, 0, "Stands") == "outside"
    assert cell(page, 0, "From") == "attempts 3, 4"


# -- in the guided run -----------------------------------------------------------------------------------------


def test_the_form_stands_alone_for_the_closing_list_with_large_targets(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    workspace.open_document(document)
    entry = ResidueEntry(workspace, target=76)
    qtbot.addWidget(entry)
    entry.open_for(1)
    entry.show()
    assert entry.attempts.text() == "1"
    pressed = [*entry.findChildren(QAbstractButton), *entry.findChildren(QLineEdit)]
    assert min(widget.minimumHeight() for widget in pressed) >= 76
    assert all(widget.accessibleName() for widget in focusable_widgets(entry))
    entry.place.setText("in the cupboard")
    with qtbot.waitSignal(entry.registered) as told:
        entry.accept.click()
    assert told.args == ["R1"]
    workspace.close_document()


def test_the_closing_list_can_ask_the_shelf_for_the_form(page: ShelfPage, workspace: Workspace) -> None:
    page.show_view("ageing")
    workspace.request_residue(1)
    assert page.view == "residue"
    assert page.residue_entry.isVisible()
    assert page.residue_entry.attempts.text() == "1"


def test_no_sentence_of_the_register_advises_to_destroy(document: Document) -> None:
    said = " ".join(text for code, text in all_sentences().items() if code.startswith("residue.")).casefold()
    for word in ("quench", "destroy", "neutral", "alcohol", "water", "burn", "dissolve", "react"):
        assert word not in said
    assert "licensed waste route" in said
