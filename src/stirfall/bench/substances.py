"""What the campaign works with: its metal, solids, oil, additives, vessel, and its own tighter limits.

Everything is optional: None or "" means unknown, and unknown is never replaced by a guess. Names, melting point and
flash point stand in ``CampaignSettings``; what is here refines them.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum
from math import isfinite

from stirfall.bench.errors import InputError


class OilHistory(StrEnum):
    """What happened to an oil before it came onto the metal: fresh and used oil bring different air and water."""

    NEW = "new"
    REUSED = "reused"
    DRIED = "dried"
    DEGASSED = "degassed"


class Lid(StrEnum):
    """How a jar is closed."""

    OPEN = "open"
    LOOSE = "loose"
    CLOSED = "closed"
    INERT = "under inert gas"

    @classmethod
    def named(cls, text: str) -> Lid | None:
        """Return the lid that a jar's text means, in today's words or those of old files; None for another text."""
        bare = " ".join(text.split()).casefold()
        return cls.INERT if bare == "inert gas" else next((lid for lid in cls if lid.value == bare), None)


class SurfaceLook(StrEnum):
    """How the metal looks under its oil, before anything is heated or opened."""

    BRIGHT = "bright"
    GREY = "grey"
    HIDDEN = "hidden"
    FURRY = "furry"
    WHITE = "white"
    YELLOW = "yellow"

    @property
    def is_alarming(self) -> bool:
        """Whether, on a reactive metal, this look means: do not open, touch or cut it."""
        return self in (SurfaceLook.HIDDEN, SurfaceLook.FURRY, SurfaceLook.WHITE, SurfaceLook.YELLOW)


def _check_numbers(record: object, kind: str, *, signed: tuple[str, ...] = ()) -> None:
    """Make plain finite numbers of a frozen record's numbers; raises InputError ``substance.impossible``."""
    for item in fields(record):  # type: ignore[arg-type]
        value = getattr(record, item.name)
        if value is None or isinstance(value, (str, tuple)) or not hasattr(value, "__float__"):
            continue
        number = float(value)
        if not isfinite(number) or (number <= 0 and item.name not in signed):
            raise InputError("substance.impossible", kind=kind, name=item.name, value=f"{number:g}")
        object.__setattr__(record, item.name, number)


@dataclass(frozen=True)
class MetalValues:
    """The campaign's metal: ``key`` of the shipped table ("" none), and own values at the melt, which come first.

    ``density_kg_m3`` and ``viscosity_mpa_s`` hold near the melting point; ``tension_mn_m`` against vacuum or gas.
    """

    key: str = ""
    density_kg_m3: float | None = None
    viscosity_mpa_s: float | None = None
    tension_mn_m: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.impossible``."""
        _check_numbers(self, "metal")


@dataclass(frozen=True)
class SolidsValues:
    """The fine solids: name, ``key`` of the shipped table, density, and the range of their sizes."""

    name: str = ""
    key: str = ""
    density_kg_m3: float | None = None
    size_low_um: float | None = None
    size_high_um: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.impossible`` or ``substance.sizes_reversed``."""
        _check_numbers(self, "solids")
        low, high = self.size_low_um, self.size_high_um
        if low is not None and high is not None and low > high:
            raise InputError("substance.sizes_reversed", low=low, high=high)


@dataclass(frozen=True)
class OilValues:
    """One bottle of oil beside its name and flash point: what is on its label and sheet.

    Kinematic viscosities in mm²/s at two temperatures (for ASTM D341), density at a temperature, autoignition
    temperature, the maximum that the bottle or its sheet states, and what happened to it before (``OilHistory``).
    """

    bottle: str = ""
    history: str = ""
    density_kg_m3: float | None = None
    density_at_c: float | None = None
    viscosity_1_mm2_s: float | None = None
    viscosity_1_at_c: float | None = None
    viscosity_2_mm2_s: float | None = None
    viscosity_2_at_c: float | None = None
    autoignition_c: float | None = None
    stated_max_c: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.*``."""
        temperatures = ("density_at_c", "viscosity_1_at_c", "viscosity_2_at_c", "autoignition_c", "stated_max_c")
        _check_numbers(self, "oil", signed=temperatures)
        if self.history and self.history not in tuple(OilHistory):
            raise InputError("substance.history", value=self.history, known=", ".join(OilHistory))


@dataclass(frozen=True)
class AdditiveValues:
    """One additive: its name (as the level of a choice names it), its class, dose cap and what releases hydrogen.

    ``kind`` is a key of the shipped table of additive classes, "" unknown. ``hydrogens`` is how many hydrogen atoms
    per molecule can react with a reactive metal (one per OH or acid group).
    """

    name: str = ""
    kind: str = ""
    dose_cap_mg_g: float | None = None
    molar_mass_g_mol: float | None = None
    hydrogens: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.impossible``."""
        _check_numbers(self, "additive", signed=("hydrogens",))


@dataclass(frozen=True)
class VesselValues:
    """The melt vessel and the stirrer: volume to the brim, inner diameter, diameter of the stirring circle."""

    volume_ml: float | None = None
    diameter_mm: float | None = None
    stirrer_mm: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.impossible``."""
        _check_numbers(self, "vessel")


@dataclass(frozen=True)
class OwnLimits:
    """The campaign's own limits where they are tighter than the shipped ones; None keeps the shipped value."""

    age_h: float | None = None
    humidity_percent: float | None = None
    hydrogen_ml: float | None = None
    residue_days: float | None = None

    def __post_init__(self) -> None:
        """Check ranges; raises InputError ``substance.impossible``."""
        _check_numbers(self, "limits")


@dataclass(frozen=True)
class Substances:
    """Everything that the campaign works with, beyond names, melting point and flash point."""

    metal: MetalValues = MetalValues()
    solids: SolidsValues = SolidsValues()
    oil: OilValues = OilValues()
    additives: tuple[AdditiveValues, ...] = ()
    vessel: VesselValues = VesselValues()
    limits: OwnLimits = OwnLimits()

    def additive(self, name: str | None) -> AdditiveValues | None:
        """Return the additive of this name (letter case does not matter); the only one where no name is given."""
        if name is None:
            return self.additives[0] if len(self.additives) == 1 else None
        wanted = " ".join(name.split()).casefold()
        return next((each for each in self.additives if each.name.casefold() == wanted), None)


NOTHING_KNOWN = Substances()
