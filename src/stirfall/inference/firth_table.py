"""Penalised likelihood on an attempt table, in the units of the factors."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.inference.design import Design
from stirfall.inference.firth import FirthFit, fit_firth
from stirfall.inference.ml_table import estimable_rows
from stirfall.inference.table import AttemptTable
from stirfall.inference.terms import Term

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Predictor:
    """The log-odds at some conditions, with profile penalised-likelihood limits (infinite where none was found)."""

    eta: float
    lower: float
    upper: float


@dataclass(frozen=True)
class OwnUnitsFirth:
    """A penalised-likelihood fit whose numbers belong to the q ``terms`` in own units.

    Natural log where the factor is on a log scale; one effect per level of a choice, the levels summing to zero.
    ``penalised_log_likelihood`` has the information of these units in its penalty (of a choice, all levels but
    one; which one does not matter). ``constant`` names the factors that never varied. ``predictor`` answers for the
    conditions asked for.
    """

    terms: tuple[Term, ...]
    fit: FirthFit
    penalised_log_likelihood: float
    constant: tuple[str, ...]
    predictor: Predictor | None


def fit_firth_table(
    table: AttemptTable,
    design: Design,
    *,
    level: float,
    at: Conditions | None = None,
    at_level: float | None = None,
) -> OwnUnitsFirth:
    """Fit clean k of n; ``at`` asks for the log-odds there, with an interval at ``at_level`` (else ``level``).

    Factors that never varied and levels that never occurred are left out. Raises InputError ``conditions.missing``.
    """
    rows = estimable_rows(table, design)
    own = rows.design.own.matrix
    combinations = own if at is None else np.vstack([own, _row(rows.design, at)])
    levels = np.full(len(combinations), level)
    if at is not None and at_level is not None:
        levels[-1] = at_level
    names = [term.name for term in rows.design.terms]
    fit = fit_firth(rows.X, rows.k, rows.n, level=levels, combinations=combinations, names=names)
    predictor = None
    if at is not None and fit.exists:
        low, high = float(fit.lower[-1]), float(fit.upper[-1])
        predictor = Predictor(
            float(fit.estimate[-1]),
            -math.inf if math.isnan(low) else low,
            math.inf if math.isnan(high) else high,
        )
    height = fit.penalised_log_likelihood - _log_volume(own)
    return OwnUnitsFirth(rows.design.own.terms, fit, height, rows.constant, predictor)


def _row(design: Design, at: Conditions) -> FloatArray:
    columns = design.columns([at])
    row: FloatArray = design.matrix(columns, rows=1)[0]
    if np.isnan(row).any():
        missing = [name for name, column in columns.items() if np.isnan(column).any()]
        raise InputError("conditions.missing", names=", ".join(missing))
    return row


def _log_volume(own: FloatArray) -> float:
    """Return log |det| of the map (q, p) to own units, on any p of its rows that are independent.

    Leaving out another level of a choice changes the map by a matrix of determinant one or minus one.
    """
    from scipy.linalg import qr

    _, places = qr(own.T, mode="r", pivoting=True)
    chosen = own[places[: own.shape[1]]]
    return float(np.linalg.slogdet(chosen)[1])
