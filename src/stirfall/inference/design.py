"""From conditions to the design matrix, and from internal coefficients to the units of the factors.

A number is mapped so that the campaign's range is [-1, 1] on its own scale. A choice of L levels gives L - 1
sum-to-zero contrasts, taken as the corners of a regular simplex: independent normal priors of sd s on them give
every level, the last one too, a prior effect of sd s, and renaming or reordering levels changes nothing. With two
levels the contrast is +1 and -1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale, Value, values_of
from stirfall.inference.own_units import Basis, OwnUnits, choice_basis, expand, number_basis
from stirfall.inference.terms import INTERCEPT, Term, main_term, product_term, square_term

FloatArray = NDArray[np.float64]
Columns = Mapping[str, FloatArray]

# Beyond a thousand half ranges an extrapolation says nothing; the cut keeps sums of products finite.
_FARTHEST = 1e3


class Filler(Protocol):
    """What gives a number that follows from others, such as a film index from ages; frozen, hashable, picklable."""

    @property
    def name(self) -> str:
        """The factor that follows."""
        ...

    @property
    def factors(self) -> tuple[Factor, ...]:
        """The numbers that it may read, those outside the model too."""
        ...

    def __call__(self, columns: Columns, /) -> FloatArray:
        """Return the values (n,), in the factor's unit, at columns of these numbers; NaN where it cannot tell."""
        ...


@dataclass(frozen=True)
class Design:
    """The terms of one model: factors, humps (names of numbers) and products (pairs of names).

    ``filler`` gives one factor where its own value is not known; it has no place without that factor.
    Raises InputError ``design.factor_repeats``, ``design.factor_unknown``, ``design.hump_of_choice`` or
    ``design.product_of_itself``.
    """

    factors: tuple[Factor, ...]
    humps: tuple[str, ...] = ()
    products: tuple[tuple[str, str], ...] = ()
    filler: Filler | None = None

    def __post_init__(self) -> None:
        """Check that every hump and product speaks of factors that are there."""
        if self.filler is not None and all(factor.name != self.filler.name for factor in self.factors):
            object.__setattr__(self, "filler", None)
        names = [factor.name for factor in self.factors]
        for name in names:
            if names.count(name) > 1:
                raise InputError("design.factor_repeats", name=name)
        for name in (*self.humps, *(name for pair in self.products for name in pair)):
            if name not in names:
                raise InputError("design.factor_unknown", name=name)
        for name in self.humps:
            if self.factor(name).is_choice:
                raise InputError("design.hump_of_choice", name=name)
        for first, second in self.products:
            if first == second:
                raise InputError("design.product_of_itself", name=first)

    def factor(self, name: str) -> Factor:
        """Return the factor called ``name``; raises InputError ``design.factor_unknown``."""
        for factor in self.factors:
            if factor.name == name:
                return factor
        raise InputError("design.factor_unknown", name=name)

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The p terms in the order of the columns: intercept, factors, humps, products."""
        terms = [INTERCEPT]
        for factor in self.factors:
            terms += _main_terms(factor)
        terms += [square_term(name) for name in self.humps]
        for first, second in self.products:
            pairs = [(a, b) for a in _main_terms(self.factor(first)) for b in _main_terms(self.factor(second))]
            terms += [product_term(a, b) for a, b in pairs]
        return tuple(terms)

    def columns(self, conditions: Sequence[Conditions]) -> dict[str, FloatArray]:
        """Return one float array per factor, in the factor's unit; a choice as the index of its level.

        What is missing, of the wrong kind, no level, or not above zero on a log scale becomes NaN, but for what
        the filler can tell.
        """
        own = {factor.name: _as_numbers(factor, values_of(conditions, factor.name)) for factor in self.factors}
        return self.followed(own, conditions)

    @property
    def follows(self) -> str | None:
        """The factor that follows from others where its own value is not known, None where none does."""
        return None if self.filler is None else self.filler.name

    def followed(self, columns: Columns, conditions: Sequence[Conditions] = ()) -> dict[str, FloatArray]:
        """Return the columns with what the filler can tell in place of NaN, or of a column that is not there.

        ``conditions``, one row each or a single one for all rows, tell what the filler reads beyond the columns.
        """
        whole = dict(columns)
        if self.filler is None:
            return whole
        own = np.asarray(whole.get(self.filler.name, math.nan), dtype=float)
        if not np.isnan(own).any():
            return whole
        for factor in self.filler.factors if conditions else ():
            if factor.name not in whole:
                whole[factor.name] = _as_numbers(factor, values_of(conditions, factor.name))
        told = self.filler({name: column for name, column in whole.items() if name != self.filler.name})
        factor = self.factor(self.filler.name)
        usable = np.isfinite(told) & ((told > 0) | (factor.scale is Scale.LINEAR))
        filled = np.where(np.isnan(own), np.where(usable, told, math.nan), own)
        return {**columns, self.filler.name: filled}

    def matrix(self, columns: Columns, *, rows: int | None = None) -> FloatArray:
        """Return the (n, p) design matrix for columns as ``columns`` makes them; unknown values give NaN.

        ``rows`` is needed only where the design has no factor. Single numbers are repeated.
        """
        columns = self.followed(columns)
        blocks = {factor.name: _block(factor, columns[factor.name]) for factor in self.factors}
        sizes = [len(block) for block in blocks.values()]
        count = rows if rows is not None else max(sizes, default=1)
        matrix = np.empty((count, len(self.terms)))
        matrix[:, 0] = 1.0
        parts = list(blocks.values())
        parts += [blocks[name] ** 2 for name in self.humps]
        for first, second in self.products:
            product = blocks[first][:, :, None] * blocks[second][:, None, :]
            parts.append(product.reshape(len(product), product.shape[1] * product.shape[2]))
        start = 1
        for part in parts:
            matrix[:, start : start + part.shape[1]] = part
            start += part.shape[1]
        return matrix

    def prior_sd(self, intercept_sd: float, effect_sd: float) -> FloatArray:
        """Return the (p,) prior standard deviations on the internal scale."""
        sd = np.full(len(self.terms), float(effect_sd))
        sd[0] = intercept_sd
        return sd

    @cached_property
    def own(self) -> OwnUnits:
        """The exact linear map from internal coefficients to coefficients in the units of the factors."""
        bases = {factor.name: _basis(factor) for factor in self.factors}
        return expand(tuple(bases.values()), [bases[name] for name in self.humps], self._base_pairs(bases))

    def _base_pairs(self, bases: Mapping[str, Basis]) -> list[tuple[Basis, Basis]]:
        return [(bases[first], bases[second]) for first, second in self.products]

    def own_units(self, beta: FloatArray) -> FloatArray:
        """Map internal coefficients (..., p) to own units (..., q), in the order of ``own.terms``.

        Natural log where the factor is on a log scale; one effect per level of a choice, the levels summing to
        zero. The linear predictor is the same on both scales.
        """
        return np.asarray(beta, dtype=float) @ self.own.matrix.T

    def without(self, names: Sequence[str]) -> Design:
        """Return the design without these factors and without the humps and products that need them."""
        return Design(
            tuple(factor for factor in self.factors if factor.name not in names),
            tuple(name for name in self.humps if name not in names),
            tuple(pair for pair in self.products if not set(pair) & set(names)),
            self.filler,
        )

    def with_factor(self, changed: Factor) -> Design:
        """Return the design with the factor of the same name replaced."""
        factors = tuple(changed if factor.name == changed.name else factor for factor in self.factors)
        return replace(self, factors=factors)


def contrasts(levels: int) -> FloatArray:
    """Return the (L, L - 1) sum-to-zero contrasts: rows of length one, columns orthogonal, level k leads column k.

    Raises nothing; one level gives no column. The rows are the corners of a regular simplex (elementary geometry).
    """
    others = levels - 1
    if others < 1:
        return np.zeros((levels, 0))
    spread = (1.0 - math.sqrt(levels)) / others**1.5
    matrix = np.full((levels, others), spread)
    matrix[:others] += math.sqrt(levels / others) * np.eye(others)
    matrix[others] = -1.0 / math.sqrt(others)
    return matrix


def _main_terms(factor: Factor) -> list[Term]:
    if factor.is_choice:
        return [main_term(factor.name, level) for level in factor.levels[:-1]]
    return [main_term(factor.name, None)]


def _as_numbers(factor: Factor, values: list[Value | None]) -> FloatArray:
    """Return one value per row; what is missing or cannot be is NaN."""
    if factor.is_choice:
        places = {level: float(place) for place, level in enumerate(factor.levels)}
        return np.array([places.get(value, math.nan) if isinstance(value, str) else math.nan for value in values])
    if str in set(map(type, values)):
        values = [None if isinstance(value, str) else value for value in values]
    numbers = np.array(values, dtype=float)  # None becomes NaN
    with np.errstate(invalid="ignore"):
        usable = np.isfinite(numbers) & (numbers > 0 if factor.scale is Scale.LOG else True)
    numbers[~usable] = math.nan
    return numbers


def _block(factor: Factor, values: FloatArray | float) -> FloatArray:
    column = np.atleast_1d(np.asarray(values, dtype=float))
    if factor.is_choice:
        return _contrast_rows(factor, column)
    slope, shift = _affine(factor)
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        own = np.log(column) if factor.scale is Scale.LOG else column
        mapped = np.clip(slope * own + shift, -_FARTHEST, _FARTHEST)
    known = np.isfinite(column) if factor.scale is Scale.LINEAR else np.isfinite(column) & (column > 0)
    return np.where(known, mapped, np.nan).reshape(-1, 1)


def _contrast_rows(factor: Factor, column: FloatArray) -> FloatArray:
    with np.errstate(invalid="ignore"):
        known = (column >= 0) & (column < len(factor.levels)) & (column == np.floor(column))
    rows: FloatArray = contrasts(len(factor.levels))[np.where(known, column, 0).astype(int)]
    rows[~known] = np.nan
    return rows


def _affine(factor: Factor) -> tuple[float, float]:
    """Return slope and shift of the map from the factor's scale to [-1, 1]."""
    low, high = factor.bounds
    if factor.scale is Scale.LOG:
        low, high = math.log(low), math.log(high)
    return 2.0 / (high - low), -(high + low) / (high - low)


def _basis(factor: Factor) -> Basis:
    if factor.is_choice:
        return choice_basis(factor.name, factor.levels, contrasts(len(factor.levels)))
    return number_basis(factor.name, *_affine(factor))
