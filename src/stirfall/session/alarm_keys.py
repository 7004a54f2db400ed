"""The keys of alarms: what stays the same about one while its moment moves a little, and which are quieted."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from stirfall.bench.ages import as_utc
from stirfall.bench.running import Acknowledgement

_STAMP = "%Y%m%dT%H%MZ"
# A window that new attempts move by less than this is the same window. Our proposal, no source.
LEAST_MOVE = timedelta(hours=3)
SHARE_OF_AGE = 0.25


def timed_key(kind: str, at: datetime, subject: str) -> str:
    """Return the key of an alarm of this kind about one jar at one moment, to the minute."""
    return f"{kind} {as_utc(at).strftime(_STAMP)} {subject}"


def moved_by_much(first: datetime, second: datetime, started_at: datetime) -> bool:
    """Whether two moments of one jar are so far apart that they are told as two.

    They are when they lie more than three hours apart, and more than a quarter of the jar's age at the later one.
    """
    age = max(first, second) - started_at
    return abs(first - second) > max(LEAST_MOVE, age * SHARE_OF_AGE)


class Quieted:
    """What was acknowledged, ready to be asked many times; stamps are read only when they are asked for."""

    def __init__(self, acknowledged: Iterable[Acknowledgement]) -> None:
        self._keys = {each.key for each in acknowledged}
        self._stamps: dict[tuple[str, str], list[str]] = {}
        for key in self._keys:
            kind, stamp, subject = (*key.split(" ", 2), "", "")[:3]
            self._stamps.setdefault((kind, subject), []).append(stamp)

    def holds(self, key: str) -> bool:
        """Whether an alarm with exactly this key was seen."""
        return key in self._keys

    def holds_near(self, kind: str, at: datetime, subject: str, started_at: datetime) -> bool:
        """Whether an alarm of this kind about this jar was seen at a moment that is as good as the same."""
        moments = [_moment(stamp) for stamp in self._stamps.get((kind, subject), ())]
        start = as_utc(started_at)
        return any(moment is not None and not moved_by_much(as_utc(at), moment, start) for moment in moments)


def _moment(stamp: str) -> datetime | None:
    try:
        return datetime.strptime(stamp, _STAMP).replace(tzinfo=UTC)
    except ValueError:
        return None
