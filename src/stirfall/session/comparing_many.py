"""How many comparisons a session has seen, and what their number does to each p, worked out anew from the file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.comparisons import Comparison, Group
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.inference.proportions import boschloo
from stirfall.inference.two_means import permuted
from stirfall.session.comparing_groups import group_name
from stirfall.session.comparing_measures import sides
from stirfall.session.comparing_records import Kept, Many, is_share

_WORK = 400_000
_MOST, _FEWEST = 60, 4
_ALPHA = 0.05


def p_of(state: CampaignState, comparison: Comparison, *, seed: int = 0, tz: tzinfo | None = None) -> float | None:
    """Return the chance of a comparison by Boschloo's or the permutation test, None where a group is empty."""
    try:
        first, second, _ = sides(state, comparison, state.settings.level, tz)
    except InputError:  # what it was about is gone
        return None
    if not first.n or not second.n:
        return None
    if is_share(comparison.measure):
        return boschloo(first.k, first.n, second.k, second.n).two_sided
    found = permuted(first.values, second.values, seed=seed)
    return None if found is None else found.p


def many_of(
    state: CampaignState,
    comparison: Comparison,
    p: float | None,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
    tz: tzinfo | None = None,
) -> Many:
    """Return the comparisons of the session, this one among them, with Holm's adjusted p. Raises Cancelled.

    Holm 1979, Scandinavian Journal of Statistics 6:65. A comparison whose group is empty counts with p = 1. Where
    there are more than can be worked out anew in reasonable time, Bonferroni's bound stands in, which is never
    smaller.
    """
    others = [each for each in state.comparisons if each.question != comparison.question]
    made = len({each.question for each in others}) + 1
    most = max(_FEWEST, min(_MOST, _WORK // max(len(state.attempts), 1)))
    redone = made - 1 <= most
    found: list[tuple[Comparison, float | None]] = [(comparison, p)]
    for each in reversed(others):
        if token is not None:
            token.raise_if_cancelled()
        found.append((each, p_of(state, each, seed=seed, tz=tz) if redone else None))
    values = [1.0 if value is None else value for _, value in found]
    adjusted = holm(values) if redone else [min(1.0, made * value) for value in values]
    kept = tuple(
        Kept(
            each,
            _name(state, each.first, tz),
            _name(state, each.second, tz),
            value,
            None if value is None else after,
        )
        for (each, value), after in zip(found, adjusted, strict=True)
    )
    own = None if p is None else adjusted[0]
    return Many(made, p, own, "holm" if redone else "bonferroni", 1.0 - (1.0 - _ALPHA) ** made, kept)


def holm(values: Sequence[float]) -> list[float]:
    """Return Holm's adjusted chances in the order of ``values``: at most 1, and never out of order."""
    order = sorted(range(len(values)), key=lambda at: values[at])
    adjusted, largest = [1.0] * len(values), 0.0
    for rank, at in enumerate(order):
        largest = max(largest, min(1.0, (len(values) - rank) * values[at]))
        adjusted[at] = largest
    return adjusted


def _name(state: CampaignState, group: Group, tz: tzinfo | None) -> Reason:
    try:
        return group_name(state, group, tz)
    except InputError:
        return Reason("compare.group_gone")
