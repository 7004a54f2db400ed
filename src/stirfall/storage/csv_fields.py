"""How long one field of a CSV file may be: the csv module has one limit for the whole process."""

from __future__ import annotations

import csv
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_lock = threading.Lock()
_readers = 0
_usual = csv.field_size_limit()


@contextmanager
def long_fields(most: int) -> Iterator[None]:
    """Fields may have ``most`` characters inside; afterwards, when no other reader needs it, as many as usual."""
    global _readers  # noqa: PLW0603  # the limit belongs to the process, and so does the count of its users
    with _lock:
        _readers += 1
        csv.field_size_limit(max(most, csv.field_size_limit()))
    try:
        yield
    finally:
        with _lock:
            _readers -= 1
            if _readers == 0:
                csv.field_size_limit(_usual)
