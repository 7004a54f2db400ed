"""What the shipped table of metals says to a campaign: what a choice fills in, and which class it cannot have."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from stirfall.bench.materials import MaterialClass
from stirfall.desktop.campaign.entries import plain_name
from stirfall.storage.materials import materials

if TYPE_CHECKING:
    from stirfall.bench.material_rows import MetalRow, SolidRow


def metal_row(key: str) -> MetalRow | None:
    """Return the metal of the table with this key, None where there is none."""
    return next((row for row in materials().metals if row.key == key), None) if key else None


def solid_row(key: str) -> SolidRow | None:
    """Return the solid of the table with this key, None where there is none."""
    return next((row for row in materials().solids if row.key == key), None) if key else None


def metal_meant(key: str, name: str) -> MetalRow | None:
    """Return the metal that was chosen, else the reactive one that the typed name speaks of.

    A name speaks of a reactive metal where that metal's name stands in it as a word of its own.
    """
    chosen = metal_row(key)
    if chosen is not None:
        return chosen
    reactive = [
        row
        for row in materials().metals
        if row.hazard.is_reactive and any(speaks_of(name, each) for each in (row.name, *row.names))
    ]
    return max(reactive, key=lambda row: (_severity(row.hazard), len(row.name)), default=None)


def speaks_of(text: str, name: str) -> bool:
    """Whether a name stands in a text as a word of its own; "free of" it and "-free" do not count."""
    wanted = re.escape(plain_name(name.split("(", maxsplit=1)[0]))
    return re.search(rf"(?<!\w)(?<!free of ){wanted}(?!\w|-free)", plain_name(text)) is not None


def is_too_mild(row: MetalRow | None, material: MaterialClass | None) -> bool:
    """Whether this class would bring cautions and limits that are wrong for the metal of the table."""
    return row is not None and material is not None and material.is_too_mild_for(row.hazard)


def _severity(hazard: MaterialClass) -> int:
    return int(hazard is MaterialClass.SUPEROXIDE_FORMER)
