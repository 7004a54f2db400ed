"""Who plays a rehearsal does not matter: this process, other processes, a local cluster, a thread of the window."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.planning.rehearsal import Kept, Played, RehearsalTask, Rehearsed, rehearse
from stirfall.session.analysis import analyse
from stirfall.session.rehearsing import rehearsal_task

ORDERS = ("planned for reliability", "space filling")
FACTORS = (
    Factor("age", "h", 2.0, 96.0, Scale.LOG, role=Role.OIL_EXPOSURE),
    Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0),
)
BEGUN = datetime(2026, 11, 30, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def task() -> RehearsalTask:
    attempts = tuple(
        Attempt(f"a{number}", number, Conditions({"age": age, "stirring time": 90.0}), parted=parted, pooled=pooled)
        for number, (age, parted, pooled) in enumerate(
            [(4.0, Parted.NO, None), (24.0, Parted.YES, Pooled.ONE_POOL), (72.0, Parted.YES, Pooled.BEADS)], 1
        )
    )
    state = CampaignState(CampaignSettings(invented=True, oil_flash_c=220.0), FACTORS, attempts=attempts)
    return rehearsal_task(analyse(state), now=BEGUN, campaigns=4, most=3, target=0.97, tz=UTC)


@pytest.fixture(scope="module")
def here(task: RehearsalTask) -> list[Played]:
    return _played(task, jobs=1)[1]


def _played(task: RehearsalTask, **how) -> tuple[Rehearsed, list[Played]]:
    kept = Kept()
    told = rehearse(task, orders=ORDERS, record=kept, **how)
    return told, sorted(kept.played, key=lambda each: (each.number, each.order))


@pytest.fixture
def cluster() -> Iterator[str]:
    """A scheduler on this computer with a worker in this process: what a task sees is the same as far away."""
    import dask
    from distributed import LocalCluster

    quiet = {"distributed.admin.system-monitor.interval": "60s", "distributed.worker.memory.terminate": False}
    with (
        dask.config.set(quiet),
        LocalCluster(
            n_workers=1, threads_per_worker=1, processes=True, dashboard_address=None, memory_limit=0
        ) as running,
    ):
        yield running.scheduler_address


@pytest.mark.slow
def test_processes_of_this_computer_give_the_same_answer(task: RehearsalTask, here: list[Played]) -> None:
    assert len(here) == 8
    assert any(each.first is None for each in here)
    told, there = _played(task, jobs=2)
    assert there == here
    assert told.is_whole


@pytest.mark.slow
def test_a_local_cluster_gives_the_same_answer(task: RehearsalTask, here: list[Played], cluster: str) -> None:
    assert _played(task, cluster=cluster)[1] == here
    token, kept = CancelToken(), Kept()
    with pytest.raises(Cancelled):
        rehearse(
            task,
            orders=ORDERS,
            cluster=cluster,
            record=kept,
            token=token,
            progress=lambda done, _of: token.cancel() if done else None,
        )
    assert 1 <= len(kept.played) < len(here)
    assert all(each in here for each in kept.played)


def test_a_scheduler_that_does_not_answer_is_told(task: RehearsalTask, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("stirfall.planning.rehearsal_runs._CONNECT_S", 0.3)
    with pytest.raises(InputError, match="cluster_unreachable"):
        rehearse(task, orders=ORDERS, cluster="tcp://127.0.0.1:9")


@pytest.mark.slow
def test_other_processes_stop_within_about_a_second_and_what_is_done_is_kept(
    task: RehearsalTask, here: list[Played]
) -> None:
    kept, token, wished = Kept(), CancelToken(), []

    def stop_after_two(done: int, of: int) -> None:
        if done == 2:
            wished.append(time.monotonic())
            token.cancel()

    with pytest.raises(Cancelled):
        rehearse(task, orders=ORDERS, jobs=2, record=kept, progress=stop_after_two, token=token)
    assert time.monotonic() - wished[0] < 5.0  # a second on an idle computer; tests share theirs
    assert 2 <= len(kept.played) < len(here)
    assert all(each in here for each in kept.played)


@pytest.mark.slow
def test_a_rehearsal_from_a_thread_of_the_window_uses_processes_without_a_window(
    task: RehearsalTask, here: list[Played], qtbot
) -> None:
    from stirfall.desktop.executor import QtExecutor

    executor, told = QtExecutor(), []
    executor.submit(lambda token: (_played(task, jobs=2, token=token)[1], threading.current_thread()), told.append)
    qtbot.waitUntil(lambda: bool(told), timeout=60_000)
    executor.close()
    played, thread = told[0]
    assert played == here
    assert thread is not threading.main_thread()
    from joblib import Parallel, delayed

    assert Parallel(n_jobs=2)(delayed(_modules_of_a_window)() for _ in range(2)) == [[], []]


def _modules_of_a_window() -> list[str]:
    import sys

    return [name for name in sys.modules if name.startswith(("PySide6", "shiboken6", "stirfall.desktop"))]


def test_the_program_starts_without_the_libraries_of_rehearsals(tmp_path: Path) -> None:
    import subprocess
    import sys

    code = (
        "import stirfall, stirfall.planning.rehearsal, stirfall.session.rehearsing, sys; "
        "print([m for m in ('joblib', 'dask', 'distributed') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.slow
def test_a_killed_rehearsal_is_gone_on_with_where_it_was(tmp_path: Path) -> None:
    import json
    import os
    import signal
    import subprocess
    import sys

    from stirfall import Campaign

    session, record = tmp_path / "tin.stirfall", tmp_path / "record.jsonl"
    with Campaign.new(session, factors=FACTORS, invented=True, oil_flash_c=220.0) as made:
        made.record({"age": 24.0, "stirring time": 90.0}, parted="yes", pooled="one pool")
        made.record({"age": 4.0, "stirring time": 90.0}, parted="no")
    command = [sys.executable, "-m", "stirfall", "rehearse", str(session), "--record", str(record), "--jobs", "1"]
    command += ["--orders", "random", "--most", "4", "--json", "--campaigns"]
    first = subprocess.Popen([*command, "500"], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    assert first.stderr is not None
    while not (record.exists() and record.read_bytes().count(b"\n") >= 3):
        assert first.poll() is None, first.stderr.read()
        time.sleep(0.02)
    os.kill(first.pid, signal.SIGKILL)
    first.communicate(timeout=30)
    kept = record.read_bytes().count(b"\n") - 1
    assert kept < 500
    on = subprocess.run([*command, str(kept + 1)], capture_output=True, text=True, check=True, timeout=60)
    assert f"Rehearsing: {kept} of {kept + 1} campaigns" in on.stderr
    (order,) = json.loads(on.stdout)["orders"]
    assert order["campaigns"] == kept + 1 == len(order["attempts"]["values"])
