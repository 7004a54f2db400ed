"""Maximum likelihood with lots on an attempt table, in the units of the factors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.design import Design
from stirfall.inference.gate_rows import GateRows
from stirfall.inference.lot_ml import DEFAULT_NODES, LotMlFit, fit_lot_ml
from stirfall.inference.ml_table import estimable_rows
from stirfall.inference.separations import Separation, separation_in
from stirfall.inference.table import AttemptTable
from stirfall.inference.terms import Term

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class OwnUnitsLotFit:
    """A fit with lots on clean counts; ``terms``, ``estimate`` and ``se`` (q,) in own units.

    ``fit`` is on the internal scale of ``design``, ``constant`` names the factors left out because they never
    varied, ``lots`` (J,) the lots of ``fit.effects``, None for an attempt of unknown lot, with their ``successes``
    of ``trials`` (J,). ``separation`` says which terms have no finite estimate, where the conditions alone part the
    outcomes.
    """

    design: Design
    fit: LotMlFit
    terms: tuple[Term, ...]
    estimate: FloatArray
    se: FloatArray
    constant: tuple[str, ...]
    lots: tuple[str | None, ...]
    successes: FloatArray
    trials: FloatArray
    separation: Separation | None = None


def fit_lot_ml_table(
    table: AttemptTable, design: Design, gate: str = "clean", *, nodes: int = DEFAULT_NODES, level: float = 0.95
) -> OwnUnitsLotFit:
    """Fit clean k of n with one random intercept per group of the table; ``level`` is that of the sd's bounds.

    ``gate`` says what the counts of the table are counts of.
    """
    some = estimable_rows(table, design)
    group = np.full(len(some.rows), -1, dtype=np.intp) if table.group is None else table.group[some.rows]
    rows = GateRows(some.X, some.k, some.n, group, len(table.group_names), some.rows)
    fit = fit_lot_ml(rows, nodes=nodes, level=level)
    own = some.design.own.matrix
    return OwnUnitsLotFit(
        design=some.design,
        fit=fit,
        terms=some.design.own.terms,
        estimate=some.design.own_units(fit.estimate),
        se=np.sqrt(np.einsum("ij,jk,ik->i", own, fit.covariance[:-1, :-1], own)),
        constant=some.constant,
        lots=tuple(None if place < 0 else table.group_names[place] for place in fit.named),
        successes=_per_lot(rows, rows.k, fit),
        trials=_per_lot(rows, rows.n, fit),
        separation=None if fit.exists else separation_in(design, table.columns, table.clean_k, table.clean_n, gate),
    )


def _per_lot(rows: GateRows, counts: FloatArray, fit: LotMlFit) -> FloatArray:
    """Return the sum of ``counts`` in each lot, in the order of the fit: the named lots, then the single rows."""
    named = np.bincount(rows.group[rows.group >= 0], weights=counts[rows.group >= 0], minlength=rows.groups)
    return np.r_[named[fit.named[fit.named >= 0]], counts[rows.group < 0]] if fit.exists else np.empty(0)
