"""What the film index is computed from: constants with their sources, filled from a shipped table."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class OilContent:
    """What an oil of one history brings, as a share of saturation in the room (0 to 1)."""

    oxygen: float
    water: float


@dataclass(frozen=True)
class AboveOil:
    """What stands above the oil: ``renewed`` air or not, and its ``share`` of the room's oxygen and water."""

    renewed: bool
    share: float


@dataclass(frozen=True)
class UsualValues:
    """Taken where nothing is known, and then named beside the index."""

    lid: str
    oil_history: str
    storage_c: float
    room_rh_percent: float
    headspace_mm: float
    temperature_c: float


@dataclass(frozen=True)
class FilmConstants:
    """Constants of the film index in the units of the shipped table; ``sources`` says where each is from."""

    oxygen_solubility: float
    oxygen_in_air: float
    pressure: float
    water_line_a: float
    water_line_b: float
    vapour_a: float
    vapour_b: float
    vapour_c: float
    oil_density: float
    oil_density_slope: float
    diffusivity: float
    reference_viscosity: float
    viscosity_power: float
    reference_temperature: float
    diffusivity_per_kelvin: float
    water_diffusivity_ratio: float
    stirred_layer: float
    band_factor: float
    own_factor: float
    own_factor_unlike: float
    least_index: float
    usual: UsualValues
    histories: tuple[tuple[str, OilContent], ...]
    lids: tuple[tuple[str, AboveOil], ...]
    sources: tuple[tuple[str, str], ...]

    def content(self, history: str) -> OilContent:
        """Return what an oil of this history (a word of ``OilHistory``) brings."""
        return dict(self.histories)[history]

    def above(self, lid: str) -> AboveOil:
        """Return what stands above the oil under this lid (a word of ``Lid``)."""
        return dict(self.lids)[lid]
