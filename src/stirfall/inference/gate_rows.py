"""The rows of each gate: what was tried, how it came out, and which lot it belonged to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.inference.design import Design
from stirfall.inference.table import AttemptTable

FloatArray = NDArray[np.float64]
GateName = Literal["clean", "parted", "pooled"]


@dataclass(frozen=True)
class GateRows:
    """The n rows of one gate, in the order of the attempts.

    ``X`` (n, p) on the internal scale, ``k`` successes of ``n`` trials (n,). ``group`` (n,) is the place of each
    row's lot among ``groups`` lots, -1 where unknown. ``grade`` (n,) holds 0 no, 1 partly, 2 yes in the ordinal
    form of gate 1 (a success is 2), else None. ``rows`` (n,) are the places in the attempt table.
    """

    X: FloatArray
    k: FloatArray
    n: FloatArray
    group: NDArray[np.intp]
    groups: int
    rows: NDArray[np.intp]
    grade: NDArray[np.int8] | None = None

    @property
    def has_lots(self) -> bool:
        """Whether the rows belong to two lots or more, so that lots can differ at all."""
        return len(np.unique(self.group[self.group >= 0])) > 1

    def without_lots(self) -> GateRows:
        """Return the same rows as if no lot were known."""
        return GateRows(self.X, self.k, self.n, np.full_like(self.group, -1), 0, self.rows, self.grade)


def rows_of_gates(table: AttemptTable, design: Design, *, gates: int | None = None) -> dict[GateName, GateRows]:
    """Return the rows of each gate, ``gates`` as the table says where nothing is decreed.

    Gate 2 has the rows in which gate 1 said yes and the pool was observed.
    """
    matrix = design.matrix(table.columns, rows=table.rows)
    if (gates or table.gates) != 2:
        return {"clean": _rows(table, matrix, table.clean_k, table.clean_n)}
    graded = np.isfinite(table.parted)
    seen = (table.parted == 1) & np.isfinite(table.pooled)
    return {
        "parted": _rows(table, matrix, np.where(graded, table.parted, 0.0), graded.astype(float), table.grade),
        "pooled": _rows(table, matrix, np.where(seen, table.pooled, 0.0), seen.astype(float)),
    }


def _rows(
    table: AttemptTable,
    matrix: FloatArray,
    k: FloatArray,
    n: FloatArray,
    grade: NDArray[np.int8] | None = None,
) -> GateRows:
    rows = np.flatnonzero(n > 0)
    group = np.full(len(rows), -1, dtype=np.intp) if table.group is None else table.group[rows]
    grades = None if grade is None else grade[rows]
    return GateRows(matrix[rows], k[rows], n[rows], group, len(table.group_names), rows, grades)
