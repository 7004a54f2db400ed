"""Shelf, labels, alarms and a whole guided run on a screen, a picture after each step; walk_on_a_screen.py runs it.

The sessions' clock runs ahead of the computer's by what the walk says, so that nobody waits for hours.
"""

from __future__ import annotations

import io
import itertools
import math
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from on_a_screen import Person
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QColor, QImage, QPainter
from test_evening_on_a_screen import Evening, make_session, scroll, scroll_run, tick_the_checklist

from stirfall.bench.outcomes import Outcome
from stirfall.bench.scan_codes import jar_code
from stirfall.session.commands import AttachPhoto, SetAnchor
from stirfall.session.document import Document


def walk_of_an_evening(person: Person, folder: Path) -> None:
    """Do what an evening brings, with a picture after each step."""
    session, clock = folder / "evening.stirfall", folder / "clock"
    make_session(session)
    add_photos(session)
    clock.write_text("0")
    evening = Evening(person, session, clock)
    evening.start()
    tick_the_checklist(evening)
    jars = split_in_each_mode(evening)
    prints(evening)
    alarms(evening, jars)
    board(evening)
    begin(evening, jars[0])
    finish(evening)
    ledger(evening)
    course(evening, folder)
    grades(evening)
    pages(evening)
    person.leave()


# ---------------------------------------------------------------------------------------------------- photos


def photo(turn: int, width: int = 1600, height: int = 1200) -> bytes:
    """Return an invented picture: a dish with drops in it."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor("#8a8f96"))
    painter = QPainter(image)
    painter.setBrush(QColor("#d9dde2"))
    painter.drawEllipse(width // 8, height // 8, width * 3 // 4, height * 3 // 4)
    painter.setBrush(QColor("#5b6068"))
    for drop in range(1 + 3 * (turn % 4)):
        x, y = width / 2 + 300 * math.cos(drop * 1.7), height / 2 + 220 * math.sin(drop * 2.3)
        painter.drawEllipse(round(x) - 60, round(y) - 60, 120, 120)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return bytes(buffer.data().data())


def add_photos(session: Path) -> None:
    """Keep two photos with each of some attempts, and one example of two classes."""
    with Document.open(session) as document:
        for turn, attempt in enumerate(document.state.attempts[:5]):
            for name in (f"top {turn + 1}.png", f"side {turn + 1}.png"):
                data = photo(turn + len(name))
                document.execute(AttachPhoto(attempt.id, name, "image/png", data, data))
        document.execute(SetAnchor(Outcome.CLEAN, "clean.png", "image/png", photo(0)))
        document.execute(SetAnchor(Outcome.PARTED_BEADS, "beads.png", "image/png", photo(3)))


# ---------------------------------------------------------------------------------------------------- the shelf


def split_in_each_mode(evening: Evening) -> list[str]:
    """Look at the split form in each of its modes, and make three jars, two of them planned."""
    person = evening.person
    evening.keys("ctrl+1")
    person.shoot("empty-shelf")
    person.click("shelf_split_lot")
    person.shoot("split-opened")
    for name, text in (("split_count", "4"), ("split_mass", "12"), ("split_depth", "20")):
        person.click(name)
        evening.keys("ctrl+a")
        person.type(text)
    evening.keys("Tab")
    person.shoot("split-all-now")
    scroll(person, "They start: ages for one evening")
    person.click("They start: ages for one evening")
    person.shoot("split-ages-for-one-evening")
    to_the_end(person, "shelf_forms")
    person.shoot("split-ages-below")
    scroll(person, "They start: one after another")
    person.click("They start: one after another")
    scroll(person, "split_every")
    person.click("split_every")
    evening.keys("ctrl+a")
    person.type("2 h")
    evening.keys("Tab")
    person.shoot("split-one-after-another")
    to_the_end(person, "shelf_forms")
    person.shoot("split-warnings-and-verb")
    scroll(person, "split_lot_accept")
    person.click("split_lot_accept")
    person.wait(lambda _seen: person.is_seen("message_act"))
    person.shoot("split-made")
    with evening.read() as document:
        return [jar.id for jar in sorted(document.state.jars, key=lambda jar: jar.started_at)]


def to_the_end(person: Person, area: str) -> None:
    """Turn the wheel until the end of a scroll area."""
    x, y, _, height = person.find(area)["place"]
    for _ in range(14):
        person.screen.xdotool("mousemove", x + 4, y + height // 2, "click", 5)
    person.pause()


def prints(evening: Evening) -> None:
    """Look at labels, the paper sheet and the card of acts before they are printed."""
    person = evening.person
    person.click("message_act")
    person.wait(lambda _seen: person.is_seen("dialog_verb"))
    person.shoot("labels")
    person.click("dialog_cancel")
    for key, name in (("p", "paper-sheet"), ("a", "card-of-acts")):
        evening.keys("alt+a", key)
        person.wait(lambda _seen: person.is_seen("dialog_cancel"))
        person.shoot(name)
        person.click("dialog_cancel")


def alarms(evening: Evening, jars: list[str]) -> None:
    """Let all planned jars come due at once; look at the strip, closed and open."""
    person = evening.person
    evening.keys("ctrl+1")
    person.click("shelf_view_to start")
    person.shoot("jars-to-start")
    evening.wait(6 * 3600.0 + 90.0)
    evening.until("alarm_text", "Start jar")
    evening.keys("ctrl+3")
    person.shoot("alarms-over-the-bench")
    person.click("alarm_more")
    person.shoot("alarms-all-shown")
    person.click("alarm_more")
    for jar in jars[1:]:
        evening.keys("ctrl+1")
        evening.until("alarm_text", "Start jar")
        person.click("alarm_show")
        person.wait(lambda _seen: person.is_seen("shelf_start_planned"))
        if jar == jars[1]:
            person.shoot("jar-to-start-shown")
        person.click("shelf_start_planned")
        person.settle()
    person.shoot("all-started")
    evening.wait(20 * 3600.0)
    for _ in range(12):
        evening.keys("alt+n")


def board(evening: Evening) -> None:
    """Look at the board, a jar on it, what can be done with it, and the forms of the shelf."""
    person = evening.person
    evening.keys("ctrl+1")
    person.settle()

    person.click("shelf_view_ageing")
    person.shoot("board")
    person.click("shelf_table", 0.3, 0.3)
    person.shoot("board-jar-chosen")
    person.click("shelf_columns")
    person.shoot("board-columns")
    evening.keys("Escape")
    for button in ("shelf_inspect", "shelf_start_jar", "shelf_register_lot", "shelf_correct_lot"):
        if person.is_seen(button):
            person.click(button)
            person.shoot(button.replace("_", "-"))
            evening.keys("Escape")
    evening.keys("alt+s", "i")
    person.shoot("register-residue")
    evening.keys("Escape")


# ------------------------------------------------------------------------------------------------------ the run


def begin(evening: Evening, jar: str) -> None:
    """Begin a run with an additive, and go on to stirring."""
    person = evening.person
    person.scan(jar_code(jar))
    person.wait(lambda _seen: person.is_seen("begin_run"))
    person.settle()
    person.shoot("bench-jar-scanned")
    if person.is_seen("finish_checklist"):  # it is another day
        boxes = [each["name"] for each in person.look()["widgets"] if each["name"].startswith("check ")]
        seen = [each for each in boxes if person.find(each)["place"][3] > 0]
        person.click(min(seen, key=lambda name: person.find(name)["place"][1]))
        evening.keys(*["Tab", "space"] * (len(boxes) - 1))
        person.shoot("checklist-of-another-day")
        person.click("finish_checklist")
    person.scroll_to("begin_run", "bench_scroll")
    person.click("begin_run")
    evening.until("run_title", "Checks")
    person.shoot("run-checks")
    evening.next_step("Heat")
    person.shoot("run-heat-no-reading")
    evening.wait(240.0)
    person.type("148")
    person.shoot("run-reading-half-typed")
    evening.keys("Return")
    person.shoot("run-heat-reading")
    evening.wait(30.0)
    person.type("221")
    evening.keys("Return")
    person.shoot("run-danger")
    evening.wait(40.0)
    person.type("152")
    evening.keys("Return")
    evening.keys("o")
    person.shoot("run-danger-over")
    evening.next_step("Hold")
    person.shoot("run-hold")
    evening.wait(700.0)
    person.shoot("run-hold-over")
    time.sleep(0.3)
    evening.keys("space")
    evening.until("run_title", "Stir")
    person.shoot("run-stir")
    evening.wait(20.0)
    evening.keys("p")
    evening.wait(22.0)
    evening.keys("m")
    person.shoot("run-stir-marks")
    evening.keys("n")
    person.type("thick at the rim")
    person.shoot("run-note")
    evening.keys("Return")
    person.click("run_other_pages")
    person.shoot("run-other-pages")
    person.click("run_strip_back")
    person.kill()
    evening.wait(9.0)
    evening.start()
    person.wait(lambda _seen: person.is_seen("run_question"))
    for turn in itertools.count(1):
        if not person.is_seen("run_question"):
            break
        person.shoot(f"run-question-{turn}")
        evening.keys("1")
        person.settle()
    person.shoot("run-taken-up")


def finish(evening: Evening) -> None:
    """Settle, cool, lift, grade, weigh, record and work through the closing list."""
    person = evening.person
    evening.wait(30.0)
    evening.next_step("Settle")
    person.shoot("run-settle")
    evening.wait(45.0)
    evening.next_step("Cool")
    person.shoot("run-cool")
    person.click("run_give_up")
    person.shoot("run-give-up")
    evening.keys("Escape")
    evening.wait(900.0)
    person.type("45")
    evening.keys("Return")
    evening.next_step("Lift")
    person.shoot("run-lift")
    evening.next_step("Grade")
    person.shoot("run-grade")
    evening.keys("4")
    person.shoot("run-graded")
    evening.next_step("Weigh")
    person.shoot("run-weigh")
    evening.keys("Return")
    for mass in ("10.4", "0", "1.3"):
        person.type(mass)
        evening.keys("Return")
    person.shoot("run-weighed")
    time.sleep(0.3)
    evening.keys("space")
    person.settle()
    if person.is_seen("run_limit_reason"):
        person.shoot("run-why")
        person.type("the reading was of the bath")
        evening.keys("Return")
        person.shoot("run-why-given")
        time.sleep(0.3)
        evening.keys("space")
    evening.until("run_title", "Close")
    person.shoot("run-close")
    evening.keys("Return", "Return")
    scroll_run(person, "run_option_residue_2")
    person.click("run_option_residue_2")
    person.shoot("run-close-residue")
    evening.keys("Return", "Return", "Return")
    person.shoot("run-close-done")
    time.sleep(0.3)
    evening.keys("space")
    person.wait(lambda _seen: not person.is_seen("run_page"))
    person.shoot("run-over")


# --------------------------------------------------------------------------------------------------- afterwards


def ledger(evening: Evening) -> None:
    """Look at the table with a filter, its columns, all facts, a correction, the history and the photos."""
    person = evening.person
    evening.keys("ctrl+4")
    person.click("ledger_table", 0.3, 0.35)
    person.shoot("ledger")
    person.click("ledger_columns")
    person.shoot("ledger-columns")
    evening.keys("Escape")
    person.click("ledger_add_filter")
    person.shoot("ledger-filter-form")
    person.click("filter_accept") if person.find("filter_accept")["is_enabled"] else None
    person.shoot("ledger-filtered")
    person.click("filter_close") if person.is_seen("filter_close") else None
    person.click("ledger_chip_1")
    person.click("ledger_table", 0.3, 0.35)
    person.click("ledger_facts_open")
    person.shoot("ledger-all-facts")
    person.click("facts_close")
    person.click("ledger_correct")
    person.shoot("ledger-correct")
    evening.keys("Escape")
    person.click("correct_cancel") if person.is_seen("correct_cancel") else None
    person.click("ledger_history")
    person.shoot("ledger-history")
    person.click("history_close")
    person.click("ledger_strike")
    person.shoot("ledger-strike")
    person.click("strike_cancel")
    evening.keys("ctrl+f")
    person.type("press")
    person.shoot("ledger-searched")
    evening.keys("ctrl+a", "BackSpace")
    photos(evening)


def photos(evening: Evening) -> None:
    """Look at the photos of an old attempt."""
    person = evening.person
    person.click("ledger_table", 0.3, 0.35)
    evening.keys("End")
    person.click("ledger_facts_open")
    person.settle()
    person.shoot("ledger-facts-with-photos")
    person.click("facts_photo_button")
    person.settle()
    person.shoot("photos")
    thumbs = [each["name"] for each in person.look()["widgets"] if each["name"].startswith("photo ")]
    if thumbs:
        person.click(thumbs[0])
        person.shoot("photo-viewer")
        person.click("photo_full")
        person.shoot("photo-full-size")
        evening.keys("Escape")
    evening.keys("Escape")
    person.click("facts_close") if person.is_seen("facts_close") else None


def course(evening: Evening, folder: Path) -> None:
    """Add the file of a logger to the newest attempt, and look at its course."""
    person = evening.person
    run = evening.run()
    begun = run.events[0].at
    lines = io.StringIO()
    lines.write("time,temperature C\n")
    for minute in range(40):
        at = begun + timedelta(minutes=minute)
        lines.write(f"{at.astimezone(UTC):%Y-%m-%d %H:%M:%S},{20 + 132 * (1 - math.exp(-minute / 4)):.1f}\n")
    log = folder / "logger.csv"
    log.write_text(lines.getvalue())
    evening.keys("ctrl+4", "Home")
    person.click("ledger_table", 0.3, 0.35)
    evening.keys("Home", "alt+a", "g")
    person.wait(lambda _seen: person.is_seen("course_add"))
    person.shoot("course-of-the-run")
    person.click("course_add")
    time.sleep(0.5)
    person.save_as(log)
    person.settle()
    person.shoot("log-import")
    evening.keys("Escape")
    person.settle()
    evening.keys("Escape")


def grades(evening: Evening) -> None:
    """Look at the examples of the classes, and grade once more without seeing the first grade."""
    person = evening.person
    evening.keys("alt+m", "l")
    person.shoot("examples-of-the-classes")
    evening.keys("Escape")
    evening.keys("alt+a", "i")
    person.settle()
    person.shoot("grade-again")
    for key in "41324":
        evening.keys(key)
        time.sleep(0.3)
    person.shoot("graded-again")
    evening.keys("Escape")


def pages(evening: Evening) -> None:
    """Look at the residue, and at what is chosen once."""
    person = evening.person
    evening.keys("ctrl+1")
    person.click("shelf_view_residue")
    person.shoot("residues")
    looks: tuple[tuple[str, Callable[[], None]], ...] = (
        ("preferences", lambda: evening.keys("ctrl+comma")),
        ("campaign-settings", lambda: evening.keys("alt+m", "s")),
        ("assay", lambda: evening.keys("alt+t", "a")),
        ("guide", lambda: evening.keys("F1")),
    )
    for name, act in looks:
        act()
        person.shoot(name)
        evening.keys("Escape")
    for side in ("2", "3"):
        evening.keys(f"alt+{side}")
        person.shoot(("melt", "film")[int(side) - 2])
    assert datetime.now(UTC) < evening.now()
