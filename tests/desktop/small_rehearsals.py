"""Rehearsals for the tests of the window: results by hand, so that nothing is computed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import CampaignSettings
from stirfall.planning.rehearsal import Played, RehearsalTask, Rehearsed, Rules, summarise
from stirfall.planning.rehearsal_calendar import BenchCalendar

BEGUN = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
ALL_ORDERS = {
    "planned to learn": (2, 3, 3, 4, 5, 5, 6, 8, 9, None),
    "planned for reliability": (1, 3, 4, 4, 5, 6, 6, 8, None, None),
    "planned for the soonest batch": (2, 4, 4, 4, 5, 6, 7, 9, None, None),
    "planned for most grams": (2, 4, 5, 5, 6, 6, 7, 9, None, None),
    "space filling": (5, 7, 8, 8, 9, 9, 10, None, None, None),
    "random": (4, 6, 8, 8, 9, 10, None, None, None, None),
    "one factor at a time": (6, 7, 8, 9, 10, None, None, None, None, None),
    "repeat the best": (0, 0, 9, None, None, None, None, None, None, None),
}
"""For each order the attempts that ten campaigns needed within ten, None where that did not do."""


def played(order: str, firsts: Sequence[int | None], most: int = 10) -> list[Played]:
    """Return campaigns that were done after so many attempts, half a week each."""
    made = []
    for number, first in enumerate(firsts):
        last = most if first is None else min(first + 2, most)
        path = tuple(0.95 if first is not None and at >= first else 0.5 for at in range(last + 1))
        weeks = tuple(0.5 * at for at in range(last + 1))
        made.append(Played(order, number, first, first, path, weeks, 0.97))
    return made


def rehearsed_by_hand(
    firsts: Mapping[str, Sequence[int | None]] = ALL_ORDERS, *, asked: int = 10, most: int = 10
) -> Rehearsed:
    """Return what such campaigns add up to; ``asked`` campaigns were wanted of each order."""
    state = CampaignState(CampaignSettings(invented=True), ())
    rules = Rules(state, BenchCalendar((8.5,), 2, 1.5), (), 3, 0.9, most, 7, gates=2)
    told = (Reason("rehearsal.from_posterior", {"count": 12}), Reason("rehearsal.new_lot"))
    task = RehearsalTask(rules, [None] * asked, "posterior", BEGUN, assumed=told)  # type: ignore[list-item]
    whole = summarise(
        task, tuple(firsts), [each for order in firsts for each in played(order, firsts[order], most)]
    )
    assert whole is not None
    return whole
