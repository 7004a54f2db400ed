"""What likelihood alone can speak of: factors that varied, and levels that occurred."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.factors import Factor, Scale
from stirfall.inference.design import Columns, Design, contrasts

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Estimable:
    """A design cut down to what varied, with its columns and matrix ``X`` (n, p).

    ``columns`` are in the units of the factors, a choice as the index of its level among those that occurred;
    ``constant`` names the factors that never varied.
    """

    design: Design
    columns: dict[str, FloatArray]
    X: FloatArray
    constant: tuple[str, ...]


def estimable(design: Design, columns: Columns, rows: int) -> Estimable:
    """Return the design without factors that never varied and levels that never occurred in ``columns`` (n,)."""
    kept = {factor.name: columns[factor.name] for factor in design.factors}
    constant = tuple(name for name, column in kept.items() if len(np.unique(column)) < 2)
    design = design.without(constant)
    kept = {name: column for name, column in kept.items() if name not in constant}
    for factor in design.factors:
        if factor.is_choice:
            seen, index = np.unique(kept[factor.name], return_inverse=True)
            levels = tuple(factor.levels[int(level)] for level in seen)
            design = design.with_factor(replace(factor, levels=levels, default=None))
            kept[factor.name] = index.astype(float)
    return Estimable(design, kept, design.matrix(kept, rows=rows), constant)


def columns_of(design: Design, X: FloatArray) -> dict[str, FloatArray]:
    """Return the columns of the factors in their units from rows ``X`` (n, p) on the internal scale."""
    columns = {}
    start = 1
    for factor in design.factors:
        width = len(factor.levels) - 1 if factor.is_choice else 1
        columns[factor.name] = _own_values(factor, X[:, start : start + width])
        start += width
    return columns


def _own_values(factor: Factor, block: FloatArray) -> FloatArray:
    """Undo the map to the internal scale, on which the range is [-1, 1] and levels are rows of contrasts."""
    if factor.is_choice:
        index: NDArray[np.intp] = np.argmax(block @ contrasts(len(factor.levels)).T, axis=1)
        return index.astype(float)
    low, high = factor.bounds
    share = 0.5 * (block[:, 0] + 1.0)
    if factor.scale is Scale.LOG:
        return np.asarray(low * np.exp(share * math.log(high / low)))
    return np.asarray(low + share * (high - low))
