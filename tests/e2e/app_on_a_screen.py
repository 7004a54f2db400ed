"""Start the program as ever and answer, through files, where its widgets are; run by walk_on_a_screen.py.

``app_on_a_screen.py FOLDER [SESSION]``: a question is a file FOLDER/ask.json, {"number": n, "picture": path or
null}; the answer is FOLDER/answer-n.json with every widget in view, and the picture shows the whole screen. With
{"number": n, "is_brief": true} the answer is empty and says that what came before was taken in.
With STIRFALL_TEST_CLOCK=FILE the sessions' clock runs ahead of the computer's by the seconds in that file.
"""

from __future__ import annotations

import json
import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtCore import QPoint, QRect, QTimer
from PySide6.QtWidgets import QApplication, QWidget

from stirfall.bench.running import Moment
from stirfall.desktop.app import application, run
from stirfall.desktop.shell import Shell
from stirfall.session.clock import SystemClock

OFTEN_MS = 20


class Probe:
    """Looks for questions in a folder and answers them from the window's thread."""

    def __init__(self, app: QApplication, folder: Path) -> None:
        self._app, self._folder = app, folder
        self._timer = QTimer(app)
        self._timer.timeout.connect(self._look)
        self._timer.start(OFTEN_MS)

    def _look(self) -> None:
        question = self._folder / "ask.json"
        if not question.exists():
            return
        asked = json.loads(question.read_text(encoding="utf-8"))
        question.unlink()
        if asked.get("picture"):
            self._app.primaryScreen().grabWindow(0).save(asked["picture"], "PNG")
        if asked.get("is_brief"):
            # Once more around the loop of events, so that keys that wait are taken in before the answer.
            QTimer.singleShot(0, lambda: self._answer(asked["number"], {}))
            return
        self._answer(asked["number"], {"widgets": self._widgets(), "is_idle": self._is_idle()})

    def _answer(self, number: int, answer: dict[str, object]) -> None:
        part = self._folder / "answer.part"
        part.write_text(json.dumps(answer), encoding="utf-8")
        part.replace(self._folder / f"answer-{number}.json")

    def _is_idle(self) -> bool:
        shells = [child for child in self._app.children() if isinstance(child, Shell)]
        return all(shell.executor.is_idle for shell in shells)

    def _widgets(self) -> list[dict[str, object]]:
        modal = self._app.activeModalWidget()
        focus = self._app.focusWidget()
        return [
            described(widget) | {"has_focus": widget is focus}
            for widget in self._app.allWidgets()
            if widget.isVisible() and (modal is None or widget is modal or modal.isAncestorOf(widget))
        ]


def described(widget: QWidget) -> dict[str, object]:
    """Return what a person can tell about a widget; its place is in pixels of the screen, as far as in view."""
    seen = part_in_view(widget)
    text = getattr(widget, "text", None)
    return {
        "name": widget.objectName(),
        "kind": type(widget).__name__,
        "accessible_name": widget.accessibleName(),
        "text": text() if callable(text) else text if isinstance(text, str) else "",
        "is_enabled": widget.isEnabled(),
        "place": [*widget.mapToGlobal(seen.topLeft()).toTuple(), max(seen.width(), 0), max(seen.height(), 0)],
    }


def part_in_view(widget: QWidget) -> QRect:
    """Return the part of a widget that its parents leave in view, in its own coordinates."""
    seen = widget.rect()
    parent = None if widget.isWindow() else widget.parentWidget()
    while parent is not None:
        seen &= QRect(widget.mapFrom(parent, QPoint(0, 0)), parent.size())
        parent = None if parent.isWindow() else parent.parentWidget()
    return seen


class AheadClock(SystemClock):
    """The clock and counter of the computer, ahead by the seconds that a file holds at that moment."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self._path = path

    def moment(self) -> Moment:
        """Return the present moment by clock and counter."""
        ahead = float(self._path.read_text())
        real = super().moment()  # its time is that of ``now`` below
        return Moment(real.at, (real.ticks_s or 0.0) + ahead, real.boot)

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        return super().now() + timedelta(seconds=float(self._path.read_text()))


def main() -> int:
    folder, *session = sys.argv[1:]
    probe = Probe(application(), Path(folder))
    clock = os.environ.get("STIRFALL_TEST_CLOCK")
    code = run(session, clock=AheadClock(Path(clock)) if clock else None)
    del probe
    return code


if __name__ == "__main__":
    sys.exit(main())
