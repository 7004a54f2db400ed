"""What the weighings of one attempt add up to."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.records import Masses

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
