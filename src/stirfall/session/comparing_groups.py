"""Groups of attempts: what they can be about in a campaign, who belongs to one, and how one is called; pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import datetime, tzinfo
from functools import cached_property

from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import BY_WORD, Group
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.records import Attempt, bench_of, find_factor
from stirfall.bench.units import Amount
from stirfall.session.comparing_records import Level, Subject

FACTOR = "factor:"
PERIOD, CHOSEN = "period", "chosen"
_MOST_NAMED = 8


class Reader:
    """Reads from attempts what groups are about; days are those of ``tz``, None: of this computer."""

    def __init__(self, state: CampaignState, tz: tzinfo | None = None) -> None:
        self.state = state
        self.tz = tz

    @cached_property
    def _jars(self) -> dict[str, tuple[str, str]]:
        return {jar.id: (jar.lot_id, jar.oil) for jar in self.state.jars}

    def lot(self, attempt: Attempt) -> str:
        """Return the lot, by the jar where the attempt names none; "" where it is not known."""
        return attempt.lot_id or self._jars.get(attempt.jar_id or "", ("", ""))[0]

    def oil(self, attempt: Attempt) -> str:
        """Return the oil of the jar, else the campaign's."""
        return self._jars.get(attempt.jar_id or "", ("", ""))[1] or self.state.settings.oil

    def day(self, attempt: Attempt) -> str:
        """Return the local day of the attempt, ISO 8601; "" where no moment is known."""
        moment = moment_of(attempt)
        return "" if moment is None else moment.astimezone(self.tz).date().isoformat()

    def word(self, what: str) -> Callable[[Attempt], str]:
        """Return what tells the level of an attempt, "" where it is not known; raises ``compare.group_unknown``."""
        if what.startswith(FACTOR):
            name = find_factor(self.state.factors, what.removeprefix(FACTOR)).name
            return lambda attempt: _text(attempt.conditions.get(name))
        if what == "lot":
            return self.lot
        if what == "oil":
            return self.oil
        if what == "day":
            return self.day
        if what == "jar":
            return lambda attempt: attempt.jar_id or ""
        if what == "operator":
            return lambda attempt: attempt.facts.operator
        if what == "tool":
            return lambda attempt: attempt.facts.tool
        if what == "bench":
            settings = self.state.settings
            return lambda attempt: bench_of(attempt, settings)
        raise InputError("compare.group_unknown", what=what)

    def test(self, group: Group) -> Callable[[Attempt], bool]:
        """Return what tells whether an attempt belongs to a group; raises ``compare.*`` and ``factor.unknown``."""
        if group.what == CHOSEN:
            chosen = frozenset(group.attempts)
            return lambda attempt: attempt.id in chosen
        if group.what == PERIOD:
            return lambda attempt: _within(moment_of(attempt), group.since, group.until)
        factor = factor_of(self.state, group)
        if factor is not None and not factor.is_choice:
            name, low, high = factor.name, group.low, group.high
            return lambda attempt: _inside(attempt.conditions.number(name), low, high)
        word, wanted = self.word(group.what), _plain(group.level)
        return lambda attempt: _plain(word(attempt)) == wanted and bool(wanted)


def members(state: CampaignState, group: Group, tz: tzinfo | None = None) -> tuple[Attempt, ...]:
    """Return the attempts that belong to a group, those that do not count too; raises ``compare.group_unknown``.

    Struck-out and aborted attempts are among them: who counts is for the comparison to say.
    """
    belongs = Reader(state, tz).test(group)
    return tuple(attempt for attempt in state.attempts if belongs(attempt))


def subjects(state: CampaignState, tz: tzinfo | None = None) -> tuple[Subject, ...]:
    """Return what groups can be about: words and choices with two levels, numbers, a period, chosen ones."""
    reader = Reader(state, tz)
    counting = [attempt for attempt in state.attempts if not attempt.is_struck and not attempt.aborted]
    found = []
    for factor in state.visible_factors:
        made = _choice(reader, factor, counting) if factor.is_choice else _number(factor, counting)
        if made is not None:
            found.append(made)
    for what in BY_WORD:
        levels = _levels(reader.word(what), counting, by_name=what == "day")
        if len(levels) > 1:
            found.append(Subject(what, "level", what, levels, attempts=sum(level.attempts for level in levels)))
    dated = [moment for attempt in counting if (moment := moment_of(attempt)) is not None]
    if len(set(dated)) > 1:
        split = _split([moment.timestamp() for moment in dated])
        found.append(Subject(PERIOD, "period", PERIOD, attempts=len(dated), split=split))
    if len(counting) > 1:
        found.append(Subject(CHOSEN, "chosen", CHOSEN, attempts=len(counting)))
    return tuple(found)


def group_name(state: CampaignState, group: Group, tz: tzinfo | None = None) -> Reason:
    """Return in words who belongs to a group."""
    if group.what == CHOSEN:
        numbers = sorted(attempt.number for attempt in state.attempts if attempt.id in set(group.attempts))
        named = ", ".join(str(number) for number in numbers[:_MOST_NAMED])
        rest = len(numbers) - _MOST_NAMED
        code = "compare.group_chosen_more" if rest > 0 else "compare.group_chosen"
        return Reason(code, {"numbers": named or "none", "more": max(rest, 0)})
    if group.what == PERIOD:
        return _period_name(group, tz)
    factor = factor_of(state, group)
    if factor is not None and not factor.is_choice:
        return _range_name(group, factor)
    if factor is not None:
        return Reason("compare.group_level", {"name": factor.name, "level": group.level})
    code = f"compare.group_{group.what}"
    return Reason(code, {"level": group.level})


def factor_of(state: CampaignState, group: Group) -> Factor | None:
    """Return the factor that a group is about, None where it is about something else."""
    if not group.what.startswith(FACTOR):
        return None
    return find_factor(state.factors, group.what.removeprefix(FACTOR))


def moment_of(attempt: Attempt) -> datetime | None:
    """Return when the attempt was made, else when it was recorded."""
    return attempt.started_at or attempt.recorded_at


def _period_name(group: Group, tz: tzinfo | None) -> Reason:
    since, until = (
        "" if moment is None else f"{moment.astimezone(tz):%Y-%m-%d %H:%M}" for moment in (group.since, group.until)
    )
    ends = ("since" if since else "") + ("until" if until else "")
    code = f"compare.group_period_{ends or 'all'}"
    return Reason(code, {"since": since, "until": until})


def _range_name(group: Group, factor: Factor) -> Reason:
    params: dict[str, object] = {"name": factor.name}
    if group.low is not None:
        params["low"] = Amount(group.low, factor.unit)
    if group.high is not None:
        params["high"] = Amount(group.high, factor.unit)
    if group.low is not None and group.low == group.high:
        return Reason("compare.group_exactly", params)
    ends = ("low" if "low" in params else "") + ("high" if "high" in params else "")
    code = f"compare.group_range_{ends or 'all'}"
    return Reason(code, params)


def _choice(reader: Reader, factor: Factor, counting: list[Attempt]) -> Subject | None:
    what = f"{FACTOR}{factor.name}"
    levels = _levels(reader.word(what), counting)
    if len(levels) < 2:
        return None
    return Subject(what, "level", factor.name, levels, attempts=sum(level.attempts for level in levels))


def _number(factor: Factor, counting: list[Attempt]) -> Subject | None:
    values = [value for each in counting if (value := each.conditions.number(factor.name)) is not None]
    if len(set(values)) < 2:
        return None
    return Subject(
        f"{FACTOR}{factor.name}",
        "range",
        factor.name,
        low=min(values),
        high=max(values),
        unit=factor.unit,
        attempts=len(values),
        split=_split(values),
    )


def _split(values: list[float]) -> tuple[float, float] | None:
    """Return two neighbouring values with about half of all on either side; None where all are the same."""
    ordered = sorted(values)
    steps = [at for at in range(1, len(ordered)) if ordered[at - 1] < ordered[at]]
    if not steps:
        return None
    at = min(steps, key=lambda step: abs(2 * step - len(ordered)))
    return ordered[at - 1], ordered[at]


def _levels(word: Callable[[Attempt], str], counting: list[Attempt], *, by_name: bool = False) -> tuple[Level, ...]:
    shown: dict[str, str] = {}
    counts: Counter[str] = Counter()
    for attempt in counting:
        text = word(attempt)
        if text:
            counts[_plain(text)] += 1
            shown.setdefault(_plain(text), text)
    found = [Level(shown[key], count) for key, count in counts.items()]
    found.sort(key=lambda level: level.value if by_name else (-level.attempts, level.value))
    return tuple(found)


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def _inside(value: float | None, low: float | None, high: float | None) -> bool:
    if value is None:
        return False
    return (low is None or value >= low) and (high is None or value <= high)


def _within(moment: datetime | None, since: datetime | None, until: datetime | None) -> bool:
    if moment is None:
        return False
    return (since is None or moment >= since) and (until is None or moment < until)
