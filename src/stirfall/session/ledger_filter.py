"""Filters of the ledger in words: conditions as frozen values, what they can be about, and which attempts fit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.bench.run_facts import OIL_REMOVALS
from stirfall.bench.substances import SurfaceLook
from stirfall.planning.findings import CloseAmount

FACTOR = "factor:"
_CLOSE = 5e-7  # relative; numbers are shown with six digits


class Kind(StrEnum):
    """What a filter can be about, and so which tests it knows."""

    NUMBER = "number"
    CHOICE = "choice"
    TEXT = "text"
    TIME = "time"
    FLAG = "flag"


class How(StrEnum):
    """How a filter compares."""

    IS = "is"
    IS_NOT = "is not"
    OVER = "over"
    UNDER = "under"
    CONTAINS = "contains"
    LACKS = "does not contain"
    WITHIN = "within"
    SINCE = "since"
    BEFORE = "before"
    YES = "yes"
    NO = "no"
    KNOWN = "known"
    UNKNOWN = "unknown"


TESTS: Mapping[Kind, tuple[How, ...]] = {
    Kind.NUMBER: (How.OVER, How.UNDER, How.IS, How.KNOWN, How.UNKNOWN),
    Kind.CHOICE: (How.IS, How.IS_NOT, How.KNOWN, How.UNKNOWN),
    Kind.TEXT: (How.CONTAINS, How.LACKS, How.KNOWN, How.UNKNOWN),
    Kind.TIME: (How.WITHIN, How.SINCE, How.BEFORE),
    Kind.FLAG: (How.YES, How.NO),
}
WITHOUT_VALUE = (How.YES, How.NO, How.KNOWN, How.UNKNOWN)
SPANS = ("today", "this week", "this month", "this year", "in the last 7 days", "in the last 30 days")
FLAGS = ("struck", "aborted", "photos", "run", "proof", "regraded", "warned", "corrected_age")


@dataclass(frozen=True)
class Subject:
    """What a filter can be about: its key, its name in a sentence, its kind, its unit or its choices."""

    key: str
    name: str
    kind: Kind
    unit: str = ""
    levels: tuple[str, ...] = ()


@dataclass(frozen=True)
class Condition:
    """One filter: what, how, and against what; numbers in the unit of their subject, days as ISO 8601 text."""

    what: str
    how: How
    value: float | str = ""


@dataclass(frozen=True)
class Around:
    """What the attempts themselves do not say: the moment, the zone of the days, photos and second grades."""

    now: datetime
    zone: tzinfo | None = None
    photographed: frozenset[str] = frozenset()
    regraded: frozenset[str] = frozenset()
    jar_lots: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, state: CampaignState, now: datetime, *, photographed: frozenset[str] = frozenset()) -> Around:
        """Return what a campaign says beside its attempts."""
        return cls(
            now,
            None,
            photographed,
            frozenset(regrade.attempt_id for regrade in state.regrades),
            {jar.id: jar.lot_id for jar in state.jars},
        )


_NUMBERS: tuple[tuple[str, str, str, str], ...] = (
    ("", "number", "number", ""),
    ("facts", "room_rh_percent", "room humidity", "%"),
    ("facts", "oil_ml", "oil with the metal", "mL"),
    ("facts", "peak_c", "highest temperature", "C"),
    ("facts", "lifted_at_c", "lifted out at", "C"),
    ("masses", "charge_g", "charge", "g"),
    ("masses", "product_g", "product", "g"),
    ("masses", "beads_g", "beads", "g"),
    ("masses", "residue_g", "residue", "g"),
    ("masses", "additive_g", "additive mass", "g"),
    ("sheet", "bead_mm", "bead size", "mm"),
    ("sheet", "purity_percent", "metal in product", "%"),
)
_PLACES = {name: part for part, name, _, _ in _NUMBERS}


def subjects(state: CampaignState) -> tuple[Subject, ...]:
    """Return everything that a filter of this campaign can be about, the most asked first."""
    outcomes = tuple(outcome.value for outcome in Outcome)
    lots = tuple(lot.id for lot in state.lots)
    jars = tuple(dict.fromkeys(attempt.jar_id for attempt in state.attempts if attempt.jar_id))
    return (
        Subject("outcome", "outcome", Kind.CHOICE, levels=outcomes),
        Subject("lot", "lot", Kind.CHOICE, levels=lots),
        Subject("jar", "jar", Kind.CHOICE, levels=jars),
        Subject("time", "made", Kind.TIME, levels=SPANS),
        *(_of_factor(factor) for factor in state.factors),
        Subject("operator", "who", Kind.CHOICE, levels=_noted(state, "operator")),
        Subject("tool", "tool", Kind.CHOICE, levels=_noted(state, "tool")),
        Subject("bench", "bench", Kind.CHOICE, levels=_benches(state)),
        Subject("note", "note", Kind.TEXT),
        *(Subject(key, key, Kind.FLAG) for key in FLAGS),
        Subject("look", "surface before melting", Kind.CHOICE, levels=tuple(each.value for each in SurfaceLook)),
        *(Subject(name, words, Kind.NUMBER, unit) for _, name, words, unit in _NUMBERS),
        Subject("oil_removed", "oil removed", Kind.CHOICE, levels=OIL_REMOVALS),
    )


def _noted(state: CampaignState, name: str) -> tuple[str, ...]:
    """Return the operators or tools that attempts name."""
    words = (str(getattr(attempt.facts, name)) for attempt in state.attempts)
    return tuple(dict.fromkeys(word for word in words if word))


def _benches(state: CampaignState) -> tuple[str, ...]:
    """Return the benches of pooled attempts."""
    return tuple(dict.fromkeys(each.origin.bench for each in state.attempts if each.origin is not None))


def _of_factor(factor: Factor) -> Subject:
    key = f"{FACTOR}{factor.name}"
    if factor.is_choice:
        return Subject(key, factor.name, Kind.CHOICE, levels=factor.levels)
    return Subject(key, factor.name, Kind.NUMBER, factor.unit)


def checked(condition: Condition, subject: Subject) -> Condition:
    """Return a condition that makes sense for its subject; raises InputError ``ledger_filter.*``."""
    if condition.how not in TESTS[subject.kind]:
        raise InputError("ledger_filter.wrong_test", what=subject.name)
    if condition.how in WITHOUT_VALUE:
        return Condition(condition.what, condition.how)
    if isinstance(condition.value, str) and not condition.value.strip():
        raise InputError("ledger_filter.no_value", what=subject.name)
    if condition.how in (How.SINCE, How.BEFORE):
        _day(str(condition.value))
    if condition.how is How.WITHIN and condition.value not in SPANS:
        raise InputError("ledger_filter.unknown_span", value=condition.value, known=", ".join(SPANS))
    return condition


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError("ledger_filter.no_day", text=text) from None


def in_words(condition: Condition, subject: Subject, *, is_other: bool = False) -> Reason:
    """Return a filter as a code with parameters; ``is_other`` says that another one about the same allows too."""
    if is_other:
        return Reason("ledger_filter.or", {"filter": in_words(condition, subject)})
    if subject.kind is Kind.FLAG:
        return Reason(f"ledger_filter.{condition.what}_{condition.how.value}")
    if subject.kind is Kind.TIME:
        made = f"made_{condition.how.value}"
        return Reason(f"ledger_filter.{made}", {"value": condition.value})
    value = condition.value
    shown = CloseAmount(value, subject.unit) if isinstance(value, float) else value
    code = {How.IS_NOT: "is_not", How.LACKS: "lacks"}.get(condition.how, condition.how.value)
    return Reason(f"ledger_filter.{code}", {"what": subject.name, "value": shown})


Fits = Callable[[Attempt], bool]


def fits(attempt: Attempt, conditions: Iterable[Condition], around: Around) -> bool:
    """Return whether an attempt fits all conditions (see ``matcher``)."""
    return matcher(conditions, around)(attempt)


def matcher(conditions: Iterable[Condition], around: Around) -> Fits:
    """Return what says whether an attempt fits; made once for many attempts.

    Conditions that say of the same thing what it is allow each other: lot is L1, lot is L2 means either. All others
    must hold together. What is unknown is neither over nor under anything, and is not what something else is.
    """
    together: dict[str, list[Fits]] = {}
    tests: list[Fits] = []
    for condition in conditions:
        made = _test_of(condition, around)
        if condition.how is How.IS or condition.how is How.WITHIN:
            together.setdefault(condition.what, []).append(made)
        else:
            tests.append(made)
    tests += [_any_of(tuple(group)) for group in together.values()]
    return lambda attempt: all(test(attempt) for test in tests)


def _any_of(group: tuple[Fits, ...]) -> Fits:
    return group[0] if len(group) == 1 else lambda attempt: any(test(attempt) for test in group)


def _test_of(condition: Condition, around: Around) -> Fits:
    if condition.what in FLAGS:
        wanted = condition.how is How.YES
        flag = _flag(condition.what, around)
        return lambda attempt: flag(attempt) is wanted
    if condition.what == "time":
        return _time_test(condition, around)
    value = value_of(condition.what, around)
    return _value_test(condition, value)


def _flag(what: str, around: Around) -> Fits:
    return {
        "struck": lambda attempt: attempt.is_struck,
        "aborted": lambda attempt: attempt.aborted,
        "photos": lambda attempt: attempt.id in around.photographed,
        "run": lambda attempt: attempt.run_id is not None,
        "proof": lambda attempt: attempt.proof_id is not None,
        "regraded": lambda attempt: attempt.id in around.regraded,
        "warned": lambda attempt: bool(attempt.facts.accepted),
        "corrected_age": lambda attempt: bool(attempt.overrides),
    }[what]


def value_of(what: str, around: Around) -> Callable[[Attempt], float | str | None]:
    """Return what reads the value that a filter is about; None means unknown. Raises InputError for another key."""
    if what.startswith(FACTOR):
        name = what.removeprefix(FACTOR)
        return lambda attempt: attempt.conditions.get(name)
    if what in _PLACES:
        part = _PLACES[what]
        if not part:
            return lambda attempt: float(attempt.number)
        return lambda attempt: getattr(getattr(attempt, part), what)
    texts: dict[str, Callable[[Attempt], str | None]] = {
        "outcome": lambda attempt: attempt.outcome.value,
        "lot": lambda attempt: attempt.lot_id or around.jar_lots.get(attempt.jar_id or ""),
        "jar": lambda attempt: attempt.jar_id,
        "note": lambda attempt: attempt.note or None,
        "look": lambda attempt: attempt.facts.look or None,
        "operator": lambda attempt: attempt.facts.operator or None,
        "tool": lambda attempt: attempt.facts.tool or None,
        "oil_removed": lambda attempt: attempt.sheet.oil_removed or None,
        "bench": lambda attempt: None if attempt.origin is None else attempt.origin.bench,
    }
    if what not in texts:
        raise InputError("ledger_filter.unknown_subject", what=what)
    return texts[what]


def _value_test(condition: Condition, value: Callable[[Attempt], float | str | None]) -> Fits:
    wanted = condition.value
    if condition.how in (How.KNOWN, How.UNKNOWN):
        known = condition.how is How.KNOWN
        return lambda attempt: (value(attempt) is not None) is known
    if condition.how in (How.CONTAINS, How.LACKS):
        part, inside = str(wanted).casefold(), condition.how is How.CONTAINS
        return lambda attempt: (part in str(value(attempt) or "").casefold()) is inside
    if condition.how in (How.OVER, How.UNDER):
        over, limit = condition.how is How.OVER, float(wanted)
        return lambda attempt: _is_beyond(value(attempt), limit, over)
    same = condition.how is How.IS
    return lambda attempt: _is_same(value(attempt), wanted) is same


def _is_beyond(value: float | str | None, limit: float, over: bool) -> bool:
    if value is None or isinstance(value, str) or _is_same(value, limit):
        return False
    return value > limit if over else value < limit


def _is_same(value: float | str | None, wanted: float | str) -> bool:
    if isinstance(value, str) or isinstance(wanted, str) or value is None:
        return value == wanted
    return abs(value - wanted) <= _CLOSE * max(abs(value), abs(wanted))


def _time_test(condition: Condition, around: Around) -> Fits:
    start, end = _span(condition, around)

    def test(attempt: Attempt) -> bool:
        moment = attempt.started_at or attempt.recorded_at
        return moment is not None and (start is None or moment >= start) and (end is None or moment < end)

    return test


def _span(condition: Condition, around: Around) -> tuple[datetime | None, datetime | None]:
    """Return the moments between which an attempt fits; days begin at midnight, weeks on Monday (ISO 8601)."""
    if condition.how is How.SINCE:
        return _midnight(_day(str(condition.value)), around.zone), None
    if condition.how is How.BEFORE:
        return None, _midnight(_day(str(condition.value)), around.zone)
    now = around.now.astimezone(around.zone)
    if str(condition.value).startswith("in the last "):
        return around.now - timedelta(days=int(str(condition.value).split()[3])), None
    start, end = _calendar_span(str(condition.value), now.date())
    return _midnight(start, around.zone), _midnight(end, around.zone)


def _calendar_span(words: str, today: date) -> tuple[date, date]:
    """Return the first day of a span of the calendar, and the first day after it."""
    monday, first = today - timedelta(days=today.weekday()), today.replace(day=1)
    new_year = today.replace(month=1, day=1)
    return {
        "today": (today, today + timedelta(days=1)),
        "this week": (monday, monday + timedelta(days=7)),
        "this month": (first, (first + timedelta(days=31)).replace(day=1)),
        "this year": (new_year, new_year.replace(year=today.year + 1)),
    }[words]


def _midnight(day: date, zone: tzinfo | None) -> datetime:
    naive = datetime(day.year, day.month, day.day)  # noqa: DTZ001  # the zone is given in the next line
    return naive.replace(tzinfo=zone) if zone is not None else naive.astimezone()
