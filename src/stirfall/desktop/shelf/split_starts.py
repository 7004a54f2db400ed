"""When the jars of a split start: all at once, in turn, or so that all ages come due on one evening; pure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from random import Random
from zlib import crc32

from stirfall.bench.ages import hours_between
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.units import Amount, human_time, parse_quantity, unit_kind
from stirfall.desktop.shelf.amounts import Reader
from stirfall.session.forecast_evenings import EVENING_HOUR, at_hour, said_moment

AT_ONCE, IN_TURN, AGES = "all now", "one after another", "ages for one evening"
STARTS = (AT_ONCE, IN_TURN, AGES)
# Steps of a factor of about four over the range in which a film grows that helps; our proposal, no source.
DEFAULT_AGES = "2, 8, 24, 96 h"
_SEEDS = 10_000
_LATE = timedelta(minutes=5)  # a start that just went by is now: nobody fills a jar to the minute
_LONGEST_H = 24.0 * 3650.0
_AGE = re.compile(r"\s*([\d.,]*\d)\s*([^\W\d_]*)[\s,;]*", re.UNICODE)


@dataclass(frozen=True)
class StartEntries:
    """The entries about starts, raw; ``begin`` None means now, ``seed`` deals the ages to the jars."""

    mode: str = AT_ONCE
    begin: datetime | None = None
    every: str = ""
    ages: str = ""
    evening: datetime | None = None
    seed: str = ""


@dataclass(frozen=True)
class StartPlan:
    """The start of each jar, and which of two depths it gets.

    ``evening`` is when all are opened, None where that is not planned. ``seed`` is the number that the ages were
    dealt with, None where none were.
    """

    starts: tuple[datetime, ...]
    depths: tuple[int, ...]
    evening: datetime | None = None
    seed: int | None = None


def read_starts(
    entries: StartEntries, campaign: CampaignState, now: datetime, reader: Reader, *, lot_id: str, count: int
) -> StartPlan:
    """Return when each jar starts; what is wrong goes to ``reader``, and those jars then start now."""
    if entries.mode != AT_ONCE and not campaign.settings.material.may_lengthen_age:
        reader.say("starts", "shelf.split_superoxide")
        return _at_once(count, now)
    if entries.mode == AGES:
        plan = _for_one_evening(entries, count, now, reader)
    elif entries.mode == IN_TURN:
        plan = _in_turn(entries, count, now, reader)
    else:
        plan = _at_once(count, now)
    lot = campaign.lot(lot_id)
    if lot is not None and lot.made_at is not None and min(plan.starts) < lot.made_at:
        reader.say("begin" if entries.mode == IN_TURN else "lot_id", "shelf.before_lot", lot=lot.id)
    return plan


def _at_once(count: int, now: datetime) -> StartPlan:
    return StartPlan((now,) * count, tuple(at % 2 for at in range(count)))


def _in_turn(entries: StartEntries, count: int, now: datetime, reader: Reader) -> StartPlan:
    step = _hours(entries.every, reader)
    begin = entries.begin or now
    if step is None:
        return _at_once(count, now)
    starts = tuple(_not_late(begin + timedelta(hours=step * at), now) for at in range(count))
    return StartPlan(starts, tuple(at % 2 for at in range(count)))


def _not_late(start: datetime, now: datetime) -> datetime:
    return now if now - _LATE <= start < now else start


def _hours(text: str, reader: Reader) -> float | None:
    if not text.strip():
        reader.say("every", "shelf.split_every_missing")
        return None
    try:
        hours = parse_quantity(text, "h")
    except InputError as error:
        reader.say("every", error.code, **error.params)
        return None
    if not 0.0 < hours <= _LONGEST_H:
        reader.say("every", "shelf.split_every_impossible")
        return None
    return hours


def _for_one_evening(entries: StartEntries, count: int, now: datetime, reader: Reader) -> StartPlan:
    seed = _seed(entries.seed, reader)
    try:
        ages = read_ages(entries.ages)
    except InputError as error:
        reader.say("ages", error.code, **error.params)
        return _at_once(count, now)
    evening = entries.evening or now
    if len(ages) > count:
        reader.say("ages", "shelf.split_more_ages", ages=len(ages), count=count)
    late = [age for age in ages if evening - timedelta(hours=age) < now - _LATE]
    if late:
        _say_late(max(late), max(ages), evening, now, reader)
        return _at_once(count, now)
    dealt = deal(len(ages), count, seed)
    starts = tuple(_not_late(evening - timedelta(hours=ages[age]), now) for age, _ in dealt)
    return StartPlan(starts, tuple(depth for _, depth in dealt), evening, seed)


def _say_late(age: float, longest: float, evening: datetime, now: datetime, reader: Reader) -> None:
    started = evening - timedelta(hours=age)
    reader.say(
        "ages",
        "shelf.split_past",
        age=Amount(age, "h"),
        start=said_moment(started, now),
        earliest=said_moment(first_evening(now, longest), now),
    )


def _seed(text: str, reader: Reader) -> int:
    if text.strip().isdecimal():
        return int(text) % _SEEDS
    reader.say("seed", "shelf.split_seed")
    return 0


def read_ages(text: str) -> tuple[float, ...]:
    """Read ages such as "2, 8, 24, 96 h" or "8 h, 3 days" as hours, in the order that they were typed.

    A number without a unit takes that of the next one that has one, the last ones are hours. Raises InputError
    ``shelf.split_ages_unreadable``, ``shelf.split_age_impossible``, ``shelf.split_ages_missing`` and those of
    reading a number.
    """
    parts, place = [], 0
    while place < len(text.rstrip()):
        found = _AGE.match(text, place)
        if found is None or found.end() == place:
            raise InputError("shelf.split_ages_unreadable", text=text[place:].strip())
        parts.append((found.group(1), found.group(2)))
        place = found.end()
    if not parts:
        raise InputError("shelf.split_ages_missing")
    ages, unit = [], "h"
    for number, own in reversed(parts):
        unit = own or unit
        if unit_kind(unit) != "time":
            raise InputError("shelf.split_ages_unreadable", text=unit)
        hours = parse_quantity(f"{number} {unit}", "h")
        if not 0.0 < hours <= _LONGEST_H:
            raise InputError("shelf.split_age_impossible", age=Amount(hours, "h"))
        ages.append(hours)
    return tuple(reversed(ages))


def deal(ages: int, count: int, seed: int) -> tuple[tuple[int, int], ...]:
    """Deal ``ages`` ages and two depths to ``count`` jars in random order; return the pair of places for each jar.

    Each age comes up as often as any other, give or take one, and so does each depth within an age. The same seed
    deals the same hand.
    """
    hand = [(at % ages, (at // ages + at % ages) % 2) for at in range(count)]
    Random(seed).shuffle(hand)
    return tuple(hand)


def usual_seed(lot_id: str, jars: int) -> int:
    """Return the seed that a split starts with: it follows from the lot and the number of jars, not from chance."""
    return crc32(f"{lot_id} {jars}".encode()) % _SEEDS


def first_evening(now: datetime, ages: str | float, zone: tzinfo | None = None) -> datetime:
    """Return the first local evening on which a jar started from now on can have the longest of the ages."""
    longest = max(read_ages(ages)) if isinstance(ages, str) else ages
    least = (now + timedelta(hours=longest)).astimezone(zone)
    evening = at_hour(least.date(), EVENING_HOUR, zone)
    if evening < least:
        evening = at_hour(least.date() + timedelta(days=1), EVENING_HOUR, zone)
    return evening.astimezone(zone)


def said_apart(earlier: datetime, later: datetime, decimal: str) -> str:
    """Write the time between two moments as a person would say it: in whole hours from ten on."""
    hours = hours_between(earlier, later)
    return human_time(float(round(hours)) if hours >= 10.0 else round(hours, 1), "h", decimal=decimal)
