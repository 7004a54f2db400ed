"""Holding off Python's collection of reference cycles, for as long as anybody asks for it."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_lock = threading.Lock()
_holders = 0
_was_enabled = False


@contextmanager
def collection_held() -> Iterator[None]:
    """No cycle is collected inside, on whatever thread; nested and parallel uses end with the last one.

    Two needs: building many small lasting objects triggers the collector over and over for nothing; and what a
    collection on a worker thread frees may be a widget, which only the window's own thread may free.
    """
    global _holders, _was_enabled  # noqa: PLW0603  # the collector is one for the whole process, and so is this
    with _lock:
        if _holders == 0:
            _was_enabled = gc.isenabled()
            gc.disable()
        _holders += 1
    try:
        yield
    finally:
        with _lock:
            _holders -= 1
            if _holders == 0 and _was_enabled:
                gc.enable()
