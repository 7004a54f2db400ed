"""The rules that make alarms of the shelf; pure, one function per kind."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc
from stirfall.planning.limits_exposure import age_limit, is_alarming, residue_days, residue_findings
from stirfall.planning.use_by import use_by
from stirfall.session.alarm import SHELF, Alarm, Rank
from stirfall.session.alarm_keys import Quieted, timed_key
from stirfall.session.forecast_evenings import at_hour, clock_words, local_day

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.records import Jar
    from stirfall.session.forecast import JarForecast

# Lead times and how long a missed window is told of: our proposals, no source.
CLOSING_LEAD = timedelta(hours=2)
CLOSING_SHARE = 0.25
USE_BY_LEAD = timedelta(hours=24)
USE_BY_SHARE = 1.0 / 6.0
MISSED_FOR = timedelta(hours=48)

OPEN, CLOSING, CLOSED = "window-open", "window-closing", "window-closed"
START, NEAR, PAST, RESIDUE = "start", "use-by-near", "use-by-past", "residue"


def rules(
    state: CampaignState, forecasts: Mapping[str, JarForecast], now: datetime, tz: tzinfo | None
) -> Iterator[Alarm]:
    """Yield every alarm of the shelf at ``now`` (UTC) that was not seen."""
    look = _Look(state, now, tz, Quieted(state.acknowledged))
    for jar in state.planned_jars:
        yield from look.start_of(jar)
    for jar in state.shelf:
        yield from look.use_by_of(jar)
        # A forecast may be older than the class: no window is ever told of for a superoxide former.
        forecast = forecasts.get(jar.id) if state.settings.material.may_lengthen_age else None
        must_stay_closed = is_alarming(state.settings, jar.look)
        is_in_hand = state.open_run is not None and state.open_run.jar_id == jar.id
        if forecast is not None and forecast.has_window and not (must_stay_closed or is_in_hand):
            yield from look.window_of(jar, forecast)
    yield from look.residue()


@dataclass(frozen=True)
class _Look:
    state: CampaignState
    now: datetime
    tz: tzinfo | None
    quieted: Quieted

    def start_of(self, jar: Jar) -> Iterator[Alarm]:
        due = as_utc(jar.started_at)
        if due <= self.now:
            yield from self._timed(START, "due", due, "alarm.start_jar", jar, at=self._clock(due), lot=jar.lot_id)

    def use_by_of(self, jar: Jar) -> Iterator[Alarm]:
        end, limit = use_by(self.state, jar), age_limit(self.state.settings)
        if end is None or limit is None:
            return
        is_block = limit.level == "block"
        if end <= self.now:
            inspected = jar.looked_at is not None and as_utc(jar.looked_at) >= end
            if is_block:
                yield from self._timed(PAST, "danger", end, "alarm.do_not_open", jar, at=self._clock(end))
            elif not inspected:
                yield from self._timed(PAST, "due", end, "alarm.inspect", jar, at=self._clock(end))
            return
        near = end - min(USE_BY_LEAD, timedelta(hours=limit.most_h) * USE_BY_SHARE)
        if near <= self.now:
            code = "alarm.limit_near" if is_block else "alarm.use_by_near"
            yield from self._timed(NEAR, "due", near, code, jar, until=end, at=self._clock(end))

    def window_of(self, jar: Jar, forecast: JarForecast) -> Iterator[Alarm]:
        opens, closes = forecast.opens_at, forecast.closes_at
        if closes is not None and closes <= self.now:
            yield from self._closed(jar, opens, closes)
            return
        if closes is not None:
            length = closes - (opens or as_utc(jar.started_at))
            warned = closes - min(CLOSING_LEAD, length * CLOSING_SHARE)
            if warned <= self.now:
                yield from self._timed(
                    CLOSING,
                    "due",
                    warned,
                    "alarm.window_closing",
                    jar,
                    until=closes,
                    closes=self._clock(closes),
                )
                return
        if opens is not None and opens <= self.now:
            said = {"opens": self._clock(opens)}
            code = "alarm.window_open"
            if closes is not None:
                said, code = {**said, "closes": self._clock(closes)}, "alarm.window_open_until"
            yield from self._timed(OPEN, "info", opens, code, jar, until=closes, **said)

    def _closed(self, jar: Jar, opens: datetime | None, closes: datetime) -> Iterator[Alarm]:
        """Tell of a window that closed and that nobody had seen, neither open nor closing."""
        if self.now - closes > MISSED_FOR:
            return
        was_seen = opens is not None and self.quieted.holds_near(OPEN, opens, jar.id, jar.started_at)
        if not (was_seen or self.quieted.holds_near(CLOSING, closes, jar.id, jar.started_at)):
            yield from self._timed(CLOSED, "info", closes, "alarm.window_closed", jar, closes=self._clock(closes))

    def residue(self) -> Iterator[Alarm]:
        """Tell of residue once a local day, from the moment on when the oldest jar has stood too long."""
        for found in residue_findings(self.state, self.now):
            today = local_day(self.now, self.tz)
            key = f"{RESIDUE} {today.isoformat()}"
            oldest = min(self.state.residues, key=lambda jar: as_utc(jar.started_at))
            open_since = as_utc(oldest.started_at) + timedelta(days=residue_days(self.state.settings))
            due = max(at_hour(today, 0, self.tz), open_since)
            if not self.quieted.holds(key):
                yield Alarm(key, "info", due, found.code, found.params, SHELF, oldest.id)

    def _timed(
        self,
        kind: str,
        rank: Rank,
        due: datetime,
        code: str,
        jar: Jar,
        *,
        until: datetime | None = None,
        **said: str,
    ) -> Iterator[Alarm]:
        if not self.quieted.holds_near(kind, due, jar.id, jar.started_at):
            key, about = timed_key(kind, due, jar.id), f"{kind} {jar.id}"
            params = {"jar": jar.id, **said}
            yield Alarm(key, rank, due, code, params, SHELF, jar.id, about, until=until)

    def _clock(self, moment: datetime) -> str:
        return clock_words(moment, self.now, self.tz)
