"""The whole job on a screen: a real process, a real pointer and keyboard, and a picture after each step.

Run by hand before a release, in an environment with the program installed:

    python tests/e2e/walk_on_a_screen.py --out PICTURES [--themes light dark "high contrast"] [--size 1440x900]
                                            [--text-scale 2] [--parts job plan evening evidence]

It needs Xvfb and xdotool, and takes openbox where that is there. It starts a screen of its own and ends, by process
id, only what it started. Pictures are to be looked at by a person; what the walk can tell by itself, it asserts.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from on_a_screen import Person, Screen
from walk_of_a_plan import walk_of_a_plan
from walk_of_an_evening import walk_of_an_evening
from walk_of_evidence import walk_of_evidence

from stirfall.session.document import Document

SAMPLE = "tin-bismuth-dross"
PARTS = ("job", "plan", "evening", "evidence")


def attempts_in(path: Path) -> int:
    with Document.open(path, read_only=True) as document:
        return len(document.state.attempts)


def jar_on_shelf(path: Path) -> str:
    with Document.open(path, read_only=True) as document:
        return next(jar.id for jar in document.state.jars if jar.emptied_at is None)


def walk(person: Person, session: Path) -> None:
    """Do the whole job, with a picture after each step."""
    begin(person, session)
    record(person, session)
    explore(person)
    other_pages(person, session.parent)
    dialogs(person)
    undo_redo_and_reopen(person, session)


def begin(person: Person, session: Path) -> None:
    person.start()
    person.shoot("first-page")
    person.click(f"sample_{SAMPLE}", 0.05)
    person.click("first_run_sample")
    person.shoot("place-for-the-sample")
    person.save_as(session)
    person.wait(lambda _seen: session.exists() and person.is_seen("checklist"))
    person.shoot("checklist")
    boxes = [widget for widget in person.look()["widgets"] if widget["name"].startswith("check ")]
    person.click(min(boxes, key=lambda box: box["place"][1] if box["place"][2] else 10_000)["name"])
    for _ in boxes[1:]:
        person.key("Tab", "space")
    person.shoot("checklist-ticked")
    person.click("finish_checklist")
    person.wait(lambda _seen: person.is_seen("record"))
    person.shoot("bench-form")


def record(person: Person, session: Path) -> None:
    count = attempts_in(session)
    person.type(jar_on_shelf(session))
    person.key("Return")
    person.shoot("jar-picked")
    for name, value in (("temperature", "320 F"), ("stirring speed", "90")):
        person.scroll_to(name, "bench_scroll")
        person.click(name)
        person.type(value)
        person.key("Return")
    person.shoot("values-typed")
    before = person.text("odds_number"), person.text("odds_certainty")
    person.click("Did the solids leave the metal?: yes")
    person.click("Did the metal become one pool?: beads")
    person.shoot("outcome-chosen")
    person.click("record")
    person.shoot("recorded")
    assert attempts_in(session) == count + 1
    after = person.text("odds_number"), person.text("odds_certainty")
    assert after != before
    print(f"  before {before}, after {after}")
    assert int(re.findall(r"\d+", after[0])[0]) < int(re.findall(r"\d+", before[0])[0])


def explore(person: Person) -> None:
    person.click("odds_next_1_take")
    person.settle()
    assert "uggest" in person.text("filled_from")
    person.shoot("suggestion-in-the-form")
    before = person.text("odds_number"), person.text("odds_certainty")
    click_in_plot(person, "CurvePlot", 0.62, 0.25)
    person.shoot("clicked-on-the-curve")
    assert (person.text("odds_number"), person.text("odds_certainty")) != before
    person.key("Left", "Left", "Left")
    person.shoot("moved-by-keys")
    person.click("odds_gates_shown")
    person.shoot("both-gates")
    person.click("odds_more")
    person.shoot("details")
    person.click("odds_more")
    for view in ("map", "outcomes", "time", "effects", "trust", "curve"):
        if not person.is_seen(f"odds_view_{view}"):  # on a narrow screen the views are a list
            continue
        person.click(f"odds_view_{view}")
        person.settle()
        if view != "curve":
            person.shoot(view)


def click_in_plot(person: Person, kind: str, across: float, down: float) -> None:
    (plot,) = [w for w in person.look()["widgets"] if w["kind"] == kind and w["place"][2] > 0]
    x, y, width, height = plot["place"]
    person.screen.xdotool("mousemove", round(x + across * width), round(y + down * height), "click", 1)


def other_pages(person: Person, folder: Path) -> None:
    person.key("ctrl+1")
    person.shoot("shelf")
    person.key("ctrl+4")
    person.shoot("attempts")
    person.key("ctrl+6")
    person.settle()
    person.shoot("recipe")
    for suffix in ("md", "json", "pdf"):
        person.click(f"recipe_export_{suffix}")
        if suffix == "md":
            person.shoot("place-for-the-recipe")
        person.save_as(folder / f"recipe.{suffix}")
        person.wait(lambda _seen, path=folder / f"recipe.{suffix}": path.exists())
    person.shoot("recipe-exported")
    if shutil.which("pdftoppm"):
        pages = [str(folder / "recipe.pdf"), str(person.out / "recipe-page")]
        subprocess.run(["pdftoppm", "-r", "70", "-png", *pages], check=True)


def dialogs(person: Person) -> None:
    person.key("ctrl+3")
    person.settle()
    person.click("all_cautions")
    person.shoot("all-cautions")
    person.click("all_cautions")
    person.scroll_to("fold_masses", "bench_scroll")
    person.click("fold_masses")
    person.scroll_to("additive_g", "bench_scroll")
    person.shoot("masses")
    person.scroll_to("fold_masses", "bench_scroll")
    person.click("fold_masses")
    person.key("alt+v")
    person.shoot("view-menu")
    person.key("Escape", "Escape")
    person.key("ctrl+comma")
    person.shoot("preferences")
    person.key("Escape")
    person.key("alt+m", "s")
    person.shoot("campaign-settings")
    person.key("Escape")
    person.key("alt+m", "f")
    person.shoot("factors")
    person.key("Escape")
    person.key("ctrl+n")
    person.shoot("new-campaign")
    person.key("Escape")
    person.key("F1")
    person.shoot("guide")
    person.key("Escape")
    person.settle()


def undo_redo_and_reopen(person: Person, session: Path) -> None:
    count = attempts_in(session)
    person.click("step_attempts")
    person.key("ctrl+z")
    person.settle()
    assert attempts_in(session) == count - 1
    person.shoot("undone")
    person.key("ctrl+shift+z")
    person.settle()
    assert attempts_in(session) == count
    person.leave()
    person.start()
    person.shoot("second-start")
    person.click("recent_link")
    person.settle()
    assert not person.is_seen("checklist")
    assert attempts_in(session) == count
    person.shoot("opened-again")
    person.leave()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, required=True, help="folder for the pictures")
    parser.add_argument("--themes", nargs="+", default=["light", "dark", "high contrast"])
    parser.add_argument("--size", default="1440x900", help="size of the screen in pixels")
    parser.add_argument("--text-scale", type=float, default=1.0, help="how much larger all text is")
    parser.add_argument("--parts", nargs="+", choices=PARTS, default=list(PARTS), help="what is walked")
    parser.add_argument("--display", type=int, default=95, help="number of the screen")
    wanted = parser.parse_args()
    for theme in wanted.themes:
        out = (wanted.out / theme.replace(" ", "-")).resolve()
        out.mkdir(parents=True, exist_ok=True)
        print(f"{theme}:")
        values = {"theme": theme, "text_scale": wanted.text_scale}
        walk_in(values, out, Screen(wanted.display, wanted.size), wanted.parts)
        print(f"  done, pictures in {out}")
    return 0


def walk_in(looks: dict[str, object], out: Path, screen: Screen, parts: list[str]) -> None:
    with tempfile.TemporaryDirectory(prefix="walk-") as place:
        home = Path(place)
        folder, settings = home / "trials", home / "settings"
        folder.mkdir()
        settings.mkdir()
        values = {"last_folder": str(folder), "decimal": ".", "alarm_sound": False, **looks}
        (settings / "settings.json").write_text(json.dumps(values))
        person = Person(screen, out, settings, home)
        session = folder / "dross.stirfall"
        walks: dict[str, Callable[[], None]] = {
            "job": lambda: walk(person, session),
            "plan": lambda: walk_of_a_plan(person, session),  # goes on with the session of the job
            "evening": lambda: walk_of_an_evening(person, folder),
            "evidence": lambda: walk_of_evidence(person, folder),
        }
        try:
            for part in (name for name in PARTS if name in parts):
                walks[part]()
            log = settings / "stirfall.log"
            assert not log.exists() or not log.read_text(), log.read_text()
        finally:
            if person.program is not None:
                person.program.kill()
                person.program.wait()
            screen.close()


if __name__ == "__main__":
    sys.exit(main())
