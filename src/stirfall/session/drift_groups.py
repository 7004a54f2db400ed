"""How single attempts are put together to shares: by the day at the bench, or so many in a row; pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta, tzinfo
from statistics import median

from stirfall.bench.estimates import Reason
from stirfall.session.drift_records import DriftGroup, DriftPoint
from stirfall.session.forecast_evenings import local_day

# Our proposals: a day is a group where days have about five attempts and there are enough of them for a chart. The
# limits of smaller groups reach from nothing to all, and say nothing.
_A_DAY, _FEWEST_DAYS = 5, 6
_SMALLEST, _USUAL = 3, 5
_NIGHT = timedelta(hours=4)
_FEWEST_GROUPS, _MOST_GROUPS = 8, 200


def grouped(points: Sequence[DriftPoint], tz: tzinfo | None = None) -> tuple[tuple[DriftGroup, ...], Reason]:
    """Return the groups in time and the reason that says how they were made.

    Attempts of several trials are groups of their own. Otherwise local days, which end at four in the morning,
    where all attempts have a time, the median day has five or more and there are six days or more; else so many
    attempts in a row, a short rest going to the last group.
    """
    if median(point.n for point in points) >= _SMALLEST:
        return tuple(_group(points, at, at) for at in range(len(points))), Reason("drift.by_attempt")
    days = _days(points, tz)
    sizes = [last - first + 1 for first, last in days]
    if len(days) >= _FEWEST_DAYS and median(sizes) >= _A_DAY and len(days) <= _MOST_GROUPS:
        return tuple(_group(points, first, last) for first, last in days), Reason(
            "drift.by_day", {"days": len(days)}
        )
    size = _size(len(points))
    starts = list(range(0, len(points), size))
    if len(starts) > 1 and len(points) - starts[-1] < size:
        starts.pop()
    ends = [*(start - 1 for start in starts[1:]), len(points) - 1]
    return (
        tuple(_group(points, first, last) for first, last in zip(starts, ends, strict=True)),
        Reason("drift.in_a_row", {"size": size}),
    )


def _size(count: int) -> int:
    """Return how many attempts in a row are a group: five, fewer where groups are few, more where very many."""
    return max(min(_USUAL, count // _FEWEST_GROUPS), _SMALLEST, -(-count // _MOST_GROUPS))


def _days(points: Sequence[DriftPoint], tz: tzinfo | None) -> list[tuple[int, int]]:
    """Return first and last place of each local day; none where an attempt has no time."""
    if any(point.at is None for point in points):
        return []
    # What is made after midnight belongs to the evening before.
    days = [local_day(point.at - _NIGHT, tz) for point in points if point.at is not None]
    starts = [place for place, day in enumerate(days) if place == 0 or day != days[place - 1]]
    return list(zip(starts, [*(start - 1 for start in starts[1:]), len(days) - 1], strict=True))


def _group(points: Sequence[DriftPoint], first: int, last: int) -> DriftGroup:
    within = points[first : last + 1]
    return DriftGroup(first, last, sum(point.k for point in within), sum(point.n for point in within))
