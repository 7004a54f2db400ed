"""The bench evenings of a campaign by the local calendar, and the evening that a plan is made for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.plans import PlanSettings
from stirfall.session.forecast_evenings import at_hour, local_day, said_moment

LONGEST_H = 24.0


@dataclass(frozen=True)
class Evening:
    """When the work of an evening begins (UTC), how many hours it may last, and what there is to say about it."""

    begins_at: datetime
    hours: float
    notes: tuple[Reason, ...] = ()

    @property
    def ends_at(self) -> datetime:
        """When the free hours end."""
        return self.begins_at + timedelta(hours=self.hours)


def bench_evenings(plan: PlanSettings, now: datetime, days: int, tz: tzinfo | None = None) -> tuple[datetime, ...]:
    """Return when work begins (UTC) on the bench days of today and the ``days`` days after it, past ones too."""
    today = local_day(now, tz)
    dates = (today + timedelta(days=number) for number in range(days + 1))
    return tuple(at_hour(day, plan.evening_hour, tz) for day in dates if day.isoweekday() in plan.bench_days)


def choose_evening(
    plan: PlanSettings,
    now: datetime,
    *,
    hours_free: float | None,
    begins_at: datetime | None,
    tz: tzinfo | None,
) -> Evening:
    """Return the evening to plan for; raises InputError ``tonight.hours`` or ``tonight.begins_past``.

    With ``hours_free`` it is today's: at ``begins_at``, else at the campaign's evening hour, or now where that is
    past. Without, it is the next bench evening that leaves the time for an attempt, or what is left of one that has
    begun.
    """
    now = as_utc(now)
    if hours_free is not None and not 0.0 <= hours_free <= LONGEST_H:
        raise InputError("tonight.hours", value=hours_free, most=f"{LONGEST_H:.0f}")
    if begins_at is not None and as_utc(begins_at) < now - timedelta(minutes=1):
        raise InputError("tonight.begins_past")
    if begins_at is not None:
        return Evening(max(as_utc(begins_at), now), plan.evening_h if hours_free is None else hours_free)
    if hours_free is not None:
        return Evening(max(now, at_hour(local_day(now, tz), plan.evening_hour, tz)), hours_free)
    for start in bench_evenings(plan, now, 8, tz):
        begins = max(start, now)
        hours = plan.evening_h - hours_between(start, begins)
        if hours >= min(plan.attempt_h, plan.evening_h):
            return Evening(begins, hours, _notes(begins, now, tz))
    raise AssertionError("a week has a bench day")


def _notes(begins: datetime, now: datetime, tz: tzinfo | None) -> tuple[Reason, ...]:
    if local_day(begins, tz) == local_day(now, tz):
        return ()
    return (Reason("tonight.next_evening", {"when": said_moment(begins, now, tz)}),)
