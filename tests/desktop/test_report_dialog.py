"""The dialog "Report and bundle": only what was chosen is written, and writing can be stopped."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QBuffer, QIODevice, Qt
from PySide6.QtGui import QImage

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import FileTroubleError
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.report_dialog import ReportDialog
from stirfall.desktop.report_model import ReportModel
from stirfall.session.commands import AttachPhoto, CorrectAttempt
from stirfall.session.packages import import_package

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document
    from stirfall.session.jobs import Job


def picture(colour: int) -> bytes:
    image = QImage(64, 48, QImage.Format.Format_RGB32)
    image.fill(colour)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "JPG")
    return bytes(buffer.data().data())


@pytest.fixture
def kept(document_of_two: Document) -> Document:
    """Two attempts by one operator, with a photo each."""
    document = document_of_two
    for place, attempt in enumerate(document.state.attempts):
        facts = replace(attempt.facts, operator="Anna Fox")
        document.execute(CorrectAttempt(attempt.id, {"facts": facts}, "noted late"))
        document.execute(AttachPhoto(attempt.id, f"{place}.jpg", "image/jpeg", picture(0xFF336699 + place)))
    return document


@pytest.fixture
def dialog(qtbot: QtBot, workspace: Workspace, kept: Document) -> ReportDialog:
    workspace.open_document(kept)
    made = ReportDialog(workspace, kept)
    qtbot.addWidget(made)
    made.show()
    return made


def press(qtbot: QtBot, widget: object) -> None:
    qtbot.mouseClick(widget, Qt.MouseButton.LeftButton)  # type: ignore[call-overload]


def test_it_opens_with_the_preview_and_no_photo_chosen(dialog: ReportDialog) -> None:
    state = dialog.model.state
    assert [photo.number for photo in state.photos or ()] == [1, 2]
    assert state.chosen == frozenset()
    assert dialog.photo_title.text() == "Photos: none of 2 photos chosen"
    assert not any(tick.isChecked() for tick in dialog.ticks.values())
    assert [tick.text() for tick in dialog.ticks.values()] == [
        "Attempt 1\nclean separation",
        "Attempt 2\nclean separation",
    ]
    assert not any(tick.icon().isNull() for tick in dialog.ticks.values())
    assert "2 attempts on 2026-11-19" in dialog.preview.text()
    assert "All attempts (3 tables)" in dialog.preview.text()
    assert "Figures (" in dialog.preview.text()
    assert dialog.preview_title.text() == "Invented dross"


def test_a_look_ahead_that_fails_is_said_and_stays_said(dialog: ReportDialog) -> None:
    dialog.model.state = replace(dialog.model.state, foreseen=None)
    dialog.model._not_foreseen(FileTroubleError("import.unreadable", name="x", why="gone"))
    assert "could not be worked out" in dialog.preview.text()
    assert dialog.problem.text()
    dialog.model.choose_form("Markdown")
    assert "could not be worked out" in dialog.preview.text()


def test_everything_pressed_has_a_name_and_is_large_enough(dialog: ReportDialog) -> None:
    for widget in focusable_widgets(dialog):
        assert widget.accessibleName() or widget.property("text"), widget.objectName()
    for each in (dialog.all_photos, dialog.no_photos, dialog.verb, dialog.names):
        assert each.height() >= 44


def test_a_page_has_no_paper_and_a_bundle_has(qtbot: QtBot, dialog: ReportDialog) -> None:
    assert dialog.papers.isVisible()
    dialog.forms.chosen.emit("Web page")
    assert not dialog.papers.isVisible()
    assert dialog.model.file_name == "invented-dross-report.html"
    dialog.forms.chosen.emit("Bundle")
    assert dialog.papers.isVisible()
    assert dialog.model.file_name == "invented-dross-bundle.zip"
    press(qtbot, dialog.verb)
    assert dialog.asked is not None
    assert dialog.asked.selectedFiles()[0].endswith("invented-dross-bundle.zip")
    dialog.asked.close()


def test_what_is_chosen_is_written_and_where_it_is_is_said(
    qtbot: QtBot, dialog: ReportDialog, tmp_path: Path
) -> None:
    dialog.forms.chosen.emit("Web page")
    first = next(iter(dialog.ticks.values()))
    first.click()
    assert dialog.photo_title.text() == "Photos: 1 of 2 photos chosen"
    dialog.model.write(str(tmp_path / "trial"))
    path = tmp_path / "trial.html"
    assert dialog.progress.text() == f"Written to {path}."
    assert dialog.folder.isVisible()
    text = path.read_text(encoding="utf-8")
    assert text.count("<figure class=photo>") == 1
    assert "Anna Fox" not in text
    dialog.names.click()
    assert dialog.progress.text() == ""
    assert dialog.model.state.with_names
    press(qtbot, dialog.all_photos)
    assert len(dialog.model.state.chosen) == 2
    press(qtbot, dialog.no_photos)
    assert dialog.model.state.chosen == frozenset()


def test_a_bundle_of_the_window_comes_back(dialog: ReportDialog, kept: Document, tmp_path: Path) -> None:
    dialog.names.click()
    dialog.forms.chosen.emit("Bundle")
    dialog.papers.chosen.emit("Letter")
    press_first = next(iter(dialog.ticks.values()))
    press_first.click()
    path = tmp_path / "trial.zip"
    dialog.model.write(str(path))
    assert dialog.problem.text() == ""
    names = zipfile.ZipFile(path).namelist()
    assert {"report.pdf", "report.html", "report.md", "README.md", "datapackage.json"} <= set(names)
    assert any(name.startswith("figures/") and name.endswith(".png") for name in names)
    assert b"612" in zipfile.ZipFile(path).read("report.pdf")
    with import_package(path, tmp_path / "again.stirfall") as again:
        assert again.state == kept.state
        assert again.photographed() == {kept.state.attempts[0].id}


def test_a_place_that_cannot_be_written_is_a_problem_and_no_end(dialog: ReportDialog, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_bytes(b"")
    dialog.forms.chosen.emit("Web page")
    dialog.model.write(str(blocked / "report.html"))
    assert "could not be written" in dialog.problem.text()
    assert dialog.verb.isEnabled()


class WaitingExecutor:
    """Keeps what it is given until it is told to run it."""

    def __init__(self) -> None:
        self.jobs: list[WaitingJob] = []

    def submit(
        self,
        job: Callable[[CancelToken], object],
        done: Callable[[object], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> Job:
        del failed
        self.jobs.append(WaitingJob(job, done))
        return self.jobs[-1]


class WaitingJob:
    """A job that runs when it is told to."""

    def __init__(self, job: Callable[[CancelToken], object], done: Callable[[object], None]) -> None:
        self.token = CancelToken()
        self._job, self._done = job, done

    @property
    def is_finished(self) -> bool:
        return False

    def cancel(self) -> None:
        self.token.cancel()


def test_writing_can_be_stopped_and_late_steps_are_not_heard(
    workspace: Workspace, kept: Document, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace.open_document(kept)
    executor = WaitingExecutor()
    monkeypatch.setattr(workspace, "_executor", executor)
    model = ReportModel(workspace, kept)
    model.begin()
    assert model.state.photos is None
    model.write(str(tmp_path / "trial.pdf"))
    assert model.state.step == "report.step_reading"
    model._told.emit(1, "report.step_writing")
    assert model.state.step == "report.step_writing"
    model.stop()
    assert executor.jobs[-1].token.is_cancelled
    assert not model.state.is_busy
    assert model.state.done == "Stopped. Nothing was written."
    model._told.emit(1, "report.step_writing")
    assert not model.state.is_busy
    model.write(str(tmp_path / "trial.pdf"))
    model.leave()
    assert executor.jobs[-1].token.is_cancelled
    assert not (tmp_path / "trial.pdf").exists()
