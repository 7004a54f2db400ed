"""What an attempt keeps beyond conditions and grades: what was seen and accepted, and how it was weighed."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from stirfall.bench.errors import InputError
from stirfall.bench.substances import SurfaceLook

OIL_REMOVALS = ("drained", "wiped", "rinsed and dried", "not removed", "no oil")


@dataclass(frozen=True)
class AcceptedWarning:
    """One warning of the limits that the person went past, in the words that were shown, and why."""

    code: str
    factor: str
    text: str
    reason: str


@dataclass(frozen=True)
class RunFacts:
    """What was seen at the bench; None or "" means not noted.

    ``look`` is how the surface looked before melting (``SurfaceLook``), ``peak_c`` the highest temperature seen,
    ``lifted_at_c`` the metal's temperature when it was lifted out of the oil, ``oil_ml`` the volume of hot oil with
    the metal in it. ``ticked`` are the lines of the start checklist that held for this attempt, ``accepted`` the
    warnings that were gone past. ``operator`` says who stirred, ``tool`` with what.
    """

    look: str = ""
    room_rh_percent: float | None = None
    oil_ml: float | None = None
    peak_c: float | None = None
    lifted_at_c: float | None = None
    ticked: tuple[str, ...] = ()
    accepted: tuple[AcceptedWarning, ...] = ()
    operator: str = ""
    tool: str = ""

    def __post_init__(self) -> None:
        """Make plain numbers and check them; raises InputError ``facts.*``."""
        if self.look and self.look not in tuple(SurfaceLook):
            raise InputError("facts.look", value=self.look, known=", ".join(SurfaceLook))
        for name in ("room_rh_percent", "oil_ml", "peak_c", "lifted_at_c"):
            value = getattr(self, name)
            if value is None:
                continue
            object.__setattr__(self, name, float(value))
            if not isfinite(value) or (name in ("room_rh_percent", "oil_ml") and value < 0):
                raise InputError("facts.impossible", name=name, value=f"{float(value):g}")
        if self.room_rh_percent is not None and self.room_rh_percent > 100:
            raise InputError("facts.impossible", name="room_rh_percent", value=f"{self.room_rh_percent:g}")


@dataclass(frozen=True)
class WeighingSheet:
    """How an attempt was weighed; the net masses themselves stand in ``Masses``.

    ``tares`` holds, by the name of the mass, the weight of the vessel that was taken off (none: read directly).
    ``step_g`` is the smallest step of the balance. ``oil_removed`` is one of ``OIL_REMOVALS``; ``bead_mm`` the
    typical diameter of the beads. ``purity_percent`` is the metal in the product with its standard uncertainty.
    """

    tares: tuple[tuple[str, float], ...] = ()
    step_g: float | None = None
    oil_removed: str = ""
    bead_mm: float | None = None
    purity_percent: float | None = None
    purity_u_percent: float | None = None

    def __post_init__(self) -> None:
        """Make plain numbers and check them; raises InputError ``sheet.*``."""
        object.__setattr__(self, "tares", tuple((str(name), float(tare)) for name, tare in self.tares))
        if self.oil_removed and self.oil_removed not in OIL_REMOVALS:
            raise InputError("sheet.oil_removed", value=self.oil_removed, known=", ".join(OIL_REMOVALS))
        for name in ("step_g", "bead_mm", "purity_percent", "purity_u_percent"):
            value = getattr(self, name)
            if value is None:
                continue
            object.__setattr__(self, name, float(value))
            if not isfinite(value) or value < 0 or (value == 0 and name in ("step_g", "bead_mm")):
                raise InputError("sheet.impossible", name=name, value=f"{float(value):g}")
        if (self.purity_percent or 0.0) > 100.0:
            raise InputError("sheet.impossible", name="purity_percent", value=f"{self.purity_percent:g}")
        for name, tare in self.tares:
            if not isfinite(tare) or tare < 0:
                raise InputError("sheet.impossible", name=f"tare of {name}", value=f"{tare:g}")

    def tare(self, name: str) -> float | None:
        """Return the tare of a mass such as ``product_g``, None where it was read directly."""
        return dict(self.tares).get(name)


# Shared by the many attempts that have none.
NO_FACTS, NO_SHEET = RunFacts(), WeighingSheet()
