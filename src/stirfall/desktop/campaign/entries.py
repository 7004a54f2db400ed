"""What is typed about the materials of a campaign, and how it is written back; pure, without widgets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import AdditiveValues
from stirfall.bench.units import format_number


@dataclass(frozen=True)
class AdditiveEntry:
    """One additive as typed; ``kind`` is a key of the table of additive classes, "" unknown."""

    name: str = ""
    kind: str = ""
    cap: str = ""
    molar: str = ""
    hydrogens: str = ""


@dataclass(frozen=True)
class MaterialsEntries:
    """Metal, solids, oil, additives, vessel and own limits as typed; an empty entry means unknown.

    ``flash_of`` names the bottle that flash point, autoignition and stated maximum were entered for, and
    ``flash_kept`` holds these three texts, so that they come back when a slip of the name is mended.
    ``asked_anew`` says that they were emptied because the bottle is another.
    """

    metal_key: str = ""
    metal_density: str = ""
    metal_viscosity: str = ""
    metal_tension: str = ""
    solids_key: str = ""
    solids_name: str = ""
    solids_density: str = ""
    size_low: str = ""
    size_high: str = ""
    bottle: str = ""
    history: str = ""
    autoignition: str = ""
    stated_max: str = ""
    oil_density: str = ""
    oil_density_at: str = ""
    viscosity_1: str = ""
    viscosity_1_at: str = ""
    viscosity_2: str = ""
    viscosity_2_at: str = ""
    additives: tuple[AdditiveEntry, ...] = ()
    vessel_volume: str = ""
    vessel_diameter: str = ""
    stirrer: str = ""
    own_age: str = ""
    own_humidity: str = ""
    own_hydrogen: str = ""
    own_residue: str = ""
    flash_of: tuple[str, str] = ("", "")
    flash_kept: tuple[str, str, str] = ("", "", "")
    asked_anew: bool = False


NUMBERS: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "metal_density": ("metal", "density_kg_m3", "kg/m^3"),
        "metal_viscosity": ("metal", "viscosity_mpa_s", "mPa*s"),
        "metal_tension": ("metal", "tension_mn_m", "mN/m"),
        "solids_density": ("solids", "density_kg_m3", "kg/m^3"),
        "size_low": ("solids", "size_low_um", "um"),
        "size_high": ("solids", "size_high_um", "um"),
        "oil_density": ("oil", "density_kg_m3", "kg/m^3"),
        "oil_density_at": ("oil", "density_at_c", "°C"),
        "viscosity_1": ("oil", "viscosity_1_mm2_s", "mm^2/s"),
        "viscosity_1_at": ("oil", "viscosity_1_at_c", "°C"),
        "viscosity_2": ("oil", "viscosity_2_mm2_s", "mm^2/s"),
        "viscosity_2_at": ("oil", "viscosity_2_at_c", "°C"),
        "autoignition": ("oil", "autoignition_c", "°C"),
        "stated_max": ("oil", "stated_max_c", "°C"),
        "vessel_volume": ("vessel", "volume_ml", "mL"),
        "vessel_diameter": ("vessel", "diameter_mm", "mm"),
        "stirrer": ("vessel", "stirrer_mm", "mm"),
        "own_age": ("limits", "age_h", "h"),
        "own_humidity": ("limits", "humidity_percent", "%"),
        "own_hydrogen": ("limits", "hydrogen_ml", "mL"),
        "own_residue": ("limits", "residue_days", "d"),
    }
)
"""Where each typed number of ``MaterialsEntries`` goes: part of the substances, field of the part, unit."""

OWN_LIMITS: Mapping[str, str] = MappingProxyType(
    {name: field for name, (part, field, _) in NUMBERS.items() if part == "limits"}
)
"""The entries of own limits, with the fields that they fill."""


def entries_of(settings: CampaignSettings, decimal: str) -> dict[str, object]:
    """Return the entries that show existing settings, by their names."""
    substances = settings.substances

    def shown(value: float | None, unit: str) -> str:
        if value is None:
            return ""
        text = format_number(value, digits=6, decimal=decimal)
        return f"{text} °C" if unit == "°C" else text

    written: dict[str, object] = {
        name: shown(getattr(getattr(substances, part), field), unit)
        for name, (part, field, unit) in NUMBERS.items()
    }
    return written | {
        "metal_key": substances.metal.key,
        "solids_key": substances.solids.key,
        "solids_name": substances.solids.name,
        "bottle": substances.oil.bottle,
        "history": substances.oil.history,
        "additives": tuple(_entry(additive, shown) for additive in substances.additives),
        "flash_of": (plain_name(settings.oil), plain_name(substances.oil.bottle)),
        "flash_kept": (shown(settings.oil_flash_c, "°C"), written["autoignition"], written["stated_max"]),
    }


def _entry(additive: AdditiveValues, shown: object) -> AdditiveEntry:
    assert callable(shown)
    return AdditiveEntry(
        additive.name,
        additive.kind,
        shown(additive.dose_cap_mg_g, ""),
        shown(additive.molar_mass_g_mol, ""),
        shown(additive.hydrogens, ""),
    )


def plain_name(text: str) -> str:
    """Return a name without what does not make it another: letter case and spare blanks."""
    return " ".join(text.split()).casefold()
