"""The words of an alarm: its sentence, the sign of its rank, and how long ago it fell due."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType

from stirfall.bench.ages import as_utc
from stirfall.bench.units import format_quantity
from stirfall.reporting.sentences import sentence
from stirfall.session.alarm import Alarm, Rank

SIGNS: Mapping[Rank, str] = MappingProxyType({"info": "○", "due": "▲", "danger": "■"})
_STEPS = ((1, "s", 60), (60, "min", 7200), (3600, "h", 172_800))


def alarm_sentence(alarm: Alarm, *, decimal: str = ".") -> str:
    """Return what an alarm says, and that the forecast has moved since, where it has."""
    said = sentence(alarm.code, alarm.params, decimal=decimal)
    return sentence("alarm.changed", {"said": said}) if alarm.is_changed else said


def rank_word(rank: Rank) -> str:
    """Return the word of a rank."""
    return sentence(f"alarm.rank_{rank}")


def since_text(alarm: Alarm, now: datetime, *, decimal: str = ".") -> str:
    """Return how long ago an alarm fell due, or how long there is still time: "due 12 min ago", "38 min left"."""
    now = as_utc(now)
    if alarm.code == "limits.residue_open":
        return sentence("alarm.today")
    if alarm.until is not None and alarm.until > now:
        return sentence("alarm.time_left", {"left": _said_time(alarm.until, now, decimal)})
    if (now - alarm.due_at).total_seconds() < 60.0:
        return sentence("alarm.now" if alarm.rank == "info" else "alarm.due_now")
    code = "alarm.ago" if alarm.rank == "info" else "alarm.due_ago"
    return sentence(code, {"ago": _said_time(now, alarm.due_at, decimal)})


def _said_time(later: datetime, earlier: datetime, decimal: str) -> str:
    """Write a time in whole minutes, hours or days, so that it seldom changes; the last minute in seconds."""
    seconds = int((later - earlier).total_seconds())
    for size, unit, most in _STEPS:
        if seconds < most:
            return format_quantity(float(max(1, seconds // size)), unit, decimal=decimal)
    return format_quantity(float(seconds // 86_400), "days", decimal=decimal)
