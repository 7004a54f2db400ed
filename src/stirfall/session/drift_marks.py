"""Marks of changes along the attempts: those that a person made, and those that the records show; pure.

Within an evening lots and jars are mixed on purpose, so that not every switch is a change: a level is marked when
it is used for the first time, and when it comes back for good, after a stretch of the other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import islice

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.issued import MarkKind
from stirfall.bench.records import Attempt
from stirfall.session.drift_records import DriftMark, DriftPoint

# A stretch of so many attempts with one level, after as many with another, is a change and no mixing.
FEWEST_IN_A_ROW = 3
_NEWEST = 2000


def marks_of(state: CampaignState, points: Sequence[DriftPoint]) -> tuple[DriftMark, ...]:
    """Return the marks along the points in order; what a person wrote stands before what the records show."""
    by_id = {attempt.id: attempt for attempt in state.attempts}
    attempts = [by_id[point.attempt_id] for point in points]
    found = [
        DriftMark(
            _place(points, as_utc(mark.at)),
            as_utc(mark.at),
            mark.kind,
            Reason("drift.mark_own", {"words": mark.text}),
            mark.id,
        )
        for mark in state.marks
    ]
    for kind, code, levels in _columns(state, attempts):
        for place in _changes(levels):
            words = Reason(code, {"level": levels[place]})
            found.append(DriftMark(place, points[place].at, kind, words))
    return tuple(sorted(found, key=lambda mark: (mark.place, mark.id is None)))


def _place(points: Sequence[DriftPoint], at: datetime) -> int:
    """Return the place of the first attempt at or after a moment."""
    return next((point.place for point in points if point.at is not None and point.at >= at), len(points))


def _columns(state: CampaignState, attempts: Sequence[Attempt]) -> list[tuple[MarkKind, str, list[str]]]:
    jars = {jar.id: jar for jar in state.jars}
    held = [jars.get(attempt.jar_id or "") for attempt in attempts]
    lots = [
        attempt.lot_id or (jar.lot_id if jar is not None else "")
        for attempt, jar in zip(attempts, held, strict=True)
    ]
    return [
        (MarkKind.OIL, "drift.mark_oil", ["" if jar is None else jar.oil.strip() for jar in held]),
        (MarkKind.OIL, "drift.mark_history", ["" if jar is None else jar.oil_history for jar in held]),
        (MarkKind.LOT, "drift.mark_lot", lots),
        (MarkKind.TOOL, "drift.mark_tool", [attempt.facts.tool.strip() for attempt in attempts]),
        (MarkKind.OPERATOR, "drift.mark_operator", [attempt.facts.operator.strip() for attempt in attempts]),
    ]


def _changes(levels: Sequence[str]) -> list[int]:
    """Return the places from which another level holds; "" is not known and says nothing."""
    known = [(place, level) for place, level in enumerate(levels) if level]
    found, seen = [], {known[0][1].casefold()} if known else set()
    for at in range(1, len(known)):
        place, level = known[at]
        word, before = level.casefold(), known[at - 1][1].casefold()
        if word == before:
            continue
        new = word not in seen
        seen.add(word)
        if new or (_run(known, at, 1) >= FEWEST_IN_A_ROW and _run(known, at - 1, -1) >= FEWEST_IN_A_ROW):
            found.append(place)
    return found


def _run(known: Sequence[tuple[int, str]], start: int, step: int) -> int:
    """Return how many known attempts in a row have the level at ``start``, up to the fewest that count."""
    word, length, at = known[start][1].casefold(), 0, start
    while 0 <= at < len(known) and length < FEWEST_IN_A_ROW and known[at][1].casefold() == word:
        length, at = length + 1, at + step
    return length


def mark_near(marks: Sequence[DriftMark], first: int, last: int, likely: int) -> DriftMark | None:
    """Return the mark within ``first`` to ``last`` that is nearest to the likeliest moment; the person's first."""
    within = [mark for mark in marks if first <= mark.place <= last]
    return min(within, key=lambda mark: (abs(mark.place - likely), mark.id is None), default=None)


def known_words(state: CampaignState) -> Mapping[str, tuple[str, ...]]:
    """Return the operators and tools of the newest 2000 attempts, the newest first, by "operator" and "tool"."""
    found: dict[str, dict[str, str]] = {"operator": {}, "tool": {}}
    for attempt in islice(reversed(state.attempts), _NEWEST):
        for name, words in found.items():
            word = getattr(attempt.facts, name).strip()
            if word:
                words.setdefault(word.casefold(), word)
    return {name: tuple(words.values()) for name, words in found.items()}
