"""What is physically to be expected of the melt: what falls, what floats, how fast, and what stirring does.

Everything follows from what the campaign says of its metal, solids, oil and vessel, and from the shipped tables;
what is unknown stays unknown, and the report says what to enter.
"""

from __future__ import annotations

from stirfall.session.melt_parts import (
    FACT_KEYS,
    FactLevel,
    LiquidAtHand,
    MeltCurves,
    MeltFact,
    MeltReport,
    Property,
)

__all__ = ["FACT_KEYS", "FactLevel", "LiquidAtHand", "MeltCurves", "MeltFact", "MeltReport", "Property"]
