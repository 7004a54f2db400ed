"""The shipped limits beside a campaign's own: an own limit may only be stricter; and the classes of additives."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.units import format_quantity, human_time
from stirfall.storage.limit_table import additive_kinds, limit_table

_NONE_WORDS = frozenset({"none", "no", "no additive", "without", ""})
_SHIPPED = {
    "humidity_percent": ("humidity", "most"),
    "hydrogen_ml": ("hydrogen", "most"),
    "residue_days": ("residue", "most"),
}
"""For each own limit the rule of the shipped table and the name of its number."""


def shipped_limits(material: MaterialClass | None) -> dict[str, float]:
    """Return the shipped limits that hold for a class of metal, by the field of ``OwnLimits`` and in its unit."""
    table = limit_table()
    limits = {field: table[rule].number(name) for field, (rule, name) in _SHIPPED.items()}
    if material is MaterialClass.SUPEROXIDE_FORMER:
        limits["age_h"] = table["superoxide_age"].number("most")
    elif material is not MaterialClass.BASE_METAL:
        limits["age_h"] = table["jar_age"].number("most")
    return limits


def margins() -> tuple[float, float, float]:
    """Return the margins in K over the melting point, under the flash point and under the autoignition."""
    table = limit_table()
    return (
        table["melting_margin"].number("least"),
        table["oil_margin"].number("warn"),
        table["autoignition_margin"].number("block"),
    )


def said_limit(field: str, value: float, decimal: str) -> str:
    """Write an own or shipped limit in the unit that a person would say."""
    if field == "age_h":
        return human_time(value, "h", decimal=decimal)
    unit = {"humidity_percent": "%", "hydrogen_ml": "mL", "residue_days": "days"}[field]
    return format_quantity(value, unit, decimal=decimal)


def additive_choices() -> tuple[tuple[str, str], ...]:
    """Return the classes of additives, key and words, as the shipped table orders them."""
    return tuple((kind.key, kind.title) for kind in additive_kinds().values())


def additive_levels(factors: Iterable[Factor]) -> tuple[str, ...]:
    """Return the levels of the choices that are called an additive, those that mean none left out."""
    chosen = [
        level for each in factors if each.is_choice and "additive" in each.name.casefold() for level in each.levels
    ]
    return tuple(dict.fromkeys(level for level in chosen if level.strip().casefold() not in _NONE_WORDS))


def shipped_notes(material: MaterialClass | None, names: Mapping[str, str], decimal: str) -> dict[str, str]:
    """Return the words for the shipped limit of each entry; ``names`` maps entries to fields of ``OwnLimits``."""
    limits = shipped_limits(material)
    return {entry: said_limit(field, limits[field], decimal) for entry, field in names.items() if field in limits}
