"""A real process is killed in the middle of a run: each event that it acknowledged is there, and so is each second.

The witness of the time is the kernel's own counter of seconds since the start of the computer (clock_gettime(2),
CLOCK_BOOTTIME), read in this process before and after.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions
from stirfall.bench.records import CampaignSettings
from stirfall.bench.running import EventKind, RunEvent, Step
from stirfall.session.commands import AddRunEvent, BeginRun
from stirfall.session.document import Document
from stirfall.session.run_plan import plan_run
from stirfall.session.run_view import run_view

ROOT = Path(__file__).parents[2]
KILLS = 2

pytestmark = pytest.mark.skipif(
    not hasattr(time, "CLOCK_BOOTTIME"), reason="needs SIGKILL and the counter of Linux"
)


def _counter() -> float:
    return time.clock_gettime(time.CLOCK_BOOTTIME)


def _go_on_and_kill(path: Path) -> set[str]:
    """Let a process go on with the run, kill it, and return the events that it acknowledged."""
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("run_in_a_loop.py")), str(path)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline().startswith("open")
        timer = threading.Timer(0.1, process.send_signal, [signal.SIGKILL])
        timer.start()
        lines = process.stdout.readlines()
        timer.join()
        assert process.wait(timeout=60) == -signal.SIGKILL
    return {line.split()[1] for line in lines if line.endswith("\n")}


def test_no_event_and_no_second_of_a_run_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "evening.stirfall"
    with Document.create(path, CampaignSettings()) as document:
        planned = plan_run(document.state, Conditions(), jar=None, lot=None, started_at=document.now())
        document.execute(BeginRun(planned))
        run_id = document.state.runs[0].id
        before = _counter()
        document.execute(AddRunEvent(RunEvent("", run_id, EventKind.STEP, document.now(), step=Step.HEAT)))
        after = _counter()
    written: set[str] = set()
    for _ in range(KILLS):
        written |= _go_on_and_kill(path)
    with Document.open(path) as document:
        run = document.state.open_run
        assert run is not None
        assert written <= {event.id for event in run.events}
        assert len(run.events) - 1 - len(written) <= KILLS  # at most one on its way per kill
        least = _counter() - after
        view = run_view(document.state, run, document.moment())
        most = _counter() - before
    assert view.step is Step.HEAT
    assert int(least) <= view.elapsed_s <= most
    assert least > 0.2
