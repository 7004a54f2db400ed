"""The plan of an evening in words: its timetable, open now or wait, and the jars to start."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.units import format_quantity, human_time
from stirfall.reporting.recipe_parts import shown_value
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, in_full
from stirfall.session.forecast_evenings import clock_words, local, said_moment
from stirfall.session.tonight import CLOSED, EITHER, NEXT, OPEN, WAIT, JarToStart, Opening, OpenOrWait, Tonight

VERDICT_WORDS = {OPEN: "open it", WAIT: "wait", EITHER: "either is right", CLOSED: "keep it closed"}


def said(reason: Reason) -> str:
    """Return a reason as its sentence."""
    return sentence(reason.code, reason.params)


def heading(tonight: Tonight, tz: tzinfo | None = None) -> str:
    """Write when the evening is, how long, and which seed drew the order."""
    when = said_moment(tonight.begins_at, tonight.at, tz)
    if not tonight.openings:
        return f"Plan for {when}, {human_time(tonight.hours, 'h')} free"
    hours = human_time(tonight.hours, "h")
    return f"Plan for {when}, {hours} free, {counted(len(tonight.openings))}, order drawn with seed {tonight.seed}"


def evening_lines(state: CampaignState, tonight: Tonight, tz: tzinfo | None = None) -> list[str]:
    """Write the whole plan as lines of text."""
    if tonight.blocked is not None:
        return [said(tonight.blocked)]
    lines = [heading(tonight, tz), *_timetable(state, tonight, tz)]
    if tonight.decisions:
        lines += [
            "Open now or wait",
            *(line for each in tonight.decisions for line in _decision(tonight, each, tz)),
        ]
    if tonight.starts:
        lines += ["Jars to start", *(line for each in tonight.starts for line in _start(tonight, each, tz))]
    return [*lines, *(said(note) for note in tonight.notes)]


def _timetable(state: CampaignState, tonight: Tonight, tz: tzinfo | None) -> list[str]:
    lines = []
    pauses = {pause.before: pause for pause in tonight.pauses}
    for each in tonight.openings:
        pause = pauses.get(each.order)
        if pause is not None:
            begins, ends = (_clock(tonight, hours, tz) for hours in (pause.starts_h, pause.ends_h))
            lines.append(f"   {begins} to {ends}: break. {said(pause.reason)}")
        lines += _opening(state, tonight, each, tz)
    return lines


def _opening(state: CampaignState, tonight: Tonight, each: Opening, tz: tzinfo | None) -> list[str]:
    purpose = "" if each.purpose == NEXT else f", {each.purpose}"
    lines = [
        f"{each.order}. {_clock(tonight, each.starts_h, tz)}, jar {each.jar_id} of lot {each.lot_id}{purpose}",
        f"   {conditions_line(state, each)}",
    ]
    chance = "" if each.probability is None else f"{in_full(each.probability)}. "
    lines.append(f"   {chance}{said(each.reason)}")
    if each.outside_tried:
        lines.append(f"   Outside what was tried: {', '.join(each.outside_tried)}.")
    return lines


def conditions_line(state: CampaignState, each: Opening) -> str:
    """Write the conditions of an attempt on one line, in the order of the form."""
    return ", ".join(
        f"{factor.name} {shown_value(each.conditions[factor.name], factor.unit)}"
        for factor in state.factors
        if factor.name in each.conditions
    )


def _decision(tonight: Tonight, each: OpenOrWait, tz: tzinfo | None) -> list[str]:
    now = "unknown" if each.now is None else in_full(each.now)
    lines = [f"  {each.jar_id} of lot {each.lot_id}: {VERDICT_WORDS[each.verdict]}. Now {now}"]
    if each.later is not None and each.later_at is not None:
        lines[0] += f"; {clock_words(each.later_at, tonight.at, tz)} {in_full(each.later)}"
    lines.append(f"    {said(each.reason)}")
    return lines


def _start(tonight: Tonight, each: JarToStart, tz: tzinfo | None) -> list[str]:
    when = "Now" if each.is_now else _sentence_start(said_moment(each.start_at, tonight.at, tz))
    made = [
        None if each.charge_g is None else f"{format_quantity(each.charge_g, 'g')} of crude",
        None if each.oil_depth_mm is None else f"{format_quantity(each.oil_depth_mm, 'mm')} of oil over the metal",
        f"lid {each.lid}" if each.lid else None,
    ]
    how = "".join(f", {part}" for part in made if part is not None)
    chance = "" if each.probability is None else f" There {in_full(each.probability)}."
    return [f"  {when}: jar {each.jar.id} of lot {each.lot_id}{how}", f"    {said(each.reason)}{chance}"]


def _sentence_start(text: str) -> str:
    return text[:1].upper() + text[1:]


def _clock(tonight: Tonight, hours: float, tz: tzinfo | None) -> str:
    moment: datetime = tonight.begins_at + timedelta(hours=hours)
    return f"{local(moment, tz):%H:%M}"
