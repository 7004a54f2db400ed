"""The window as a person uses it: first run, opening, keys, menus, messages, closing, and starting again."""

from __future__ import annotations

import json
import logging
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, QRect, Qt, QUrl
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent, QImage
from PySide6.QtWidgets import QApplication, QFileDialog, QLabel, QPushButton, QToolButton, QWidget

from stirfall.bench.errors import FileTroubleError, InputError
from stirfall.bench.records import INVENTED_NOTICE, Attempt
from stirfall.desktop.app import BugCatcher, grab_window, make_parts, settings_folder
from stirfall.desktop.first_run import first_sentence
from stirfall.desktop.message_strip import MessageStrip
from stirfall.desktop.notifier import Notice
from stirfall.desktop.shell import Shell, decimal_sign
from stirfall.desktop.theme import DARK, LIGHT
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


def make_shell(qapp: QApplication, settings_path: Path) -> Shell:
    return Shell(qapp, Settings(settings_path), make_parts)


def end(shell: Shell) -> None:
    shell.window.close()
    shell.window.deleteLater()
    shell.deleteLater()


@pytest.fixture
def settings_path(tmp_path: Path) -> Path:
    path = tmp_path / "settings" / "settings.json"
    Settings(path).change(last_folder=str(tmp_path), theme="light")
    return path


@pytest.fixture
def shell(qtbot: QtBot, qapp: QApplication, settings_path: Path) -> Iterator[Shell]:
    made = make_shell(qapp, settings_path)
    made.window.resize(1280, 720)
    with qtbot.waitExposed(made.window):
        made.window.show()
    yield made
    end(made)


@pytest.fixture
def session_path(document: Document) -> Path:
    document.close()
    return document.path


def settle(shell: Shell, qtbot: QtBot) -> None:
    qtbot.waitUntil(lambda: shell.executor.is_idle, timeout=60_000)


def action(shell: Shell, *texts: str) -> QAction:
    """Return the menu entry at the end of a path of texts, without their mnemonic markers."""
    actions = shell.window.menuBar().actions()
    found: QAction | None = None
    for text in texts:
        found = next(item for item in actions if item.text().replace("&", "").startswith(text))
        actions = found.menu().actions() if found.menu() is not None else []
    assert found is not None
    return found


def attempt_like(document: Document) -> Attempt:
    from dataclasses import replace

    return replace(document.state.attempts[-1], id="", number=0, recorded_at=None, started_at=None)


def test_the_first_page_offers_three_ways_and_three_samples(shell: Shell) -> None:
    first_run = shell.window.parts.first_run
    assert first_run.isVisible()
    assert not shell.window.header.isVisible()
    for name in ("new", "open", "sample"):
        assert first_run.button(name).isVisible()
    assert len(shell.samples) == 3
    texts = [label.text() for label in first_run.findChildren(QLabel)]
    assert all(first_sentence(sample.summary) in texts for sample in shell.samples.values())
    assert any(INVENTED_NOTICE in text for text in texts)


def test_a_sample_is_opened_with_clicks_at_a_place_of_ones_own(shell: Shell, qtbot: QtBot, tmp_path: Path) -> None:
    key = list(shell.samples)[1]
    first_run = shell.window.parts.first_run
    first_run.choose_sample(key)
    qtbot.mouseClick(first_run.button("sample"), Qt.MouseButton.LeftButton)
    dialog = shell.files.dialog
    assert isinstance(dialog, QFileDialog)
    proposed = Path(dialog.selectedFiles()[0])
    assert proposed.parent == tmp_path
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        dialog.accept()
    document = shell.workspace.document
    assert document is not None
    assert document.path == proposed
    shell.window.resize(1440, 900)
    assert shell.window.header.invented.isVisible()
    assert shell.window.header.invented.findChild(QLabel).text() == INVENTED_NOTICE
    assert proposed.name in shell.window.windowTitle()
    settle(shell, qtbot)


def test_a_second_copy_of_a_sample_gets_a_free_name(shell: Shell, qtbot: QtBot, tmp_path: Path) -> None:
    sample = next(iter(shell.samples.values()))
    shell.files.open_sample(sample)
    first = Path(shell.files.dialog.selectedFiles()[0])
    shell.files.dialog.reject()
    first.write_text("taken")
    shell.files.open_sample(sample)
    second = Path(shell.files.dialog.selectedFiles()[0])
    shell.files.dialog.reject()
    assert second != first
    assert not second.exists()


def test_opening_shows_the_work_and_remembers_the_file(
    shell: Shell, qtbot: QtBot, session_path: Path, settings_path: Path
) -> None:
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        assert shell.files.open_path(session_path)
    assert shell.window.header.title.text() == "Invented dross"
    assert "base metal" in shell.window.header.material.text()
    assert shell.window.page == "bench"
    assert json.loads(settings_path.read_text())["recent_files"] == [str(session_path)]
    entries = action(shell, "File", "Open recent").menu().actions()
    assert session_path.name in entries[0].text()


def test_a_file_that_is_no_session_is_refused_with_a_sentence(shell: Shell, tmp_path: Path) -> None:
    foreign = tmp_path / "notes.stirfall"
    foreign.write_text("just text, long enough to be looked at" * 30)
    before = foreign.read_bytes()
    assert not shell.files.open_path(foreign)
    notice = shell.window.strip.notice
    assert notice is not None
    assert notice.kind == "error"
    assert foreign.read_bytes() == before
    assert shell.workspace.document is None


def test_a_dropped_session_is_opened(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(session_path))])
    how = (data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    with warnings.catch_warnings():  # the binding has no newer way to make this event
        warnings.simplefilter("ignore", DeprecationWarning)
        enter = QDragEnterEvent(QPoint(300, 300), Qt.DropAction.CopyAction, *how)
    QApplication.sendEvent(shell.window, enter)
    assert enter.isAccepted()
    with qtbot.waitSignal(shell.workspace.document_opened):
        QApplication.sendEvent(shell.window, QDropEvent(QPointF(300, 300), Qt.DropAction.CopyAction, *how))
    assert shell.workspace.document is not None
    settle(shell, qtbot)


def test_a_second_window_reads_only_and_says_why(
    shell: Shell, qtbot: QtBot, qapp: QApplication, session_path: Path, tmp_path: Path
) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    other = make_shell(qapp, tmp_path / "other.json")
    other.window.show()
    other.files.open_path(session_path)
    settle(other, qtbot)
    banner = other.window.header.read_only
    assert banner.isVisible()
    text = banner.findChild(QLabel).text()
    assert text.startswith("Open for reading only.")
    assert len(text) > len("Open for reading only. ")
    assert not other.actions.factors.isEnabled()
    end(other)


def test_the_steps_are_reached_by_click_and_by_key(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    with qtbot.waitActive(shell.window):
        shell.window.activateWindow()
    qtbot.mouseClick(shell.window.step_bar.button("attempts"), Qt.MouseButton.LeftButton)
    assert shell.window.page == "attempts"
    for number, name in enumerate(("shelf", "plan", "bench", "attempts", "evidence", "recipe"), start=1):
        qtbot.keyClick(shell.window, Qt.Key(Qt.Key.Key_0 + number), Qt.KeyboardModifier.ControlModifier)
        assert shell.window.page == name
        assert shell.window.step_bar.button(name).isChecked()
    settle(shell, qtbot)


def test_a_ring_shows_where_the_keyboard_is(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    with qtbot.waitActive(shell.window):
        shell.window.activateWindow()
    ring, button = shell.window.ring, shell.window.step_bar.button("attempts")
    button.setFocus()
    assert ring.target is button
    assert ring.isVisible()
    top_left = button.mapTo(shell.window, QPoint(0, 0))
    assert ring.geometry().contains(QRect(top_left, button.size()))
    image = shell.window.grab().toImage()
    ratio = image.devicePixelRatio()
    edge = image.pixelColor(round(ring.geometry().center().x() * ratio), round((ring.geometry().top() + 1) * ratio))
    assert edge.name() == shell.appearance.theme.focus
    shell.window.resize(1300, 760)
    QApplication.processEvents()
    assert ring.geometry().contains(QRect(button.mapTo(shell.window, QPoint(0, 0)), button.size()))
    shell.workspace.close_document()
    assert ring.target is None or not ring.isVisible() or ring.target.isVisible()


def test_undo_is_named_in_the_menu_and_taken_back_from_there(
    shell: Shell, qtbot: QtBot, session_path: Path
) -> None:
    shell.files.open_path(session_path)
    document = shell.workspace.document
    before = len(document.state.attempts)
    assert not shell.actions.undo.isEnabled()
    shell.workspace.execute(RecordAttempt(attempt_like(document)))
    assert document.undo_name in shell.actions.undo.text()
    action(shell, "Edit", "Undo").trigger()
    assert len(document.state.attempts) == before
    assert document.redo_name in shell.actions.redo.text()
    action(shell, "Edit", "Redo").trigger()
    assert len(document.state.attempts) == before + 1
    settle(shell, qtbot)


def test_the_menu_presses_the_buttons_of_the_pages(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    expected = {
        "Shelf": ["Start a jar", "Register a lot", "Use on the bench", "Take off the shelf"],
        "Attempt": ["Repeat last", "Record", "Clear", "Repeat this", "Correct", "History", "Strike out"],
    }
    for menu, texts in expected.items():
        for text in texts:
            assert action(shell, menu, text) is not None
    assert len(action(shell, "File", "Recipe").menu().actions()) == 10
    assert len(action(shell, "View", "Odds picture").menu().actions()) >= 4
    action(shell, "Shelf", "Start a jar").trigger()
    assert shell.window.page == "shelf"
    assert shell.window.parts.pages["shelf"].jar_panel.isVisible()


def test_a_copy_is_complete_and_the_first_file_stays_open(
    shell: Shell, qtbot: QtBot, session_path: Path, tmp_path: Path
) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    state = shell.workspace.document.state
    assert shell.files.copy_to(tmp_path / "copy.stirfall")
    assert shell.workspace.document.path == session_path
    with Document.open(tmp_path / "copy.stirfall") as copy:
        assert copy.state == state


def test_a_new_campaign_is_made_and_shown(shell: Shell, qtbot: QtBot, tmp_path: Path) -> None:
    from stirfall.bench.materials import MaterialClass

    qtbot.mouseClick(shell.window.parts.first_run.button("new"), Qt.MouseButton.LeftButton)
    dialog = shell.files.dialog
    qtbot.keyClicks(dialog.fields.line("title"), "My dross")
    qtbot.mouseClick(dialog.fields.radio(MaterialClass.BASE_METAL), Qt.MouseButton.LeftButton)
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        qtbot.mouseClick(dialog.findChild(QPushButton, "dialog_verb"), Qt.MouseButton.LeftButton)
    assert (tmp_path / "My dross.stirfall").exists()
    assert shell.window.header.title.text() == "My dross"
    assert not shell.window.header.invented.isVisible()
    assert shell.window.page == "shelf"
    settle(shell, qtbot)


def test_closing_a_campaign_returns_to_the_first_page(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    action(shell, "File", "Close campaign").trigger()
    assert shell.window.parts.first_run.isVisible()
    links = shell.window.parts.first_run.findChildren(QPushButton, "recent_link")
    assert [link.text() for link in links] == [session_path.stem]
    with qtbot.waitSignal(shell.workspace.analysis_finished, timeout=60_000):
        qtbot.mouseClick(links[0], Qt.MouseButton.LeftButton)
    assert shell.workspace.document.path == session_path
    settle(shell, qtbot)


def test_theme_text_size_and_layout_survive_a_restart(
    shell: Shell, qtbot: QtBot, qapp: QApplication, session_path: Path, settings_path: Path
) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    action(shell, "View", "Theme", "Dark").trigger()
    action(shell, "View", "Smaller text").trigger()
    assert shell.workspace.theme is DARK
    shell.window.splitter.setSizes([670, 610])
    share = shell.window.splitter_state()[0] / sum(shell.window.splitter_state())
    shell.window.close()
    again = make_shell(qapp, settings_path)
    again.window.show()
    again.files.open_path(session_path)
    settle(again, qtbot)
    assert again.workspace.theme is DARK
    assert again.appearance.scale == 0.9
    assert action(again, "View", "Theme", "Dark").isChecked()
    sizes = again.window.splitter_state()
    assert sizes[0] / sum(sizes) == pytest.approx(share, abs=0.03)
    end(again)


def test_a_broken_settings_file_is_kept_aside_and_said(qapp: QApplication, qtbot: QtBot, tmp_path: Path) -> None:
    path = tmp_path / "broken.json"
    path.write_text("{ this is no JSON")
    shell = make_shell(qapp, path)
    shell.start()
    notice = shell.window.strip.notice
    assert notice is not None
    assert "kept as" in notice.text
    assert len(list(tmp_path.glob("broken.broken-*.json"))) == 1
    end(shell)


def test_preferences_hold_at_once(shell: Shell, qtbot: QtBot, settings_path: Path) -> None:
    action(shell, "Edit", "Preferences").trigger()
    dialog = shell.dialog
    dialog.theme.setCurrentIndex(dialog.theme.findData("dark"))
    dialog.decimal.setCurrentIndex(dialog.decimal.findData(","))
    dialog.reopen.click()
    assert shell.workspace.theme is DARK
    assert shell.workspace.decimal == ","
    kept = json.loads(settings_path.read_text())
    assert (kept["theme"], kept["decimal"], kept["reopen_last"]) == ("dark", ",", True)
    dialog.theme.setCurrentIndex(dialog.theme.findData("light"))
    assert shell.workspace.theme is LIGHT
    dialog.reject()


def test_the_last_session_is_opened_again_where_wanted(
    qapp: QApplication, qtbot: QtBot, session_path: Path, settings_path: Path
) -> None:
    settings = Settings(settings_path)
    settings.add_recent(session_path)
    settings.change(reopen_last=True)
    shell = make_shell(qapp, settings_path)
    shell.start()
    assert shell.workspace.document is not None
    settle(shell, qtbot)
    end(shell)


def test_f1_opens_the_guide_at_the_page_in_hand(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    shell.workspace.show_page("recipe")
    with qtbot.waitActive(shell.window):
        shell.window.activateWindow()
    qtbot.keyClick(shell.window, Qt.Key.Key_F1)
    guide = shell.window.findChild(QWidget, "guide_window")
    assert guide is not None
    assert guide.isVisible()
    assert "recipe" in guide.contents.currentItem().text().lower()
    assert guide.text.toPlainText().strip()
    with qtbot.waitActive(guide):
        guide.activateWindow()
    qtbot.keyClick(guide, Qt.Key.Key_Escape)
    assert not guide.isVisible()


def test_cautions_are_shown_whole_with_their_sources(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    from stirfall.reporting.cautions import load_cautions

    shell.files.open_path(session_path)
    settle(shell, qtbot)
    action(shell, "Campaign", "Cautions").trigger()
    shown = shell.dialog.text.toPlainText()
    for item in load_cautions(shell.workspace.document.state.settings.material).items:
        assert item.text.split(".")[0] in shown
        assert item.source.split(";")[0] in shown
    shell.dialog.reject()


def test_notes_leave_by_themselves_and_problems_stay(qtbot: QtBot) -> None:
    strip = MessageStrip()
    qtbot.addWidget(strip)
    strip.show()
    strip.show_notice(Notice("info", "Attempt 3 was recorded."))
    assert strip._timer.isActive()
    strip.show_notice(Notice("error", "It did not work. Try again."))
    assert not strip._timer.isActive()
    assert strip.findChild(QLabel, "message_text").accessibleName().startswith("Problem: ")
    qtbot.mouseClick(strip.findChild(QPushButton, "message_dismiss"), Qt.MouseButton.LeftButton)
    assert strip.notice is None


def test_the_act_of_a_notice_is_done_once(qtbot: QtBot) -> None:
    strip = MessageStrip()
    qtbot.addWidget(strip)
    strip.show()
    done: list[str] = []
    strip.show_notice(Notice("info", "Recorded.", "Undo", lambda: done.append("undone")))
    act = strip.findChild(QPushButton, "message_act")
    assert act.text() == "Undo"
    qtbot.mouseClick(act, Qt.MouseButton.LeftButton)
    assert done == ["undone"]
    assert not act.isVisible()


def test_a_long_title_gives_way_and_is_told_whole(shell: Shell, qtbot: QtBot, document: Document) -> None:
    from dataclasses import replace

    from stirfall.session.commands import ChangeSettings

    title = "A very long title of a campaign " * 6
    document.execute(ChangeSettings(replace(document.state.settings, title=title)))
    document.close()
    shell.files.open_path(document.path)
    settle(shell, qtbot)
    assert shell.window.minimumSizeHint().width() <= 1280
    shell.window.resize(1440, 900)
    assert shell.window.header.invented.isVisible()
    shell.window.grab()
    assert shell.window.header.title.toolTip() == shell.window.header.title.text()


def test_a_message_does_not_move_the_window(shell: Shell, qtbot: QtBot, session_path: Path) -> None:
    shell.files.open_path(session_path)
    settle(shell, qtbot)
    before = shell.window.splitter.geometry()
    shell.workspace.notifier.info("Attempt 25 was recorded.", "Undo", lambda: None)
    QApplication.processEvents()
    assert shell.window.splitter.geometry() == before


def test_an_unexpected_error_is_logged_and_told_once(shell: Shell, caplog: pytest.LogCaptureFixture) -> None:
    catcher = BugCatcher(shell)
    for _ in range(2):
        try:
            raise ZeroDivisionError("a bug")
        except ZeroDivisionError as error:
            catcher(type(error), error, error.__traceback__)
    notice = shell.window.strip.notice
    assert notice is not None
    assert "safe in the file" in notice.text
    assert [record.levelno for record in caplog.records] == [logging.ERROR, logging.ERROR]
    assert caplog.records[0].exc_info is not None
    assert caplog.records[1].exc_info is None


def test_a_known_error_is_told_in_words_without_a_log_entry(shell: Shell, caplog: pytest.LogCaptureFixture) -> None:
    shell.workspace.notifier.fail(InputError("factor.unnamed"))
    assert shell.window.strip.notice.text == "A factor needs a name."
    assert caplog.records == []


def test_a_picture_of_the_window_is_made_without_touching_the_session(
    qtbot: QtBot, qapp: QApplication, session_path: Path, tmp_path: Path
) -> None:
    before = session_path.read_bytes()
    target = tmp_path / "window.png"
    grab_window(target, session_path, size=(1440, 900), theme="dark")
    image = QImage(str(target))
    ratio = qapp.primaryScreen().devicePixelRatio()
    assert (image.width(), image.height()) == (1440 * ratio, 900 * ratio)
    assert image.pixelColor(2, 60).name() == DARK.surface
    assert session_path.read_bytes() == before
    with pytest.raises(FileTroubleError, match="picture_failed"):
        grab_window(tmp_path / "no such folder" / "x.png", session_path)


def test_the_settings_folder_can_be_chosen_by_the_environment(settings_dir: Path) -> None:
    assert settings_folder() == settings_dir


@pytest.mark.parametrize(("choice", "sign"), [(".", "."), (",", ",")])
def test_a_chosen_decimal_sign_wins(choice: str, sign: str) -> None:
    assert decimal_sign(choice) == sign
    assert decimal_sign("system") in (".", ",", "٫")


def test_on_a_low_screen_the_head_stands_beside_the_menus_and_what_it_said_is_said_elsewhere(
    shell: Shell, qtbot: QtBot, tmp_path: Path
) -> None:
    assert shell.files.make_sample("tin-bismuth-dross", tmp_path / "low.stirfall")
    settle(shell, qtbot)
    window = shell.window
    window.resize(1440, 900)
    tall = window.front.height()
    assert INVENTED_NOTICE not in window.strip.status.text()
    window.resize(1440, 720)
    assert window.menuBar().cornerWidget() is window.header
    qtbot.waitUntil(lambda: window.front.height() > tall - 180 + 20)
    assert INVENTED_NOTICE in window.strip.status.text()
    assert shell.workspace.document is not None
    assert shell.workspace.document.state.settings.title in window.windowTitle()
    assert window.header.history.isVisible()
    window.resize(1432, 712)  # as a frame around the window takes its pixels
    menus = window.menuBar()
    assert menus.actionGeometry(menus.actions()[-1]).right() < window.header.geometry().left()
    assert not [each for each in menus.findChildren(QToolButton) if each.isVisible() and each.parent() is menus]
    window.resize(1440, 900)
    assert window.menuBar().cornerWidget() is None
    assert window.front.height() == tall
    assert window.header.invented.isVisible()
