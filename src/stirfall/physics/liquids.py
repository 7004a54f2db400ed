"""Density, viscosity and tension of liquid metals against temperature, from the laws of the shipped table.

SI throughout: kelvin, kg/m³, Pa s, N/m. Outside the range of a law up to ``EXTRAPOLATE_K`` is extrapolated, beyond
that the property is unknown (NaN).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stirfall.bench.material_rows import Law, MetalRow
from stirfall.physics.constants import ZERO_C_K

Floats = NDArray[np.float64]
Kind = Literal["density", "viscosity", "tension"]
KINDS: tuple[Kind, ...] = ("density", "viscosity", "tension")

EXTRAPOLATE_K = 30.0  # our proposal, no source
# What mixing an alloy from its parts may be wrong by, in per cent; our judgement, no source. Measured densities of
# low-melting alloys lie within a few per cent of ideal mixing; viscosities of liquids that are carried far below
# the melting points of the parts may be wrong by half.
MIXED_PERCENT: Mapping[Kind, float] = {"density": 3.0, "viscosity": 50.0}


def _linear(c: tuple[float, ...], t: Floats) -> Floats:
    return c[0] + c[1] * (t - c[2])


def _critical_density(c: tuple[float, ...], t: Floats) -> Floats:
    below = 1.0 - t / c[3]
    return c[0] + c[1] * below + c[2] * np.sqrt(below)


def _critical_tension(c: tuple[float, ...], t: Floats) -> Floats:
    return c[0] * (1.0 - t / c[2]) ** c[1]


def _log10_inverse(c: tuple[float, ...], t: Floats) -> Floats:
    return 1e-3 * 10.0 ** (c[0] + c[1] / t)


def _ln_power(c: tuple[float, ...], t: Floats) -> Floats:
    return np.exp(c[0] + c[1] * np.log(t) + c[2] / t)


_FORMS: Mapping[str, Callable[[tuple[float, ...], Floats], Floats]] = {
    "linear": _linear,
    "critical_density": _critical_density,
    "critical_tension": _critical_tension,
    "log10_inverse": _log10_inverse,
    "ln_power": _ln_power,
}


def law_value(law: Law, t_k: ArrayLike) -> Floats:
    """Return a law at temperatures in K, wherever its formula has a value; no range is looked at.

    The result has the shape of ``t_k``, in kg/m³, Pa s or N/m, NaN where the formula has no value.
    """
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        value = _FORMS[law.kind](law.coefficients, np.asarray(t_k, dtype=np.float64))
    return np.where(value > 0, value, np.nan)


def beyond(low_k: float, high_k: float, t_k: ArrayLike) -> Floats:
    """Return how many kelvin each temperature lies outside a range, zero inside."""
    t = np.asarray(t_k, dtype=np.float64)
    return np.maximum(np.maximum(low_k - t, t - high_k), 0.0)


class Curve(Protocol):
    """One property of one liquid over temperature."""

    @property
    def percent(self) -> float | None:
        """Uncertainty in per cent at 95 %, None unknown."""

    @property
    def estimated(self) -> bool:
        """Whether the values are an estimate rather than a fit to measurements of this liquid."""

    @property
    def source(self) -> str:
        """Where the values are from, for reading."""

    def outside_k(self, t_k: ArrayLike) -> Floats:
        """Return how many kelvin outside its range the curve is used; the shape of ``t_k``."""

    def values(self, t_k: ArrayLike) -> Floats:
        """Return the property; the shape of ``t_k``, NaN where it is unknown."""


@dataclass(frozen=True)
class LawCurve:
    """A law of the table."""

    law: Law

    @property
    def percent(self) -> float | None:
        """Uncertainty in per cent at 95 %, None unknown."""
        return self.law.uncertainty_percent

    @property
    def estimated(self) -> bool:
        """Never: the law was fitted to this liquid."""
        return False

    @property
    def source(self) -> str:
        """The source of the law."""
        return self.law.source

    def outside_k(self, t_k: ArrayLike) -> Floats:
        """Return how many kelvin outside the range of the law; the shape of ``t_k``."""
        return beyond(self.law.low_k, self.law.high_k, t_k)

    def values(self, t_k: ArrayLike) -> Floats:
        """Return the property; the shape of ``t_k``, NaN more than ``EXTRAPOLATE_K`` outside the range."""
        return np.where(self.outside_k(t_k) <= EXTRAPOLATE_K, law_value(self.law, t_k), np.nan)


@dataclass(frozen=True)
class MixedCurve:
    """A property of an alloy, mixed from those of its liquid parts; an estimate.

    Densities by ideal mixing of volumes, 1/ρ = Σ w/ρ; viscosities by mixing logarithms by mass fraction (Arrhenius'
    rule for mixtures). The parts are carried below their own melting points, down to that of the alloy.
    """

    kind: Kind
    parts: tuple[tuple[Law, float], ...]
    low_k: float

    @property
    def percent(self) -> float | None:
        """What mixing may be wrong by; our judgement, no source."""
        return MIXED_PERCENT[self.kind]

    @property
    def estimated(self) -> bool:
        """Always."""
        return True

    @property
    def source(self) -> str:
        """The sources of the parts."""
        return "mixed from its parts: " + "; ".join(dict.fromkeys(law.source for law, _ in self.parts))

    def outside_k(self, t_k: ArrayLike) -> Floats:
        """Return how many kelvin below the alloy's melting point or above the range of a part."""
        return beyond(self.low_k, min(law.high_k for law, _ in self.parts), t_k)

    def values(self, t_k: ArrayLike) -> Floats:
        """Return the property; the shape of ``t_k``, NaN more than ``EXTRAPOLATE_K`` outside the range."""
        parts = [(law_value(law, t_k), share) for law, share in self.parts]
        if self.kind == "density":
            value = 1.0 / sum((share / each for each, share in parts), start=np.zeros(np.shape(t_k)))
        else:
            value = np.exp(sum((share * np.log(each) for each, share in parts), start=np.zeros(np.shape(t_k))))
        return np.where(self.outside_k(t_k) <= EXTRAPOLATE_K, value, np.nan)


@dataclass(frozen=True)
class OwnCurve:
    """A campaign's own value, which holds near the melting point.

    With a ``shape`` it follows that curve's change with temperature, else it stays as it is; then, or where no
    melting point is known, it is an estimate more than ``EXTRAPOLATE_K`` from the melting point.
    """

    value: float
    melting_k: float | None
    shape: Curve | None = None

    @property
    def percent(self) -> float | None:
        """Unknown: nobody asked."""
        return None

    @property
    def estimated(self) -> bool:
        """Whether nothing says how the value changes with temperature."""
        return self.melting_k is None or self.shape is None

    @property
    def source(self) -> str:
        """The campaign's own value."""
        return "this campaign's own value"

    def outside_k(self, t_k: ArrayLike) -> Floats:
        """Return how far outside the range of the shape; zero without a shape."""
        return np.zeros(np.shape(t_k)) if self.shape is None else self.shape.outside_k(t_k)

    def values(self, t_k: ArrayLike) -> Floats:
        """Return the property; the shape of ``t_k``, NaN where the shape is unknown."""
        if self.shape is None or self.melting_k is None:
            return np.full(np.shape(t_k), self.value)
        at_melting = float(self.shape.values(self.melting_k))
        if not np.isfinite(at_melting):
            return np.full(np.shape(t_k), self.value)
        return self.value * self.shape.values(t_k) / at_melting


def table_curve(row: MetalRow, kind: Kind, parts: Mapping[str, MetalRow]) -> Curve | None:
    """Return a property of a metal of the table, None where it is unknown.

    ``parts`` holds the rows of an alloy's parts by key. An own law of the alloy comes before mixing. Tension of an
    alloy is not mixed: the part with the lower tension gathers at the surface.
    """
    law: Law | None = getattr(row, kind)
    if law is not None:
        return LawCurve(law)
    if not row.parts or row.melting_c is None or kind == "tension":
        return None
    found: list[tuple[Law, float]] = []
    for key, share in row.parts:
        part: Law | None = getattr(parts[key], kind) if key in parts else None
        if part is None:
            return None
        found.append((part, share))
    return MixedCurve(kind, tuple(found), row.melting_c.value + ZERO_C_K)
