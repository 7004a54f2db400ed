"""A wish to stop, seen by another thread."""

from __future__ import annotations

import threading

import pytest

from stirfall.bench.cancel import Cancelled, CancelToken


def test_a_token_starts_calm_and_stays_cancelled():
    token = CancelToken()
    assert not token.is_cancelled
    token.raise_if_cancelled()
    token.cancel()
    token.cancel()
    assert token.is_cancelled
    with pytest.raises(Cancelled):
        token.raise_if_cancelled()


def test_work_in_another_thread_sees_the_wish():
    token, seen = CancelToken(), threading.Event()

    def work():
        try:
            while True:
                token.raise_if_cancelled()
        except Cancelled:
            seen.set()

    thread = threading.Thread(target=work)
    thread.start()
    token.cancel()
    thread.join(5)
    assert seen.is_set()
