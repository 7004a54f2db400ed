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
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.blocks import slices
from stirfall.inference.gate_rows import GateRows

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

DEFAULT_NODES = 7
# Elements of one work array: a few of these stay inside a processor's cache.
_BLOCK = 2**15
# A Newton step moves a linear predictor by no more than this, so that it cannot run away where rows are all alike.
_LONGEST_STEP = 2.5
_ROUGH = (8, 0.05)
_EXACT = (60, 1e-9)
_GRID = 25
_GRID_REACH = 6.0
# A product of as many factors between one and two is no larger than a float can be.
_LONGEST_PRODUCT = 1000
# With more lots than this, a library's loop over them beats ours.
_MOST_LOOPS = 48


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


class Centres(NamedTuple):
    """Mode and curvature scale of every lot's z, (J, m) each, and the linear predictors without it, (r, m)."""

    mode: FloatArray
    scale: FloatArray
    eta: FloatArray


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
        s = sd[part]
        centres = _centres(rows, whole[part], s, *(_EXACT if exact_modes else _ROUGH))
        total[part] += _log_sums(rows, s, centres, nodes).sum(axis=0)
    return total


def lot_modes(
    rows: LotRows, beta: FloatArray, sd: FloatArray, *, distance: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return mode and conditional sd of every lot's effect on the log odds, (J, m) each."""
    centres = _centres(rows, _with_distance(rows, beta, distance), sd, *_EXACT)
    return centres.mode * sd, centres.scale * sd


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
        s = sd[part]
        centres = _centres(rows, whole[part], s, *_ROUGH)
        heights = _heights(rows, s, centres, steps)
        density = np.exp(heights - heights.max(axis=0))
        out[part] = (s * _inverted(density, steps, centres, uniforms[part].T)).T
    return out


def _inverted(density: FloatArray, steps: FloatArray, centres: Centres, uniform: FloatArray) -> FloatArray:
    """Return the z at which the law given by its density on a grid (g, J, m) reaches ``uniform`` (J, m)."""
    mass = np.zeros_like(density)
    mass[1:] = np.cumsum(0.5 * (density[1:] + density[:-1]), axis=0)
    wanted = uniform * mass[-1]
    below = np.clip((mass < wanted).sum(axis=0) - 1, 0, len(steps) - 2)[None]
    low = np.take_along_axis(mass, below, axis=0)[0]
    high = np.take_along_axis(mass, below + 1, axis=0)[0]
    share = (wanted - low) / np.maximum(high - low, 1e-300)
    z = steps[below[0]] + np.clip(share, 0.0, 1.0) * (steps[1] - steps[0])
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
    for part in _parts(sorted_rows, len(beta), arrays=nodes):
        if token is not None:
            token.raise_if_cancelled()
        found = _left_out_part(rows, sorted_rows, whole[part], sd[part], nodes)
        out.log_likelihood[part], out.success[part] = found.log_likelihood.T, found.success.T
    if distance is not None and rows.grade is not None:
        out.log_likelihood[:, rows.grade == 1] += np.log(-np.expm1(-distance))[:, None]
    return out


def _left_out_part(rows: GateRows, ordered: LotRows, beta: FloatArray, sd: FloatArray, nodes: int) -> LeftOut:
    centres = _centres(ordered, beta, sd, *_ROUGH)
    alone = np.bincount(ordered.lot[_first_of(ordered.source)], minlength=ordered.lots) == 1
    scale = np.where(alone[:, None], 1.0, np.minimum(1.5 * centres.scale, 1.0))
    mode = np.where(alone[:, None], 0.0, centres.mode)
    wide = Centres(mode, scale, centres.eta)
    t, log_weight = hermite(nodes)
    steps = math.sqrt(2.0) * t
    own = np.stack([_row_heights(ordered, sd, wide, step) for step in steps])
    z = mode + scale * steps[:, None, None]
    lots = _over_lots(own, ordered.starts, np.add) - 0.5 * z * z
    lots += (log_weight + t * t)[:, None, None]
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
    success = np.exp(np.minimum(log_likelihood, 0.0))
    np.subtract(1.0, success, out=success, where=(rows.k == 0)[:, None])
    # Of a single trial one probability says all; of several, of none, or of a grade the success is apart.
    several = np.flatnonzero((rows.n != 1) | (rows.grade is not None))
    if len(several):
        chance = np.exp(without[:, several] - below[several])
        eta = (rows.X[several] @ beta[:, : rows.X.shape[1]].T)[None] + sd * z[:, lot_of[several]]
        _expit_in_place(eta)
        success[several] = (chance * eta).sum(axis=0)
    return LeftOut(log_likelihood, success)


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


def _parts(rows: LotRows, draws: int, *, arrays: int = 1) -> Iterator[slice]:
    return slices(draws, max(16, (_BLOCK if arrays == 1 else 4 * _BLOCK) // max(1, arrays * len(rows.k))))


def _centres(rows: LotRows, beta: FloatArray, sd: FloatArray, most: int, close: float) -> Centres:
    """Find every lot's mode in z by Newton steps, all parameter vectors at once."""
    eta = rows.X @ beta.T
    z = np.zeros((rows.lots, len(beta)))
    expected = np.add.reduceat(rows.k, rows.starts)[:, None]
    single = bool((rows.n == 1).all())
    for step in range(most):
        p = eta + (sd * z)[rows.lot] if step else eta.copy()
        _expit_in_place(p)
        weight = p if single else rows.n[:, None] * p
        slope = sd * (expected - _over_lots(weight, rows.starts, np.add)) - z
        weight = weight * (1.0 - p)
        curvature = sd * sd * _over_lots(weight, rows.starts, np.add) + 1.0
        move = slope / curvature
        limit = _LONGEST_STEP / np.maximum(sd, 0.5)
        np.clip(move, -limit, limit, out=move)
        z += move
        if float(np.max(np.abs(move) * np.sqrt(curvature))) < close:
            break
    if close <= _EXACT[1]:
        # Laplace and few nodes feel the scale: take it at the mode itself, not one step before.
        p = eta + (sd * z)[rows.lot]
        _expit_in_place(p)
        p *= rows.n[:, None] * (1.0 - p)
        curvature = sd * sd * _over_lots(p, rows.starts, np.add) + 1.0
    return Centres(z, 1.0 / np.sqrt(curvature), eta)


def _expit_in_place(eta: FloatArray) -> None:
    np.clip(eta, -700.0, 700.0, out=eta)
    np.negative(eta, out=eta)
    np.exp(eta, out=eta)
    eta += 1.0
    np.reciprocal(eta, out=eta)


def _log_sums(rows: LotRows, sd: FloatArray, centres: Centres, nodes: int) -> FloatArray:
    """Return the (J, m) log marginal likelihood of every lot."""
    t, log_weight = hermite(nodes)
    heights = _heights(rows, sd, centres, math.sqrt(2.0) * t)
    heights += (log_weight + t * t)[:, None, None]
    return _log_sum_exp(heights) + np.log(math.sqrt(2.0) * centres.scale) - 0.5 * math.log(2.0 * math.pi)


def _heights(rows: LotRows, sd: FloatArray, centres: Centres, steps: FloatArray) -> FloatArray:
    """Return the (s, J, m) log-likelihoods of the lots plus log e^(-z^2/2) at ``steps`` scales from their modes.

    k eta - n log(1 + e^eta) is (k - n/2) eta, whose sum over a lot is linear in z, less n (|eta|/2 + log(1 + e))
    with e = e^-|eta|; of single trials the logs are those of one product.
    """
    lean = (rows.k - 0.5 * rows.n)[:, None]
    level = _over_lots(lean * centres.eta, rows.starts, np.add)
    slope = _over_lots(lean, rows.starts, np.add) * sd
    single = bool((rows.n == 1).all()) and int(np.diff(np.r_[rows.starts, len(rows.k)]).max()) < _LONGEST_PRODUCT
    out = np.empty((len(steps), *centres.mode.shape))
    for place, step in enumerate(steps):
        z = centres.mode + step * centres.scale
        eta = np.take(sd * z, rows.lot, axis=0)
        eta += centres.eta
        np.abs(eta, out=eta)
        if not single:
            eta *= 0.5 * rows.n[:, None]
        total = level + slope * z - 0.5 * z * z
        total -= (0.5 if single else 1.0) * _over_lots(eta, rows.starts, np.add)
        if not single:
            eta /= np.maximum(0.5 * rows.n, 1e-300)[:, None]
        np.negative(eta, out=eta)
        np.exp(eta, out=eta)
        if single:
            eta += 1.0
            total -= np.log(_over_lots(eta, rows.starts, np.multiply))
        else:
            np.log1p(eta, out=eta)
            eta *= rows.n[:, None]
            total -= _over_lots(eta, rows.starts, np.add)
        out[place] = total
    return out


def _over_lots(values: FloatArray, starts: IntArray, add: np.ufunc) -> FloatArray:
    """Return sums (or products) over the rows of each lot: (..., r, m) to (..., J, m)."""
    axis = values.ndim - 2
    if len(starts) > _MOST_LOOPS:
        return np.asarray(add.reduceat(values, starts, axis=axis))
    ends = np.append(starts[1:], values.shape[axis])
    return np.stack(
        [add.reduce(values[..., a:b, :], axis=axis) for a, b in zip(starts, ends, strict=True)], axis=axis
    )


def _row_heights(rows: LotRows, sd: FloatArray, centres: Centres, step: float) -> FloatArray:
    """Return (r, m) k eta - n log(1 + e^eta), stable for any eta."""
    eta = centres.eta + (sd * (centres.mode + step * centres.scale))[rows.lot]
    out = (rows.k - 0.5 * rows.n)[:, None] * eta
    np.abs(eta, out=eta)
    half = (-0.5 * rows.n)[:, None] * eta
    out += half
    np.negative(eta, out=eta)
    np.exp(eta, out=eta)
    np.log1p(eta, out=eta)
    eta *= rows.n[:, None]
    out -= eta
    return out


def _log_sum_exp(heights: FloatArray) -> FloatArray:
    top = heights.max(axis=0)
    return np.asarray(top + np.log(np.exp(heights - top).sum(axis=0)))
