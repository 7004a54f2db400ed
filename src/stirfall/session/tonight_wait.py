"""Open now or wait: the chance of each jar now against its best later, from draws that belong together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Estimate, Reason, whole_percent
from stirfall.bench.records import Jar
from stirfall.bench.units import Amount
from stirfall.session.forecast_course import Course, Courses
from stirfall.session.forecast_evenings import clock_words
from stirfall.session.forecast_search import joined
from stirfall.session.tonight_calendar import bench_evenings
from stirfall.session.tonight_parts import CLOSED, EITHER, OPEN, WAIT, OpenOrWait

if TYPE_CHECKING:
    from stirfall.session.tonight_jars import Hands
    from stirfall.session.tonight_openings import Asked

FloatArray = NDArray[np.float64]

# All our proposals, no source: a gain of two in a hundred is none; three draws in four are worth a wait, and one in
# four, or no gain on the mean, is not; what lies within an hour is now.
SMALL_MARGIN = 0.02
LIKELY = 0.75
_SOON_H = 1.0
_TWO_WEEKS = 15


@dataclass(frozen=True, eq=False)
class _Question:
    """One jar with the hours from now that are asked for, 0 first; ``too_young`` says why it is not open to now."""

    jar: Jar
    course: Course
    hours: FloatArray
    too_young: Reason | None = None


def decide(hands: Hands, asked: Asked, closed: Mapping[str, Reason]) -> tuple[OpenOrWait, ...]:
    """Return for every jar on the shelf whether to open it now or later, in the order of the shelf.

    Later is the best of the bench evenings to come: a time at which nobody is at the bench helps no one. Both
    chances are for the jar's own lot, other conditions as the forecast has them; the share of draws is of pairs
    that differ in nothing but time.
    """
    found: dict[str, OpenOrWait] = {}
    questions: dict[int, list[_Question]] = {}
    courses = Courses(hands.analysis, asked.state, asked.now)
    evenings = bench_evenings(asked.state.settings.plan, asked.now, _TWO_WEEKS, asked.tz)
    for jar in asked.state.shelf:
        asked.token.raise_if_cancelled()
        why = _why_closed(hands, asked, jar, closed)
        if why is not None and why.code != "tonight.below_range":
            found[jar.id] = _told(asked, jar, CLOSED, why)
            continue
        if not hands.limits.may_wait:
            found[jar.id] = _told(asked, jar, OPEN, Reason("tonight.never_wait"))
            continue
        try:
            course = courses.of(jar)
        except StirfallError as error:
            found[jar.id] = _told(asked, jar, EITHER, Reason(error.code, error.params))
            continue
        question = _question(asked, jar, course, evenings, why)
        if isinstance(question, OpenOrWait):
            found[jar.id] = question
        else:
            questions.setdefault(id(question.course.answer), []).append(question)
    for group in questions.values():
        found |= {each.jar_id: each for each in _answered(asked, group)}
    return tuple(found[jar.id] for jar in asked.state.shelf)


def _why_closed(hands: Hands, asked: Asked, jar: Jar, closed: Mapping[str, Reason]) -> Reason | None:
    try:
        why = hands.why_not(jar, asked.now)
    except StirfallError as error:
        why = Reason(error.code, error.params)
    if jar.id in closed and closed[jar.id].code == "tonight.in_use":
        return closed[jar.id]
    return why


def _told(asked: Asked, jar: Jar, verdict: str, reason: Reason) -> OpenOrWait:
    forecast = asked.forecasts.get(jar.id)
    now = forecast.now if forecast is not None else None
    use_by = forecast.use_by if forecast is not None else None
    return OpenOrWait(jar.id, jar.lot_id, now, None, None, verdict, None, reason, use_by=use_by)


def _question(
    asked: Asked, jar: Jar, course: Course | Reason, evenings: Sequence[datetime], too_young: Reason | None
) -> _Question | OpenOrWait:
    if isinstance(course, Reason):
        return _told(asked, jar, CLOSED, course)
    if course.reason is not None:
        return _told(asked, jar, EITHER, course.reason)
    hours = sorted({hours_between(asked.now, at) for at in (*evenings, asked.evening.begins_at)})
    ahead = [each for each in hours if max(_SOON_H, course.begins_h) < each <= course.ends_h]
    if not ahead and too_young is not None:
        return _told(asked, jar, CLOSED, too_young)
    if not ahead:
        ends = asked.now + timedelta(hours=course.ends_h)
        return _told(asked, jar, OPEN, Reason("tonight.open_last", {"when": _when(asked, ends)}))
    return _Question(jar, course, np.array([0.0, *ahead]), too_young)


def _answered(asked: Asked, questions: Sequence[_Question]) -> list[OpenOrWait]:
    """Return the decisions on jars of one lot, worked out together."""
    model = questions[0].course.answer.model
    bands = model.estimates(joined([each.course.columns(each.hours) for each in questions]))
    starts = np.cumsum([0, *(len(each.hours) for each in questions)])
    bests = [start + 1 + int(np.argmax(bands.mean[start + 1 : end])) for start, end in pairwise(starts)]
    pairs = [
        each.course.columns(each.hours[[0, best - start]])
        for each, best, start in zip(questions, bests, starts, strict=False)
    ]
    draws, weights = model.probability_draws(joined(pairs)), model.weights
    asked.token.raise_if_cancelled()

    def estimate(place: int) -> Estimate:
        low, high = float(bands.lower[place]), float(bands.upper[place])
        return Estimate(float(bands.mean[place]), low, high, model.level, model.n, model.of_trials)

    made = []
    for number, question in enumerate(questions):
        gain = draws[:, 2 * number + 1] - draws[:, 2 * number]
        chance = float(weights[gain > SMALL_MARGIN].sum() / weights.sum())
        start, best = int(starts[number]), bests[number]
        wait_h = float(question.hours[best - start])
        made.append(_decision(asked, question, (estimate(start), estimate(best)), wait_h, chance))
    return made


def _decision(
    asked: Asked, question: _Question, pair: tuple[Estimate, Estimate], wait_h: float, chance: float
) -> OpenOrWait:
    now, later = pair
    later_at = asked.now + timedelta(hours=wait_h)
    gains_nothing = chance <= 1.0 - LIKELY or later.mean <= now.mean
    verdict = WAIT if chance >= LIKELY else OPEN if gains_nothing else EITHER
    reason = None
    if question.too_young is not None:
        verdict, reason = WAIT, question.too_young
    params: dict[str, object] = {
        "when": _when(asked, later_at),
        "wait": Amount(wait_h, "h"),
        "chance": whole_percent(chance),
        "now": whole_percent(now.mean),
        "later": whole_percent(later.mean),
    }
    jar, forecast = question.jar, asked.forecasts.get(question.jar.id)
    return OpenOrWait(
        jar_id=jar.id,
        lot_id=jar.lot_id,
        now=now,
        later=later,
        later_at=later_at,
        verdict=verdict,
        chance_wait_better=chance,
        reason=reason or Reason(f"tonight.{verdict}", params),
        wait_h=wait_h,
        use_by=forecast.use_by if forecast is not None else None,
    )


def _when(asked: Asked, at: datetime) -> str:
    return clock_words(as_utc(at), asked.now, asked.tz)
