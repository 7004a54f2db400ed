"""Who plays the campaigns of a rehearsal: this process, processes of this computer, or a Dask cluster.

Every campaign is played by the same function from the same numbers, so that it does not matter who plays it.
"""

from __future__ import annotations

import os
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from types import TracebackType

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.planning.rehearsal_play import Played, play
from stirfall.planning.rehearsal_task import RehearsalTask, Rules
from stirfall.planning.rehearsal_truth import Truth

Unit = tuple[str, int]
"""One campaign to play: its order, and the number of its truth."""

Keep = Callable[[Played], None]

# How often a wish to stop is looked for while others play, in seconds.
_POLL_S = 0.2
_CONNECT_S = 10
_NICE = 10


def play_here(task: RehearsalTask, units: Sequence[Unit], keep: Keep, token: CancelToken) -> None:
    """Play the campaigns one after the other in this process. Raises Cancelled."""
    for order, number in units:
        played = play(task.rules, task.truths[number], order, number, lambda: token.is_cancelled)
        token.raise_if_cancelled()
        assert played is not None
        keep(played)


def play_on_cores(task: RehearsalTask, units: Sequence[Unit], keep: Keep, token: CancelToken, *, jobs: int) -> None:
    """Play the campaigns in ``jobs`` processes of this computer. Raises Cancelled."""
    from joblib import Parallel, delayed

    with _StopFile(token) as stop:

        def wanted() -> Iterator[object]:
            for order, number in units:
                if token.is_cancelled:
                    return
                yield delayed(play_until)(task.rules, task.truths[number], order, number, stop.name)

        parallel = Parallel(n_jobs=jobs, return_as="generator_unordered", batch_size=1)
        for played in parallel(wanted()):
            if played is not None:
                keep(played)
    token.raise_if_cancelled()


def play_until(rules: Rules, truth: Truth, order: str, number: int, stop_name: str) -> Played | None:
    """Play one campaign in a process of its own, until a file of this name appears."""
    _stay_in_the_background()
    return play(rules, truth, order, number, Path(stop_name).exists)


def play_on_cluster(
    task: RehearsalTask, units: Sequence[Unit], keep: Keep, token: CancelToken, *, address: str
) -> None:
    """Play the campaigns on the workers of a Dask scheduler, which have this program too. Raises Cancelled.

    Raises InputError ``rehearsal.no_dask`` or ``rehearsal.cluster_unreachable``.
    """
    try:
        from distributed import Client, wait
    except ImportError as error:
        raise InputError("rehearsal.no_dask") from error
    try:
        client = Client(address, timeout=_CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError("rehearsal.cluster_unreachable", address=address) from error
    with client, client.as_current():
        rules = client.scatter(task.rules, broadcast=True)
        waiting = {
            client.submit(play, rules, task.truths[number], order, number, pure=False) for order, number in units
        }
        while waiting:
            if token.is_cancelled:
                client.cancel(list(waiting))
                break
            try:
                done = wait(waiting, timeout=_POLL_S, return_when="FIRST_COMPLETED").done
            except TimeoutError:
                continue
            for future in done:
                keep(future.result())
            waiting -= done
    token.raise_if_cancelled()


@cache
def _stay_in_the_background() -> None:
    """Let whatever the person does go first, and leave it to the program to stop this process.

    A key that interrupts the program reaches its other processes too.
    """
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(_NICE)


class _StopFile:
    """A file that appears once the token is cancelled: other processes cannot see the token."""

    def __init__(self, token: CancelToken) -> None:
        self._token = token
        self._over = threading.Event()

    def __enter__(self) -> _StopFile:
        self._folder = tempfile.TemporaryDirectory(prefix="stirfall-rehearsal-")
        self.name = str(Path(self._folder.name) / "stop")
        self._watch = threading.Thread(target=self._look, name="rehearsal stop", daemon=True)
        self._watch.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._watch.join()
        if kind is not None:
            Path(self.name).touch()
        self._folder.cleanup()

    def _look(self) -> None:
        while not self._over.wait(_POLL_S):
            if self._token.is_cancelled:
                Path(self.name).touch()
                return
