"""What the metal and the oil are: the fields that the new-campaign and the settings dialog share."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QButtonGroup, QGridLayout, QLabel, QRadioButton, QWidget

from stirfall.bench.materials import MaterialClass
from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.form_state import CONSEQUENCES
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role

_LINES = (
    ("title", "&Title", ""),
    ("metal", "&Metal", "such as tin-bismuth dross"),
    ("melting", "Me&lting point", "such as 138 C, 280 F; empty when unknown"),
    ("oil", "&Oil", "the words on the bottle"),
    ("flash", "&Flash point of this bottle", "such as 225 C; empty when unknown"),
)
_RADIO_TEXTS = (
    "base metal",
    "alkali metal, sodium-like",
    "superoxide-forming alkali metal",
    "other",
)


class CampaignFields(FormGrid):
    """Title, class of metal, metal and oil of a FormModel."""

    def __init__(self, model: FormModel, parent: QWidget | None = None) -> None:
        super().__init__(model, parent)
        self._radios: dict[MaterialClass, QRadioButton] = {}
        self.add_line(*_LINES[0])
        self._add_materials()
        for line in _LINES[1:]:
            self.add_line(*line)
        model.changed.connect(self.show_state)
        self.show_state(model.state)

    def radio(self, material: MaterialClass) -> QRadioButton:
        """Return the button of a material class."""
        return self._radios[material]

    def show_state(self, state: FormState) -> None:
        """Show a state."""
        super().show_state(state)
        for material, radio in self._radios.items():
            with QSignalBlocker(radio):
                radio.setChecked(state.form.material is material)

    def _add_materials(self) -> None:
        row = self._grid.rowCount()
        heading = QLabel("Material class")
        self._spot = (row, 0)
        self._grid.addWidget(heading, row, 0, Qt.AlignmentFlag.AlignTop)
        inner = QGridLayout()
        inner.setHorizontalSpacing(2 * SPACING)
        inner.setVerticalSpacing(SPACING // 2)
        inner.setColumnStretch(1, 1)
        group = QButtonGroup(self)
        for position, (material, mnemonic) in enumerate(zip(MaterialClass, _RADIO_TEXTS, strict=True)):
            radio = QRadioButton(mnemonic)
            radio.setObjectName(f"material_{material.name.lower()}")
            name_control(radio, f"Material class: {material.value}", CONSEQUENCES[material])
            radio.toggled.connect(
                lambda on, chosen=material: self._model.set_field("material", chosen) if on else None
            )
            group.addButton(radio)
            consequence = QLabel(CONSEQUENCES[material])
            consequence.setWordWrap(True)
            set_text_role(consequence, "muted")
            inner.addWidget(radio, position, 0)
            inner.addWidget(consequence, position, 1)
            self._radios[material] = radio
        self._grid.addLayout(inner, row, 1)
        self.add_message("material", self._radios[MaterialClass.BASE_METAL])
