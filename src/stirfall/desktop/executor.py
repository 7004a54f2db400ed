"""Work off the window's thread: a pool of threads whose results come back as queued signals."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal, SignalInstance, Slot

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.desktop.collector import Collector

if TYPE_CHECKING:
    from collections.abc import Callable

_log = logging.getLogger(__name__)
T = TypeVar("T")

_CLOSE_WAIT_MS = 60_000
"""Qt ends a pool by waiting for its workers, and holds up all of Python meanwhile; so they must be gone before."""


class QtJob(QObject):
    """One submitted job: it can be cancelled, and then neither ``done`` nor ``failed`` is called.

    Signals:
        _finished, _failed: carry the result from the worker to the thread that submitted the job.
    """

    _finished = Signal(object)
    _failed = Signal(object)

    def __init__(
        self,
        done: Callable[[Any], None],
        failed: Callable[[Exception], None] | None,
        forget: Callable[[QtJob], None],
    ) -> None:
        super().__init__()
        self.token = CancelToken()
        self.is_finished = False
        self._done, self._on_failure, self._forget = done, failed, forget
        self._finished.connect(self._deliver, Qt.ConnectionType.QueuedConnection)
        self._failed.connect(self._deliver_failure, Qt.ConnectionType.QueuedConnection)

    def cancel(self) -> None:
        """Ask the job to stop and drop whatever it still returns."""
        self.token.cancel()

    def run(self, job: Callable[[CancelToken], T]) -> None:
        """Run the job; called on a worker thread."""
        try:
            self.token.raise_if_cancelled()
            result = job(self.token)
        except Cancelled:
            self.token.cancel()
            self._send(self._finished, None)
        except Exception as error:
            self._send(self._failed, error)
        else:
            self._send(self._finished, result)

    def _send(self, signal: SignalInstance, content: object) -> None:
        try:
            signal.emit(content)
        except RuntimeError:  # the window and this object went while a long job was still running
            _log.debug("nobody waits for %r any more", content)

    @Slot(object)
    def _deliver(self, result: object) -> None:
        self.is_finished = True
        self._forget(self)
        if not self.token.is_cancelled:
            self._done(result)

    @Slot(object)
    def _deliver_failure(self, error: Exception) -> None:
        self.is_finished = True
        self._forget(self)
        if self.token.is_cancelled:
            _log.debug("a cancelled job failed late: %r", error)
        elif self._on_failure is None:
            raise error
        else:
            self._on_failure(error)


class _Runnable(QRunnable):
    def __init__(self, handle: QtJob, job: Callable[[CancelToken], T]) -> None:
        super().__init__()
        self._handle, self._job = handle, job

    def run(self) -> None:
        self._handle.run(self._job)


class QtExecutor(QObject):
    """Runs jobs on a pool of its own; ``done`` and ``failed`` are called on the thread that submitted."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(2)
        self._running: set[QtJob] = set()
        self._is_closed = False
        self.collector = Collector(self)

    def submit(
        self,
        job: Callable[[CancelToken], T],
        done: Callable[[T], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> QtJob:
        """Start ``job(token)`` on a worker and return its handle; after ``close`` nothing is started any more."""
        handle = QtJob(done, failed, self._running.discard)
        if self._is_closed:  # a pool that goes with a worker in it holds up all of Python for ever
            handle.cancel()
            handle.is_finished = True
            return handle
        self._running.add(handle)
        self._pool.start(_Runnable(handle, job))
        return handle

    @property
    def is_idle(self) -> bool:
        """Whether every submitted job has been delivered or dropped."""
        return not self._running

    def close(self) -> None:
        """Cancel everything, start nothing more, and wait for the workers, which stop at their next poll."""
        self._is_closed = True
        for handle in tuple(self._running):
            handle.cancel()
        self._pool.clear()
        self._pool.waitForDone(_CLOSE_WAIT_MS)
        self._running.clear()
        self.collector.stop()
