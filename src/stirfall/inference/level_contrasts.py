"""How the levels of a choice differ from its first one, whatever contrasts the coefficients themselves use."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.design import Design
from stirfall.inference.terms import TIMES, Term

FloatArray = NDArray[np.float64]


class Contrast(NamedTuple):
    """One level against the first level of the same choice, on the log-odds scale."""

    term: str
    against: str
    estimate: float
    se: float


class Reference(NamedTuple):
    """The log odds where every choice is at its first level and every number at zero (1 where on a log scale)."""

    levels: dict[str, str]
    estimate: float
    se: float


def level_contrasts(design: Design, estimate: FloatArray, covariance: FloatArray) -> tuple[Contrast, ...]:
    """Return every level of every choice against the first, given ``estimate`` (p,) and ``covariance`` (p, p).

    Differences of the level effects of the factor itself: where it is part of a product, they hold at the average
    of the other choice, or at zero of the other number.
    """
    own, terms = design.own.matrix, design.own.terms
    found = []
    for factor in design.factors:
        if not factor.is_choice:
            continue
        rows = {term.level: own[row] for row, term in enumerate(terms) if term.factors == (factor.name,)}
        first = factor.levels[0]
        for level in factor.levels[1:]:
            value, se = _line(rows[level] - rows[first], estimate, covariance)
            found.append(Contrast(f"{factor.name}: {level}", f"{factor.name}: {first}", value, se))
    return tuple(found)


def at_first_levels(design: Design, estimate: FloatArray, covariance: FloatArray) -> Reference | None:
    """Return the log odds at the first level of every choice; None where the design has no choice."""
    levels = {factor.name: factor.levels[0] for factor in design.factors if factor.is_choice}
    if not levels:
        return None
    own = design.own
    counted = np.array([_is_first(term, levels) for term in own.terms])
    value, se = _line(own.matrix[counted].sum(axis=0), estimate, covariance)
    return Reference(levels, value, se)


def _is_first(term: Term, levels: dict[str, str]) -> bool:
    """Whether a term counts where every choice is at its first level and every number is zero."""
    if not set(term.factors) <= set(levels):
        return False
    return term.level == (f" {TIMES} ".join(levels[name] for name in term.factors) or None)


def _line(row: FloatArray, estimate: FloatArray, covariance: FloatArray) -> tuple[float, float]:
    return float(row @ estimate), math.sqrt(max(0.0, float(row @ covariance @ row)))
