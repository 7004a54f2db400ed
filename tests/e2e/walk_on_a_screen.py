"""The whole job on a screen: a real process, a real pointer and keyboard, and a picture after each step.

Run by hand before a release, in an environment with the program installed:

    python tests/e2e/walk_on_a_screen.py --out PICTURES [--themes light dark "high contrast"] [--size 1440x900]

It needs Xvfb and xdotool, and takes openbox where that is there. It starts a screen of its own and ends, by process
id, only what it started. Pictures are to be looked at by a person; what the walk can tell by itself, it asserts.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import stirfall
from stirfall.session.document import Document

HERE = Path(__file__).resolve().parent
SOURCE = Path(stirfall.__file__).resolve().parents[1]
SAMPLE = "tin-bismuth-dross"
LONG_S = 90.0


class Screen:
    """An X screen of our own, with whatever we start on it."""

    def __init__(self, number: int, size: str) -> None:
        self.display = f":{number}"
        self.environment = {**os.environ, "DISPLAY": self.display, "QT_QPA_PLATFORM": "xcb"}
        self._started = [subprocess.Popen(["Xvfb", self.display, "-screen", "0", f"{size}x24", "-nolisten", "tcp"])]
        self._wait_for_screen(number)
        if shutil.which("openbox"):
            self._started.append(subprocess.Popen(["openbox"], env=self.environment))
            time.sleep(0.5)

    def _wait_for_screen(self, number: int) -> None:
        deadline = time.monotonic() + 20
        while not Path(f"/tmp/.X11-unix/X{number}").exists():
            if self._started[0].poll() is not None or time.monotonic() > deadline:
                raise RuntimeError(f"no screen {self.display}")
            time.sleep(0.1)

    def xdotool(self, *words: object) -> str:
        """Send events to the screen, or ask it something."""
        done = subprocess.run(
            ["xdotool", *map(str, words)],
            env=self.environment,
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
        )
        return done.stdout

    def close(self) -> None:
        for process in reversed(self._started):
            process.terminate()
            process.wait(timeout=20)


class Person:
    """Someone at the screen; looks through the probe, acts through pointer and keyboard only."""

    def __init__(self, screen: Screen, out: Path, settings: Path, home: Path) -> None:
        self.screen, self.out, self.home = screen, out, home
        self.settings = settings
        self.number = 0
        self.step = 0
        self.program: subprocess.Popen[bytes] | None = None
        self.folder = Path(tempfile.mkdtemp(prefix="probe-", dir=home))

    def start(self) -> None:
        """Start the program and wait for its window."""
        environment = self.screen.environment | {
            "STIRFALL_SETTINGS_DIR": str(self.settings),
            "HOME": str(self.home),
            "PYTHONPATH": str(SOURCE),
            "XDG_CONFIG_HOME": str(self.home / "config"),
        }
        command = [sys.executable, str(HERE / "app_on_a_screen.py"), str(self.folder)]
        self.program = subprocess.Popen(command, env=environment, cwd=self.home)
        self.wait(lambda seen: any(widget["name"] == "main_window" for widget in seen["widgets"]))
        time.sleep(0.5)

    def leave(self) -> None:
        """Quit by key and wait for the end."""
        assert self.program is not None
        self.key("ctrl+q")
        assert self.program.wait(timeout=60) == 0
        self.program = None

    def look(self, picture: Path | None = None) -> dict:
        """Return what is in view."""
        assert self.program is not None
        assert self.program.poll() is None, "the program has ended"
        self.number += 1
        question = self.folder / "ask.part"
        question.write_text(json.dumps({"number": self.number, "picture": str(picture) if picture else None}))
        question.replace(self.folder / "ask.json")
        answer = self.folder / f"answer-{self.number}.json"
        deadline = time.monotonic() + LONG_S
        while not answer.exists():
            assert self.program.poll() is None, "the program has ended"
            assert time.monotonic() < deadline, "the program does not answer"
            time.sleep(0.02)
        return json.loads(answer.read_text())

    def wait(self, is_so: Callable[[dict], bool]) -> dict:
        deadline = time.monotonic() + LONG_S
        while not is_so(seen := self.look()):
            assert time.monotonic() < deadline, "it did not happen"
            time.sleep(0.1)
        return seen

    def settle(self) -> None:
        """Wait until nothing is computed any more."""
        time.sleep(0.4)
        self.wait(lambda seen: seen["is_idle"])
        time.sleep(0.3)

    def find(self, name: str) -> dict:
        widgets = [widget for widget in self.look()["widgets"] if widget["name"] == name]
        assert len(widgets) == 1, f"{name}: {len(widgets)} in view"
        return widgets[0]

    def is_seen(self, name: str) -> bool:
        return any(widget["name"] == name and widget["place"][2] > 0 for widget in self.look()["widgets"])

    def text(self, name: str) -> str:
        return str(self.find(name)["text"])

    def click(self, name: str, across: float = 0.5, down: float = 0.5) -> None:
        """Click on a widget, at a share of its width and height."""
        widget = self.find(name)
        x, y, width, height = widget["place"]
        assert width > 0, f"{name} is not in view"
        assert widget["is_enabled"], f"{name} is not enabled"
        self.screen.xdotool("mousemove", round(x + across * width), round(y + down * height))
        time.sleep(0.1)
        self.screen.xdotool("click", 1)
        time.sleep(0.25)

    def scroll_to(self, name: str, area: str) -> None:
        """Turn the wheel over a scroll area until a widget in it is whole in view."""
        for button in [5] * 30 + [4] * 60:
            if self.find(name)["place"][3] >= 30:
                return
            x, y, width, height = self.find(area)["place"]
            self.screen.xdotool("mousemove", x + width // 4, y + height // 2, "click", button)
        raise AssertionError(f"{name} cannot be scrolled to")

    def key(self, *keys: str) -> None:
        self.screen.xdotool("key", "--clearmodifiers", "--delay", "60", *keys)
        time.sleep(0.25)

    def type(self, text: str) -> None:
        self.screen.xdotool("type", "--delay", "25", text)
        time.sleep(0.2)

    def save_as(self, path: Path) -> None:
        """Answer the dialog in front."""
        self.key("ctrl+a")
        self.type(str(path))
        time.sleep(0.4)
        self.key("Return")

    def shoot(self, name: str) -> None:
        """Keep a picture of the screen."""
        self.settle()
        self.step += 1
        # The pointer goes where it hides nothing; what it hovers over would look pressed.
        self.screen.xdotool("mousemove", 2, 2)
        time.sleep(0.2)
        self.look(self.out / f"{self.step:02d}-{name}.png")


def attempts_in(path: Path) -> int:
    with Document.open(path, read_only=True) as document:
        return len(document.state.attempts)


def jar_on_shelf(path: Path) -> str:
    with Document.open(path, read_only=True) as document:
        return next(jar.id for jar in document.state.jars if jar.emptied_at is None)


def walk(person: Person, folder: Path) -> None:
    """Do the whole job, with a picture after each step."""
    session = folder / "dross.stirfall"
    begin(person, session)
    record(person, session)
    explore(person)
    other_pages(person, folder)
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
    for view in ("map", "outcomes", "effects", "trust"):
        person.click(f"odds_view_{view}")
        person.settle()
        person.shoot(view)
    person.click("odds_view_curve")


def click_in_plot(person: Person, kind: str, across: float, down: float) -> None:
    (plot,) = [w for w in person.look()["widgets"] if w["kind"] == kind and w["place"][2] > 0]
    x, y, width, height = plot["place"]
    person.screen.xdotool("mousemove", round(x + across * width), round(y + down * height), "click", 1)


def other_pages(person: Person, folder: Path) -> None:
    person.key("ctrl+1")
    person.shoot("shelf")
    person.key("ctrl+3")
    person.shoot("attempts")
    person.key("ctrl+4")
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
    person.key("ctrl+2")
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
    parser.add_argument("--display", type=int, default=95, help="number of the screen")
    wanted = parser.parse_args()
    for theme in wanted.themes:
        out = (wanted.out / theme.replace(" ", "-")).resolve()
        out.mkdir(parents=True, exist_ok=True)
        print(f"{theme}:")
        walk_in(theme, out, Screen(wanted.display, wanted.size))
        print(f"  done, pictures in {out}")
    return 0


def walk_in(theme: str, out: Path, screen: Screen) -> None:
    with tempfile.TemporaryDirectory(prefix="walk-") as place:
        home = Path(place)
        folder, settings = home / "trials", home / "settings"
        folder.mkdir()
        settings.mkdir()
        values = {"theme": theme, "last_folder": str(folder), "decimal": "."}
        (settings / "settings.json").write_text(json.dumps(values))
        person = Person(screen, out, settings, home)
        try:
            walk(person, folder)
            log = settings / "stirfall.log"
            assert not log.exists() or not log.read_text(), log.read_text()
        finally:
            if person.program is not None:
                person.program.kill()
                person.program.wait()
            screen.close()


if __name__ == "__main__":
    sys.exit(main())
