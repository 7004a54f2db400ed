"""A screen of our own, and someone in front of it: what the walk and the evening on a screen share.

It needs Xvfb and xdotool, and takes openbox where that is there. It ends, by process id, only what it started.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import stirfall

HERE = Path(__file__).resolve().parent
SOURCE = Path(stirfall.__file__).resolve().parents[1]
LONG_S = 40.0


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


def _zone_where_it_is_morning() -> str:
    """Return a zone (POSIX: hours to add for UTC) where it is ten now: what is played crosses no midnight."""
    return f"PLAY{datetime.now(UTC).hour - 10:+d}"


class Person:
    """Someone at the screen; looks through the probe, acts through pointer and keyboard only."""

    def __init__(self, screen: Screen, out: Path, settings: Path, home: Path) -> None:
        self.screen, self.out, self.home = screen, out, home
        self.settings = settings
        self.number = 0
        self.step = 0
        self.program: subprocess.Popen[bytes] | None = None
        self.folder = Path(tempfile.mkdtemp(prefix="probe-", dir=home))

    def start(self, *session: Path, clock: Path | None = None) -> None:
        """Start the program, perhaps with a session and with the clock of a test, and wait for its window."""
        environment = self.screen.environment | {
            "STIRFALL_SETTINGS_DIR": str(self.settings),
            "HOME": str(self.home),
            "PYTHONPATH": str(SOURCE),
            "XDG_CONFIG_HOME": str(self.home / "config"),
        }
        if clock is not None:
            environment["STIRFALL_TEST_CLOCK"] = str(clock)
            environment["TZ"] = _zone_where_it_is_morning()
        command = [sys.executable, str(HERE / "app_on_a_screen.py"), str(self.folder), *map(str, session)]
        self.program = subprocess.Popen(command, env=environment, cwd=self.home)
        self.wait(lambda seen: any(widget["name"] == "main_window" for widget in seen["widgets"]))
        time.sleep(0.5)

    def leave(self) -> None:
        """Quit by key and wait for the end."""
        assert self.program is not None
        self.screen.xdotool("key", "--clearmodifiers", "ctrl+q")
        assert self.program.wait(timeout=60) == 0
        self.program = None

    def kill(self) -> None:
        """Pull the plug: the program gets no chance to do anything more."""
        assert self.program is not None
        self.program.send_signal(signal.SIGKILL)
        assert self.program.wait(timeout=60) == -signal.SIGKILL
        self.program = None

    def look(self, picture: Path | None = None) -> dict:
        """Return what is in view."""
        return self._ask(picture=str(picture) if picture else None)

    def pause(self, seconds: float = 0.03) -> None:
        """Wait a moment, and until the program has taken in what was done, however busy the computer is."""
        time.sleep(seconds)
        self._ask(is_brief=True)

    def _ask(self, **words: object) -> dict:
        assert self.program is not None
        assert self.program.poll() is None, "the program has ended"
        self.number += 1
        question = self.folder / "ask.part"
        question.write_text(json.dumps({"number": self.number, **words}))
        question.replace(self.folder / "ask.json")
        answer = self.folder / f"answer-{self.number}.json"
        deadline = time.monotonic() + LONG_S
        while not answer.exists():
            assert self.program.poll() is None, "the program has ended"
            assert time.monotonic() < deadline, "the program does not answer"
            time.sleep(0.01)
        return json.loads(answer.read_text())

    def wait(self, is_so: Callable[[dict], bool]) -> dict:
        deadline = time.monotonic() + LONG_S
        while not is_so(seen := self.look()):
            if time.monotonic() > deadline:
                stuck = self.out / "stuck.png"
                self.look(stuck)
                raise AssertionError(f"it did not happen, see {stuck}")
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
        self.pause()
        self.screen.xdotool("click", 1)
        self.pause()

    def scroll_to(self, name: str, area: str) -> None:
        """Turn the wheel over a scroll area until a widget in it is whole in view."""
        for button in [5] * 30 + [4] * 60:
            if self.find(name)["place"][3] >= 30:
                return
            x, y, width, height = self.find(area)["place"]
            self.screen.xdotool("mousemove", x + width // 4, y + height // 2, "click", button)
        raise AssertionError(f"{name} cannot be scrolled to")

    def key(self, *keys: str) -> None:
        self.screen.xdotool("key", "--clearmodifiers", "--delay", "20", *keys)
        self.pause()

    def type(self, text: str) -> None:
        self.screen.xdotool("type", "--delay", "20", text)
        self.pause(0.1)  # a letter that may begin a scan is kept back for a while

    def scan(self, code: str) -> None:
        """Hold a code before the scanner, which types it faster than any person and ends with Enter."""
        self.screen.xdotool("type", "--delay", "4", code)
        self.screen.xdotool("key", "Return")
        self.pause(0.1)

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
