"""Jobs that run at once: done, failed or silently cancelled."""

from __future__ import annotations

import pytest

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.session.jobs import ImmediateExecutor


def test_the_result_is_handed_over_before_submit_returns() -> None:
    results: list[int] = []
    job = ImmediateExecutor().submit(lambda token: 6 * 7, results.append)
    assert results == [42]
    assert job.is_finished


def test_a_failure_goes_to_its_handler_or_to_the_caller() -> None:
    def fail(token: CancelToken) -> int:
        raise ValueError("no")

    failures: list[Exception] = []
    ImmediateExecutor().submit(fail, lambda result: None, failures.append)
    assert [str(error) for error in failures] == ["no"]
    with pytest.raises(ValueError, match="no"):
        ImmediateExecutor().submit(fail, lambda result: None)


def test_a_failure_of_the_receiver_is_not_taken_for_a_failure_of_the_work() -> None:
    def receive(result: int) -> None:
        raise KeyError(result)

    with pytest.raises(KeyError):
        ImmediateExecutor().submit(lambda token: 1, receive, lambda error: None)


def test_cancelled_work_is_a_normal_end_that_nobody_hears_of() -> None:
    def stop(token: CancelToken) -> int:
        token.cancel()
        token.raise_if_cancelled()
        return 1

    heard: list[object] = []
    ImmediateExecutor().submit(stop, heard.append, heard.append).cancel()
    assert heard == []
    with pytest.raises(Cancelled):
        stop(CancelToken())
