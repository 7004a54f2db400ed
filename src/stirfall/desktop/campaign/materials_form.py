"""What the typed materials of a campaign mean, or what is wrong with which entry; pure, without widgets."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from stirfall.bench.errors import InputError
from stirfall.bench.substances import (
    AdditiveValues,
    MetalValues,
    OilValues,
    OwnLimits,
    SolidsValues,
    Substances,
    VesselValues,
)
from stirfall.bench.units import parse_quantity
from stirfall.desktop.campaign.entries import NUMBERS, OWN_LIMITS, AdditiveEntry, MaterialsEntries, plain_name
from stirfall.desktop.campaign.own_limits import said_limit
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from collections.abc import Mapping

_ABSOLUTE_ZERO_C, _HOTTEST_C = -273.15, 2000.0
_PAIRS = (
    ("oil_density", "oil_density_at"),
    ("viscosity_1", "viscosity_1_at"),
    ("viscosity_2", "viscosity_2_at"),
)


@dataclass
class Reading:
    """Collects problems by field while a form is read."""

    decimal: str
    problems: dict[str, str] = field(default_factory=dict)

    def number(self, name: str, text: str, unit: str, *, may_be_zero: bool = False) -> float | None:
        """Return the number that a text means in ``unit``; None where it is empty or wrong, which is then said."""
        if not text.strip():
            return None
        try:
            value = parse_quantity(text, unit, decimal=self.decimal)
        except InputError as error:
            self.problems[name] = error_sentence(error, decimal=self.decimal)
            return None
        if unit == "°C":
            if _ABSOLUTE_ZERO_C < value < _HOTTEST_C:
                return value
            self.say(name, "desktop.temperature_impossible", value=value)
        elif value > 0 or (may_be_zero and value == 0):
            return value
        else:
            self.say(name, "campaign.not_below_zero" if may_be_zero else "campaign.not_above_zero")
        return None

    def say(self, name: str, code: str, /, **params: object) -> None:
        """Keep the sentence of a problem, unless the field has one already."""
        self.problems.setdefault(name, sentence(code, params, decimal=self.decimal))


def read_materials(
    form: MaterialsEntries, shipped_limits: Mapping[str, float], decimal: str
) -> tuple[Substances | None, dict[str, str]]:
    """Return the substances that a form means, or None, and one sentence per field with a problem.

    ``shipped_limits`` holds the shipped value of each own limit that has one, in its unit: an own limit may only
    be stricter.
    """
    reading = Reading(decimal)
    values: dict[str, dict[str, float | None]] = {}
    for name, (part, target, unit) in NUMBERS.items():
        values.setdefault(part, {})[target] = reading.number(name, getattr(form, name), unit)
    _check_sizes(values["solids"], reading)
    _check_oil(form, values["oil"], reading)
    _check_limits(form, values["limits"], shipped_limits, reading)
    additives = _additives(form.additives, reading)
    if reading.problems:
        return None, reading.problems
    substances = Substances(
        metal=MetalValues(form.metal_key, **values["metal"]),
        solids=SolidsValues(form.solids_name.strip(), form.solids_key, **values["solids"]),
        oil=OilValues(form.bottle.strip(), form.history, **values["oil"]),
        additives=additives,
        vessel=VesselValues(**values["vessel"]),
        limits=OwnLimits(**values["limits"]),
    )
    return substances, {}


def _check_sizes(solids: Mapping[str, float | None], reading: Reading) -> None:
    low, high = solids["size_low_um"], solids["size_high_um"]
    if low is not None and high is not None and low > high:
        reading.say("size_high", "substance.sizes_reversed", low=low, high=high)


def _check_oil(form: MaterialsEntries, oil: Mapping[str, float | None], reading: Reading) -> None:
    for value, at in _PAIRS:
        if getattr(form, value).strip() and not getattr(form, at).strip():
            reading.say(at, "campaign.at_missing")
        elif getattr(form, at).strip() and not getattr(form, value).strip():
            reading.say(value, "campaign.value_missing")
    thick, thin = oil["viscosity_1_mm2_s"], oil["viscosity_2_mm2_s"]
    cool, warm = oil["viscosity_1_at_c"], oil["viscosity_2_at_c"]
    if thick is None or thin is None or cool is None or warm is None:
        return
    if cool == warm:
        reading.say("viscosity_2_at", "campaign.viscosities_at_one")
    elif (thick - thin) * (warm - cool) <= 0:
        reading.say("viscosity_2", "campaign.viscosity_rises")


def _check_limits(
    form: MaterialsEntries, own: Mapping[str, float | None], shipped: Mapping[str, float], reading: Reading
) -> None:
    for name, target in OWN_LIMITS.items():
        value, most = own[target], shipped.get(target)
        if value is not None and most is not None and value > most:
            reading.say(name, "campaign.limit_looser", shipped=said_limit(target, most, reading.decimal))
    if form.own_humidity.strip() and (own["humidity_percent"] or 0.0) > 100.0:
        reading.say("own_humidity", "campaign.above_hundred")


def _additives(entries: tuple[AdditiveEntry, ...], reading: Reading) -> tuple[AdditiveValues, ...]:
    read: list[AdditiveValues] = []
    seen: set[str] = set()
    for at, entry in enumerate(entries):
        field_name = f"additive_{at}"
        if not entry.name.strip():
            if entry != replace(AdditiveEntry(), name=entry.name):
                reading.say(field_name, "campaign.additive_nameless")
            continue
        if plain_name(entry.name) in seen:
            reading.say(field_name, "campaign.additive_twice", name=entry.name.strip())
        seen.add(plain_name(entry.name))
        cap = reading.number(field_name, entry.cap, "mg/g")
        molar = reading.number(field_name, entry.molar, "g/mol")
        hydrogens = reading.number(field_name, entry.hydrogens, "", may_be_zero=True)
        if hydrogens is not None and hydrogens != int(hydrogens):
            reading.say(field_name, "campaign.hydrogens_whole")
        read.append(AdditiveValues(" ".join(entry.name.split()), entry.kind, cap, molar, hydrogens))
    return tuple(read)
