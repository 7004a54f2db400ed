"""The choices of one evening: when each attempt begins, which are worth making, and their order by lot.

Plain values in and out; what the jars are and what the attempts say is found by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from hashlib import blake2b

import numpy as np
import numpy.typing as npt

from stirfall.bench.ages import as_utc
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.records import Attempt
from stirfall.planning.box import Numbers
from stirfall.planning.limits_work import break_findings
from stirfall.storage.limit_table import limit_table

# Attempts that are worth as much as the best to one part in twenty are equals (our proposal): then the jar goes
# first that will be spoilt soonest.
EQUALLY_GOOD = 0.95
_ROUNDING_H = 1e-9
_MOST_SLOTS = 50


@dataclass(frozen=True)
class Pause:
    """A break in the timetable, in hours after the evening begins, before the attempt at place ``before``."""

    starts_h: float
    ends_h: float
    before: int
    reason: Reason


@dataclass(frozen=True)
class Timetable:
    """When each attempt of an evening begins, in hours after the evening does, and the breaks between them."""

    starts_h: tuple[float, ...]
    pauses: tuple[Pause, ...] = ()

    def first(self, count: int) -> Timetable:
        """Return the timetable of the first ``count`` attempts only."""
        kept = tuple(pause for pause in self.pauses if pause.before <= count)
        return Timetable(self.starts_h[:count], kept)


def openings_in(hours: float, attempt_h: float) -> int:
    """Return how many attempts of ``attempt_h`` hours fit into ``hours`` without a break between them."""
    return max(0, math.floor(hours / attempt_h + _ROUNDING_H))


def timetable(state: CampaignState, begins_at: datetime, hours: float, attempt_h: float) -> Timetable:
    """Return when the attempts of an evening begin: as many as fit, with the breaks that the limits ask for.

    The rule is that of ``break_findings``, asked as if the attempts before had been made as planned: a break before
    each hot run beyond the number of the table, and before one that would follow too long a time without. What was
    recorded earlier that day counts.
    """
    rule = limit_table()["session_length"]
    gap_h, without_h = rule.number("gap") / 60.0, rule.number("without")
    starts: list[float] = []
    pauses: list[Pause] = []
    made, at_h = state, 0.0
    for place in range(1, min(openings_in(hours, attempt_h), _MOST_SLOTS) + 1):
        reason = _break_before(made, begins_at + timedelta(hours=at_h), gap_h)
        if reason is None and starts and attempt_h > without_h:
            reason = Reason("tonight.long_attempts", {"gap": f"{rule.number('gap'):.0f}"})
        begins_h = at_h if reason is None else at_h + gap_h
        if begins_h + attempt_h > hours + _ROUNDING_H:
            break
        if reason is not None:
            pauses.append(Pause(at_h, begins_h, place, reason))
        starts.append(begins_h)
        at_h = begins_h + attempt_h
        made = _as_if_made(made, begins_at, begins_h, attempt_h)
    return Timetable(tuple(starts), tuple(pauses))


def _break_before(state: CampaignState, at: datetime, gap_h: float) -> Reason | None:
    found = break_findings(state, at)
    if not found:
        return None
    last = [
        moment for each in state.attempts for moment in (each.started_at, each.recorded_at) if not each.is_struck
    ]
    rested_since = as_utc(at) - timedelta(hours=gap_h)
    if not any(moment is not None and rested_since < as_utc(moment) <= as_utc(at) for moment in last):
        return None  # the break was taken already
    return Reason(found[0].code, found[0].params)


def _as_if_made(state: CampaignState, begins_at: datetime, starts_h: float, attempt_h: float) -> CampaignState:
    start = begins_at + timedelta(hours=starts_h)
    end = start + timedelta(hours=attempt_h)
    imagined = Attempt(f"imagined {starts_h}", 0, Conditions(), started_at=start, recorded_at=end)
    return replace(state, attempts=(*state.attempts, imagined))


# ------------------------------------------------------------------------------------------------ which to make


def choose_jars(
    count: int,
    owner: npt.NDArray[np.intp],
    score: Callable[[Sequence[int]], Numbers],
    hurry_h: Sequence[float],
) -> list[int]:
    """Return up to ``count`` candidates, each of another jar, chosen one by one.

    ``owner`` (c,) is the place of the jar that each candidate belongs to. ``score`` gives the worth of every
    candidate, (c,), when those at the given places were chosen before; minus infinity forbids one. Among jars whose
    best candidate is worth as much as the best to ``EQUALLY_GOOD``, the one with the fewest hours in ``hurry_h``
    goes first; among these the one of most worth, then the first.
    """
    chosen: list[int] = []
    spent: set[int] = set()
    while len(chosen) < count:
        worth = np.array(score(chosen), dtype=float)
        worth[np.isin(owner, list(spent))] = -np.inf
        best = {int(jar): _best_of(worth, owner, int(jar)) for jar in np.unique(owner[np.isfinite(worth)])}
        if not best:
            break
        most = max(worth[place] for place in best.values())
        bar = most * EQUALLY_GOOD if most > 0 else most
        equal = [jar for jar, place in best.items() if worth[place] >= bar]
        jar = min(equal, key=lambda each: (hurry_h[each], -worth[best[each]], each))
        chosen.append(best[jar])
        spent.add(jar)
    return chosen


def _best_of(worth: Numbers, owner: npt.NDArray[np.intp], jar: int) -> int:
    places = np.flatnonzero(owner == jar)
    return int(places[np.argmax(worth[places])])


# ------------------------------------------------------------------------------------------------------- order


def default_seed(day: date, attempts: int) -> int:
    """Return the seed of an evening: its local day as digits, then the number of recorded attempts (mod 1000)."""
    return int(f"{day:%Y%m%d}") * 1000 + attempts % 1000


@dataclass(frozen=True)
class Drawn:
    """One attempt in the drawn order: its ``place`` among what was given, and its block, counted from 1."""

    place: int
    block: int


def draw_order(lots: Sequence[str], names: Sequence[str], seed: int) -> tuple[Drawn, ...]:
    """Return an order by chance, in blocks: all attempts of a lot follow each other.

    ``lots`` and ``names`` tell attempts apart, one each; names are unique. Blocks, and the attempts inside each,
    are sorted by a hash (BLAKE2, RFC 7693) of the seed and their name, which is an order by chance that no library
    can change: the same seed draws the same order for ever, in whatever order the attempts are given.
    """
    blocks = sorted(set(lots), key=lambda lot: _ticket(seed, "block", lot))
    places = sorted(range(len(names)), key=lambda place: _ticket(seed, "attempt", names[place]))
    return tuple(
        Drawn(place, number) for number, lot in enumerate(blocks, 1) for place in places if lots[place] == lot
    )


def _ticket(seed: int, kind: str, name: str) -> bytes:
    return blake2b(f"{seed}\x1f{kind}\x1f{name}".encode(), digest_size=16).digest()
