"""The course of an attempt on the screen: logs are taken in, asked about, drawn, exported; the peak is offered."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication, QImage

from stirfall.desktop.course.dialog import CourseDialog, attempt_in_hand
from stirfall.desktop.course.export import course_table
from stirfall.desktop.course.importing import LogDialog
from stirfall.desktop.theme import THEMES
from stirfall.desktop.workspace import InHand
from stirfall.session.document import Document

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace


@pytest.fixture
def document(document_of_two: Document) -> Document:
    return document_of_two


@pytest.fixture
def dialog(workspace: Workspace, document: Document, put_on_screen: Callable[..., CourseDialog]) -> CourseDialog:
    workspace.open_document(document)
    return put_on_screen(CourseDialog(workspace, document.state.attempts[-1].id), 900, 640)


def log_file(document: Document, tmp_path: Path, *, header: str = "Time;T (°C)", name: str = "probe.csv") -> Path:
    start = document.state.attempts[-1].started_at
    assert start is not None
    lines = [f"{start + timedelta(minutes=m):%Y-%m-%d %H:%M:%S}Z;{20 + 5 * min(m, 27)},5" for m in range(60)]
    path = tmp_path / name
    path.write_text("\n".join([header, *lines]), encoding="utf-8")
    return path


def test_an_attempt_without_a_course_says_what_would_make_one(dialog: CourseDialog) -> None:
    assert dialog.course is not None
    assert dialog.course.is_empty
    assert "temperature logger" in dialog.caption.text()
    assert not dialog.plot.isVisible()
    assert not dialog.picture.isEnabled()


def test_a_dropped_log_is_kept_drawn_and_undone(
    dialog: CourseDialog, document: Document, workspace: Workspace, tmp_path: Path
) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(log_file(document, tmp_path)))])
    action, buttons, keys = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    dialog.dropEvent(QDropEvent(QPointF(5, 5), action, data, buttons, keys))
    (log,) = document.logs(dialog.attempt_id)
    assert len(log.points) == 60
    assert dialog.plot.isVisible()
    assert "probe.csv: 60 readings" in dialog.plot.accessibleDescription()
    assert f"attempt {document.state.attempts[-1].number}" in dialog.plot.accessibleName()
    workspace.undo()
    assert document.logs(dialog.attempt_id) == ()
    assert not dialog.plot.isVisible()


def test_the_peak_of_the_log_is_offered_and_corrects_the_attempt_with_a_reason(
    dialog: CourseDialog, document: Document, tmp_path: Path
) -> None:
    dialog.add_log(str(log_file(document, tmp_path)))
    assert dialog.peak.isVisible()
    assert "120.5" in dialog.peak.text()  # the attempt was recorded 20 min after its start: 20 + 5 x 20, and .5
    dialog.peak.click()
    assert document.attempt(dialog.attempt_id).facts.peak_c == 120.5
    assert any("probe.csv" in each.reason for each in document.corrections(dialog.attempt_id))
    assert not dialog.peak.isVisible()


def test_only_what_is_unclear_is_asked_and_the_answer_is_previewed(
    dialog: CourseDialog, document: Document, tmp_path: Path
) -> None:
    source = dialog.add_log(str(log_file(document, tmp_path, header="Time;Probe")))
    assert source is not None
    (asked,) = dialog.findChildren(LogDialog)
    assert set(asked.choosers) == {"unit"}
    assert not asked.keep.isEnabled()
    assert document.logs(dialog.attempt_id) == ()
    chooser = asked.choosers["unit"]
    chooser.setCurrentIndex(chooser.findData("F"))
    assert asked.keep.isEnabled()
    assert "60 readings" in asked.preview.text()
    asked.keep.click()
    (log,) = document.logs(dialog.attempt_id)
    assert log.points[0][1] == pytest.approx((20.5 - 32) * 5 / 9)  # definition of the Fahrenheit scale


def test_a_log_of_another_day_is_shown_before_it_is_kept(
    dialog: CourseDialog, document: Document, tmp_path: Path
) -> None:
    path = tmp_path / "old.csv"
    path.write_text("Time;T (°C)\n2020-01-01 10:00:00;20\n2020-01-01 10:01:00;21\n", encoding="utf-8")
    dialog.add_log(str(path))
    (asked,) = dialog.findChildren(LogDialog)
    assert "more than a day" in asked.preview.text()
    asked.reject()
    assert document.logs(dialog.attempt_id) == ()


def test_what_is_no_log_is_told_in_the_dialog(dialog: CourseDialog, tmp_path: Path) -> None:
    path = tmp_path / "words.csv"
    path.write_text("just words\nand more\n", encoding="utf-8")
    dialog.add_log(str(path))
    assert "words.csv" in dialog.problem.text()


def test_pictures_and_numbers_leave_as_files_and_by_the_clipboard(
    dialog: CourseDialog, document: Document, tmp_path: Path
) -> None:
    dialog.add_log(str(log_file(document, tmp_path)))
    for kind in ("png", "svg", "csv"):
        dialog.save(tmp_path / f"course.{kind}")
    assert not QImage(str(tmp_path / "course.png")).isNull()
    assert b"<svg" in (tmp_path / "course.svg").read_bytes()
    rows = list(csv.reader((tmp_path / "course.csv").read_text(encoding="utf-8").splitlines()))
    assert rows[0] == ["minutes", "what", "temperature_c"]
    assert len(rows) == 61
    assert rows[3] == ["2.0000", "log", "30.5"]
    dialog.copy_picture()
    assert not QGuiApplication.clipboard().image().isNull()
    dialog.save(tmp_path / "nowhere" / "course.png")  # told, not raised


def test_a_long_log_makes_a_table_that_can_be_read(
    dialog: CourseDialog, document: Document, tmp_path: Path
) -> None:
    dialog.add_log(str(log_file(document, tmp_path)))
    assert dialog.course is not None
    table = course_table(dialog.course, decimal=",")
    assert table.shown[1][2] == "25,5"
    assert len(table.exact) == 60


def test_it_is_drawn_in_every_theme(
    dialog: CourseDialog, document: Document, workspace: Workspace, tmp_path: Path
) -> None:
    dialog.add_log(str(log_file(document, tmp_path)))
    for theme in THEMES.values():
        workspace.set_theme(theme)
        assert dialog.plot.theme == theme
        assert not dialog.grab().toImage().isNull()


def test_the_attempt_in_hand_is_the_one_whose_course_is_shown(workspace: Workspace, document: Document) -> None:
    assert attempt_in_hand(workspace) is None
    workspace.open_document(document)
    assert attempt_in_hand(workspace) == document.state.attempts[-1].id
    workspace.set_in_hand(InHand.of_attempt(document.state.attempts[0]))
    assert attempt_in_hand(workspace) == document.state.attempts[0].id
