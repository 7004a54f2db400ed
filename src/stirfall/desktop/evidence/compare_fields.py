"""Between the fields of a group and the group that they mean; pure."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TYPE_CHECKING

from stirfall.bench.comparisons import Group
from stirfall.desktop.evidence.compare_state import CHOSEN, LEVEL, PERIOD, RANGE, GroupState

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.desktop.shown import Shown
    from stirfall.session.comparing_records import Subject

_FACTOR = "factor:"


@dataclass(frozen=True)
class Typed:
    """What both groups hold of one subject."""

    first: GroupState = field(default_factory=GroupState)
    second: GroupState = field(default_factory=GroupState)

    def with_side(self, side: int, group: GroupState) -> Typed:
        """Return the same with one group changed."""
        return Typed(group, self.second) if side == 0 else replace(self, second=group)

    @property
    def both(self) -> tuple[GroupState, GroupState]:
        """Return the first and the second."""
        return self.first, self.second


def group_of(state: CampaignState, subject: Subject, typed: GroupState, shown: Shown) -> Group:
    """Return the group that a side's fields mean; raises InputError."""
    from stirfall.session.comparing_text import read_group

    if subject.kind == LEVEL:
        return Group(subject.what, level=typed.level)
    if subject.kind == CHOSEN:
        return read_group(state, f"attempts={typed.text}")
    if subject.kind == PERIOD:
        return read_group(state, f"period={typed.low}..{typed.high}")
    low, high = (shown.read(text, subject.unit) if text.strip() else None for text in (typed.low, typed.high))
    return Group(subject.what, low=low, high=high)


def fields_of(state: CampaignState, subject: Subject, group: Group, *, shown: Shown) -> GroupState:
    """Return the fields that mean a group."""
    if subject.kind == CHOSEN:
        chosen = set(group.attempts)
        return GroupState(text=", ".join(str(each.number) for each in state.attempts if each.id in chosen))
    if subject.kind == PERIOD:
        return GroupState(low=_minute(group.since), high=_minute(group.until))
    if subject.kind == RANGE:
        low, high = ("" if end is None else shown.number(end, subject.unit) for end in (group.low, group.high))
        return GroupState(low=low, high=high)
    return GroupState(level=group.level)


def usual_subject(subjects: tuple[Subject, ...]) -> str:
    """Return what is compared at first: a choice, else lots, else whatever comes first."""
    choices = [each.what for each in subjects if each.kind == LEVEL and each.what.startswith(_FACTOR)]
    lots = [each.what for each in subjects if each.what == "lot"]
    return next(iter((*choices, *lots, *(each.what for each in subjects))), "")


def usual_groups(subject: Subject, shown: Shown) -> Typed:
    """Return the two levels with most attempts, or the two halves of a number or of the time."""
    if subject.kind == LEVEL:
        most = sorted(subject.levels, key=lambda level: -level.attempts)[:2]
        return Typed(*(GroupState(level=level.value) for level in most))
    if subject.split is None:
        return Typed()
    lower, upper = subject.split
    if subject.kind == PERIOD:
        border = _minute(datetime.fromtimestamp(upper).astimezone())
        return Typed(GroupState(high=border), GroupState(low=border))
    ends = shown.number(lower, subject.unit), shown.number(upper, subject.unit)
    return Typed(GroupState(high=ends[0]), GroupState(low=ends[1]))


def _minute(moment: datetime | None) -> str:
    return "" if moment is None else f"{moment.astimezone():%Y-%m-%d %H:%M}"
