"""Cycles are collected on the window's thread only, while workers work and when they end."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot

from stirfall.bench.cancel import CancelToken
from stirfall.desktop.executor import QtExecutor


@pytest.fixture
def threads() -> Iterator[list[int]]:
    """The threads on which collections began."""
    seen: list[int] = []

    def note(phase: str, _info: dict[str, int]) -> None:
        if phase == "start":
            seen.append(threading.get_ident())

    gc.callbacks.append(note)
    yield seen
    gc.callbacks.remove(note)


def cycles(count: int) -> None:
    for _ in range(count):
        ring: list[object] = []
        ring.append(ring)


def test_no_worker_collects_neither_at_work_nor_at_its_end(qtbot: QtBot, threads: list[int]) -> None:
    executor = QtExecutor()
    done: list[None] = []

    def job(_token: CancelToken) -> None:
        cycles(20_000)

    for _ in range(30):
        executor.submit(job, done.append)
    qtbot.waitUntil(lambda: len(done) == 30, timeout=10_000)
    assert not gc.isenabled()
    executor.collector.collect()
    executor.close()
    assert gc.isenabled()
    assert threads, "the window's thread collected"
    assert set(threads) == {threading.get_ident()}


def test_what_is_due_is_collected_by_the_timer(qtbot: QtBot, threads: list[int]) -> None:
    executor = QtExecutor()
    cycles(5_000)
    before = gc.get_count()[0]
    assert before > gc.get_threshold()[0]
    qtbot.waitUntil(lambda: bool(threads), timeout=5_000)
    assert gc.get_count()[0] < before
    executor.close()


def test_an_executor_that_goes_without_being_closed_gives_collection_back(qtbot: QtBot) -> None:
    executor = QtExecutor()
    assert not gc.isenabled()
    executor.deleteLater()
    qtbot.waitUntil(gc.isenabled, timeout=5_000)
