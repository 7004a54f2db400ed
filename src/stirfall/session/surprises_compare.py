"""Two attempts side by side: what differs between them, and which differences the answer thinks matter."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo

import numpy as np

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Value
from stirfall.bench.records import LOT_EFFECT_BENCH, LOT_EFFECT_JAR, LOT_EFFECT_LOT
from stirfall.inference.gate_rows import GateName
from stirfall.session.analysis import Analysis
from stirfall.session.surprises_facts import FACTS, facts_of, places_in_days
from stirfall.session.surprises_found import Compared, Difference, Near, Shift
from stirfall.session.surprises_near import Likeness
from stirfall.session.surprises_shift import shifts_of

# From this posterior probability of its sign on a difference is said to matter; our own choice, as in directions.
LIKELY = 0.8
# Smaller than this on the log odds (a fifth of the odds) a sure difference is too small to matter; our own choice.
SMALL = 0.2
_SAME = 1e-9
# What attempts may share beyond their conditions is a fact of the same name.
_SHARED_FACTS = (LOT_EFFECT_LOT, LOT_EFFECT_JAR, LOT_EFFECT_BENCH)


def compare(
    analysis: Analysis,
    like: Likeness,
    near: tuple[int, Near],
    gate: GateName,
    tz: tzinfo | None = None,
) -> Compared:
    """Return the attempt that ``like`` is of beside another of its attempts, at the gate where they went apart.

    ``near`` is its place there and how near it is. For a metal whose exposure must never be lengthened nothing is
    said of what an exposure does.
    """
    place, found = near
    attempt, other = like.attempt, like.attempts[place]
    shifts, whole = _may_be_told(analysis, *shifts_of(analysis, attempt, other, gate))
    differences, unknown = [], []
    order = np.argsort(-np.nan_to_num(like.gaps[place], nan=-1.0), kind="stable")
    for axis in order:
        factor = like.factors[axis]
        here, there = attempt.conditions.get(factor.name), other.conditions.get(factor.name)
        if (here is None) != (there is None):
            unknown.append(factor.name)
        elif here is not None and there is not None and not _alike(here, there):
            differences.append(
                _of_factor(factor, here, there, float(like.gaps[place, axis]), shifts.get(factor.name))
            )
    places = places_in_days(analysis.state)
    mine, others = (facts_of(analysis.state, each, places, tz) for each in (attempt, other))
    shared = analysis.table.grouping if analysis.table.grouping in _SHARED_FACTS else ""
    for key, unit in FACTS.items():
        if key not in mine:
            continue
        here, there = mine[key], others[key]
        if (here is None) != (there is None):
            unknown.append(key)
        elif here is not None and there is not None and not _alike(here, there):
            apart = here - there if isinstance(here, float) and isinstance(there, float) else None
            shift = shifts.get(shared) if key == shared else None
            differences.append(Difference(key, True, unit, here, there, apart, None, shift))
    return Compared(found, gate, tuple(differences), whole, tuple(unknown))


def _may_be_told(
    analysis: Analysis, shifts: Mapping[str, Shift], whole: Shift | None
) -> tuple[Mapping[str, Shift], Shift | None]:
    if analysis.limits.may_wait:
        return shifts, whole
    exposures = {f.name for f in analysis.state.factors if f.role is not None and f.role.is_exposure}
    told = {name: shift for name, shift in shifts.items() if name not in exposures}
    return told, whole if len(told) == len(shifts) else None


def _of_factor(factor: Factor, here: Value, there: Value, share: float, shift: Shift | None) -> Difference:
    apart = here - there if not isinstance(here, str) and not isinstance(there, str) else None
    return Difference(factor.name, False, factor.unit, here, there, apart, share, shift)


def _alike(here: Value, there: Value) -> bool:
    if isinstance(here, str) or isinstance(there, str):
        return here == there
    return abs(here - there) <= _SAME * max(abs(here), abs(there), _SAME)


def matters(difference: Difference, *, passed: bool) -> bool:
    """Whether the answer thinks that a difference speaks for how it came out.

    So many of the draws must say so (``LIKELY``), and the odds must move by a fifth or more (``SMALL``).
    """
    if difference.shift is None or abs(difference.shift.mean) < SMALL:
        return False
    below = difference.shift.prob_below
    return (1.0 - below if passed else below) >= LIKELY


def finding_of(compared: Compared | None, *, passed: bool | None) -> Reason:
    """Return what the comparison comes to: what matters, that nothing surely does, or that nothing differs."""
    if compared is None:
        return Reason("why.no_other")
    number = compared.other.number
    if passed is None:
        return Reason("why.beside_clean", {"number": number})
    rest = compared.beyond_place
    if not rest:
        return Reason("why.nothing_differs", {"number": number})
    sure = [each for each in rest if matters(each, passed=passed)]
    sure.sort(key=lambda each: -abs(each.shift.mean) if each.shift is not None else 0.0)
    if sure:
        code = "why.speaks_for" if passed else "why.speaks_against"
        return Reason(code, {"number": number, "names": tuple(_named(each) for each in sure)})
    if all(each.is_fact for each in rest):
        return Reason("why.only_facts", {"number": number, "names": tuple(_named(each) for each in rest)})
    return Reason("why.none_sure", {"number": number})


def _named(difference: Difference) -> tuple[str, bool]:
    return difference.name, difference.is_fact
