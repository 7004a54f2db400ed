"""What a recipe was made with, in sentences: metal, solids, oil, additives and vessel; unknown is said to be so."""

from __future__ import annotations

from collections.abc import Iterable

from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import AdditiveValues, OilValues, SolidsValues, Substances, VesselValues
from stirfall.bench.units import THIN_SPACE, format_number, format_quantity
from stirfall.storage.materials import materials

_NOT_KNOWN = "not known"


def material_lines(settings: CampaignSettings, *, decimal: str = ".") -> tuple[str, ...]:
    """Return one line each for metal, solids, oil, additives and vessel, with everything that is known of them.

    A stranger who repeats the recipe must see what was not known too: metal, solids and oil always have a line.
    """
    writer = _Writer(decimal)
    return tuple(writer.lines(settings))


class _Writer:
    def __init__(self, decimal: str) -> None:
        self._decimal = decimal

    def lines(self, settings: CampaignSettings) -> Iterable[str]:
        substances = settings.substances
        yield f"Metal: {self._metal(settings, substances)}."
        yield f"Solids: {self._solids(substances.solids)}."
        yield f"Oil: {self._oil(settings, substances.oil)}."
        for additive in substances.additives:
            yield f"Additive: {self._additive(additive)}."
        vessel = self._vessel(substances.vessel)
        if vessel:
            yield f"Vessel: {vessel}."

    def _metal(self, settings: CampaignSettings, substances: Substances) -> str:
        metal = substances.metal
        row = materials().metal(metal.key)
        name = settings.metal or (row.name if row else "")
        return _listed(
            [
                name,
                self._told("melts at", settings.melting_point_c, "C"),
                self._told("density as a melt", metal.density_kg_m3, "kg/m³"),
                self._told("viscosity", metal.viscosity_mpa_s, "mPa s"),
                self._told("surface tension", metal.tension_mn_m, "mN/m"),
            ]
        )

    def _solids(self, solids: SolidsValues) -> str:
        row = materials().solid(solids.key)
        density = solids.density_kg_m3 if solids.density_kg_m3 is not None or row is None else row.density.value
        return _listed(
            [
                solids.name or (row.name if row else ""),
                self._told("density", density, "kg/m³"),
                self._size(solids.size_low_um, solids.size_high_um),
            ]
        )

    def _size(self, low: float | None, high: float | None) -> str:
        if low is None or high is None:
            only = low if high is None else high
            return "" if only is None else f"about {self._number(only)}{THIN_SPACE}µm"
        return f"{self._number(low)} to {self._number(high)}{THIN_SPACE}µm"

    def _oil(self, settings: CampaignSettings, oil: OilValues) -> str:
        viscosities = [
            f"{self._number(value)}{THIN_SPACE}mm²/s at {self._celsius(at)}"
            for value, at in (
                (oil.viscosity_1_mm2_s, oil.viscosity_1_at_c),
                (oil.viscosity_2_mm2_s, oil.viscosity_2_at_c),
            )
            if value is not None and at is not None
        ]
        density = self._told("density", oil.density_kg_m3, "kg/m³")
        if density and oil.density_at_c is not None:
            density += f" at {self._celsius(oil.density_at_c)}"
        flash = self._told("flash point", settings.oil_flash_c, "C") or f"flash point {_NOT_KNOWN}"
        return _listed(
            [
                settings.oil,
                f"bottle {oil.bottle}" if oil.bottle else "",
                oil.history,
                flash,
                self._told("autoignition", oil.autoignition_c, "C"),
                self._told("stated maximum", oil.stated_max_c, "C"),
                density,
                f"viscosity {' and '.join(viscosities)}" if viscosities else "",
            ]
        )

    def _additive(self, additive: AdditiveValues) -> str:
        kind = additive.kind if additive.kind.casefold() != additive.name.casefold() else ""
        return _listed(
            [
                additive.name,
                f"class {kind}" if kind else "",
                self._told("dose at most", additive.dose_cap_mg_g, "mg/g"),
                self._told("molar mass", additive.molar_mass_g_mol, "g/mol"),
            ]
        )

    def _vessel(self, vessel: VesselValues) -> str:
        told = [
            self._told("volume", vessel.volume_ml, "mL"),
            self._told("inner diameter", vessel.diameter_mm, "mm"),
            self._told("stirring circle", vessel.stirrer_mm, "mm"),
        ]
        return ", ".join(part for part in told if part)

    def _told(self, words: str, value: float | None, unit: str) -> str:
        if value is None:
            return ""
        shown = self._celsius(value) if unit == "C" else f"{self._number(value)}{THIN_SPACE}{unit}"
        return f"{words} {shown}"

    def _celsius(self, value: float) -> str:
        return format_quantity(value, "C", digits=4, decimal=self._decimal)

    def _number(self, value: float) -> str:
        return format_number(value, digits=4, decimal=self._decimal)


def _listed(parts: Iterable[str]) -> str:
    told = [part for part in parts if part]
    return ", ".join(told) if told else _NOT_KNOWN
