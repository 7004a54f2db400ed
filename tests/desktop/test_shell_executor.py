"""Work off the window's thread: where it runs, how it fails, and that cancelled work stays silent."""

from __future__ import annotations

import threading
import time
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.cancel import CancelToken
from stirfall.desktop.executor import QtExecutor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot


@pytest.fixture
def executor(qtbot: QtBot) -> Iterator[QtExecutor]:
    made = QtExecutor()
    yield made
    made.close()


def test_a_job_runs_elsewhere_and_answers_here(executor: QtExecutor, qtbot: QtBot) -> None:
    seen: list[tuple[int, int]] = []
    executor.submit(
        lambda _token: threading.get_ident(), lambda worker: seen.append((worker, threading.get_ident()))
    )
    qtbot.waitUntil(lambda: bool(seen))
    worker, here = seen[0]
    assert worker != here
    assert here == threading.get_ident()
    assert executor.is_idle


def test_a_failing_job_tells_its_error(executor: QtExecutor, qtbot: QtBot) -> None:
    def fail(_token: CancelToken) -> None:
        raise ValueError("no")

    errors: list[Exception] = []
    job = executor.submit(fail, lambda _result: None, errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert isinstance(errors[0], ValueError)
    assert job.is_finished


def test_a_cancelled_job_stops_and_stays_silent(executor: QtExecutor, qtbot: QtBot) -> None:
    started = threading.Event()

    def never_ends(token: CancelToken) -> None:
        started.set()
        while True:
            token.raise_if_cancelled()

    told: list[object] = []
    job = executor.submit(never_ends, told.append, told.append)
    assert started.wait(5)
    job.cancel()
    qtbot.waitUntil(lambda: executor.is_idle)
    assert told == []
    assert job.is_finished


def test_a_result_that_arrives_after_cancelling_is_dropped(executor: QtExecutor, qtbot: QtBot) -> None:
    go_on = threading.Event()
    told: list[object] = []
    job = executor.submit(lambda _token: go_on.wait(5), told.append, told.append)
    job.cancel()
    go_on.set()
    qtbot.waitUntil(lambda: executor.is_idle)
    assert told == []


def test_closing_ends_a_job_that_would_never_end(qtbot: QtBot) -> None:
    executor = QtExecutor()
    ended = threading.Event()

    def never_ends(token: CancelToken) -> None:
        try:
            while True:
                token.raise_if_cancelled()
        finally:
            ended.set()

    started = threading.Event()
    executor.submit(lambda token: (started.set(), never_ends(token)), lambda _result: None)
    assert started.wait(5)
    executor.close()
    assert ended.is_set()


def test_closing_waits_for_a_worker_that_cannot_be_stopped(qtbot: QtBot) -> None:
    # As while a large library is being loaded: no token stops that, and Qt must not be left to wait for it.
    executor = QtExecutor()
    started, ended = threading.Event(), threading.Event()

    def work(_token: CancelToken) -> None:
        started.set()
        time.sleep(2.2)
        ended.set()

    executor.submit(work, lambda _result: None)
    assert started.wait(30)
    executor.close()
    assert ended.is_set()


def test_nothing_is_started_after_closing(qtbot: QtBot) -> None:
    executor = QtExecutor()
    executor.close()
    told: list[object] = []
    job = executor.submit(told.append, told.append, told.append)
    assert job.is_finished
    assert executor.is_idle
    assert told == []
