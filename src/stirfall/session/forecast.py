"""What the attempts say of each jar on the shelf: its chance now, in the evening, tomorrow, and its best time.

Ages run on together, everything else stays as the shelf has it now. Nothing is foretold beyond the use-by date, the
limits or two weeks, and for a superoxide former nothing beyond now: its exposure must never be lengthened.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, tzinfo
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.records import Jar
from stirfall.planning.use_by import use_by
from stirfall.session.forecast_course import Course, Courses
from stirfall.session.forecast_evenings import EVENING_HOUR, evenings
from stirfall.session.forecast_search import Found, Search, joined
from stirfall.session.forecast_window import WORTH_SAYING

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis

FloatArray = NDArray[np.float64]

_CURVE_POINTS = 24
_SAME = 0.005  # chances are shown in whole per cent


def _nothing() -> FloatArray:
    return np.zeros(0)


@dataclass(frozen=True, eq=False)
class JarForecast:
    """The chance of a clean separation of one jar over the times to come.

    ``now``, ``tonight`` (at ``tonight_at``), ``tomorrow`` (at ``tomorrow_at``) and ``best`` (at ``best_at``, never
    before now) are estimates, None where nothing may be said. The readiness window runs from ``opens_at`` to
    ``closes_at``; either may lie in the past, and None at an end says that the chance is as good there up to the
    first or last moment that was looked at. ``has_window`` is False where no time stands out. ``times_h`` are hours
    from now with ``means``, ``lower`` and ``upper`` for a small curve. ``reason`` says why there is no forecast, or
    no window.
    """

    jar_id: str
    now: Estimate | None = None
    tonight: Estimate | None = None
    tomorrow: Estimate | None = None
    best: Estimate | None = None
    best_at: datetime | None = None
    opens_at: datetime | None = None
    closes_at: datetime | None = None
    times_h: FloatArray = field(default_factory=_nothing)
    means: FloatArray = field(default_factory=_nothing)
    lower: FloatArray = field(default_factory=_nothing)
    upper: FloatArray = field(default_factory=_nothing)
    use_by: datetime | None = None
    reason: Reason | None = None
    tonight_at: datetime | None = None
    tomorrow_at: datetime | None = None
    has_window: bool = False
    at: datetime | None = None

    def is_open(self, moment: datetime) -> bool:
        """Whether ``moment`` lies in the readiness window."""
        opened = self.opens_at is None or self.opens_at <= moment
        return self.has_window and opened and (self.closes_at is None or moment < self.closes_at)


class RowLike(Protocol):
    """What ``open_first`` asks of a row of the shelf."""

    @property
    def jar(self) -> Jar:
        """The jar of the row."""
        ...

    @property
    def is_blocked(self) -> bool:
        """Whether the jar must stay closed."""
        ...


def forecast_jars(
    analysis: Analysis,
    state: CampaignState,
    now: datetime,
    token: CancelToken | None = None,
    *,
    evening_hour: int = EVENING_HOUR,
    tz: tzinfo | None = None,
) -> Mapping[str, JarForecast]:
    """Return the forecast of every jar that ages now, by its id; made for a worker thread.

    Each chance is exactly ``analysis.estimate`` of the jar's own lot at the conditions that the jar will have then,
    what is not known of it filled in as ``complete`` does. A jar that was started this very minute is taken as one
    minute old. ``tz`` None is the zone of the computer. Raises Cancelled.
    """
    made = Forecasting(
        analysis, state, now, evenings(now, evening_hour=evening_hour, tz=tz), token or CancelToken()
    )
    return made.all()


class Forecasting:
    """One round of forecasts: every question is asked for all jars of a lot at once."""

    def __init__(
        self,
        analysis: Analysis,
        state: CampaignState,
        now: datetime,
        evening: tuple[datetime, datetime],
        token: CancelToken,
    ) -> None:
        self._state, self._now, self._evening, self._token = state, as_utc(now), evening, token
        self._courses = Courses(analysis, state, now)

    def all(self) -> Mapping[str, JarForecast]:
        """Return the forecasts by jar id, in the order of the shelf."""
        found: dict[str, JarForecast] = {}
        running: dict[int, list[Course]] = {}
        for jar in self._state.shelf:
            self._token.raise_if_cancelled()
            blank = JarForecast(
                jar.id,
                use_by=use_by(self._state, jar),
                tonight_at=self._evening[0],
                tomorrow_at=self._evening[1],
                at=self._now,
            )
            found[jar.id] = blank
            try:
                course = self._courses.of(jar)
                if isinstance(course, Reason):
                    found[jar.id] = replace(blank, reason=course)
                elif course.reason is not None:
                    found[jar.id] = replace(blank, now=course.answer.estimate(course.base), reason=course.reason)
                else:
                    running.setdefault(id(course.answer), []).append(course)
            except StirfallError as error:
                found[jar.id] = replace(blank, reason=Reason(error.code, error.params))
        for courses in running.values():
            found.update(self._of_courses(courses, found))
        return MappingProxyType(found)

    def _of_courses(self, courses: list[Course], blanks: Mapping[str, JarForecast]) -> dict[str, JarForecast]:
        """Return the forecasts of jars of one lot; one that cannot be told does not take the others with it."""
        try:
            return {each.jar_id: each for each in self._of_lot(courses, blanks)}
        except StirfallError as error:
            if len(courses) == 1:
                blank = blanks[courses[0].jar.id]
                return {blank.jar_id: replace(blank, reason=Reason(error.code, error.params))}
            return {name: each for course in courses for name, each in self._of_courses([course], blanks).items()}

    def _of_lot(self, courses: list[Course], blanks: Mapping[str, JarForecast]) -> Iterable[JarForecast]:
        model = courses[0].answer.model
        windows = Search(model, self._token).of(courses)
        asked = [self._asked(course, window) for course, window in zip(courses, windows, strict=True)]
        self._token.raise_if_cancelled()
        columns = [course.columns(hours) for course, hours in zip(courses, asked, strict=True)]
        start = 0
        bands = model.estimates(joined(columns))
        self._token.raise_if_cancelled()
        for course, hours, window in zip(courses, asked, windows, strict=True):
            part = slice(start, start + len(hours))
            start = part.stop
            estimates = [
                Estimate(float(mean), float(low), float(high), model.level, model.n, model.of_trials)
                for mean, low, high in zip(*(each[part] for each in bands), strict=True)
            ]
            told = self._told(course, blanks[course.jar.id], hours, estimates)
            yield self._with_window(told, hours, estimates, window)

    # -- what is shown -----------------------------------------------------------------------------

    def _asked(self, course: Course, found: Found) -> FloatArray:
        """Return the hours to answer for: the curve, the two evenings and the best time to come."""
        evening = [min(hours_between(self._now, at), course.ends_h) for at in self._evening]
        return np.concatenate([course.future_h(_CURVE_POINTS), [*evening, found.best_to_come(course.ends_h)]])

    def _told(
        self, course: Course, blank: JarForecast, hours: FloatArray, estimates: list[Estimate]
    ) -> JarForecast:
        evening = [
            each if hours_between(self._now, at) <= course.ends_h else None
            for each, at in zip(estimates[_CURVE_POINTS : _CURVE_POINTS + 2], self._evening, strict=True)
        ]
        curve = estimates[:_CURVE_POINTS]
        return replace(
            blank,
            now=estimates[0],
            tonight=evening[0],
            tomorrow=evening[1],
            times_h=hours[:_CURVE_POINTS],
            means=np.array([each.mean for each in curve]),
            lower=np.array([each.lower for each in curve]),
            upper=np.array([each.upper for each in curve]),
        )

    def _with_window(
        self, told: JarForecast, hours: FloatArray, estimates: list[Estimate], found: Found
    ) -> JarForecast:
        window = found.window
        if window is None:
            return replace(told, reason=Reason("forecast.flat"))
        best = _best(hours, np.array([each.mean for each in estimates]))
        told = replace(told, best=estimates[best], best_at=self._moment(float(hours[best])))
        if found.highest < WORTH_SAYING:
            return replace(told, reason=Reason("forecast.low"))
        opens, closes = (None if end is None else self._moment(end) for end in (window.opens_h, window.closes_h))
        return replace(told, opens_at=opens, closes_at=closes, has_window=True)

    def _moment(self, hours: float) -> datetime:
        return self._now + timedelta(hours=hours)


def _best(hours: FloatArray, means: FloatArray) -> int:
    """Return the place of the best time: the earliest whose mean is the highest to half a per cent."""
    good = np.flatnonzero(means >= means.max() - _SAME)
    return int(good[np.argmin(hours[good])])


def open_first(forecasts: Mapping[str, JarForecast], rows: Iterable[RowLike]) -> tuple[str, ...]:
    """Return the ids of the jars in the order in which to open them; the same every time.

    First those whose readiness window has still to close, the soonest first (at its closing or the use-by date,
    whichever is earlier); then those with a use-by date, the soonest first; then by the chance now, the best first.
    Among equals the older jar, then the id. Jars that must stay closed come last.
    """
    ordered = sorted(rows, key=lambda row: _order(forecasts.get(row.jar.id), row))
    return tuple(row.jar.id for row in ordered)


def _order(forecast: JarForecast | None, row: RowLike) -> tuple[int, float, float, datetime, str]:
    rank, soonest, chance = 2, 0.0, 0.0
    if forecast is not None:
        chance = -forecast.now.mean if forecast.now is not None else 0.0
        ends = [end for end in (forecast.closes_at, forecast.use_by) if end is not None]
        is_ahead = forecast.closes_at is not None and (forecast.at is None or forecast.closes_at > forecast.at)
        if forecast.has_window and is_ahead:
            rank, soonest = 0, min(ends).timestamp()
        elif forecast.use_by is not None:
            rank, soonest = 1, forecast.use_by.timestamp()
    return (3 if row.is_blocked else rank), soonest, chance, row.jar.started_at, row.jar.id
