"""What the weighings of one attempt add up to, with standard uncertainties."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.records import Masses
from stirfall.physics.measured import Derived, Measured, propagate

# Between these a closure passes; our proposal, no source.
CLOSURE_LOW = 0.95
CLOSURE_HIGH = 1.02


@dataclass(frozen=True)
class MassBalance:
    """Shares of the charge (1 = 100 %); None where a mass that is needed was not weighed.

    ``gross_yield`` is product / charge. ``closure`` is (product + beads + residue - additive) / charge.
    """

    gross_yield: float | None
    closure: float | None

    @property
    def is_doubtful(self) -> bool:
        """Whether the closure lies outside 95 to 102 %: weigh again, or oil clings to the beads."""
        return self.closure is not None and not CLOSURE_LOW <= self.closure <= CLOSURE_HIGH


def balance(masses: Masses) -> MassBalance:
    """Return yield and closure of one attempt.

    Masses that are not weighed are unknown, never zero: closure needs product and residue, and beads and
    additive count only where they were weighed. The flags of 95 and 102 % are our own proposal (no source).
    """
    charge = masses.charge_g
    if not charge or masses.product_g is None:
        return MassBalance(None, None)
    gross_yield = masses.product_g / charge
    if masses.residue_g is None:
        return MassBalance(gross_yield, None)
    out = masses.product_g + masses.residue_g + (masses.beads_g or 0.0) - (masses.additive_g or 0.0)
    return MassBalance(gross_yield, out / charge)


def reading_u(step_g: float) -> float:
    """Return the standard uncertainty in g of one reading of a balance with this step: the step itself.

    Rounding alone would be step / sqrt(12), 0.29 of a step (GUM F.2.2.1). Repeatability and linearity of an
    ordinary bench balance are each about one step more (common practice, no source), and neither is asked for:
    so the whole step is taken, on the safe side.
    """
    return step_g


def net_mass(net_g: float, step_g: float | None, *, by_difference: bool) -> Measured:
    """Return a net mass in g with its standard uncertainty, which is unknown where the step is.

    ``by_difference`` says that the mass of a vessel was taken off: gross and tare are two readings with errors of
    their own, so u is sqrt(2) times that of one reading. The vessel's own mass cancels.
    """
    if step_g is None:
        return Measured(net_g, None, "g")
    return Measured(net_g, reading_u(step_g) * (math.sqrt(2.0) if by_difference else 1.0), "g")


def weighed_masses(
    masses: Masses, step_g: float | None, by_difference: frozenset[str] = frozenset()
) -> Mapping[str, Measured]:
    """Return the masses that were weighed, in g, by their names in ``Masses``; ``by_difference`` names of those."""
    return MappingProxyType(
        {
            name: net_mass(value, step_g, by_difference=name in by_difference)
            for name, value in vars(masses).items()
            if value is not None
        }
    )


def gross_yield(weighed: Mapping[str, Measured]) -> Derived | None:
    """Return product / charge, None without both; readings are independent of each other."""
    if not _has(weighed, "product_g") or not _has_charge(weighed):
        return None
    inputs = {name: weighed[name] for name in ("product_g", "charge_g")}
    return propagate(lambda product_g, charge_g: product_g / charge_g, inputs)


def metal_recovery(
    weighed: Mapping[str, Measured], purity: Measured | None, metal_share: Measured | None
) -> Derived | None:
    """Return product x purity / (charge x metal share), all shares of 1, None where one of the four is unknown.

    u(R)/R is the root of the sum of the squared relative uncertainties (GUM 5.1.6, a product of powers).
    """
    if purity is None or metal_share is None or metal_share.value <= 0.0:
        return None
    if not _has(weighed, "product_g") or not _has_charge(weighed):
        return None
    inputs = {
        "product_g": weighed["product_g"],
        "purity": purity,
        "charge_g": weighed["charge_g"],
        "metal_share": metal_share,
    }
    return propagate(
        lambda product_g, purity, charge_g, metal_share: product_g * purity / (charge_g * metal_share), inputs
    )


def closure(weighed: Mapping[str, Measured]) -> Derived | None:
    """Return (product + beads + residue - additive) / charge, None without charge, product and residue.

    Beads and additive count where they were weighed.
    """
    if not (_has_charge(weighed) and _has(weighed, "product_g", "residue_g")):
        return None
    return propagate(_closed, weighed)


def corrected_closure(weighed: Mapping[str, Measured], film_share: Measured) -> Derived | None:
    """Return the closure with the beads' oil taken off: ``film_share`` of the weighed beads is oil."""
    if closure(weighed) is None or not _has(weighed, "beads_g"):
        return None

    def formula(film_share: float, **masses: float) -> float:
        return _closed(**{**masses, "beads_g": masses["beads_g"] * (1.0 - film_share)})

    return propagate(formula, {**weighed, "film_share": film_share})


def _closed(
    charge_g: float, product_g: float, residue_g: float, beads_g: float = 0.0, additive_g: float = 0.0
) -> float:
    return (product_g + beads_g + residue_g - additive_g) / charge_g


def _has(weighed: Mapping[str, Measured], *names: str) -> bool:
    return all(name in weighed for name in names)


def _has_charge(weighed: Mapping[str, Measured]) -> bool:
    return "charge_g" in weighed and weighed["charge_g"].value > 0.0
