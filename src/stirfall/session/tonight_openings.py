"""The openings of one evening: jars chosen for what they tell, a control among them, in an order drawn by lot."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.ages import hours_between
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Jar
from stirfall.bench.units import Amount
from stirfall.planning.evening import Pause, Timetable, draw_order, openings_in, timetable
from stirfall.planning.goals import Goal
from stirfall.session.forecast_evenings import clock_words
from stirfall.session.tonight_calendar import Evening, bench_evenings
from stirfall.session.tonight_choice import Choice, Chosen, Fixed, at_time
from stirfall.session.tonight_control import choose_control
from stirfall.session.tonight_jars import Hands, InHand
from stirfall.session.tonight_parts import NEXT, Opening
from stirfall.session.tonight_proof import choose_proof

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.forecast import JarForecast

_WEEK_DAYS = 8


@dataclass(frozen=True)
class Openings:
    """What is opened, the breaks, what there is to say, and the choices that the openings rest on."""

    openings: tuple[Opening, ...] = ()
    pauses: tuple[Pause, ...] = ()
    notes: tuple[Reason, ...] = ()
    chosen: tuple[Chosen, ...] = ()


@dataclass(frozen=True)
class Asked:
    """What a plan of an evening is asked for."""

    state: CampaignState
    now: datetime
    evening: Evening
    goal: Goal
    seed: int
    token: CancelToken
    tz: tzinfo | None
    forecasts: Mapping[str, JarForecast]


@dataclass(frozen=True)
class _Line:
    """One line of the timetable; ``fixed`` where its conditions were settled beforehand."""

    chosen: Chosen
    block: int
    starts_h: float
    fixed: Fixed | None


def closed_jars(hands: Hands, asked: Asked) -> dict[str, Reason]:
    """Return why a jar of the shelf is not opened this evening, by its id: at its beginning, or before its end."""
    found: dict[str, Reason] = {}
    run = asked.state.open_run
    for jar in asked.state.shelf:
        if run is not None and run.jar_id == jar.id and run.attempt_id is None:
            found[jar.id] = Reason("tonight.in_use", {"jar": jar.id})
            continue
        for at in (asked.evening.begins_at, asked.evening.ends_at):
            try:
                why = hands.why_not(jar, at)
            except InputError as error:
                why = Reason(error.code, error.params)
            if why is not None:
                found.setdefault(jar.id, why)
    return found


def plan_openings(hands: Hands, choice: Choice, asked: Asked, closed: Mapping[str, Reason]) -> Openings:
    """Return the openings of the evening, or why there are none."""
    plan, evening = asked.state.settings.plan, asked.evening
    jars = [jar for jar in asked.state.shelf if jar.id not in closed]
    why = _why_none(asked, jars)
    if why is not None:
        return Openings(notes=(why,))
    times = timetable(asked.state, evening.begins_at, evening.hours, plan.attempt_h)
    if not times.starts_h:
        return Openings(notes=(Reason("tonight.break_first", {"hours": Amount(evening.hours, "h")}),))
    times = times.first(len(jars))
    middle = evening.begins_at + timedelta(hours=times.starts_h[len(times.starts_h) // 2])
    in_hand = [hands.of(jar, middle) for jar in jars]
    fixed, told = _fixed(hands, choice, asked, in_hand, times)
    first = [each.chosen for each in fixed]
    left = _not_in(first, in_hand)
    chosen = first + choice.pick(
        len(times.starts_h) - len(first), left, [_hurry_h(asked, hand.jar) for hand in left], first
    )
    order = draw_order([each.hand.jar.lot_id for each in chosen], [each.hand.jar.id for each in chosen], asked.seed)
    times = times.first(len(chosen))
    lines = [
        _Line(chosen[drawn.place], drawn.block, starts_h, fixed[drawn.place] if drawn.place < len(fixed) else None)
        for drawn, starts_h in zip(order, times.starts_h, strict=True)
    ]
    openings = _settled(hands, choice, asked, lines)
    return Openings(openings, times.pauses, (*told, *_notes(asked, times, len(jars))), tuple(chosen))


def _fixed(
    hands: Hands, choice: Choice, asked: Asked, in_hand: Sequence[InHand], times: Timetable
) -> tuple[list[Fixed], tuple[Reason, ...]]:
    """Return what a running proof asks for, then the control; a proof that fills the evening is its own control."""
    slots = len(times.starts_h)
    ends = [
        asked.evening.begins_at + timedelta(hours=starts_h) for starts_h in (times.starts_h[0], times.starts_h[-1])
    ]
    proof = choose_proof(hands, choice, asked.state, in_hand, ends)
    fixed, left = list(proof.lines[:slots]), _not_in([each.chosen for each in proof.lines[:slots]], in_hand)
    if slots > 1 and len(fixed) < slots:
        control = choose_control(hands, choice, left, [_hurry_h(asked, hand.jar) for hand in left])
        fixed += [control] if control is not None else []
    return fixed, proof.notes


def _not_in(chosen: Sequence[Chosen], in_hand: Sequence[InHand]) -> list[InHand]:
    taken = {each.hand.jar.id for each in chosen}
    return [hand for hand in in_hand if hand.jar.id not in taken]


def _why_none(asked: Asked, jars: Sequence[Jar]) -> Reason | None:
    hours, attempt_h = asked.evening.hours, asked.state.settings.plan.attempt_h
    if hours <= 0:
        return Reason("tonight.nobody_free")
    if not openings_in(hours, attempt_h):
        return Reason("tonight.too_short", {"hours": Amount(hours, "h"), "attempt": Amount(attempt_h, "h")})
    if not asked.state.shelf:
        return Reason("tonight.empty_shelf")
    return None if jars else Reason("tonight.none_to_open")


def _notes(asked: Asked, times: Timetable, jars: int) -> tuple[Reason, ...]:
    hours, attempt_h = asked.evening.hours, asked.state.settings.plan.attempt_h
    fit = openings_in(hours, attempt_h)
    if len(times.starts_h) < min(fit, jars):
        return (Reason("tonight.breaks_cost", {"fit": f"{len(times.starts_h)}", "without": f"{fit}"}),)
    return ()


def _hurry_h(asked: Asked, jar: Jar) -> float:
    """Return the hours until a jar's window closes or its use-by comes, infinite where neither is known to come."""
    end = _end_of(asked, jar)
    return float("inf") if end is None else max(hours_between(asked.now, end[0]), 0.0)


def _end_of(asked: Asked, jar: Jar) -> tuple[datetime, str] | None:
    forecast = asked.forecasts.get(jar.id)
    if forecast is None:
        return None
    ends = [(forecast.use_by, "tonight.use_by_comes")] if forecast.use_by is not None else []
    if forecast.has_window and forecast.closes_at is not None and forecast.closes_at > asked.now:
        ends.append((forecast.closes_at, "tonight.window_closes"))
    return min(ends, default=None)


def _settled(hands: Hands, choice: Choice, asked: Asked, lines: Sequence[_Line]) -> tuple[Opening, ...]:
    """Return the openings with the ages that their jars will have when each begins."""
    made = []
    for number, line in enumerate(lines, 1):
        at = asked.evening.begins_at + timedelta(hours=line.starts_h)
        then = at_time(line.chosen, hands.of(line.chosen.hand.jar, at))
        conditions = then.hand.conditions(hands.box, then.columns, 0)
        made.append(
            Opening(
                order=number,
                jar_id=then.hand.jar.id,
                lot_id=then.hand.jar.lot_id,
                conditions=conditions,
                probability=then.hand.answer.model.estimate(then.columns),
                purpose=NEXT if line.fixed is None else line.fixed.purpose,
                reason=_reason(choice, asked, line.chosen) if line.fixed is None else line.fixed.reason,
                starts_h=line.starts_h,
                starts_at=at,
                block=line.block,
                outside_tried=hands.limits.tried.outside(hands.limits.factors, conditions),
            )
        )
    return tuple(made)


def _reason(choice: Choice, asked: Asked, picked: Chosen) -> Reason:
    why = choice.why(picked)
    end = _end_of(asked, picked.hand.jar)
    evenings = bench_evenings(asked.state.settings.plan, asked.now, _WEEK_DAYS, asked.tz)
    following = next((at for at in evenings if at > asked.evening.ends_at), None)
    if end is None or following is None or end[0] > following:
        return why
    return Reason(end[1], {"why": why, "when": clock_words(end[0], asked.now, asked.tz)})
