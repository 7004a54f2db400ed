"""Which factor parts the outcomes without exception, which coefficients then have no number, and what is next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.units import Amount
from stirfall.inference.borders import Border, Levels, border_of, levels_of, range_of
from stirfall.inference.chance import of_border, of_level, of_plane, of_range
from stirfall.inference.design import Design
from stirfall.inference.estimable import Estimable, columns_of, estimable
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.separation import Way, is_separated, recession
from stirfall.inference.terms import Term

FloatArray = NDArray[np.float64]
GateName = Literal["clean", "parted", "pooled"]

# Our own choice: tidier than one in twenty is worth a word about the border.
_TOO_OFTEN = 0.05
_SEPARATED = ("ml.complete_separation", "ml.quasi_separation")


@dataclass(frozen=True)
class Separation:
    """That one gate's outcomes are parted without exception, in a form that sentences can be made of.

    ``code`` and ``params`` say by what; ``means`` says what that means for the next attempt. ``factors`` are those
    that do it together, ``also`` others that do it alone. ``chance`` bounds how often outcomes that have nothing to
    do with the factors would be parted so tidily (1 where all came out alike). ``ways`` tells for each term in own
    units whether its maximum-likelihood estimate is finite, or goes up or down without end ("either": to no end
    that can be told); it is empty where some factors always moved together. ``trials`` lie off the border.
    """

    gate: str
    is_complete: bool
    code: str
    params: Mapping[str, object]
    means: Reason
    factors: tuple[str, ...]
    trials: int
    chance: float
    also: tuple[str, ...] = ()
    ways: tuple[tuple[Term, Way], ...] = ()

    @property
    def infinite(self) -> tuple[tuple[Term, Way], ...]:
        """The terms that have no finite estimate, with where they go."""
        return tuple((term, way) for term, way in self.ways if way != "finite")

    @property
    def finite(self) -> tuple[Term, ...]:
        """The terms whose estimates are finite."""
        return tuple(term for term, way in self.ways if way == "finite")


@dataclass(frozen=True)
class _Found:
    """One way to say it: by these factors, with so many trials off the border, by chance so often."""

    finding: Reason
    means: Reason
    factors: tuple[str, ...]
    trials: int
    chance: float


def separation_of(rows: GateRows, design: Design, gate: GateName = "clean") -> Separation | None:
    """Return how the outcomes of a gate are separated, None when they overlap or when there are none.

    ``rows.X`` must belong to ``design``. Where all came out alike that is said instead of a border.
    """
    return separation_in(design, columns_of(design, rows.X), rows.k, rows.n, gate)


def separation_in(
    design: Design, columns: Mapping[str, FloatArray], k: FloatArray, n: FloatArray, gate: str = "clean"
) -> Separation | None:
    """Return the separation of ``k`` successes in ``n`` trials (r,) over columns in the factors' units."""
    asked = n > 0
    k, n = k[asked], n[asked]
    if not len(n):
        return None
    if k.sum() in (0, n.sum()):
        return _all_alike(gate, success=bool(k.sum()), trials=round(float(n.sum())))
    some = estimable(design, {name: column[asked] for name, column in columns.items()}, len(n))
    chosen = independent_columns(some.X)
    if not _has_no_fit(some.X[:, chosen], k, n):
        return None
    is_whole = len(chosen) == some.X.shape[1]
    own = some.design.own
    parted = recession(some.X[:, chosen], k, n, own.matrix if is_whole else np.zeros((0, len(chosen))))
    if parted is None:
        return None
    alone = sorted(_alone(some, k, n, gate), key=lambda found: (found.chance, -found.trials))
    best = alone[0] if alone else _together(some, k, n, gate)
    also = tuple(found.factors[0] for found in alone[1:])
    chance = min(1.0, best.chance * (len(some.design.factors) if alone else 1))
    return Separation(
        gate=gate,
        is_complete=parted.is_complete,
        code=best.finding.code,
        params=best.finding.params,
        means=_means(best, also, chance),
        factors=best.factors,
        trials=best.trials,
        chance=chance,
        also=also,
        ways=tuple(zip(own.terms, parted.ways, strict=True)) if is_whole else (),
    )


def independent_columns(X: FloatArray) -> NDArray[np.intp]:
    """Return the places of a largest set of independent columns, first come first kept."""
    kept: list[int] = []
    basis = np.empty((len(X), 0))
    for place in range(X.shape[1]):
        column = X[:, place] / (np.sqrt(np.square(X[:, place]).sum()) or 1.0)
        left = column - basis @ (basis.T @ column)
        left -= basis @ (basis.T @ left)
        length = float(np.sqrt(np.square(left).sum()))
        if length > 1e-9:
            kept.append(place)
            basis = np.column_stack([basis, left / length])
    return np.array(kept, dtype=np.intp)


def _has_no_fit(X: FloatArray, k: FloatArray, n: FloatArray) -> bool:
    """Return whether Newton's way to a fit, or the linear programme where it doubts, finds the rows separated."""
    from stirfall.inference.ml import fit_ml

    reason = fit_ml(X, k, n).reason
    return reason is not None and reason.code in _SEPARATED


def _all_alike(gate: str, *, success: bool, trials: int) -> Separation:
    params = {"who": _who(gate), "outcome": _outcome(gate, success=success), "count": trials}
    code = "separation.all_alike" if trials > 1 else "separation.one_attempt"
    return Separation(gate, True, code, params, Reason("separation.means_alike"), (), trials, 1.0)


def _means(best: _Found, also: tuple[str, ...], chance: float) -> Reason:
    """Return what to try next: not between the ends of a border that may be none."""
    params = {"factor": best.factors[0], "also": ", ".join(also)}
    if chance <= _TOO_OFTEN:
        return Reason("separation.means_which", params) if also else best.means
    if len(best.factors) > 1:
        return Reason("separation.means_few")
    return Reason("separation.means_chance_also" if also else "separation.means_chance", params)


def _alone(some: Estimable, k: FloatArray, n: FloatArray, gate: str) -> Iterable[_Found]:
    """Yield each factor that parts the outcomes by itself."""
    for factor in some.design.factors:
        column = some.columns[factor.name]
        trials, successes = round(float(n.sum())), round(float(k.sum()))
        if factor.is_choice:
            levels = levels_of(column, k, n)
            if levels is not None:
                yield _by_level(factor, levels, gate, of_level(trials, successes, levels.level_trials))
            continue
        border = border_of(column, k, n)
        if border is not None:
            yield _by_number(factor, border, gate, of_border(_trials_by_value(column, n), successes))
        elif factor.name in some.design.humps:
            inside = range_of(column, k, n)
            if inside is not None:
                yield _by_range(factor, inside, gate, of_range(trials, successes, len(np.unique(column))))


def _trials_by_value(column: FloatArray, n: FloatArray) -> list[int]:
    _, place = np.unique(column, return_inverse=True)
    return [round(count) for count in np.bincount(place, weights=n).tolist()]


def _by_number(factor: Factor, border: Border, gate: str, chance: float) -> _Found:
    low, high = Amount(border.low, factor.unit), Amount(border.high, factor.unit)
    params = {
        "who": _who(gate),
        "factor": factor.name,
        "low": low,
        "high": high,
        "above": _outcome(gate, success=border.success_above),
        "below": _outcome(gate, success=not border.success_above),
        "count": border.trials,
    }
    if border.low < border.high:
        code, means = "separation.by_number", "separation.means_between"
    elif border.has_below and border.has_above:
        code, means = "separation.by_number_edge", "separation.means_close"
    elif border.has_above:
        code, means = "separation.by_number_above", "separation.means_more_above"
    else:
        code, means = "separation.by_number_below", "separation.means_more_below"
    return _Found(Reason(code, params), Reason(means, params), (factor.name,), border.trials, chance)


def _by_level(factor: Factor, levels: Levels, gate: str, chance: float) -> _Found:
    params = {
        "who": _who(gate),
        "factor": factor.name,
        "level": factor.levels[levels.level],
        "outcome": _outcome(gate, success=levels.success),
        "count": levels.trials,
    }
    code = "separation.by_level" if levels.trials > 1 else "separation.by_level_once"
    means = Reason("separation.means_level", params)
    return _Found(Reason(code, params), means, (factor.name,), levels.trials, chance)


def _by_range(factor: Factor, inside: Border, gate: str, chance: float) -> _Found:
    params = {
        "who": _who(gate),
        "factor": factor.name,
        "low": Amount(inside.low, factor.unit),
        "high": Amount(inside.high, factor.unit),
        "inside": _outcome(gate, success=inside.success_above),
        "outside": _outcome(gate, success=not inside.success_above),
    }
    means = Reason("separation.means_edges", params)
    return _Found(Reason("separation.by_range", params), means, (factor.name,), inside.trials, chance)


def _together(some: Estimable, k: FloatArray, n: FloatArray, gate: str) -> _Found:
    """Return the fewest factors found by leaving out one after the other while the outcomes stay separated."""
    needed = [factor.name for factor in some.design.factors]
    for name in reversed(tuple(needed)):
        fewer = [other for other in needed if other != name]
        X = _columns_for(some, fewer)
        if X.shape[1] > 1 and is_separated(X, k, n):
            needed = fewer
    params = {"who": _who(gate), "factors": ", ".join(needed), "success": _outcome(gate, success=True)}
    finding, means = Reason("separation.by_combination", params), Reason("separation.means_combination", params)
    trials = round(float(n.sum()))
    return _Found(finding, means, tuple(needed), trials, of_plane(trials, len(independent_columns(some.X))))


def _columns_for(some: Estimable, names: Iterable[str]) -> FloatArray:
    wanted = set(names)
    keep = [place for place, term in enumerate(some.design.terms) if set(term.factors) <= wanted]
    X = some.X[:, keep]
    return X[:, independent_columns(X)]


def _who(gate: str) -> Reason:
    return Reason("separation.who_parted" if gate == "pooled" else "separation.who")


def _outcome(gate: str, *, success: bool) -> Reason:
    if gate == "parted":
        return Reason("separation.parted" if success else "separation.not_parted")
    if gate == "pooled":
        return Reason("separation.pooled" if success else "separation.not_pooled")
    return Reason("separation.clean" if success else "separation.not_clean")
