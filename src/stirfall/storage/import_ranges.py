"""Numbers of a column against the range of a factor: which unit they are probably in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import unit_kind
from stirfall.storage.import_numbers import has_unit, read_quantity
from stirfall.storage.import_plan import ASK, GUESS, ColumnPlan
from stirfall.storage.import_units import can_convert

_FIRST = 300
_HALF = 0.5
_WIDER, _TIMES_WIDER = 0.1, 3.0
_OTHERS = {"time": ("s", "min", "h", "d", "week"), "temperature": ("C", "F", "K")}


def share_inside(cells: Sequence[str], unit: str, factor: Factor) -> float:
    """Return the share of cells that lie in or near the range of a factor, in a unit."""
    if factor.is_choice:
        return 0.0
    low, high = factor.bounds
    if factor.scale is Scale.LOG:
        low, high = low / _TIMES_WIDER, high * _TIMES_WIDER
    else:
        low, high = low - _WIDER * (high - low), high + _WIDER * (high - low)
    inside = 0
    wanted = factor.unit
    for cell in cells[:_FIRST]:
        try:
            value = read_quantity(cell, "", unit if can_convert(unit, wanted) else wanted, wanted)
        except InputError:
            continue
        inside += low <= value <= high
    return inside / max(1, len(cells[:_FIRST]))


def settle_unit(column: ColumnPlan, cells: Sequence[str], told: str, factor: Factor | None) -> ColumnPlan:
    """Return the column with its unit: as told, else that of the factor, unless the numbers speak against it.

    A new factor keeps the unit that is told. Where another unit of the same kind fits the range and the factor's
    own does not, the unit is asked.
    """
    if factor is None:
        return replace(column, unit=told)
    if not told and all(has_unit(cell) for cell in cells):
        return replace(column, unit=factor.unit)
    if told and can_convert(told, factor.unit):
        return replace(column, unit=told)
    if told and factor.unit:
        if factor.unit == "1/min" and unit_kind(told) == "time":  # stir/min: turns in a minute
            remark = Reason("import.unit_read_as_rate", {"unit": factor.unit})
            return replace(column, unit=factor.unit, remarks=(*column.remarks, remark))
        remark = Reason("import.unit_does_not_fit", {"unit": told, "factor": factor.name, "wanted": factor.unit})
        return replace(column, unit=ASK, remarks=(*column.remarks, remark))
    if not factor.unit:
        return replace(column, unit="")
    others = [each for each in _OTHERS.get(unit_kind(factor.unit), ()) if each != factor.unit]
    own = share_inside(cells, factor.unit, factor)
    fitting = [each for each in others if share_inside(cells, each, factor) > _HALF]
    if own < _HALF and fitting:
        remark = Reason("import.unit_unsure", {"unit": factor.unit, "others": ", ".join(fitting)})
        return replace(column, unit=ASK, remarks=(*column.remarks, remark))
    remark = Reason("import.unit_taken", {"unit": factor.unit})
    return replace(column, unit=factor.unit, confidence=GUESS, remarks=(*column.remarks, remark))
