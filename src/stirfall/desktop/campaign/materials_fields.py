"""The part of a campaign form about solids, oil and vessel: what the physics of the melt is worked out from."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from stirfall.bench.substances import OilHistory
from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.known_metals import metal_row, solid_row
from stirfall.reporting.sentences import sentence
from stirfall.storage.materials import materials

_UNKNOWN, _LISTED = "unknown", "from the table"
_METAL = (
    ("metal_density", "Metal density, kg/m³", "density"),
    ("metal_viscosity", "Viscosity, mPa s", "viscosity"),
    ("metal_tension", "Tension, mN/m", "tension"),
)
_OIL = (
    ("oil_density", "Oil density, kg/m³"),
    ("oil_density_at", "at, °C"),
    ("viscosity_1", "Viscosity, mm²/s"),
    ("viscosity_1_at", "at, °C"),
    ("viscosity_2", "and, mm²/s"),
    ("viscosity_2_at", "at, °C"),
)
_VESSEL = (
    ("vessel_volume", "Volume to the brim, mL"),
    ("vessel_diameter", "Inner diameter, mm"),
    ("stirrer", "Stirring circle, mm"),
)


class MaterialsFields(FormGrid):
    """Own values of the metal, the solids, the oil beyond its bottle, and the vessel."""

    def __init__(self, model: FormModel, parent: QWidget | None = None) -> None:
        super().__init__(model, parent)
        self.add_text(sentence("campaign.materials_intro"))
        self.add_heading("Solids")
        self.add_chooser("solids_key", "Solids from the table", solid_choices())
        self.add_line("solids_name", "Name", "such as magnesium oxide", half=True)
        self.add_line("solids_density", "Density, kg/m³", _UNKNOWN, half=True)
        self.add_line("size_low", "Sizes from, µm", _UNKNOWN, half=True)
        self.add_line("size_high", "to, µm", _UNKNOWN, half=True)
        self.add_heading("Oil")
        self.add_chooser("history", "Before it was used", history_choices(), half=False)
        for name, label in _OIL:
            self.add_line(name, label, _UNKNOWN, half=True)
        self.add_heading("Vessel and stirrer")
        for name, label in _VESSEL:
            self.add_line(name, label, _UNKNOWN, half=True)
        self.add_heading("Metal at its melting point")
        for name, label, _ in _METAL:
            self.add_line(name, label, _UNKNOWN, half=True)
        model.changed.connect(self.show_state)
        self.show_state(model.state)

    def show_state(self, state: FormState) -> None:
        """Show a state, and where the table stands in for an empty entry."""
        super().show_state(state)
        row = metal_row(state.form.metal_key)
        for name, _, field in _METAL:
            listed = row is not None and getattr(row, field) is not None
            self.line(name).setPlaceholderText(_LISTED if listed else _UNKNOWN)
        solid = solid_row(state.form.solids_key)
        self.line("solids_density").setPlaceholderText(f"{_LISTED}: {solid.density.value:g}" if solid else _UNKNOWN)


def solid_choices() -> tuple[tuple[str, str], ...]:
    """Return the solids of the table, key and name, after "own values"."""
    return (("", "own values"), *((row.key, row.name) for row in materials().solids))


def history_choices() -> tuple[tuple[str, str], ...]:
    """Return what may have happened to an oil before, after "unknown"."""
    return (("", _UNKNOWN), *((history.value, history.value) for history in OilHistory))
