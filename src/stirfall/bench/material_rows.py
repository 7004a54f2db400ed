"""What the shipped tables say of one metal or one solid: values and laws of temperature, each with its source.

What a table does not know is absent (None); it is never filled with a guess.
"""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.materials import MaterialClass

# Kind of law and the number of its coefficients; ``stirfall.physics.liquids`` says what each kind computes.
LAW_KINDS = {"linear": 3, "critical_density": 4, "critical_tension": 3, "log10_inverse": 2, "ln_power": 3}


@dataclass(frozen=True)
class Sourced:
    """One value with its unit and where it is from."""

    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class Law:
    """A property against absolute temperature: its kind, coefficients, and the range in K where it was fitted.

    ``uncertainty_percent`` is the expanded one (95 %) of the source, None where the source gives none.
    """

    kind: str
    coefficients: tuple[float, ...]
    low_k: float
    high_k: float
    uncertainty_percent: float | None
    source: str

    def __post_init__(self) -> None:
        """Check kind, number of coefficients and range; raises InputError ``material.law``."""
        if LAW_KINDS.get(self.kind) != len(self.coefficients) or not 0 < self.low_k < self.high_k:
            raise InputError("material.law", kind=self.kind, known=", ".join(LAW_KINDS))


@dataclass(frozen=True)
class MetalRow:
    """One metal of the table: laws for density (kg/m³), viscosity (Pa s) and tension against gas (N/m).

    ``parts`` are keys of other rows with their mass fractions, where the metal is an alloy; ``names`` is what
    else people call it; ``notes`` is for reading, with what is absent and why.
    """

    key: str
    name: str
    hazard: MaterialClass
    melting_c: Sourced | None = None
    density: Law | None = None
    viscosity: Law | None = None
    tension: Law | None = None
    parts: tuple[tuple[str, float], ...] = ()
    names: tuple[str, ...] = ()
    notes: str = ""

    def is_called(self, text: str) -> bool:
        """Whether ``text`` is the key or one of the names; letter case and spaces do not matter."""
        return _bare(text) in {_bare(each) for each in (self.key, self.name, *self.names)}


@dataclass(frozen=True)
class SolidRow:
    """One solid of the table with its density in kg/m³ near room temperature."""

    key: str
    name: str
    density: Sourced
    names: tuple[str, ...] = ()
    notes: str = ""

    def is_called(self, text: str) -> bool:
        """Whether ``text`` is the key or one of the names; letter case and spaces do not matter."""
        return _bare(text) in {_bare(each) for each in (self.key, self.name, *self.names)}


def _bare(text: str) -> str:
    return " ".join(text.split()).casefold()
