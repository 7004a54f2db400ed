"""Stopping long work from another thread: being cancelled is a normal end, not an error."""

from __future__ import annotations

from threading import Event


class Cancelled(Exception):  # noqa: N818 - a normal end of work, not an error
    """Raised inside work whose token was cancelled."""


class CancelToken:
    """A wish to stop, set by one thread and polled by another."""

    __slots__ = ("_wish",)

    def __init__(self) -> None:
        self._wish = Event()

    def cancel(self) -> None:
        """Ask the work to stop; asking twice changes nothing."""
        self._wish.set()

    @property
    def is_cancelled(self) -> bool:
        """Whether the work was asked to stop."""
        return self._wish.is_set()

    def raise_if_cancelled(self) -> None:
        """Raise Cancelled when the work was asked to stop."""
        if self._wish.is_set():
            raise Cancelled
