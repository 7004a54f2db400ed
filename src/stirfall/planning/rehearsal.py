"""Rehearsal: whole campaigns played ahead, to tell how many attempts and weeks to expect, and by which order.

``rehearse`` plays them over the cores of this computer, or over a cluster; it can be stopped and gone on with.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.planning.orders import Order
from stirfall.planning.rehearsal_guess import Guess, Hump
from stirfall.planning.rehearsal_keep import Kept, KeptInFile
from stirfall.planning.rehearsal_play import Played, play
from stirfall.planning.rehearsal_runs import Unit, play_here, play_on_cluster, play_on_cores
from stirfall.planning.rehearsal_summary import (
    Against,
    Distribution,
    OrderRehearsed,
    Quantile,
    Rehearsed,
    summarise,
)
from stirfall.planning.rehearsal_task import RehearsalTask, Rules

__all__ = [
    "ORDERS",
    "Against",
    "Distribution",
    "Guess",
    "Hump",
    "Kept",
    "OrderRehearsed",
    "Played",
    "Progress",
    "Quantile",
    "RehearsalTask",
    "Rehearsed",
    "Rules",
    "play",
    "read_orders",
    "rehearse",
    "summarise",
]

ORDERS: tuple[Order, ...] = tuple(Order)
"""All orders that can be rehearsed: those of each goal, then the plain ones."""

Progress = Callable[[int, int], None]
"""Called with the campaigns done and those asked for, on the thread that rehearses."""


def rehearse(
    task: RehearsalTask,
    *,
    orders: Sequence[Order | str] = ORDERS,
    jobs: int = -1,
    cluster: str | None = None,
    record: Path | Kept | None = None,
    progress: Progress | None = None,
    token: CancelToken | None = None,
) -> Rehearsed:
    """Play one campaign per truth and order and return what they add up to.

    ``jobs`` processes of this computer share the work, -1: as many as it has cores; with ``cluster``, the address
    of a Dask scheduler, its workers do. The answer is the same in each case. ``record`` keeps every campaign as
    it is finished, in a file or in memory; campaigns that it holds already are not played again. Raises InputError
    ``rehearsal.*``, ``limits.*`` where nothing may be tried, FileTroubleError ``rehearsal.record_*``, and Cancelled
    within about a second of the token's wish; what was finished by then is kept in the record.
    """
    wanted, token = read_orders(orders), token or CancelToken()
    if not task.truths:
        raise InputError("rehearsal.no_campaigns")
    if jobs == 0 or jobs < -1:
        raise InputError("rehearsal.jobs", value=jobs)
    kept = KeptInFile(record) if isinstance(record, Path) else record or Kept()
    kept.begin(task)
    try:
        _play_missing(task, wanted, kept, jobs=jobs, cluster=cluster, progress=progress, token=token)
    finally:
        kept.close()
    whole = summarise(task, wanted, kept.played)
    assert whole is not None
    return whole


def _play_missing(
    task: RehearsalTask,
    orders: Sequence[str],
    kept: Kept,
    *,
    jobs: int,
    cluster: str | None,
    progress: Progress | None,
    token: CancelToken,
) -> None:
    units = [(order, number) for number in range(len(task.truths)) for order in orders]
    known = {(each.order, each.number) for each in kept.played}
    missing: list[Unit] = [unit for unit in units if unit not in known]
    done, of = len(units) - len(missing), len(units)

    def keep(played: Played) -> None:
        nonlocal done
        kept.add(played)
        done += 1
        if progress is not None:
            progress(done, of)

    if progress is not None:
        progress(done, of)
    token.raise_if_cancelled()
    if not missing:
        return
    if cluster is not None:
        play_on_cluster(task, missing, keep, token, address=cluster)
    elif _processes(jobs, len(missing)) == 1:
        play_here(task, missing, keep, token)
    else:
        play_on_cores(task, missing, keep, token, jobs=_processes(jobs, len(missing)))


def _processes(jobs: int, units: int) -> int:
    if jobs == 1 or units == 1:
        return 1
    from joblib import cpu_count

    return min(cpu_count() if jobs == -1 else jobs, units)


def read_orders(orders: Sequence[Order | str]) -> tuple[str, ...]:
    """Return the words of orders, each once; a goal alone means the order that is planned for it.

    Raises InputError ``rehearsal.order_unknown`` or ``rehearsal.no_orders``.
    """
    by_goal = {order.goal.value: order for order in Order if order.goal is not None}
    found = []
    for order in orders:
        try:
            found.append(Order(by_goal.get(order, order)).value)
        except ValueError:
            known = ", ".join(Order)
            raise InputError("rehearsal.order_unknown", order=order, known=known) from None
    if not found:
        raise InputError("rehearsal.no_orders")
    return tuple(dict.fromkeys(found))
