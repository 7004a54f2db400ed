"""Groups as people write them: ``lot=L1``, ``sample age=1..12``, ``period=2026-01-01..2026-02-01``."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import BY_WORD, Group
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor
from stirfall.bench.units import format_number, parse_quantity
from stirfall.session.comparing_groups import CHOSEN, FACTOR, PERIOD, Reader, factor_of

_ATTEMPTS = "attempts"
_TO = ".."
_MOST_KNOWN = 12


def read_group(state: CampaignState, text: str, tz: tzinfo | None = None) -> Group:
    """Return the group that a text means; raises InputError ``compare.text_*`` and those of its values.

    Left of the equals sign stands a word (lot, jar, day, operator, tool, oil, bench), the name of a factor, period
    or attempts; right of it a level, a range with both ends included (``1..12``, ``1..``, ``..12``, with units if
    wanted), two local moments, or numbers of attempts. A day at the end of a period belongs to it.
    """
    name, value = _split(state, text)
    if not name or not value:
        raise InputError("compare.text_unreadable", text=text.strip())
    if name == PERIOD:
        return _period(value, tz)
    if name == _ATTEMPTS:
        return _chosen(state, value)
    factor = next((each for each in state.factors if each.name == name), None)
    if factor is not None and not factor.is_choice:
        low, high = _range(factor, value)
        return Group(f"{FACTOR}{factor.name}", low=low, high=high)
    what = name if factor is None else f"{FACTOR}{factor.name}"
    return Group(what, level=_level(state, what, value, tz))


def write_group(state: CampaignState, group: Group, tz: tzinfo | None = None) -> str:
    """Return the text that means a group, so that ``read_group`` gives it again (ends to six digits)."""
    if group.what == CHOSEN:
        chosen = set(group.attempts)
        numbers = [str(attempt.number) for attempt in state.attempts if attempt.id in chosen]
        return f"{_ATTEMPTS}={','.join(numbers)}"
    if group.what == PERIOD:
        ends = ("" if at is None else f"{at.astimezone(tz):%Y-%m-%dT%H:%M:%S}" for at in (group.since, group.until))
        return f"{PERIOD}={_TO.join(ends)}"
    factor = factor_of(state, group)
    name = group.what.removeprefix(FACTOR)
    if factor is not None and name in (*BY_WORD, PERIOD, _ATTEMPTS):
        name = group.what
    if factor is None or factor.is_choice:
        return f"{name}={group.level}"
    ends = (
        "" if end is None else format_number(end, digits=6).replace("\u2212", "-")
        for end in (group.low, group.high)
    )
    return f"{name}={_TO.join(ends)}"


def _split(state: CampaignState, text: str) -> tuple[str, str]:
    """Split at the equals sign that leaves a known name before it; raises ``compare.text_*``."""
    names = {each.casefold(): each for each in (*BY_WORD, PERIOD, _ATTEMPTS)}
    factors = {factor.name.casefold(): factor.name for factor in state.factors}
    parts = text.split("=")
    for place in range(1, len(parts)):
        typed = " ".join("=".join(parts[:place]).split()).casefold()
        plain = typed.removeprefix(FACTOR).strip()
        found = names.get(typed) if plain == typed else None
        found = found or factors.get(plain)
        if found is not None:
            return found, "=".join(parts[place:]).strip()
    if len(parts) < 2:
        raise InputError("compare.text_unreadable", text=text.strip())
    raise InputError(
        "compare.text_unknown", name=parts[0].strip(), known=", ".join([*factors.values(), *names.values()])
    )


def _level(state: CampaignState, what: str, value: str, tz: tzinfo | None) -> str:
    """Return the level as the attempts have it; raises ``compare.level_unknown``."""
    word = Reader(state, tz).word(what)
    known = list(dict.fromkeys(found for attempt in state.attempts if (found := word(attempt))))
    wanted = " ".join(value.split()).casefold()
    for level in known:
        if " ".join(level.split()).casefold() == wanted:
            return level
    listed = ", ".join(known[:_MOST_KNOWN]) + (" and others" if len(known) > _MOST_KNOWN else "")
    raise InputError("compare.level_unknown", name=what.removeprefix(FACTOR), level=value, known=listed or "none")


def _range(factor: Factor, value: str) -> tuple[float | None, float | None]:
    low_text, to, high_text = value.partition(_TO)
    if not to:
        exact = parse_quantity(value, factor.unit)
        return exact, exact
    if not (low_text.strip() or high_text.strip()) or _TO in high_text:
        raise InputError("compare.range_unreadable", text=value)
    low, high = (parse_quantity(end, factor.unit) if end.strip() else None for end in (low_text, high_text))
    return low, high


def _period(value: str, tz: tzinfo | None) -> Group:
    since_text, to, until_text = value.partition(_TO)
    if not to:
        until_text = since_text
    if not (since_text.strip() or until_text.strip()):
        raise InputError("compare.text_unreadable", text=f"{PERIOD}={value}")
    return Group(PERIOD, since=_moment(since_text, tz, is_end=False), until=_moment(until_text, tz, is_end=True))


def _moment(text: str, tz: tzinfo | None, *, is_end: bool) -> datetime | None:
    text = text.strip()
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
        moment = datetime(day.year, day.month, day.day) + timedelta(days=int(is_end))  # noqa: DTZ001
    except (ValueError, OverflowError):
        try:
            moment = datetime.fromisoformat(text)
        except ValueError as error:
            raise InputError("time.unreadable", text=text) from error
    try:
        local = moment if moment.tzinfo is not None else moment.replace(tzinfo=tz) if tz else moment.astimezone()
        return as_utc(local.astimezone(UTC))
    except (ValueError, OSError, OverflowError) as error:
        raise InputError("time.unreadable", text=text) from error


def _chosen(state: CampaignState, value: str) -> Group:
    by_number = {attempt.number: attempt.id for attempt in state.attempts}
    wanted: list[int] = []
    for part in value.split(","):
        first, dash, last = part.strip().partition("-")
        if not first.isascii() or not first.isdigit() or (dash and not (last.isascii() and last.isdigit())):
            raise InputError("compare.attempts_unreadable", text=value.strip())
        if len(first) > 9 or len(last) > 9:
            raise InputError("compare.attempts_unknown", numbers=part.strip()[:20])
        top = int(last) if dash else int(first)
        wanted += [number for number in by_number if int(first) <= number <= top] if dash else [int(first)]
    missing = [str(number) for number in wanted if number not in by_number]
    if missing or not wanted:
        raise InputError("compare.attempts_unknown", numbers=", ".join(missing) or value)
    return Group(CHOSEN, attempts=tuple(sorted({by_number[number] for number in wanted})))
