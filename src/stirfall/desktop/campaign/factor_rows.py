"""The factors of a campaign as rows of text that a person edits; pure, without widgets."""

from __future__ import annotations

from dataclasses import dataclass, replace

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import format_number, parse_quantity, unit_label
from stirfall.reporting.sentences import error_sentence, sentence

SCALE_WORDS = {Scale.LINEAR: "even steps", Scale.LOG: "doubling steps"}


@dataclass(frozen=True)
class FactorRow:
    """One factor as typed.

    ``original`` is the factor before the edit, None for a new one; ``used`` says that recorded attempts have a
    value for it, so that its name, unit and kind stay.
    """

    name: str = ""
    unit: str = ""
    low: str = ""
    high: str = ""
    scale: Scale = Scale.LINEAR
    step: str = ""
    levels: str = ""
    default: str = ""
    is_choice: bool = False
    hidden: bool = False
    used: bool = False
    original: Factor | None = None

    def with_field(self, name: str, value: object) -> FactorRow:
        """Return the row with one field changed."""
        return replace(self, **{name: value})  # type: ignore[arg-type]

    @property
    def locked(self) -> frozenset[str]:
        """The fields that cannot change any more because recorded attempts rest on them."""
        return frozenset({"name", "unit"}) if self.used else frozenset()


def row_of(factor: Factor, *, used: bool, decimal: str = ".") -> FactorRow:
    """Return the row that shows a factor."""

    def shown(value: float | None) -> str:
        return "" if value is None else format_number(value, digits=6, decimal=decimal)

    default = factor.default if isinstance(factor.default, str) else shown(factor.default)
    return FactorRow(
        name=factor.name,
        unit="" if factor.is_choice else unit_label(factor.unit),
        low=shown(factor.low),
        high=shown(factor.high),
        scale=factor.scale,
        step=shown(factor.step),
        levels=", ".join(factor.levels),
        default=default,
        is_choice=factor.is_choice,
        hidden=factor.hidden,
        used=used,
        original=factor,
    )


def read_row(row: FactorRow) -> Factor:
    """Return the factor that a row means; raises InputError (``factor.*``, ``number.*``, ``unit.*``)."""
    original = row.original
    role = original.role if original is not None and _same_meaning(row, original) else None
    if row.is_choice:
        levels = tuple(part.strip() for part in row.levels.split(",") if part.strip())
        if len(levels) < 2:
            raise InputError("desktop.levels_missing", name=row.name or "this factor")
        return Factor(row.name, levels=levels, role=role, default=row.default.strip() or None, hidden=row.hidden)
    unit = row.unit.strip()
    if original is not None and unit == unit_label(original.unit):
        unit = original.unit
    return Factor(
        row.name,
        unit,
        _number(row.low, unit),
        _number(row.high, unit),
        row.scale,
        step=_number(row.step, unit),
        role=role,
        default=_number(row.default, unit),
        hidden=row.hidden,
    )


def problem_of(row: FactorRow, others: tuple[FactorRow, ...], *, decimal: str = ".") -> str:
    """Return the sentence for what is wrong with a row, or an empty text."""
    try:
        factor = read_row(row)
    except InputError as error:
        return error_sentence(error, decimal=decimal)
    if any(" ".join(other.name.split()).casefold() == factor.name.casefold() for other in others):
        return sentence("desktop.factor_twice", {"name": factor.name})
    dropped = _dropped_levels(row, factor)
    if dropped:
        return sentence("desktop.level_dropped", {"name": factor.name, "levels": ", ".join(dropped)})
    return ""


def _dropped_levels(row: FactorRow, factor: Factor) -> tuple[str, ...]:
    if not row.used or row.original is None:
        return ()
    return tuple(level for level in row.original.levels if level not in factor.levels)


def _same_meaning(row: FactorRow, original: Factor) -> bool:
    same_name = " ".join(row.name.split()) == original.name
    return same_name and (row.is_choice or row.unit.strip() in (original.unit, unit_label(original.unit)))


def _number(text: str, unit: str) -> float | None:
    return parse_quantity(text, unit) if text.strip() else None
