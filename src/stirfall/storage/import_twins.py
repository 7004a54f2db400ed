"""Rows that a session has already: the same table brought in twice, or typed by hand before."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Sequence
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Value
from stirfall.bench.records import Attempt
from stirfall.storage.import_origin import place_of
from stirfall.storage.imported import Twin

_DIGITS = 9
_MOST_PATTERNS = 40

Key = tuple[Hashable, ...]
Pattern = tuple[bool, bool, tuple[str, ...], tuple[str, ...]]


def find_twins(attempts: Sequence[Attempt], rows: Sequence[int], state: CampaignState | None) -> tuple[Twin, ...]:
    """Return the rows whose content an attempt of the session has: all that the row tells is the same there.

    As many rows are twins as there are such attempts: repeats of one setting in the table stay repeats. A row of
    the
    same file that was brought in before is its own twin.
    """
    if state is None or not state.attempts:
        return ()
    twins: list[Twin] = []
    before = {place: each for each in state.attempts if (place := place_of(each.note)) is not None}
    indexes: dict[Pattern, dict[Key, list[Attempt]]] = {}
    taken: Counter[str] = Counter()
    for attempt, row in zip(attempts, rows, strict=True):
        place = place_of(attempt.note)
        same = before.get(place) if place is not None else None
        if same is None:
            same = _alike(attempt, state, indexes, taken)
        if same is not None:
            taken[same.id] += 1
            twins.append(Twin(row, same.number))
    return tuple(twins)


def _alike(
    attempt: Attempt, state: CampaignState, indexes: dict[Pattern, dict[Key, list[Attempt]]], taken: Counter[str]
) -> Attempt | None:
    pattern = _pattern(attempt)
    if pattern not in indexes:
        if len(indexes) >= _MOST_PATTERNS:
            return None
        index: dict[Key, list[Attempt]] = defaultdict(list)
        for each in state.attempts:
            index[_key(each, pattern)].append(each)
        indexes[pattern] = index
    found = indexes[pattern].get(_key(attempt, pattern), [])
    return next((each for each in found if not taken[each.id]), None)


def _pattern(attempt: Attempt) -> Pattern:
    """Return what an attempt tells: its time, its lot, its conditions and its masses."""
    masses = tuple(name for name, value in vars(attempt.masses).items() if value is not None)
    return attempt.started_at is not None, attempt.lot_id is not None, tuple(sorted(attempt.conditions)), masses


def _key(attempt: Attempt, pattern: Pattern) -> Key:
    has_time, has_lot, names, masses = pattern
    return (
        _minute(attempt.started_at) if has_time else None,
        attempt.lot_id if has_lot else None,
        tuple(_rounded(attempt.conditions.get(name)) for name in names),
        tuple(_rounded(getattr(attempt.masses, name)) for name in masses),
        attempt.parted,
        attempt.pooled,
        attempt.successes,
        attempt.trials,
        attempt.aborted,
    )


def _minute(moment: datetime | None) -> Hashable:
    return None if moment is None else int(moment.timestamp() // 60)


def _rounded(value: Value | None) -> Hashable:
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value
