"""What may pretend a difference between two groups, or hide one: what else is not alike in them; pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import tzinfo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt
from stirfall.session.comparing_groups import FACTOR, PERIOD, Reader, moment_of
from stirfall.session.comparing_records import Side

# Our own proposal: below this share of attempts that have their like in the other group, something is said.
FEW = 0.5
_LEAST = 2
_WORDS = ("operator", "tool", "oil", "bench")


def warnings_of(state: CampaignState, first: Side, second: Side, tz: tzinfo | None = None) -> tuple[Reason, ...]:
    """Return what else differs between the attempts that count: lots, days, conditions, hands and tools."""
    by_id = {attempt.id: attempt for attempt in state.attempts}
    groups = [[by_id[dot.attempt_id] for dot in side.dots] for side in (first, second)]
    if min(first.n, second.n) < _LEAST:
        return ()
    about = {first.group.what, second.group.what}
    return tuple(_found(state, groups, about, Reader(state, tz)))


def _found(state: CampaignState, groups: list[list[Attempt]], about: set[str], reader: Reader) -> Iterator[Reason]:
    if not about & {"lot", "jar"}:
        alike = in_common(*([reader.lot(each) for each in group] for group in groups))
        if alike is not None and alike < FEW:
            yield Reason("compare.lots_apart" if alike else "compare.no_lot_shared", {"share": round(100 * alike)})
    if not about & {"day", PERIOD}:
        yield from _times(groups, reader)
    for factor in state.visible_factors:
        if f"{FACTOR}{factor.name}" in about:
            continue
        if factor.is_choice:
            word = reader.word(f"{FACTOR}{factor.name}")
            alike = in_common(*([word(each) for each in group] for group in groups))
            code = "compare.levels_apart"
        else:
            alike = within_each_other(
                *([each.conditions.number(factor.name) for each in group] for group in groups)
            )
            code = "compare.range_apart"
        if alike is not None and alike < FEW:
            yield Reason(code, {"name": factor.name, "share": round(100 * alike)})
    for what in _WORDS:
        if what in about:
            continue
        word = reader.word(what)
        alike = in_common(*([word(each) for each in group] for group in groups))
        if alike is not None and alike < FEW:
            code = f"compare.{what}_apart"
            yield Reason(code, {"share": round(100 * alike)})


def _times(groups: list[list[Attempt]], reader: Reader) -> Iterator[Reason]:
    moments = [[None if (at := moment_of(each)) is None else at.timestamp() for each in group] for group in groups]
    alike = within_each_other(*moments)
    if alike is not None and alike < FEW:
        known = [[value for value in each if value is not None] for each in moments]
        code = "compare.first_earlier" if max(known[0]) <= max(known[1]) else "compare.second_earlier"
        yield Reason(code, {"share": round(100 * alike)})
        return
    days = in_common(*([reader.day(each) for each in group] for group in groups))
    if days is not None and days < FEW:
        yield Reason("compare.days_apart", {"share": round(100 * days)})


def in_common(first: Sequence[str], second: Sequence[str]) -> float | None:
    """Return which share of all known ones has its word in the other group too; None where a group knows none."""
    known = [[word for word in group if word] for group in (first, second)]
    if not all(known):
        return None
    both = set(known[0]) & set(known[1])
    return sum(word in both for group in known for word in group) / sum(len(group) for group in known)


def within_each_other(first: Sequence[float | None], second: Sequence[float | None]) -> float | None:
    """Return which share of all known numbers lies in the other group's range; None where a group knows none."""
    known = [[value for value in group if value is not None] for group in (first, second)]
    if not all(known):
        return None
    inside = 0
    for own, other in ((known[0], known[1]), (known[1], known[0])):
        low, high = min(other), max(other)
        inside += sum(low <= value <= high for value in own)
    return inside / sum(len(group) for group in known)
