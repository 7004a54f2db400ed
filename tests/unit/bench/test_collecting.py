"""The collector is held off while anybody asks for it, and goes on as it was."""

from __future__ import annotations

import gc
import threading

from stirfall.bench.collecting import collection_held


def test_collection_is_held_until_the_last_holder_lets_go() -> None:
    assert gc.isenabled()
    inside, leave = threading.Event(), threading.Event()

    def hold() -> None:
        with collection_held():
            inside.set()
            leave.wait(10)

    other = threading.Thread(target=hold)
    with collection_held():
        other.start()
        assert inside.wait(10)
    assert not gc.isenabled(), "the other thread still holds it"
    leave.set()
    other.join(10)
    assert gc.isenabled()


def test_a_collector_that_was_off_stays_off_and_an_error_lets_go() -> None:
    gc.disable()
    try:
        with collection_held():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()
    try:
        with collection_held():
            raise ValueError
    except ValueError:
        assert gc.isenabled()
