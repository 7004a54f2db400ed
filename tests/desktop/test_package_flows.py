"""Everything as a Data Package from the File menu, and a package opened, dropped and made a session of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDropEvent
from PySide6.QtWidgets import QApplication, QFileDialog, QMenu, QWidget

from stirfall.desktop.app import make_parts
from stirfall.desktop.files import FileFlows
from stirfall.desktop.notifier import Notice
from stirfall.desktop.package_flows import PackageFlows, is_package
from stirfall.desktop.shell import Shell
from stirfall.session.commands import AttachPhoto
from stirfall.session.document import Document
from stirfall.session.packages import export_package
from stirfall.session.settings import Settings
from stirfall.storage.edits import StoredPhoto
from stirfall.storage.package_zip import read_package_zip

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace


@pytest.fixture
def with_photo(workspace: Workspace, document_of_two: Document) -> Document:
    """Open a session with a photo and its original."""
    attempt = document_of_two.state.attempts[0]
    photo = AttachPhoto(attempt.id, "pool.jpg", "image/jpeg", b"\xff\xd8small", b"\xff\xd8large")
    document_of_two.execute(photo)
    workspace.open_document(document_of_two)
    return document_of_two


@pytest.fixture
def window(themed: QApplication, qtbot: QtBot) -> QWidget:
    """Return what stands for the window."""
    assert themed is not None
    made = QWidget()
    qtbot.addWidget(made)
    return made


def said(workspace: Workspace) -> list[str]:
    """Keep what the program says from now on."""
    heard: list[str] = []

    def hear(notice: Notice) -> None:
        heard.append(f"{notice.kind}: {notice.text}")

    workspace.notifier.posted.connect(hear)
    return heard


def choose(flows: PackageFlows, path: Path) -> None:
    """Choose a place in the dialog that is open."""
    dialog = flows.dialog
    assert isinstance(dialog, QFileDialog)
    dialog.fileSelected.emit(str(path))
    dialog.close()


@pytest.mark.parametrize(
    ("photos", "originals", "left_out"),
    [
        ("all", True, ""),
        ("all", False, "Left out: the originals of 1 photo."),
        ("none", False, "Left out: 1 photo, as asked for."),
    ],
)
def test_everything_is_written_where_it_was_asked_for_and_said(
    workspace: Workspace, with_photo: Document, window: QWidget, tmp_path: Path, photos: str, originals: bool,
    left_out: str,
) -> None:  # fmt: skip
    flows = PackageFlows(workspace, window, lambda _place: None)
    heard = said(workspace)
    flows.ask_for_export(photos, originals)
    assert flows.dialog is not None
    assert flows.dialog.selectedFiles()[0].endswith(f"{with_photo.path.stem}.zip")
    choose(flows, tmp_path / "out.zip")
    (line,) = heard
    assert line.startswith("info: Wrote ")
    assert "attempts" in line
    assert left_out in line
    content = read_package_zip(tmp_path / "out.zip")
    kept = [record for _, record in content.bulky if isinstance(record, StoredPhoto)]
    assert len(kept) == (photos == "all")
    assert all(bool(record.original) is originals for record in kept)
    assert content.state == with_photo.state


@pytest.mark.usefixtures("with_photo")
def test_a_place_that_cannot_be_written_is_said(workspace: Workspace, window: QWidget, tmp_path: Path) -> None:
    heard = said(workspace)
    (tmp_path / "taken.zip").mkdir()
    PackageFlows(workspace, window, lambda _place: None).export_to(str(tmp_path / "taken.zip"))
    assert [text.startswith("error: ") and "is a folder" in text for text in heard] == [True]


@pytest.mark.parametrize("form", ["trial.zip", "trial", "trial/datapackage.json"])
def test_a_package_becomes_a_session_at_a_place_that_is_asked_for(
    workspace: Workspace, with_photo: Document, window: QWidget, tmp_path: Path, form: str
) -> None:
    export_package(with_photo, tmp_path / form.partition("/")[0], originals=True)
    assert is_package(tmp_path / form)
    made: list[Path] = []
    flows = PackageFlows(workspace, window, made.append)
    flows.ask_for_import(tmp_path / form, tmp_path)
    assert flows.dialog is not None
    assert flows.dialog.selectedFiles()[0].endswith("trial.stirfall")
    choose(flows, tmp_path / "back.stirfall")
    assert made == [tmp_path / "back.stirfall"]
    with Document.open(made[0]) as back:
        assert back.state == with_photo.state
        assert back.fingerprint == with_photo.fingerprint
        assert back.bulky() == with_photo.bulky()


def test_a_broken_package_makes_nothing_and_says_why(workspace: Workspace, window: QWidget, tmp_path: Path) -> None:
    made: list[Path] = []
    flows = PackageFlows(workspace, window, made.append)
    heard = said(workspace)
    (tmp_path / "bad.zip").write_bytes(b"PK\x03\x04 nothing more")
    flows.import_to(tmp_path / "bad.zip", str(tmp_path / "back.stirfall"))
    assert [text.startswith("error: ") and "is no whole zip file" in text for text in heard] == [True]
    assert made == []
    assert not (tmp_path / "back.stirfall").exists()


def _entries(menu: QMenu, text: str) -> list[QAction]:
    (found,) = [each for each in menu.actions() if each.text().replace("&", "") == text]
    inner = found.menu()
    assert isinstance(inner, QMenu)
    return list(inner.actions())


def test_the_menu_opening_and_dropping_lead_there(qtbot: QtBot, qapp: QApplication, tmp_path: Path) -> None:
    path = tmp_path / "settings" / "settings.json"
    Settings(path).change(last_folder=str(tmp_path), theme="light")
    shell = Shell(qapp, Settings(path), make_parts)
    files: FileFlows = shell.files
    (menu,) = [each.menu() for each in shell.window.menuBar().actions() if each.text() == "&File"]
    assert isinstance(menu, QMenu)
    names = [each.text().replace("&", "") for each in _entries(menu, "Everything as a Data Package")]
    assert names == ["With photos…", "With photos and their originals…", "Without photos…"]
    assert not any(each.isEnabled() for each in _entries(menu, "Everything as a Data Package"))
    (tmp_path / "trial.zip").write_bytes(b"")
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(tmp_path / "trial.zip"))])
    left, none = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    shell.window.dropEvent(QDropEvent(QPointF(9, 9), Qt.DropAction.CopyAction, mime, left, none))
    assert files.packages.dialog is not None
    assert "trial.zip" in files.packages.dialog.windowTitle()
    files.packages.dialog.close()
    files.open_file()
    assert isinstance(files.dialog, QFileDialog)
    assert "*.zip" in files.dialog.nameFilters()[0]
    assert "datapackage.json" in files.dialog.nameFilters()[0]
    files.dialog.close()
    shell.window.close()
    shell.window.deleteLater()
    shell.deleteLater()
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=20_000)
