"""Work that may take long, as the core sees it: submit, then be told once, done or failed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken

T = TypeVar("T")


class Job(Protocol):
    """One submitted piece of work."""

    @property
    def is_finished(self) -> bool:
        """Whether the work was done, failed or was cancelled."""
        ...

    def cancel(self) -> None:
        """Ask the work to stop; it then calls neither ``done`` nor ``failed``."""
        ...


class Executor(Protocol):
    """Runs jobs somewhere and calls back on the thread that submitted them."""

    def submit(
        self,
        job: Callable[[CancelToken], T],
        done: Callable[[T], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> Job:
        """Run ``job`` and hand its result to ``done``, or its exception to ``failed``."""
        ...


class FinishedJob:
    """A job that ran before ``submit`` returned; cancelling it changes nothing."""

    @property
    def is_finished(self) -> bool:
        """Always true."""
        return True

    def cancel(self) -> None:
        """Do nothing: the work is over."""


class ImmediateExecutor:
    """Runs each job at once on the caller's thread: for the command line, scripts and tests."""

    def submit(
        self,
        job: Callable[[CancelToken], T],
        done: Callable[[T], None],
        failed: Callable[[Exception], None] | None = None,
    ) -> FinishedJob:
        """Run ``job`` now; without ``failed`` its exception is raised, cancellation is silent."""
        from stirfall.bench.cancel import Cancelled, CancelToken

        try:
            result = job(CancelToken())
        except Cancelled:
            return FinishedJob()
        except Exception as error:
            if failed is None:
                raise
            failed(error)
            return FinishedJob()
        done(result)
        return FinishedJob()
