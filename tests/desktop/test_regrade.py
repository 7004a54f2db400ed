"""Grading again, blind: nothing gives the attempt away, keys grade, the agreement is told at the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLabel, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.course.dialog import CourseDialog
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.odds.trust_state import CheckLine
from stirfall.desktop.odds.trust_words import with_grades
from stirfall.desktop.photos.anchors import AnchorsDialog
from stirfall.desktop.photos.scaling import photo_of_image
from stirfall.desktop.regrade.dialog import RegradeDialog
from stirfall.desktop.regrade.model import RegradeModel
from stirfall.session.clock import FixedClock
from stirfall.session.commands import AttachPhoto, SetAnchor
from stirfall.session.document import Document
from stirfall.session.regrading import CLASSES, due, is_chosen

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace


def jpeg(colour: str) -> bytes:
    image = QImage(60, 40, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    return photo_of_image(image, "x").data


CHOSEN = [f"g-{number}" for number in range(200) if is_chosen(f"g-{number}")]


@pytest.fixture
def photographed(document: Document, tmp_path: Path, clock: FixedClock) -> Iterator[Document]:
    """A campaign with three attempts that are due, each with two photos."""
    state = document.state
    attempts = [replace(one, id=CHOSEN[place], lot_id=None) for place, one in enumerate(state.attempts[:3])]
    path = tmp_path / "photographed.stirfall"
    with Document.create(path, state.settings, state.factors, attempts=attempts, clock=clock) as made:
        for attempt in attempts:
            for colour in ("red", "green"):
                name = f"attempt {attempt.number} 24 November.jpg"
                made.execute(AttachPhoto(attempt.id, name, "image/jpeg", jpeg(colour)))
        yield made


def order(document: Document) -> list[str]:
    return [attempt.id for attempt in due(document.state, document.photographed(), document.now())]


def all_words(root: QWidget) -> str:
    texts = []
    for widget in (root, *root.findChildren(QWidget)):
        texts += [widget.accessibleName(), widget.accessibleDescription(), widget.toolTip(), widget.windowTitle()]
        texts.append(widget.text() if isinstance(widget, QLabel) else "")
    return "\n".join(texts)


def test_nothing_tells_which_attempt_it_is(workspace: Workspace, photographed: Document, qtbot: QtBot) -> None:
    workspace.open_document(photographed)
    dialog = RegradeDialog(workspace)
    qtbot.addWidget(dialog)
    dialog.show()
    words = all_words(dialog)
    assert "1 of 3" in words
    for secret in ("24 November", "attempt 1", "attempt 2", ".jpg", "L1", "J1", "2026"):
        assert secret not in words


def test_keys_grade_turn_photos_and_go_back(workspace: Workspace, photographed: Document, qtbot: QtBot) -> None:
    workspace.open_document(photographed)
    queue = order(photographed)
    assert len(queue) == 3
    dialog = RegradeDialog(workspace)
    qtbot.addWidget(dialog)
    dialog.show()
    qtbot.waitExposed(dialog)
    QTest.keyClick(dialog, Qt.Key.Key_Right)
    assert dialog.which.text() == "Photo 2 of 2"
    QTest.keyClick(dialog, Qt.Key.Key_4)
    assert [(each.attempt_id, each.outcome) for each in photographed.state.regrades] == [(queue[0], CLASSES[3])]
    assert dialog.progress.text() == "2 of 3"
    QTest.keyClick(dialog, Qt.Key.Key_Backspace)
    assert photographed.state.regrades == ()
    assert dialog.progress.text() == "1 of 3"
    QTest.keyClick(dialog, Qt.Key.Key_1)
    QTest.keyClick(dialog, Qt.Key.Key_0)  # cannot tell: nothing is written, it stays due
    dialog.buttons[Outcome.PARTED_BEADS].click()
    assert [(each.attempt_id, each.outcome) for each in photographed.state.regrades] == [
        (queue[0], Outcome.NOTHING_PARTED),
        (queue[2], Outcome.PARTED_BEADS),
    ]
    assert order(photographed) == [queue[1]]


def test_the_end_tells_the_agreement_and_what_differs(workspace: Workspace, photographed: Document) -> None:
    workspace.open_document(photographed)
    queue = order(photographed)
    model = RegradeModel(workspace)
    firsts = [photographed.attempt(each).outcome for each in queue]
    other = next(each for each in CLASSES if each is not firsts[2])
    for outcome in (*firsts[:2], other):
        model.grade(outcome)
    assert model.state.stage == "done"
    # Two of three: 67 %; the score interval of 2 of 3 at 95 % is 20.8 to 93.9 % (statsmodels, method "wilson").
    assert "67" in model.state.lines[0]
    assert "21 to 94" in model.state.lines[0]
    number = photographed.attempt(queue[2]).number
    assert model.state.differing == (f"Attempt {number}: first {firsts[2].value}, then {other.value}.",)


def test_the_trust_view_tells_the_agreement_in_one_line(workspace: Workspace, photographed: Document) -> None:
    workspace.open_document(photographed)
    assert with_grades((), photographed.state, ".") == ()
    model = RegradeModel(workspace)
    model.grade(photographed.attempt(order(photographed)[0]).outcome)
    fine = CheckLine("x", "fine", "good")
    lines = with_grades((fine,), photographed.state, ".")
    assert [line.key for line in lines] == ["grades", "x"]
    assert lines[0].standing == "few"
    model.finish()
    assert workspace.analysis is not None
    assert len(workspace.analysis.state.regrades) == 1


def test_nothing_due_says_so(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    dialog = RegradeDialog(workspace)
    qtbot.addWidget(dialog)
    assert dialog.model.state.stage == "none"
    assert "fifth" in dialog.end_lines.text()
    dialog.model.grade(Outcome.CLEAN)
    dialog.model.skip()
    dialog.model.back()
    assert document.state.regrades == ()


def test_the_examples_are_at_hand(workspace: Workspace, photographed: Document, qtbot: QtBot) -> None:
    photographed.execute(SetAnchor(Outcome.CLEAN, "x", "image/jpeg", jpeg("blue")))
    workspace.open_document(photographed)
    dialog = RegradeDialog(workspace)
    qtbot.addWidget(dialog)
    assert not dialog.buttons[Outcome.CLEAN].icon().isNull()
    assert dialog.buttons[Outcome.PARTED_BEADS].icon().isNull()
    assert all(made.minimumHeight() >= 44 for made in dialog.buttons.values())


@pytest.mark.parametrize("make", [RegradeDialog, AnchorsDialog, lambda ws: CourseDialog(ws, CHOSEN[0])])
def test_a_dialog_fits_the_lowest_screen_and_everything_in_it_has_a_name(
    workspace: Workspace, photographed: Document, qtbot: QtBot, make: Callable[[Workspace], QWidget]
) -> None:
    workspace.open_document(photographed)
    dialog = make(workspace)
    qtbot.addWidget(dialog)
    dialog.show()
    assert dialog.width() <= 1280
    assert dialog.height() <= 720
    reached = list(focusable_widgets(dialog))
    assert reached
    assert [each.objectName() for each in reached if not each.accessibleName()] == []
    buttons = [each for each in reached if isinstance(each, QAbstractButton) and "dialog_" not in each.objectName()]
    assert [each.objectName() for each in buttons if each.height() < 44] == []
