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
from stirfall.storage.materials import materials

_MELTING_HINT = "such as 138 C, 280 F; empty when unknown"
_OIL_LINES = (
    ("oil", "&Oil", "the words on the bottle"),
    ("bottle", "Bottle or lot", "its number or date"),
    ("flash", "&Flash point", "of this bottle, such as 225 C"),
    ("autoignition", "Autoignition", "of this oil, such as 330 C"),
    ("stated_max", "Stated ma&ximum", "on label or sheet, such as 180 C"),
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
        self.add_line("title", "&Title", "")
        self.add_chooser("metal_key", "Metal from the ta&ble", metal_choices())
        self.add_line("metal", "&Metal", "such as tin-bismuth dross")
        self._add_materials()
        self.add_line("melting", "Me&lting point", _MELTING_HINT)
        for position, line in enumerate(_OIL_LINES):
            self.add_line(*line, half=position != 2)
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
        row, _ = self._place(half=False)
        heading = QLabel("Material class")
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
        self._grid.addLayout(inner, row, 1, 1, self._span)
        self.add_message("material", self._radios[MaterialClass.BASE_METAL])


def metal_choices() -> tuple[tuple[str, str], ...]:
    """Return the metals of the table, key and name, after "own values"."""
    return (("", "own values"), *((row.key, row.name) for row in materials().metals))
