"""The part of a campaign form about additives and the campaign's own, stricter limits."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from stirfall.desktop.campaign.additive_rows import AdditiveRows
from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.own_limits import additive_choices
from stirfall.reporting.sentences import sentence

_OWN = (
    ("own_age", "Oldest jar, h", "as shipped"),
    ("own_humidity", "Room humidity, %", "as shipped"),
    ("own_hydrogen", "Hydrogen of one dose, mL", "as shipped"),
    ("own_residue", "Residue waits, days", "as shipped"),
)


class LimitsFields(FormGrid):
    """A row per additive, and a line per own limit with the shipped one below."""

    def __init__(self, model: FormModel, levels: Sequence[str] = (), parent: QWidget | None = None) -> None:
        super().__init__(model, parent)
        self.add_heading("Additives")
        self.add_text(sentence("campaign.additives_intro"))
        self.additives = AdditiveRows(levels, additive_choices())
        self.additives.changed.connect(lambda entries: model.set_field("additives", entries))
        self.add_wide(self.additives)
        self.add_heading("Own limits")
        self.add_text(sentence("campaign.limits_intro"))
        for line in _OWN:
            self.add_line(*line, half=True)
        model.changed.connect(self.show_state)
        self.show_state(model.state)

    def target(self, name: str) -> QWidget | None:
        """Return what takes the keyboard for a field or for a row of the additives."""
        return self.additives.target(name) if name.startswith("additive_") else super().target(name)

    def show_state(self, state: FormState) -> None:
        """Show a state."""
        super().show_state(state)
        self.additives.show_entries(state.form.additives, {**state.notes, **state.problems})
