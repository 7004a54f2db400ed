"""Alarms in the window: true time, words, keys, tones, and nothing that jumps over the fields."""

from __future__ import annotations

import io
import math
import struct
import sys
import wave
from dataclasses import replace
from datetime import UTC, timedelta
from itertools import pairwise

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from stirfall.bench.records import RESIDUE, Jar
from stirfall.bench.running import EventKind, PlannedStep, Run, RunEvent, Step
from stirfall.desktop.alarms.desk import AlarmDesk
from stirfall.desktop.alarms.model import FAR_MS, NEAR_MS, AlarmModel
from stirfall.desktop.alarms.sounds import LOUDEST, RATE, TONES, AlarmSounds, find_player, tone
from stirfall.desktop.alarms.state import AlarmState, Ringing, alarm_state
from stirfall.desktop.alarms.strip import AlarmStrip
from stirfall.desktop.app import make_parts
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.preferences_dialog import PreferencesDialog
from stirfall.desktop.shell import Shell
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, apply_theme
from stirfall.reporting.alarm_words import since_text
from stirfall.session.alarm import Alarm
from stirfall.session.commands import AddJar, AddRunEvent, BeginRun, EmptyJar, StartJar
from stirfall.session.document import Document
from stirfall.session.forecast import JarForecast
from stirfall.session.settings import ProgramSettings, Settings

from .conftest import NOW

MINUTE = timedelta(minutes=1)


@pytest.fixture
def model(workspace, document):
    workspace.open_document(document)
    made = AlarmModel(workspace, tz=UTC)
    made.rung = []
    made.rang.connect(made.rung.append)
    yield made
    made.deleteLater()


def windows(model, **forecasts):
    """Give the model forecasts of its own, as if the attempts said so."""
    made = [JarForecast(name, opens_at=a, closes_at=b, has_window=True) for name, (a, b) in forecasts.items()]
    model._take_forecasts({each.jar_id: each for each in made})


def said(model):
    return [(line.word, line.said, line.since) for line in model.state.lines]


# -- the model -------------------------------------------------------------------------------------


def test_a_planned_jar_calls_when_its_hour_comes_and_is_quiet_for_good_once_seen(model, workspace, document, clock):
    workspace.execute(AddJar(Jar("P1", "L1", NOW + 30 * MINUTE, planned=True)))
    assert model.state == AlarmState()
    clock.advance(seconds=1800.0)
    model.tick()
    assert ("Due", "Start jar P1 of lot L1: it was planned for 10:00.", "due now") in said(model)
    assert model.state.first.target == "P1"
    clock.advance(seconds=12 * 60.0)
    model.tick()
    assert model.state.first.since == "due 12\u2009min ago"
    assert model.see()
    assert document.undo_name.startswith("Seen: ")
    assert "P1" not in " ".join(line.said for line in model.state.lines)
    workspace.undo()
    assert model.state.first.target == "P1"
    workspace.redo()
    workspace.execute(StartJar("P1", clock.now()))
    assert all(line.target != "P1" for line in model.state.lines)


def test_a_sleep_is_told_with_what_fell_due_meanwhile(model, workspace, clock):
    workspace.execute(AddJar(Jar("P1", "L1", NOW + 30 * MINUTE, planned=True)))
    workspace.execute(AddJar(Jar("P2", "L1", NOW + 50 * MINUTE, planned=True)))
    clock.advance(hours=3)
    model.tick()
    slept = next(line for line in model.state.lines if line.word == "Note")
    expected = "The computer slept, or the program stood still, from 09:30 to 12:30. Due meanwhile: 2."
    assert slept.said == expected
    assert not slept.can_show
    due = [line.since for line in model.state.lines if line.target]
    assert due == ["due 2\u2009h ago", "due 2\u2009h ago"]
    assert model.see(slept.key)
    assert expected not in [line.said for line in model.state.lines]
    model.tick()
    assert len(model.state.lines) == 2


def test_a_short_gap_of_a_busy_computer_is_told_of_only_where_something_fell_due(model, workspace, clock):
    workspace.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    clock.advance(seconds=40.0)
    model.tick()
    assert model.state == AlarmState()
    clock.advance(seconds=40.0)
    model.tick()
    assert [line.target for line in model.state.lines] == ["P1", ""]


def test_a_clock_that_is_set_is_told_apart_from_sleep(model, clock):
    clock.set(NOW + timedelta(hours=1))
    model.tick()
    assert model.state.first.said.startswith("The clock went ahead by 60\u2009min, from 09:30 to 10:30")
    clock.set(NOW)
    model.tick()
    assert any(line.said.startswith("The clock of the computer was set back") for line in model.state.lines)


def test_alarms_survive_a_restart(model, workspace, document, clock, tmp_path):
    workspace.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    workspace.execute(AddJar(Jar("P2", "L1", NOW + MINUTE, planned=True)))
    clock.advance(seconds=61.0)
    model.tick()
    model.see(next(line.key for line in model.state.lines if line.target == "P1"))
    workspace.close_document()
    assert model.state == AlarmState()
    clock.advance(hours=8)
    workspace.open_document(Document.open(document.path, clock=clock))
    assert [(line.target, line.since) for line in model.state.lines] == [("P2", "due 8\u2009h ago")]


def test_a_window_opens_closes_and_stays_when_a_refit_moves_it_away(model, workspace, clock):
    windows(model, J1=(NOW + MINUTE, NOW + timedelta(hours=8)))
    assert model.state == AlarmState()
    clock.advance(seconds=60.0)
    windows(model, J1=(NOW + MINUTE, NOW + timedelta(hours=8)))
    assert said(model)[0][:2] == ("Note", "Jar J1 is ready: its chance is near its best, from 09:31 to 17:30.")
    model._take_forecasts({})
    assert model.state.first.said.endswith("The forecast has changed since.")
    workspace.execute(EmptyJar("J1", clock.now()))
    assert model.state.first is None or model.state.first.target != "J1"


def test_a_closing_window_says_how_long_there_is_still_time(model, clock):
    windows(model, J1=(NOW - timedelta(hours=6), NOW + timedelta(minutes=40)))
    assert said(model) == [("Due", "Jar J1: its readiness window closes at 10:10.", "40\u2009min left")]
    assert model.see()
    assert model.state == AlarmState()


def test_forecasts_come_from_the_attempts_by_themselves(workspace, document):
    workspace.open_document(document)
    model = AlarmModel(workspace)
    assert set(model._forecasts) == {"J1", "J3"}


def test_the_clock_is_asked_each_second_only_where_something_is_near(model, workspace, clock):
    model.tick()
    assert model._timer.interval() == FAR_MS
    workspace.execute(AddJar(Jar("P1", "L1", NOW + 3 * MINUTE, planned=True)))
    assert model._timer.interval() == FAR_MS
    clock.advance(seconds=150.0)
    model.tick()
    assert model._timer.interval() == NEAR_MS


def test_a_run_that_is_in_danger_calls_above_all(model, workspace, clock):
    workspace.execute(AddJar(Jar("P1", "L1", NOW, planned=True)))
    workspace.execute(BeginRun(Run("", NOW, steps=(PlannedStep(Step.CHECKS), PlannedStep(Step.HOLD, 60.0)))))
    run = workspace.document.state.open_run
    workspace.execute(AddRunEvent(RunEvent("", run.id, EventKind.MARK, NOW, word="smoke")))
    assert [line.word for line in model.state.lines] == ["Danger", "Due"]
    assert "heat" in model.state.first.said
    model.see_all()
    assert [line.word for line in model.state.lines] == ["Danger"]
    model.see()
    assert model.state == AlarmState()


def test_the_guided_run_says_its_own_alarms_and_notes_wait_until_it_is_over(model, workspace, clock):
    steps = (PlannedStep(Step.CHECKS), PlannedStep(Step.HOLD, 60.0))
    workspace.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    workspace.execute(BeginRun(Run("", NOW, steps=steps)))
    run = workspace.document.state.open_run
    workspace.execute(AddRunEvent(RunEvent("", run.id, EventKind.STEP, NOW, step="hold")))
    windows(model, J1=(NOW, NOW + timedelta(hours=8)))
    model.set_running(True)
    for _ in range(70):
        clock.advance(seconds=1.0)
        model.tick()
    assert [line.target for line in model.state.lines] == ["P1"]
    assert "info" not in model.rung
    assert model.see()  # the first in time: the step of the run, or the jar
    assert model.see()
    assert model.state == AlarmState()
    model.set_running(False)
    assert [line.word for line in model.state.lines] == ["Note"]
    model.tick()
    assert model.rung[-1] == "info"


@pytest.fixture
def shell(qtbot, qapp, tmp_path, clock):
    """The whole program with its real parts."""
    made = Shell(qapp, Settings(tmp_path / "own.json"), make_parts, clock=clock)
    made.window.show()
    qtbot.waitExposed(made.window)
    yield made
    made.window.close()
    made.window.deleteLater()
    made.deleteLater()


def test_the_strip_stands_in_the_window_and_its_key_works_from_any_field(shell, qtbot, document, clock):
    document.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    document.close()
    shell.files.open_path(document.path)
    clock.advance(seconds=61.0)
    shell.alarms.model.tick()
    strip = shell.window.alarm_strip
    assert strip.isVisible()
    assert strip.first.text.text().startswith("Start jar P1")
    strip.first.show_button.click()
    assert shell.window.page == "shelf"
    shell._set("alarm_volume", 0.25)
    assert shell.alarms.sounds.volume == 0.25
    shell.window.activateWindow()
    qtbot.waitUntil(shell.window.isActiveWindow)
    qtbot.keyClick(shell.window, Qt.Key.Key_N, Qt.KeyboardModifier.AltModifier)
    assert all(line.target != "P1" for line in shell.alarms.model.state.lines)


def test_nothing_is_written_where_the_session_is_only_read(workspace, document, clock):
    document.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    clock.advance(seconds=120.0)
    with Document.open(document.path, clock=clock, read_only=True) as reading:
        workspace.open_document(reading)
        model = AlarmModel(workspace, tz=UTC)
        assert model.state.first.target == "P1"
        assert model.see()
        assert model.state == AlarmState()
        assert reading.state.acknowledged == ()


# -- ringing ---------------------------------------------------------------------------------------


def alarm(key, rank="info", **kept):
    return Alarm(key, rank, NOW, "alarm.window_open", {"jar": "J1", "opens": "10:00"}, **kept)


def test_a_note_rings_once_what_is_due_each_half_minute_and_danger_all_the_time():
    ringing = Ringing()
    note, due, danger = alarm("a"), alarm("b", "due"), alarm("c", "danger")
    assert [ringing.next([note], at) for at in (0, 1, 60)] == ["info", None, None]
    assert [ringing.next([due, note], at) for at in (61, 62, 90, 91, 92)] == ["due", None, None, "due", None]
    assert [ringing.next([danger, due], at) for at in (100, 101, 102, 103, 106)] == [
        "danger",
        None,
        None,
        "danger",
        "danger",
    ]
    assert ringing.next([], 107) is None
    assert ringing.next([note], 108) == "info"


def test_a_window_that_moved_does_not_ring_again_while_it_is_shown():
    ringing = Ringing()
    assert ringing.next([alarm("old", identity="open J1")], 0) == "info"
    assert ringing.next([alarm("new", identity="open J1")], 40) is None


def test_the_model_rings_when_it_ticks(model, workspace, clock):
    workspace.execute(AddJar(Jar("P1", "L1", NOW + MINUTE, planned=True)))
    for _ in range(100):
        clock.advance(seconds=1.0)
        model.tick()
    assert model.rung == ["due", "due"]  # at 60 s and at 90 s


# -- the strip -------------------------------------------------------------------------------------


@pytest.fixture
def holder(put_on_screen):
    """A window with the strip and a field that has the keyboard."""
    holder = QWidget()
    layout = QVBoxLayout(holder)
    holder.strip = AlarmStrip()
    layout.addWidget(holder.strip)
    holder.field = QLineEdit()
    layout.addWidget(holder.field)
    layout.addStretch(1)
    put_on_screen(holder, 900, 400)
    holder.field.setFocus()
    return holder


@pytest.fixture
def strip(holder):
    return holder.strip


def lines(*alarms, after=0.0):
    return alarm_state(alarms, NOW + timedelta(minutes=after))


def test_the_strip_takes_no_room_and_no_keyboard(strip, holder):
    assert not strip.isVisible()
    strip.render_state(lines(alarm("a", "danger")))
    assert strip.isVisible()
    assert holder.field.hasFocus()
    strip.render_state(AlarmState())
    assert not strip.isVisible()


def test_an_alarm_is_word_shape_and_sentence_and_its_buttons_are_large(strip, qtbot):
    strip.render_state(lines(alarm("a", "due"), after=12))
    row = strip.first
    assert (row.rank.text(), row.since.text()) == ("▲ Due", "due 12\u2009min ago")
    assert row.text.text() == "Jar J1 is ready: its chance is near its best since 10:00."
    assert row.text.accessibleName().startswith("Due: Jar J1")
    assert not strip.more.isVisible()
    for button in (row.seen_button, row.show_button):
        assert button.height() >= TARGET
        assert button.accessibleName()
    with qtbot.waitSignal(strip.seen) as told:
        qtbot.mouseClick(row.seen_button, Qt.MouseButton.LeftButton)
    assert told.args == ["a"]
    with qtbot.waitSignal(strip.show_wanted):
        qtbot.mouseClick(row.show_button, Qt.MouseButton.LeftButton)


def test_more_alarms_open_as_a_list_and_the_time_runs_without_a_flicker(strip, qtbot):
    three = (alarm("a", "danger"), alarm("b", "due"), alarm("c"))
    strip.render_state(lines(*three))
    assert strip.more.text() == "+2 more"
    qtbot.mouseClick(strip.more, Qt.MouseButton.LeftButton)
    assert strip.more.text() == "Fewer"
    assert strip.findChild(QLabel, "alarm_3_rank").text() == "○ Note"
    same = strip.findChild(QPushButton, "alarm_2_seen")
    strip.render_state(lines(*three, after=5))
    assert strip.findChild(QPushButton, "alarm_2_seen") is same
    assert strip.findChild(QLabel, "alarm_2_since").text() == "due 5\u2009min ago"
    with qtbot.waitSignal(strip.all_seen):
        qtbot.mouseClick(strip.findChild(QPushButton, "alarm_all_seen"), Qt.MouseButton.LeftButton)
    strip.render_state(lines(three[0]))
    assert not strip.more.isVisible()
    assert not strip.findChild(QWidget, "alarm_list").isVisible()


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_no_word_of_the_strip_is_cut_in_any_theme_and_size(strip, themed, theme, scale):
    apply_theme(themed, theme, scale)
    long = Alarm("a", "danger", NOW, "alarm.do_not_open", {"jar": "J12", "at": "Wed 18:00"}, target="J12")
    strip.render_state(lines(long, alarm("b"), after=50))
    themed.processEvents()
    row = strip.first
    assert row.text.height() >= row.text.heightForWidth(row.text.width())
    for label in (row.rank, row.since):
        assert label.width() >= label.sizeHint().width()
    apply_theme(themed, LIGHT)


def test_words_of_time_are_calm():
    due = alarm("a", "due")
    told = [(59, "due now"), (61, "due 1\u2009min ago"), (7199, "due 119\u2009min ago"), (9000, "due 2\u2009h ago")]
    for seconds, words in (*told, (200_000, "due 2\u2009days ago")):
        assert since_text(due, NOW + timedelta(seconds=seconds)) == words
    assert since_text(alarm("a"), NOW + 5 * MINUTE) == "5\u2009min ago"
    left = replace(due, until=NOW + timedelta(seconds=20))
    assert since_text(left, NOW) == "20\u2009s left"
    assert since_text(left, NOW + MINUTE) == "due 1\u2009min ago"


def test_show_leads_to_the_jar_on_the_shelf_and_to_the_run(workspace, document):
    chosen, pages, runs = [], [], []

    class Shelf(QWidget):
        class model:  # noqa: N801 - as the page names it
            select = staticmethod(chosen.append)

    strip = AlarmStrip()
    workspace.open_document(document)
    workspace.page_requested.connect(pages.append)
    workspace.run_requested.connect(runs.append)
    shelf = Shelf()
    desk = AlarmDesk(workspace, strip, {"shelf": shelf}, ProgramSettings())
    desk.go("shelf", "J3")
    desk.go("run", "r1")
    assert runs == []
    workspace.execute(BeginRun(Run("", NOW, steps=(PlannedStep(Step.CHECKS),))))
    desk.go("run", "r1")
    assert (chosen, pages, runs) == (["J3"], ["shelf"], [""])
    for each in (desk, strip, shelf):
        each.deleteLater()


# -- tones -----------------------------------------------------------------------------------------


def test_sound_and_loudness_are_preferences(qtbot):
    dialog = PreferencesDialog(ProgramSettings(alarm_volume=0.9))
    qtbot.addWidget(dialog)
    assert dialog.sound.isChecked()
    assert dialog.volume.currentText() == "Loud"
    told = []
    dialog.changed.connect(lambda name, value: told.append((name, value)))
    dialog.sound.click()
    dialog.volume.setCurrentIndex(0)
    assert told == [("alarm_sound", False), ("alarm_volume", 0.25)]


def frames(data):
    with wave.open(io.BytesIO(data)) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        return struct.unpack(f"<{file.getnframes()}h", file.readframes(file.getnframes()))


@pytest.mark.parametrize("rank", list(TONES))
def test_a_tone_is_short_fades_and_is_as_loud_as_asked(rank):
    loud, soft = frames(tone(rank, 1.0)), frames(tone(rank, 0.25))
    assert len(loud) == sum(round(RATE * seconds) for _, seconds in TONES[rank])
    assert len(loud) / RATE < 1.5
    assert max(map(abs, loud)) == pytest.approx(32_767 * LOUDEST, rel=0.01)
    assert max(map(abs, soft)) == pytest.approx(32_767 * LOUDEST * 0.25, rel=0.02)
    assert abs(loud[0]) < 300
    assert abs(loud[-1]) < 3000
    assert not any(frames(tone(rank, 0.0)))


def test_the_first_tone_has_the_pitch_that_it_says():
    """Counted by its zero crossings, two for each period."""
    samples = frames(tone("info", 1.0))
    crossings = sum(1 for a, b in pairwise(samples) if a < 0 <= b)
    hertz, seconds = TONES["info"][0]
    assert math.isclose(crossings / seconds, hertz, rel_tol=0.02)


def test_the_ranks_differ_in_pattern():
    assert len({TONES[rank] for rank in TONES}) == len({len(TONES[rank]) for rank in TONES}) == 3


def test_the_first_player_that_is_there_is_taken():
    assert find_player({"aplay": "/usr/bin/aplay"}.get) == ("/usr/bin/aplay", ("-q",))
    assert find_player({}.get) is None


def test_a_tone_is_handed_to_a_player_in_another_process_as_a_whole_file(qtbot, tmp_path):
    heard = tmp_path / "heard.wav"
    copies = f"import shutil, sys; shutil.copy(sys.argv[1], {str(heard)!r})"
    sounds = AlarmSounds(volume=0.25, player=lambda: (sys.executable, ("-c", copies)))
    sounds.play("due")
    qtbot.waitUntil(heard.exists, timeout=10_000)
    qtbot.waitUntil(lambda: heard.read_bytes() == tone("due", 0.25), timeout=10_000)
    sounds.close()
    sounds.deleteLater()


def test_a_player_that_fails_is_not_asked_again(qtbot):
    asked = []
    sounds = AlarmSounds(player=lambda: asked.append(1) or ("no-such-player", ()))
    sounds.play("info")
    qtbot.waitUntil(lambda: sounds._is_broken)
    sounds.play("info")
    assert asked == [1]
    sounds.close()
    sounds.deleteLater()


def test_nothing_sounds_where_there_is_no_screen_or_sound_is_off(themed):
    sounds = AlarmSounds(is_on=True)
    sounds.play("danger")
    assert sounds._playing is None
    sounds.is_on = False
    sounds.play("danger")
    sounds.close()
    sounds.deleteLater()


def test_residue_is_told_of_once_a_day(model, workspace, clock):
    workspace.execute(AddJar(Jar("R1", "L1", NOW - timedelta(days=30), contents=RESIDUE)))
    assert model.state.first.said.startswith("Residue waits for disposal")
    model.see()
    clock.advance(hours=10)
    model.tick()
    assert all("Residue" not in line.said for line in model.state.lines)
    clock.advance(hours=10)
    model.tick()
    assert any("Residue" in line.said for line in model.state.lines)
