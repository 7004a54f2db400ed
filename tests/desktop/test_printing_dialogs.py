"""The printing dialogs: jars are chosen, a half-used sheet is used up, the preview is the print, a PDF is saved."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QAbstractButton, QFileDialog, QLabel, QWidget
from pytestqt.qtbot import QtBot

from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.notifier import Notice
from stirfall.desktop.printing import open_card_dialog, open_labels_dialog, open_paper_dialog
from stirfall.desktop.printing.dialog import LabelsDialog
from stirfall.desktop.printing.jobs import pdf_of, picture
from stirfall.desktop.printing.label_pages import place_of
from stirfall.desktop.printing.sheet_choice import KINDS, OWN_GRID, OWN_SINGLE, OWN_SIZE, SheetForm, read_sheet
from stirfall.desktop.printing.sheet_dialog import SheetDialog
from stirfall.desktop.workspace import Workspace
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document


@pytest.fixture
def shelf(
    tmp_path: Path, clock: FixedClock, campaign_settings: CampaignSettings, workspace: Workspace
) -> Workspace:
    """A workspace with five jars on the shelf and one of residue, without an analysis: printing asks for none."""
    now = clock.now()
    jars = [Jar(f"J{number}", "L1", now - timedelta(days=number)) for number in range(1, 6)]
    jars.append(Jar("R1", "L1", now - timedelta(days=9), contents="residue"))
    lots = (Lot("L1", now - timedelta(days=20)),)
    path = tmp_path / "shelf.stirfall"
    workspace.document = Document.create(path, campaign_settings, lots=lots, jars=tuple(jars), clock=clock)
    return workspace


@pytest.fixture
def dialog(shelf: Workspace, qtbot: QtBot) -> LabelsDialog:
    made = open_labels_dialog(shelf, (), None)
    assert isinstance(made, LabelsDialog)
    qtbot.addWidget(made)
    qtbot.waitExposed(made)
    return made


def press(root: QWidget, name: str) -> None:
    found = root.findChild(QAbstractButton, name)
    assert found is not None
    found.click()


def ticked(dialog: LabelsDialog) -> list[str]:
    return [item.id for item in dialog.model.state.ticked]


def test_all_jars_of_the_shelf_are_chosen_first_or_those_that_are_asked_for(
    dialog: LabelsDialog, shelf: Workspace, qtbot: QtBot
) -> None:
    assert ticked(dialog) == ["J1", "J2", "J3", "J4", "J5"]
    other = open_labels_dialog(shelf, ("J2", "R1"), None)
    qtbot.addWidget(other)
    assert [jar.id for jar in other.model.state.ticked] == ["J2", "R1"]


def test_groups_and_single_jars_are_ticked(dialog: LabelsDialog) -> None:
    press(dialog, "labels_group_residue")
    assert ticked(dialog)[-1] == "R1"
    press(dialog, "labels_group_shelf")
    assert ticked(dialog) == ["R1"]
    dialog.jars.item(2).setCheckState(Qt.CheckState.Checked)
    assert ticked(dialog) == ["J3", "R1"]
    assert not dialog.groups["planned"].isEnabled()


def test_products_of_attempts_and_spare_labels_are_printed(
    shelf: Workspace, document: Document, qtbot: QtBot
) -> None:
    shelf.document = document
    made = open_labels_dialog(shelf, ("J1",), None)
    qtbot.addWidget(made)
    press(made, "labels_group_products")
    assert len(made.model.state.ticked) == 1 + len(document.state.attempts)
    press(made, "labels_group_products")
    made.copies.setValue(3)
    assert made.model.state.ticked == (document.state.jar("J1"),)
    assert sum(item.text == "J1" for item in pdf_of(made.preview_model.state.job)[1][0]) == 3


def test_without_a_jar_nothing_is_printed_and_the_dialog_says_so(dialog: LabelsDialog) -> None:
    press(dialog, "labels_group_shelf")
    assert not dialog.save.isEnabled()
    assert "at least one jar" in dialog.problem.text()
    press(dialog, "labels_group_shelf")
    assert dialog.save.isEnabled()
    assert dialog.problem.text() == ""


def test_the_preview_is_drawn_by_the_hand_that_prints(dialog: LabelsDialog) -> None:
    state = dialog.preview_model.state
    assert state.image is not None
    assert picture(state.job, 0, dialog.preview_model._dots_per_mm) == state.image
    assert "Page 1 of 1, 210 × 297 mm" in dialog.preview.words.text()


def test_a_press_on_the_preview_chooses_the_first_free_position(dialog: LabelsDialog, qtbot: QtBot) -> None:
    view = dialog.preview.page
    page = view.page_rect()
    at = page.topLeft() + place_of(dialog.model.state.sheet, 7).center() * (page.width() / 210.0)
    qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(round(at.x()), round(at.y())))
    assert dialog.start.value() == 8
    dialog.start.setValue(23)
    assert dialog.preview_model.state.count == 2
    press(dialog, "print_page_after")
    assert "Page 2 of 2" in dialog.preview.words.text()
    press(dialog, "print_page_before")
    assert dialog.preview_model.state.page == 0


def test_an_own_sheet_asks_for_what_it_needs_and_says_what_is_wrong(dialog: LabelsDialog, qtbot: QtBot) -> None:
    dialog.model.choose_kind(OWN_SIZE)
    assert dialog.entries["width"].isVisibleTo(dialog)
    assert not dialog.entries["rows"].isVisibleTo(dialog)
    dialog.entries["width"].clear()
    qtbot.keyClicks(dialog.entries["width"], "20")
    assert "too small" in dialog.problem.text()
    assert not dialog.save.isEnabled()
    dialog.entries["width"].clear()
    qtbot.keyClicks(dialog.entries["width"], "99,5")
    assert dialog.problem.text() == ""
    assert dialog.model.state.sheet.label_mm[0] == pytest.approx(99.5)


def test_a_pdf_is_saved_and_that_is_said(dialog: LabelsDialog, shelf: Workspace, tmp_path: Path) -> None:
    said: list[Notice] = []
    shelf.notified.connect(said.append)
    dialog.save.click()
    asked = dialog.asked
    assert isinstance(asked, QFileDialog)
    assert asked.selectedFiles()[0].endswith("labels.pdf")
    asked.fileSelected.emit(str(tmp_path / "labels.pdf"))
    asked.reject()
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF-1.")
    assert said[-1].text == "Saved labels.pdf"


def test_without_a_printer_the_button_says_what_to_do(dialog: LabelsDialog) -> None:
    state = dialog.preview_model.state
    assert state.printers is not None
    if not state.printers:
        assert not dialog.print.isEnabled()
        assert "PDF" in dialog.print.toolTip()


@pytest.mark.parametrize("kind", [kind.key for kind in KINDS])
def test_every_kind_of_sheet_makes_a_sheet_as_it_comes(kind: str) -> None:
    sheet, problem = read_sheet(SheetForm(kind))
    assert problem is None
    assert sheet is not None
    if "×" in (title := next(each.title for each in KINDS if each.key == kind)) and not sheet.is_single:
        assert f"{sheet.columns} × {sheet.rows} " in title


@pytest.mark.parametrize(
    ("kind", "name", "text", "code"),
    [
        (OWN_GRID, "columns", "two", "labels.grid"),
        (OWN_GRID, "rows", "0", "labels.grid"),
        (OWN_SIZE, "height", "", "number.unreadable"),
        (OWN_SINGLE, "height", "10", "labels.too_small"),
        (OWN_SIZE, "width", "300", "labels.too_large"),
    ],
)
def test_entries_that_make_no_sheet_say_why(kind: str, name: str, text: str, code: str) -> None:
    form = SheetForm(kind)
    sheet, problem = read_sheet(SheetForm(kind, texts={**form.texts, name: text}))
    assert sheet is None
    assert problem.code == code


@pytest.mark.parametrize("open_it", [open_paper_dialog, open_card_dialog])
def test_paper_and_card_are_shown_and_saved(
    shelf: Workspace, qtbot: QtBot, tmp_path: Path, open_it: Callable[[Workspace, None], SheetDialog]
) -> None:
    made = open_it(shelf, None)
    qtbot.addWidget(made)
    made.model.choose_paper("US Letter")
    assert made.paper.currentText() == "US Letter"
    made.model.choose_copies(3)
    job = made.preview_model.state.job
    assert job.page_mm[0] == pytest.approx(215.9)
    path = tmp_path / "sheet.pdf"
    made.preview_model.save(str(path))
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", path.read_bytes()))
    assert pages == (4 if open_it is open_paper_dialog else 1)


@pytest.mark.parametrize("open_it", [open_paper_dialog, open_card_dialog])
def test_everything_in_paper_and_card_has_a_name_and_a_letter_of_its_own(
    shelf: Workspace, qtbot: QtBot, open_it: Callable[[Workspace, None], SheetDialog]
) -> None:
    made = open_it(shelf, None)
    qtbot.addWidget(made)
    assert all(widget.accessibleName() for widget in focusable_widgets(made))
    texts = [label.text() for label in made.findChildren(QLabel) if label.buddy() is not None]
    texts += [button.text() for button in made.findChildren(QAbstractButton)]
    letters = [text[text.index("&") + 1].lower() for text in texts if "&" in text]
    assert len(letters) == len(set(letters))
    assert {"S", "P"} <= {text[text.index("&") + 1] for text in texts if "&" in text}


def test_without_a_campaign_there_is_no_paper_sheet(workspace: Workspace) -> None:
    assert open_paper_dialog(workspace, None) is None
