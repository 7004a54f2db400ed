"""Coefficients in the units of the factors: the internal terms multiplied out exactly.

Each internal column of a factor is an affine function of that factor's own functions: the value itself (its
natural log on a log scale), or the indicators of the levels of a choice. Squares and products are sums of products
of these.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.terms import INTERCEPT, Term, main_term, product_term, square_term

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Basis:
    """One factor: internal column k = sum over j of ``slopes[k, j]`` times own function j, plus ``shifts[k]``."""

    terms: tuple[Term, ...]
    slopes: FloatArray
    shifts: FloatArray


@dataclass(frozen=True)
class OwnUnits:
    """The q terms in own units and the (q, p) matrix that maps internal coefficients to them."""

    terms: tuple[Term, ...]
    matrix: FloatArray


def number_basis(name: str, slope: float, shift: float) -> Basis:
    """Return the basis of a number that is mapped by ``slope * value + shift``."""
    return Basis((main_term(name, None),), np.array([[slope]]), np.array([shift]))


def choice_basis(name: str, levels: Sequence[str], contrast: FloatArray) -> Basis:
    """Return the basis of a choice whose level l has the internal values ``contrast[l]``."""
    return Basis(tuple(main_term(name, level) for level in levels), contrast.T, np.zeros(contrast.shape[1]))


class _Expansion:
    """Collects coefficients: own term (row) against internal column."""

    def __init__(self) -> None:
        self._rows: dict[Term, int] = {}
        self._entries: list[tuple[int, int, float]] = []
        self._columns = 0

    def next_column(self) -> int:
        self._columns += 1
        return self._columns - 1

    def add(self, term: Term, column: int, value: float) -> None:
        row = self._rows.setdefault(term, len(self._rows))
        self._entries.append((row, column, value))

    def result(self) -> OwnUnits:
        matrix = np.zeros((len(self._rows), self._columns))
        for row, column, value in self._entries:
            matrix[row, column] += value
        return OwnUnits(tuple(self._rows), matrix)


def expand(bases: Sequence[Basis], humps: Sequence[Basis], products: Sequence[tuple[Basis, Basis]]) -> OwnUnits:
    """Multiply out intercept, main terms, squares and products, in this order of the internal columns."""
    expansion = _Expansion()
    expansion.add(INTERCEPT, expansion.next_column(), 1.0)
    for basis in bases:
        _add_main(expansion, basis)
    for basis in humps:
        _add_square(expansion, basis)
    for first, second in products:
        _add_product(expansion, first, second)
    return expansion.result()


def _add_main(expansion: _Expansion, basis: Basis) -> None:
    for slopes, shift in zip(basis.slopes, basis.shifts, strict=True):
        column = expansion.next_column()
        expansion.add(INTERCEPT, column, float(shift))
        for term, slope in zip(basis.terms, slopes, strict=True):
            expansion.add(term, column, float(slope))


def _add_square(expansion: _Expansion, basis: Basis) -> None:
    slope, shift = float(basis.slopes[0, 0]), float(basis.shifts[0])
    column = expansion.next_column()
    expansion.add(square_term(basis.terms[0].factors[0]), column, slope**2)
    expansion.add(basis.terms[0], column, 2.0 * slope * shift)
    expansion.add(INTERCEPT, column, shift**2)


def _add_product(expansion: _Expansion, first: Basis, second: Basis) -> None:
    for slopes_a, shift_a in zip(first.slopes, first.shifts, strict=True):
        for slopes_b, shift_b in zip(second.slopes, second.shifts, strict=True):
            column = expansion.next_column()
            expansion.add(INTERCEPT, column, float(shift_a * shift_b))
            for term, slope in zip(first.terms, slopes_a, strict=True):
                expansion.add(term, column, float(slope * shift_b))
            for term, slope in zip(second.terms, slopes_b, strict=True):
                expansion.add(term, column, float(slope * shift_a))
            for term_a, slope_a in zip(first.terms, slopes_a, strict=True):
                for term_b, slope_b in zip(second.terms, slopes_b, strict=True):
                    expansion.add(product_term(term_a, term_b), column, float(slope_a * slope_b))
