"""A whole evening on a screen with real keys: split, labels, waiting, alarm, three attempts, kill -9 in the middle.

It ends with the right session and no lost second. The program is a process of its own; the sessions' clock runs
ahead of the computer's by what the test says, so that nobody waits for hours.
"""

from __future__ import annotations

import itertools
import json
import re
import shutil
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from on_a_screen import Person, Screen

from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.bench.running import EventKind, Run, Step, seconds_between
from stirfall.bench.scan_codes import jar_code
from stirfall.session.document import Document
from stirfall.storage.check import check_file

FIRST_DISPLAY = 180
PAST_ATTEMPTS = 8

pytestmark = [
    pytest.mark.slow,
    pytest.mark.timeout(400),
    pytest.mark.skipif(
        not (shutil.which("Xvfb") and shutil.which("xdotool")), reason="needs Xvfb and xdotool, as .ci/run has them"
    ),
]


class Evening:
    """A person at a screen, the clock on the wall, and what the session file says."""

    def __init__(self, person: Person, session: Path, clock: Path) -> None:
        self.person, self.session, self.clock = person, session, clock

    def start(self) -> None:
        self.person.start(self.session, clock=self.clock)
        self.person.wait(lambda seen: seen["is_idle"])

    def wait(self, seconds: float) -> None:
        """Let time go by without waiting for it."""
        part = self.clock.with_suffix(".part")
        part.write_text(str(float(self.clock.read_text()) + seconds))
        part.replace(self.clock)
        time.sleep(0.4)  # the timers of the window look at the clock several times a second

    def now(self) -> datetime:
        return datetime.now(UTC) + timedelta(seconds=float(self.clock.read_text()))

    def read(self) -> Document:
        return Document.open(self.session, read_only=True)

    def run(self) -> Run:
        with self.read() as document:
            return document.state.runs[-1]

    def keys(self, *keys: str) -> None:
        for key in keys:
            self.person.key(key)

    def says(self, name: str) -> str:
        return self.person.text(name)

    def until(self, name: str, words: str) -> None:
        """Wait until a text is there."""
        self.person.wait(
            lambda seen: any(
                widget["name"] == name and words in widget["text"] and widget["place"][2] > 0
                for widget in seen["widgets"]
            )
        )

    def next_step(self, title: str) -> None:
        """Press Space for the next step; a moment after the last one, since two quick presses are one."""
        time.sleep(0.3)
        self.person.key("space")
        self.until("run_title", title)

    def shown_seconds(self) -> float:
        """Return the time in this step as the page shows it in words (``m:ss of m:ss done``) or in digits."""
        words = self.says("run_target")
        found = re.match(r"(\d+):(\d\d) of", words)
        if found is None:
            found = re.match(r"(\d+):(\d\d)$", self.says("run_digits"))
        assert found is not None, words
        return 60.0 * int(found[1]) + int(found[2])


def make_session(path: Path) -> None:
    """Make an invented campaign that has been going on for some days."""
    begin = datetime.now(UTC) - timedelta(days=9)
    grades = ((Parted.NO, None), (Parted.YES, Pooled.BEADS), (Parted.YES, Pooled.ONE_POOL), (Parted.PARTLY, None))
    attempts = [
        Attempt(
            "",
            0,
            Conditions(
                {
                    "sample age": 2.0 * 1.8**turn,
                    "oil exposure time": 1.5 * 1.8**turn,
                    "hot time before stirring": 2.0 + 2.0 * turn,
                    "temperature": 152.0 + 2.0 * turn,
                    "stirring speed": 60.0 + 10.0 * turn,
                    "stirring time": 60.0 + 30.0 * turn,
                    "stirring action": ("swirl", "fold", "press", "scrape")[turn % 4],
                    "additive": "none",
                    "additive dose": 0.0,
                }
            ),
            started_at=begin + timedelta(hours=20 * turn),
            lot_id="L0",
            parted=grades[turn % 4][0],
            pooled=grades[turn % 4][1],
        )
        for turn in range(PAST_ATTEMPTS)
    ]
    settings = CampaignSettings(
        "Evening", MaterialClass.BASE_METAL, "tin alloy", 138.0, "white mineral oil", 230.0, invented=True
    )
    lots = [Lot("L0", begin), Lot("L1", datetime.now(UTC) - timedelta(hours=3))]
    Document.create(path, settings, standard_factors(), lots=lots, attempts=attempts).close()


@pytest.fixture
def evening(tmp_path: Path) -> Iterator[Evening]:
    home, settings = tmp_path / "home", tmp_path / "settings"
    home.mkdir()
    settings.mkdir()
    values = {"theme": "dark", "last_folder": str(tmp_path), "decimal": ".", "alarm_sound": False}
    (settings / "settings.json").write_text(json.dumps(values))
    session, clock = tmp_path / "evening.stirfall", tmp_path / "clock"
    make_session(session)
    clock.write_text("0")
    number = next(n for n in itertools.count(FIRST_DISPLAY) if not Path(f"/tmp/.X11-unix/X{n}").exists())
    person = Person(Screen(number, "1280x720"), tmp_path, settings, home)
    try:
        yield Evening(person, session, clock)
        log = settings / "stirfall.log"
        assert not log.exists() or not log.read_text(), log.read_text()
    finally:
        if person.program is not None:
            person.program.kill()
            person.program.wait()
        person.screen.close()


def test_an_evening_ends_with_the_right_session_and_no_lost_second(evening: Evening, tmp_path: Path) -> None:
    evening.start()
    tick_the_checklist(evening)
    jars = split_the_lot(evening)
    print_labels(evening, tmp_path)
    started = wait_for_the_alarm(evening, jars)
    record_by_the_form(evening, jars[0])
    second = run_with_a_kill_in_the_middle(evening, jars[1])
    third = run_again(evening, started)
    correct_undo_redo(evening)
    evening.person.leave()
    assert_right(evening, jars, (second, third))


# ------------------------------------------------------------------------------------------------- what is done


def tick_the_checklist(evening: Evening) -> None:
    person = evening.person
    boxes = [widget["name"] for widget in person.look()["widgets"] if widget["name"].startswith("check ")]
    evening.keys("space", *["Tab", "space"] * (len(boxes) - 1))
    person.click("finish_checklist")
    person.wait(lambda _seen: person.is_seen("record"))


def split_the_lot(evening: Evening) -> list[str]:
    """Split lot L1 into three jars, the third of them planned for four hours later."""
    person = evening.person
    evening.keys("ctrl+1")
    person.click("shelf_split_lot")
    for name, text in (("split_count", "3"), ("split_mass", "12"), ("split_depth", "20")):
        person.click(name)
        evening.keys("ctrl+a")
        person.type(text)
    evening.keys("Tab")
    person.click("They start: one after another")
    scroll(person, "split_every")
    person.click("split_every")
    evening.keys("ctrl+a")
    person.type("2 h")
    evening.keys("Tab")
    scroll(person, "split_lot_accept")
    person.click("split_lot_accept")
    person.wait(lambda _seen: person.is_seen("message_act"))
    with evening.read() as document:
        state = document.state
        assert [len(state.shelf), len(state.planned_jars)] == [1, 2]
        assert all(jar.lot_id == "L1" and jar.charge_g == 12.0 and jar.oil_depth_mm == 20.0 for jar in state.jars)
        return [jar.id for jar in sorted(state.jars, key=lambda jar: jar.started_at)]


def scroll(person: Person, name: str) -> None:
    """Turn the wheel at the edge of the shelf's form until a widget is in view."""
    for button in [5] * 40 + [4] * 60:
        if person.find(name)["place"][3] >= 30:
            return
        x, y, _, height = person.find("shelf_forms")["place"]
        person.screen.xdotool("mousemove", x + 4, y + height // 2, "click", button)
    raise AssertionError(name)


def print_labels(evening: Evening, folder: Path) -> None:
    person = evening.person
    person.click("message_act")
    person.wait(lambda _seen: person.is_seen("dialog_verb"))
    person.click("dialog_verb")
    time.sleep(0.5)
    person.save_as(folder / "labels.pdf")
    person.wait(lambda _seen: (folder / "labels.pdf").exists())
    assert (folder / "labels.pdf").read_bytes().startswith(b"%PDF")
    person.click("dialog_cancel")


def wait_for_the_alarm(evening: Evening, jars: list[str]) -> str:
    """Wait until the planned jars are to be started; start both, and quiet the alarms by key."""
    person = evening.person
    for jar in jars[1:]:
        evening.wait(2 * 3600.0 + 30.0)
        evening.until("alarm_text", f"Start jar {jar}")
        person.scan(jar_code(jar))  # a planned jar cannot be used, and the window says so
        with evening.read() as document:
            assert document.state.planned_jars[0].id == jar
        evening.keys("ctrl+1")
        person.click("alarm_show")
        person.wait(lambda _seen: person.is_seen("shelf_start_planned"))
        person.click("shelf_start_planned")
        person.wait(lambda _seen, jar=jar: jar in [each.id for each in shelf_of(evening)])
        evening.keys("alt+n")  # what else was to be said, such as that the computer slept
    assert len(shelf_of(evening)) == 3
    return jars[2]


def shelf_of(evening: Evening) -> tuple[object, ...]:
    with evening.read() as document:
        return document.state.shelf


def record_by_the_form(evening: Evening, jar: str) -> None:
    person = evening.person
    person.scan(jar_code(jar))
    evening.until("odds_title", jar)
    person.click("Did the solids leave the metal?: no")
    person.click("record")
    person.wait(lambda _seen: attempts_of(evening) == PAST_ATTEMPTS + 1)


def attempts_of(evening: Evening) -> int:
    with evening.read() as document:
        return len(document.state.attempts)


def begin_run(evening: Evening, jar: str) -> None:
    person = evening.person
    person.scan(jar_code(jar))
    evening.until("odds_title", jar)
    person.click("begin_run")
    evening.until("run_title", "Checks")
    evening.next_step("Heat")
    evening.wait(240.0)
    evening.person.type("148")
    evening.keys("Return")
    evening.wait(60.0)
    evening.person.type("152")
    evening.keys("Return")
    evening.next_step("Hold")
    evening.wait(300.0)
    evening.next_step("Stir")


def run_with_a_kill_in_the_middle(evening: Evening, jar: str) -> Run:
    person = evening.person
    begin_run(evening, jar)
    evening.wait(20.0)
    evening.keys("p")
    evening.wait(22.0)
    evening.keys("m")
    person.wait(lambda _seen: len(evening.run().marks()) == 2)
    before = evening.run()
    person.kill()
    evening.wait(9.0)
    evening.start()
    person.wait(lambda _seen: person.is_seen("run_question"))
    after = evening.run()
    assert after.events[: len(before.events)] == before.events, "an event was lost"
    assert after.events[len(before.events)].kind is EventKind.RESUMED
    stirring = before.current
    assert stirring is not None
    assert stirring.step == Step.STIR
    shown, true = evening.shown_seconds(), (evening.now() - stirring.at).total_seconds()
    assert abs(shown - true) <= 1.5, "a second was lost"
    assert true > 51.0
    assert "first merging" in evening.says("run_last_done")
    while person.is_seen("run_question"):
        evening.keys("1")  # yes: covered by oil, the heat is on, stirred all the while
    evening.wait(30.0)
    finish_run(evening, grade="4", clean=True)
    return evening.run()


def finish_run(evening: Evening, *, grade: str, clean: bool) -> None:
    """Settle, cool, lift, grade, weigh, record and work through the closing list."""
    person = evening.person
    evening.next_step("Settle")
    evening.wait(45.0)
    evening.next_step("Cool")
    evening.wait(900.0)
    person.type("45")
    evening.keys("Return")
    evening.next_step("Lift")
    evening.next_step("Grade")
    evening.keys(grade)
    evening.next_step("Weigh")
    evening.keys("Return")  # the charge is that of the jar
    for mass in ("10.4", "0", "1.3") if clean else ("4.1", "6.2", "1.5"):
        person.type(mass)
        evening.keys("Return")
    count = attempts_of(evening)
    evening.next_step("Close")
    assert attempts_of(evening) == count + 1
    evening.keys("Return", "Return")
    scroll_run(person, "run_option_residue_2")
    person.click("run_option_residue_2")
    evening.keys("Return", "Return", "Return")
    time.sleep(0.3)
    evening.keys("space")
    person.wait(lambda _seen: not person.is_seen("run_page"))
    assert not evening.run().is_open


def scroll_run(person: Person, name: str) -> None:
    if person.find(name)["place"][3] < 60:
        person.scroll_to(name, "run_scroll")


def run_again(evening: Evening, jar: str) -> Run:
    begin_run(evening, jar)
    evening.wait(70.0)
    finish_run(evening, grade="3", clean=False)
    return evening.run()


def correct_undo_redo(evening: Evening) -> None:
    """Correct the note of the newest attempt, take that back, and do it again."""
    person = evening.person
    evening.keys("ctrl+4")
    person.click("ledger_table", 0.3, 0.35)
    evening.keys("ctrl+Home")  # the newest, which stands on top
    person.click("ledger_correct")
    person.wait(lambda _seen: person.is_seen("correct_reason"))
    correct_the_note(evening, "cooled too fast")
    assert newest(evening).note == "cooled too fast"
    evening.keys("ctrl+z")
    person.wait(lambda _seen: newest(evening).note == "")
    assert "correct" in evening.says("head_redo").lower()
    evening.keys("ctrl+shift+z")
    person.wait(lambda _seen: newest(evening).note == "cooled too fast")


def correct_the_note(evening: Evening, text: str) -> None:
    person = evening.person
    person.click("correct_what")
    evening.keys("Home", *["Down"] * 40)
    evening.keys("n", "Return")
    person.click("correct_value")
    person.type(text)
    person.click("correct_reason")
    person.type("seen later")
    person.click("correct_accept")
    person.wait(lambda _seen: newest(evening).note == text)


def newest(evening: Evening) -> Attempt:
    with evening.read() as document:
        return max(document.state.attempts, key=lambda attempt: attempt.number)


# --------------------------------------------------------------------------------------------- what must be true


def assert_right(evening: Evening, jars: list[str], runs: tuple[Run, Run]) -> None:
    assert [finding for finding in check_file(evening.session) if finding.is_problem] == []
    with evening.read() as document:
        state = document.state
        new = state.attempts[PAST_ATTEMPTS:]
        assert [attempt.outcome for attempt in new] == [Outcome.NOTHING_PARTED, Outcome.CLEAN, Outcome.PARTED_BEADS]
        assert [attempt.jar_id for attempt in new] == jars
        assert [attempt.lot_id for attempt in new] == ["L1"] * 3
        assert [attempt.run_id for attempt in new] == [None, runs[0].id, runs[1].id]
        assert [run.attempt_id for run in state.runs] == [attempt.id for attempt in new[1:]]
        clean, beads = new[1:]
        assert (clean.masses.product_g, clean.masses.residue_g) == (10.4, 1.3)
        assert (beads.masses.product_g, beads.masses.beads_g) == (4.1, 6.2)
        assert clean.facts.peak_c == 152.0
        for attempt, run in zip(new[1:], state.runs, strict=True):
            stirred = true_seconds(run, Step.STIR)
            assert attempt.conditions.number("stirring time") == pytest.approx(stirred, abs=1.0)
        assert [change.field for change in document.corrections(beads.id) if change.field == "note"] == ["note"] * 3


def true_seconds(run: Run, step: Step) -> float:
    """Return how long a step took by the counter that nobody can set."""
    steps = [event for event in run.events if event.kind is EventKind.STEP]
    place = next(at for at, event in enumerate(steps) if event.step == step)
    return seconds_between(steps[place].moment, steps[place + 1].moment)
