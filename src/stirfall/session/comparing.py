"""Is it chance? Two groups of attempts compared: how much they differ, how sure that is, and what more would tell.

Made from an analysis, off the window's thread; it changes nothing and reads no clock. Same seed, same answer. What
groups can be about stands in ``comparing_groups``, what a measure reads from an attempt in ``comparing_measures``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from datetime import tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.cancel import CancelToken
from stirfall.bench.comparisons import Comparison, Measure
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.inference import attempts_needed as needs
from stirfall.inference.proportions import (
    Stratified,
    Stratum,
    barnard,
    boschloo,
    fisher,
    newcombe_hybrid,
    posterior_better,
    score_difference,
    stratified,
)
from stirfall.inference.two_means import larger_mean, permuted, welch
from stirfall.session.comparing_adjusted import adjusted
from stirfall.session.comparing_groups import Reader, factor_of, members, subjects
from stirfall.session.comparing_many import many_of
from stirfall.session.comparing_measures import UNITS, sides
from stirfall.session.comparing_records import (
    BlockedMeans,
    CannotTell,
    Compared,
    MeansCompared,
    Needed,
    SharesCompared,
    Side,
    is_share,
)
from stirfall.session.comparing_verdict import headline_of, verdict_of
from stirfall.session.comparing_warnings import warnings_of

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

__all__ = ["compare", "members", "subjects", "usual_matters"]

MATTERS_SHARE = 0.20
MATTERS_RECOVERY = 10.0
_MATTERS_TIME = 0.20


def compare(
    analysis: Analysis,
    comparison: Comparison,
    *,
    seed: int = 0,
    token: CancelToken | None = None,
    tz: tzinfo | None = None,
    matters: float | None = None,
    comparisons: tuple[Comparison, ...] | None = None,
) -> Compared:
    """Return two groups of attempts compared; raises ``compare.*``, ``factor.unknown`` and Cancelled.

    ``matters`` is the difference that matters, None: 20 points of a share, 10 of a recovery, a fifth of the mean
    time. Days are those of ``tz``, None: of this computer. ``comparisons`` are those asked for in this session,
    None: as the analysis has them.
    """
    if matters is not None and not (math.isfinite(matters) and matters > 0.0):
        raise InputError("compare.matters", value=matters)
    if matters is not None and is_share(comparison.measure) and matters > 1.0:
        raise InputError("compare.matters", value=matters)
    state, level = analysis.state, analysis.state.settings.level
    first, second, basis = sides(state, comparison, level, tz)
    found = Compared(
        comparison,
        first,
        second,
        level,
        "nothing",
        Reason("compare.nothing"),
        unit=UNITS.get(comparison.measure, ""),
        basis=basis,
        matters=usual_matters(comparison.measure, first, second) if matters is None else matters,
        no_wait=_is_about_waiting(analysis, comparison),
    )
    if first.n and second.n:
        found = _shares(found) if found.is_share else _means(found, seed, token)
        _poll(token)
        found = replace(found, blocked=_blocked(analysis, found, seed, token, tz))
        if found.is_share:
            made = adjusted(analysis, comparison.measure, first, second, seed=seed, token=token)
            found = replace(found, adjusted=made)
        else:
            found = replace(found, adjusted=Reason("compare.adjust_numbers"))
        _poll(token)
        found = replace(found, cannot_tell=_cannot_tell(found), warnings=warnings_of(state, first, second, tz))
    if found.no_wait:
        found = replace(found, warnings=(Reason("compare.no_wait"), *found.warnings))
    asked = state if comparisons is None else replace(state, comparisons=comparisons)
    found = replace(found, many=many_of(asked, comparison, found.p, seed=seed, token=token, tz=tz))
    found = replace(found, verdict=verdict_of(found))
    return replace(found, headline=headline_of(found), notes=tuple(_notes(found)))


def usual_matters(measure: Measure, first: Side, second: Side) -> float:
    """Return the difference that usually matters: our own proposal, no source. A share of 1, %, s or min."""
    if is_share(measure):
        return MATTERS_SHARE
    if measure is Measure.RECOVERY:
        return MATTERS_RECOVERY
    values = (*first.values, *second.values)
    mean = sum(values) / len(values) if values else 0.0
    return _MATTERS_TIME * mean if mean > 0.0 else 1.0


def _poll(token: CancelToken | None) -> None:
    if token is not None:
        token.raise_if_cancelled()


def _is_about_waiting(analysis: Analysis, comparison: Comparison) -> bool:
    """Whether the groups are about how long a metal was exposed that must not be left to age."""
    if analysis.limits.may_wait:
        return False
    factors = [factor_of(analysis.state, group) for group in (comparison.first, comparison.second)]
    return any(factor is not None and factor.role is not None and factor.role.is_exposure for factor in factors)


def _shares(found: Compared) -> Compared:
    counts = found.first.k, found.first.n, found.second.k, found.second.n
    level = found.level
    return replace(
        found,
        shares=SharesCompared(
            newcombe_hybrid(*counts, level),
            score_difference(*counts, level),
            fisher(*counts),
            barnard(*counts),
            boschloo(*counts),
            posterior_better(*counts, level),
        ),
    )


def _means(found: Compared, seed: int, token: CancelToken | None) -> Compared:
    x, y = found.first.values, found.second.values
    divided = permuted(x, y, seed=seed, token=token)
    assert divided is not None, "both groups have attempts"
    larger = larger_mean(x, y, found.level, seed=seed)
    return replace(found, means=MeansCompared(welch(x, y, found.level), divided, larger))


def _blocked(
    analysis: Analysis, found: Compared, seed: int, token: CancelToken | None, tz: tzinfo | None
) -> Stratified | BlockedMeans | Reason:
    """Return the comparison within lots, or why there is none."""
    if {found.first.group.what, found.second.group.what} == {"lot"}:
        return Reason("compare.lots_are_compared")
    reader = Reader(analysis.state, tz)
    lot_of = {attempt.id: reader.lot(attempt) for attempt in analysis.state.attempts}
    lots = [[lot_of[dot.attempt_id] for dot in side.dots] for side in (found.first, found.second)]
    if not any(lot for side in lots for lot in side):
        return Reason("compare.no_lots_known")
    if not set(lots[0]) & set(lots[1]) - {""}:
        return Reason("compare.no_shared_lot")
    if found.is_share:
        made = stratified(_strata(found, lots), found.level)
        return Reason("compare.no_shared_lot") if made is None else made
    kept = [
        [(dot.value, lot) for dot, lot in zip(side.dots, names, strict=True) if lot]
        for side, names in zip((found.first, found.second), lots, strict=True)
    ]
    values, names = ([[pair[at] for pair in side] for side in kept] for at in (0, 1))
    divided = permuted(*values, lots=(names[0], names[1]), seed=seed, token=token)  # type: ignore[arg-type]
    if divided is None:
        return Reason("compare.no_shared_lot")
    return BlockedMeans(divided, sum(len(side) for side in kept) - divided.left_out)


def _strata(found: Compared, lots: list[list[str]]) -> list[Stratum]:
    counts: dict[str, list[int]] = {}
    for place, (side, names) in enumerate(zip((found.first, found.second), lots, strict=True)):
        for dot, lot in zip(side.dots, names, strict=True):
            if lot:
                row = counts.setdefault(lot, [0, 0, 0, 0])
                row[2 * place] += round(dot.value * dot.trials)
                row[2 * place + 1] += dot.trials
    return [Stratum(name, *row) for name, row in sorted(counts.items())]


def _cannot_tell(found: Compared) -> CannotTell:
    n1, n2 = found.first.n, found.second.n
    if found.is_share:
        # Half a success and half a failure more, so that the middle is never at an end.
        middle = (found.first.k + found.second.k + 0.5) / (n1 + n2 + 1.0)
        smallest = needs.smallest_share_difference(n1, n2, middle)

        def per_group(difference: float) -> int | None:
            return needs.needed_for_shares(middle, difference)
    else:
        sd = _pooled_sd(found.first, found.second)
        smallest = needs.smallest_mean_difference(n1, n2, sd)

        def per_group(difference: float) -> int | None:
            return needs.needed_for_means(difference, sd)

    if found.no_wait:
        return CannotTell(smallest, None, None)
    seen = found.difference.value if found.difference is not None else None
    observed = (
        None if seen is None or abs(seen) < _nothing(found) else _needed(found, abs(seen), per_group(abs(seen)))
    )
    return CannotTell(smallest, _needed(found, found.matters, per_group(found.matters)), observed)


def _nothing(found: Compared) -> float:
    """Return a difference below which none was seen: half a point of a share, a hundredth of what matters."""
    return 0.005 if found.is_share else 0.01 * found.matters


def _needed(found: Compared, difference: float, per_group: int | None) -> Needed:
    more = [None if per_group is None else max(0, per_group - side.n) for side in (found.first, found.second)]
    return Needed(difference, per_group, more[0], more[1])


def _pooled_sd(first: Side, second: Side) -> float:
    freedom = first.n + second.n - 2
    if freedom < 1:
        return 0.0
    squares = sum((side.n - 1) * (side.sd or 0.0) ** 2 for side in (first, second))
    return math.sqrt(squares / freedom)


def _notes(found: Compared) -> Iterator[Reason]:
    sides_left = (found.first.left_out, found.second.left_out)
    for name in ("struck", "aborted", "unknown"):
        count = sum(getattr(left, name) for left in sides_left)
        if count:
            of_measure = f"_{found.measure.name.lower()}" if name == "unknown" else ""
            code = f"compare.left_{name}{of_measure}"
            yield Reason(code, {"count": count})
    if sides_left[0].shared:
        yield Reason("compare.left_shared", {"count": sides_left[0].shared})
    if found.is_share and any(dot.trials > 1 for side in (found.first, found.second) for dot in side.dots):
        yield Reason("compare.trials_independent")
    if found.shares is not None and found.shares.boschloo.method == "score":
        yield Reason("compare.many_attempts")
    if found.measure is Measure.RECOVERY and found.basis:
        code = f"compare.recovery_per_{found.basis}"
        yield Reason(code)
