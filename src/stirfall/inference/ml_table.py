"""Maximum likelihood on an attempt table: only what varied can be estimated."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.design import Design
from stirfall.inference.estimable import estimable
from stirfall.inference.ml import MlFit, fit_ml
from stirfall.inference.separations import Separation, separation_in
from stirfall.inference.table import AttemptTable
from stirfall.inference.terms import Term

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class EstimableRows:
    """The part of a table that likelihood alone can speak of: factors that varied, levels that occurred.

    ``X`` (n, p) belongs to ``design``, ``k`` of ``n`` trials (n,) were clean; ``constant`` names the factors that
    never varied and were left out; ``rows`` (n,) are the places in the table.
    """

    design: Design
    X: FloatArray
    k: FloatArray
    n: FloatArray
    constant: tuple[str, ...]
    rows: NDArray[np.intp]


@dataclass(frozen=True)
class OwnUnitsFit:
    """A maximum-likelihood fit on clean counts, with its coefficients in the units of the factors.

    ``terms``, ``estimate`` and ``se`` (q,) are in own units (natural log where the factor is on a log scale; one
    effect per level of a choice, the levels summing to zero). ``constant`` names the factors that never varied and
    were left out, ``fit`` is the fit on the internal scale of ``design``. ``separation`` says which terms have no
    finite estimate, where that is why there is no fit.
    """

    design: Design
    fit: MlFit
    terms: tuple[Term, ...]
    estimate: FloatArray
    se: FloatArray
    constant: tuple[str, ...]
    separation: Separation | None = None


def estimable_rows(table: AttemptTable, design: Design) -> EstimableRows:
    """Return the rows with trials, without factors that never varied and levels that never occurred."""
    rows = np.flatnonzero(table.clean_n > 0)
    columns = {factor.name: table.columns[factor.name][rows] for factor in design.factors}
    some = estimable(design, columns, len(rows))
    return EstimableRows(some.design, some.X, table.clean_k[rows], table.clean_n[rows], some.constant, rows)


def fit_ml_table(table: AttemptTable, design: Design, gate: str = "clean") -> OwnUnitsFit:
    """Fit clean k of n by maximum likelihood; factors and levels that never occurred otherwise are left out.

    ``gate`` says what the counts of the table are counts of.
    """
    rows = estimable_rows(table, design)
    fit = fit_ml(rows.X, rows.k, rows.n)
    own = rows.design.own.matrix
    variance = np.einsum("ij,jk,ik->i", own, fit.covariance, own)
    return OwnUnitsFit(
        design=rows.design,
        fit=fit,
        terms=rows.design.own.terms,
        estimate=rows.design.own_units(fit.estimate),
        se=np.sqrt(variance),
        constant=rows.constant,
        separation=None if fit.exists else separation_in(design, table.columns, table.clean_k, table.clean_n, gate),
    )


def gate_tables(table: AttemptTable) -> dict[str, AttemptTable]:
    """Return per gate a table whose clean counts are the counts of that gate."""
    if table.gates == 1:
        return {"clean": table}
    graded = np.isfinite(table.parted)
    seen = (table.parted == 1) & np.isfinite(table.pooled)
    return {
        "parted": replace(table, clean_k=np.where(graded, table.parted, 0.0), clean_n=graded.astype(float)),
        "pooled": replace(table, clean_k=np.where(seen, table.pooled, 0.0), clean_n=seen.astype(float)),
    }
