"""The likelihood of attempts that share lots: one normal random intercept per lot, integrated out numerically.

Adaptive Gauss-Hermite quadrature (Pinheiro & Bates 1995, J. Comput. Graph. Stat. 4:12): for every lot the nodes are
centred on the mode of its effect and scaled by the curvature there. Everything is vectorised over many parameter
vectors at once, because importance sampling asks for thousands of them.

Effects are written as sd times z with z standard normal, so that sd = 0 is the ordinary likelihood. The ordinal
form of gate 1 needs no code of its own: with e^-d the share between the cuts,
P(partly) = expit(eta + d) expit(-eta) (1 - e^-d), so an ordinal row is one or two binary rows in a model that has
the distance d as one more coefficient.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.blocks import slices
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.grouped import expit
from stirfall.inference.lot_odds import Centres, Layout, LotOdds

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

DEFAULT_NODES = 7
# Elements of one work array: a few of these stay inside a processor's cache.
_BLOCK = 2**15
_ROUGH = (8, 0.05)
_EXACT = (60, 1e-9)
_GRID = 25
_GRID_REACH = 6.0
# A log density that rises by less between two points is taken as level there.
_LEVEL = 1e-9


@dataclass(frozen=True)
class LotRows:
    """Rows of one gate, sorted by lot, equal rows of one lot merged.

    ``X`` (r, q), ``k`` of ``n`` (r,), ``lot`` (r,) the place of each row's lot among the J lots of this object,
    ``starts`` (J,) the first row of each. ``named`` (J,) is the lot's place in the campaign's list, -1 for a row of
    unknown lot, which is a lot of its own. ``between`` counts the partly parted rows of the ordinal form, whose
    last column of ``X`` is the distance; None in the binary form. ``source`` (r,) is the row of the gate that each
    row of ``X`` came from; empty where equal rows were merged.
    """

    X: FloatArray
    k: FloatArray
    n: FloatArray
    lot: IntArray
    starts: IntArray
    named: IntArray
    between: float | None
    source: IntArray

    @property
    def lots(self) -> int:
        """The number of lots J, rows of unknown lot counted one by one."""
        return len(self.starts)

    @cached_property
    def layout(self) -> Layout:
        """The order in which the rows are evaluated."""
        return Layout(self.lot, self.starts)

    @cached_property
    def _laid_out(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        order = self.layout.order
        return self.X[order], self.k[order], self.n[order]

    def at(self, beta: FloatArray, sd: FloatArray) -> LotOdds:
        """Return the rows at coefficients ``beta`` (m, q) and sds ``sd`` (m,)."""
        X, k, n = self._laid_out
        return LotOdds(self.layout, X, k, n, beta=beta, sd=sd)


def lot_rows(rows: GateRows, *, merge: bool = True) -> LotRows:
    """Return the rows of a gate in the order of their lots; the ordinal form is expanded into binary rows.

    ``merge=False`` keeps every row apart, in lot order, stable.
    """
    X, k, n, source, between = _binary(rows)
    # A row of unknown lot is a lot of its own; the two binary rows that a partly parted one became stay together.
    lot = np.where(rows.group < 0, rows.groups + np.arange(len(rows.k)), rows.group)[source]
    keys = [*X.T[::-1], lot] if merge else [lot]
    order = np.lexsort(keys)
    X, k, n, lot, source = X[order] + 0.0, k[order], n[order], lot[order], source[order]
    if merge and len(X):
        new = np.ones(len(X), dtype=bool)
        new[1:] = (lot[1:] != lot[:-1]) | (X[1:] != X[:-1]).any(axis=1)
        first = np.flatnonzero(new)
        X, lot, k, n = X[first], lot[first], np.add.reduceat(k, first), np.add.reduceat(n, first)
        source = source[:0]
    names, starts, places = np.unique(lot, return_index=True, return_inverse=True)
    named = np.where(names < rows.groups, names, -1)
    return LotRows(X, k, n, places.astype(np.intp), starts.astype(np.intp), named.astype(np.intp), between, source)


def _binary(rows: GateRows) -> tuple[FloatArray, FloatArray, FloatArray, IntArray, float | None]:
    """Return X, k, n and source row of binary rows, and the number of rows between the cuts (None: not ordinal)."""
    whose = np.arange(len(rows.k), dtype=np.intp)
    if rows.grade is None:
        return rows.X, rows.k, rows.n, whose, None
    # yes: a success without the distance; no: a failure with it; partly: a success with it and a failure without.
    partly = np.flatnonzero(rows.grade == 1)
    distance = np.r_[(rows.grade < 2).astype(float), np.zeros(len(partly))]
    X = np.column_stack([np.vstack([rows.X, rows.X[partly]]), distance])
    k = np.r_[(rows.grade > 0).astype(float), np.zeros(len(partly))]
    return X, k, np.ones(len(k)), np.r_[whose, partly], float(len(partly))


def marginal_log_likelihood(
    rows: LotRows,
    beta: FloatArray,
    sd: FloatArray,
    *,
    nodes: int = DEFAULT_NODES,
    distance: FloatArray | None = None,
    exact_modes: bool = False,
    token: CancelToken | None = None,
) -> FloatArray:
    """Return the (m,) log-likelihoods of ``beta`` (m, p) and lot sds ``sd`` (m,), without binomial constants.

    ``nodes`` = 1 is the Laplace approximation. ``distance`` (m,) is needed where the rows are ordinal.
    ``exact_modes`` centres the nodes to the last digit, for maximum likelihood; else to a twentieth of their scale,
    which the quadrature does not feel.
    """
    total = np.zeros(len(beta))
    whole = _with_distance(rows, beta, distance)
    if rows.between is not None and distance is not None:
        total += rows.between * np.log(-np.expm1(-distance))
    if not len(rows.k):
        return total
    for part in _parts(rows, len(beta)):
        if token is not None:
            token.raise_if_cancelled()
        odds = rows.at(whole[part], sd[part])
        centres = odds.centres(*(_EXACT if exact_modes else _ROUGH))
        total[part] += _log_sums(odds, centres, nodes).sum(axis=0)
    return total


def lot_modes(
    rows: LotRows, beta: FloatArray, sd: FloatArray, *, distance: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return mode and conditional sd of every lot's effect on the log odds, (J, m) each."""
    centres = rows.at(_with_distance(rows, beta, distance), sd).centres(*_EXACT)
    place = rows.layout.place
    return centres.mode[place] * sd, centres.scale[place] * sd


def lot_draws(
    rows: LotRows,
    beta: FloatArray,
    sd: FloatArray,
    uniforms: FloatArray,
    *,
    distance: FloatArray | None = None,
    token: CancelToken | None = None,
) -> FloatArray:
    """Return one draw of every lot's effect per parameter vector, (m, J), by inverting its law at ``uniforms``.

    The law of an effect given the coefficients and sd is computed on a grid of 25 points over 6 scales either
    way; it is log-concave with a curvature of at least one in z, so nothing lies beyond.
    """
    whole = _with_distance(rows, beta, distance)
    out = np.empty((len(beta), rows.lots))
    steps = np.linspace(-_GRID_REACH, _GRID_REACH, _GRID)
    for part in _parts(rows, len(beta)):
        if token is not None:
            token.raise_if_cancelled()
        odds = rows.at(whole[part], sd[part])
        centres = odds.centres(*_ROUGH)
        heights = odds.heights(centres, steps)
        z = _inverted(heights - heights.max(axis=0), steps, centres, uniforms[part].T[rows.layout.lots])
        out[part] = (sd[part] * z[rows.layout.place]).T
    return out


def _inverted(heights: FloatArray, steps: FloatArray, centres: Centres, uniform: FloatArray) -> FloatArray:
    """Return the z at which the law given by its log density on a grid (g, J, m) reaches ``uniform`` (J, m).

    Between the points of the grid the log density is a straight line: of a normal law every piece then loses the
    same share, so that its spread stays right, which a straight density would widen.
    """
    density, rise = np.exp(heights), np.diff(heights, axis=0)
    is_level = np.abs(rise) < _LEVEL
    pieces = np.where(is_level, density[:-1], np.diff(density, axis=0) / np.where(is_level, 1.0, rise))
    mass = np.zeros_like(density)
    np.cumsum(pieces, axis=0, out=mass[1:])
    wanted = uniform * mass[-1]
    below = np.clip((mass < wanted).sum(axis=0) - 1, 0, len(steps) - 2)[None]
    low = np.take_along_axis(mass, below, axis=0)[0]
    high = np.take_along_axis(mass, below + 1, axis=0)[0]
    share = np.clip((wanted - low) / np.maximum(high - low, 1e-300), 0.0, 1.0)
    slope = np.clip(np.take_along_axis(rise, below, axis=0)[0], -500.0, 500.0)
    is_level = np.abs(slope) < _LEVEL
    bent = np.log1p(share * np.expm1(slope)) / np.where(is_level, 1.0, slope)
    z = steps[below[0]] + np.where(is_level, share, bent) * (steps[1] - steps[0])
    return np.asarray(centres.mode + centres.scale * z)


class LeftOut(NamedTuple):
    """What each parameter vector says of each row, given the other rows of its lot; (m, n) each.

    The log probability of what the row showed, without binomial constants, and the probability of a success in it.
    """

    log_likelihood: FloatArray
    success: FloatArray


def left_out(
    rows: GateRows,
    beta: FloatArray,
    sd: FloatArray,
    *,
    distance: FloatArray | None = None,
    nodes: int = 11,
    token: CancelToken | None = None,
) -> LeftOut:
    """Judge every row of a gate given the parameters and the other rows of its lot.

    log L(lot) - log L(lot without the row), both on the same nodes, which are spread by half more than the lot asks
    for. A row that is alone in its lot is judged against the whole prior of the effect. A row without trials says
    nothing, and is foretold from all others of its lot.
    """
    sorted_rows = lot_rows(rows, merge=False)
    whole = _with_distance(sorted_rows, beta, distance)
    out = LeftOut(np.empty((len(beta), len(rows.k))), np.empty((len(beta), len(rows.k))))
    if not len(rows.k):
        return out
    for part in _parts(sorted_rows, len(beta)):
        if token is not None:
            token.raise_if_cancelled()
        found = _left_out_part(rows, sorted_rows, whole[part], sd[part], nodes)
        out.log_likelihood[part], out.success[part] = found.log_likelihood.T, found.success.T
    if distance is not None and rows.grade is not None:
        out.log_likelihood[:, rows.grade == 1] += np.log(-np.expm1(-distance))[:, None]
    return out


def _left_out_part(rows: GateRows, ordered: LotRows, beta: FloatArray, sd: FloatArray, nodes: int) -> LeftOut:
    layout = ordered.layout
    odds = ordered.at(beta, sd)
    centres = odds.centres(*_ROUGH)
    attempts = np.bincount(ordered.lot[_first_of(ordered.source)], minlength=ordered.lots)
    alone = (attempts == 1)[layout.lots, None]
    scale = np.where(alone, 1.0, np.minimum(1.5 * centres.scale, 1.0))
    wide = Centres(np.where(alone, 0.0, centres.mode), scale)
    t, log_weight = hermite(nodes)
    if odds.is_single and rows.grade is None:
        out = LeftOut(np.empty(odds.eta.shape), np.empty(odds.eta.shape))
        source = ordered.source[layout.order]
        out.log_likelihood[source], out.success[source] = odds.without_each(
            wide, math.sqrt(2.0) * t, log_weight + t * t
        )
        return out
    z = (wide.mode + wide.scale * (math.sqrt(2.0) * t)[:, None, None])[:, layout.place]
    own = np.empty((nodes, *odds.eta.shape))
    own[:, layout.order] = np.stack([odds.row_heights(each[layout.lots]) for each in z])
    return _left_out_of_several(
        rows, ordered, beta, own=own, effects=sd * z, log_weights=(log_weight + t * t)[:, None, None] - 0.5 * z * z
    )


def _left_out_of_several(
    rows: GateRows,
    ordered: LotRows,
    beta: FloatArray,
    *,
    own: FloatArray,
    effects: FloatArray,
    log_weights: FloatArray,
) -> LeftOut:
    """Judge rows of several trials or grades; ``own`` (s, r, m) at ``effects`` of the lots (s, J, m)."""
    lots = np.add.reduceat(own, ordered.starts, axis=1) + log_weights
    # An ordinal row may be two binary ones: they are left out together.
    first = _first_of(ordered.source)
    attempt = np.argsort(ordered.source[first])
    second = np.setdiff1d(np.arange(len(ordered.k)), first)
    lot_of = ordered.lot[first][attempt]
    without = lots[:, lot_of]
    without[:, ordered.source[first]] -= own[:, first]
    without[:, ordered.source[second]] -= own[:, second]
    below = _log_sum_exp(without)
    log_likelihood = _log_sum_exp(lots)[lot_of] - below
    eta = (rows.X @ beta[:, : rows.X.shape[1]].T)[None] + effects[:, lot_of]
    return LeftOut(log_likelihood, (np.exp(without - below) * expit(eta)).sum(axis=0))


def _first_of(source: IntArray) -> IntArray:
    """Return the place of the first binary row of each attempt, in the order of the rows given."""
    return np.sort(np.unique(source, return_index=True)[1])


@lru_cache(maxsize=128)
def hermite(nodes: int) -> tuple[FloatArray, FloatArray]:
    """Return nodes and log weights of Gauss-Hermite quadrature for the weight e^-t^2."""
    t, weight = np.polynomial.hermite.hermgauss(nodes)
    with np.errstate(divide="ignore"):
        log_weight = np.log(weight)
    t.setflags(write=False)
    log_weight.setflags(write=False)
    return t, log_weight


def _with_distance(rows: LotRows, beta: FloatArray, distance: FloatArray | None) -> FloatArray:
    if rows.between is None:
        return beta
    if distance is None:
        raise ValueError("ordinal rows need the distance between the cuts")
    return np.column_stack([beta, distance])


def _parts(rows: LotRows, draws: int) -> Iterator[slice]:
    """Cut the draws into parts of about one size, whose work arrays stay in a cache."""
    most = max(16, _BLOCK // max(1, len(rows.k)))
    return slices(draws, -(-draws // max(1, -(-draws // most))) or 1)


def _log_sums(odds: LotOdds, centres: Centres, nodes: int) -> FloatArray:
    """Return the (J, m) log marginal likelihood of every lot."""
    t, log_weight = hermite(nodes)
    heights = odds.heights(centres, math.sqrt(2.0) * t)
    heights += (log_weight + t * t)[:, None, None]
    return _log_sum_exp(heights) + np.log(math.sqrt(2.0) * centres.scale) - 0.5 * math.log(2.0 * math.pi)


def _log_sum_exp(heights: FloatArray) -> FloatArray:
    """Return the log of the sum of exponentials over the first axis, layer by layer: small arrays are quick."""
    top = np.maximum.reduce(heights)
    total = np.zeros_like(top)
    for height in heights:
        part = height - top
        np.exp(part, out=part)
        total += part
    np.log(total, out=total)
    total += top
    return np.asarray(total)
