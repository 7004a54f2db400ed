"""The past attempts that are most like one attempt, by how they came out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.inference.design import Design
from stirfall.inference.gate_rows import GateName
from stirfall.session.surprises_found import Near

FloatArray = NDArray[np.float64]

# Two levels of a choice are as far apart as this share of a number's range, as in a first design (our proposal).
LEVEL_GAP = 0.7
# Nothing is near for being unknown: so much of the factors must be known of both.
_LEAST_KNOWN = 0.5
_NO_RESULT = (Outcome.ABORTED, Outcome.NOT_GRADED)


def came_out(attempt: Attempt, gate: GateName, partly: str) -> bool | None:
    """Return whether an attempt passed a gate, None where that was not observed; most of its trials decide a count.

    ``partly`` is the setting that says whether partly parted counts as parted.
    """
    if attempt.is_struck or attempt.aborted:
        return None
    if gate == "clean":
        count = attempt.clean_count
        return None if count is None or 2 * count[0] == count[1] else 2 * count[0] > count[1]
    if attempt.parted is None:
        return None
    parted = attempt.parted is Parted.YES or (partly == "success" and attempt.parted is Parted.PARTLY)
    if gate == "parted":
        return parted
    if not parted or attempt.pooled in (None, Pooled.NOT_OBSERVED):
        return None
    return attempt.pooled is Pooled.ONE_POOL


@dataclass(frozen=True, eq=False)
class Likeness:
    """The distances (n,) of other ``attempts`` from one ``attempt``, in shares of the ranges of ``known`` factors.

    ``gaps`` (n, d) are the shares of the range by factor; NaN where a value is unknown.
    """

    attempt: Attempt
    factors: tuple[Factor, ...]
    attempts: tuple[Attempt, ...]
    distance: FloatArray
    known: NDArray[np.intp]
    gaps: FloatArray


def likeness(state: CampaignState, attempt: Attempt) -> Likeness:
    """Return how like each other attempt with a result is; struck-out ones are no attempts.

    The distance is that of ``planning/nearest.py``, the root of the summed squares of the shares of the ranges;
    over fewer known factors it is scaled up as if the unknown ones differed as much as the known ones (after Gower
    1971, Biometrics 27:857).
    """
    told = [a for a in state.attempts if a.id != attempt.id and not a.is_struck and a.outcome not in _NO_RESULT]
    factors = state.visible_factors
    if not told or not factors:
        none = np.zeros(len(told))
        return Likeness(
            attempt, factors, tuple(told), none, np.zeros(len(told), dtype=np.intp), np.zeros((len(told), 0))
        )
    columns = Design(factors).columns([attempt.conditions, *(each.conditions for each in told)])
    gaps = np.column_stack([_shares(factor, columns[factor.name]) for factor in factors])
    known = np.isfinite(gaps).sum(axis=1)
    squared = np.nansum(gaps**2, axis=1)
    asked = int(np.isfinite([columns[factor.name][0] for factor in factors]).sum())
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = np.sqrt(squared * asked / np.maximum(known, 1))
    distance[known < _LEAST_KNOWN * max(asked, 1)] = np.inf
    return Likeness(attempt, factors, tuple(told), distance, known, gaps)


def _shares(factor: Factor, column: FloatArray) -> FloatArray:
    """Return how far each later value lies from the first, as a share of the range; NaN where one is unknown."""
    if factor.is_choice:
        apart = np.where(column[1:] == column[0], 0.0, LEVEL_GAP)
        return np.where(np.isfinite(column[1:]) & np.isfinite(column[0]), apart, np.nan)
    mapped = Design((factor,)).matrix({factor.name: column})[:, 1]
    return np.asarray(np.abs(mapped[1:] - mapped[0]) / 2.0)


def nearest(like: Likeness, wanted: Sequence[bool], *, count: int = 3) -> tuple[tuple[Near, ...], NDArray[np.intp]]:
    """Return the nearest ``wanted`` attempts and their places; of equals the same lot first, then the newest."""
    places = np.flatnonzero(np.asarray(wanted, dtype=bool) & np.isfinite(like.distance))
    strangers = np.array([like.attempts[place].lot_id != like.attempt.lot_id for place in places], dtype=bool)
    order = np.lexsort((-places, strangers, np.round(like.distance[places], 9)))
    chosen = places[order][:count]
    found = tuple(
        Near(each.id, each.number, each.outcome, float(like.distance[place]), int(like.known[place]))
        for place in chosen
        for each in (like.attempts[place],)
    )
    return found, chosen
