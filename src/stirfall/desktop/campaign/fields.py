"""The fields of a campaign, used by the new-campaign and the settings dialog."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QRadioButton,
    QWidget,
)

from stirfall.bench.materials import MaterialClass
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.form_state import CONSEQUENCES
from stirfall.desktop.labelled import labelled, name_control, show_problem
from stirfall.desktop.theme import SPACING, set_text_role

_LINES = (
    ("title", "&Title", ""),
    ("metal", "&Metal", "such as tin-bismuth dross"),
    ("melting", "Me&lting point", "such as 138 C, 280 F; empty when unknown"),
    ("oil", "&Oil", "the words on the bottle"),
    ("flash", "&Flash point of this bottle", "such as 225 C; empty when unknown"),
)
_DETAIL_LINES = (
    ("level", "&Interval level, %", "such as 95"),
    ("intercept_sd", "Prior sd, &base rate", ""),
    ("effect_sd", "Prior sd, &effects", ""),
)
_GATES = (
    (2, "Two questions: did the solids part, did the metal pool"),
    (1, "One question: clean or not"),
)


class CampaignFields(QWidget):
    """Shows a FormModel; ``with_details`` adds the outcome questions, the interval level and the priors."""

    def __init__(self, model: FormModel, *, with_details: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._lines: dict[str, QLineEdit] = {}
        self._messages: dict[str, QLabel] = {}
        self._radios: dict[MaterialClass, QRadioButton] = {}
        self._gates = QComboBox()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * SPACING)
        self._grid.setVerticalSpacing(3 * SPACING // 4)
        self._grid.setColumnStretch(1, 1)
        self._add_line(*_LINES[0])
        self._add_materials()
        for line in _LINES[1:]:
            self._add_line(*line)
        if with_details:
            self._add_details()
        model.changed.connect(self.show_state)
        self.show_state(model.state)

    def line(self, name: str) -> QLineEdit:
        """Return the line editor of a field."""
        return self._lines[name]

    def message(self, name: str) -> QLabel:
        """Return the label under a field."""
        return self._messages[name]

    def radio(self, material: MaterialClass) -> QRadioButton:
        """Return the button of a material class."""
        return self._radios[material]

    def focus_first_problem(self) -> None:
        """Put the keyboard on the first field with a problem."""
        for name in self._model.state.problems:
            target = self._lines.get(name) or self._radios[MaterialClass.BASE_METAL]
            target.setFocus()
            return

    def show_state(self, state: FormState) -> None:
        """Show a state; fields that already read the same are left alone."""
        for name, edit in self._lines.items():
            text = str(getattr(state.form, name))
            if edit.text() != text:
                with QSignalBlocker(edit):
                    edit.setText(text)
        for material, radio in self._radios.items():
            with QSignalBlocker(radio):
                radio.setChecked(state.form.material is material)
        with QSignalBlocker(self._gates):
            self._gates.setCurrentIndex(self._gates.findData(state.form.gates))
        for name, label in self._messages.items():
            self._render_message(name, label, state)

    def _render_message(self, name: str, label: QLabel, state: FormState) -> None:
        problem = state.problems.get(name, "")
        text = problem or state.notes.get(name, "")
        set_text_role(label, "error" if problem else "muted")
        target = self._lines.get(name) or self._radios[MaterialClass.BASE_METAL]
        show_problem(target, label, text)

    def _add_line(self, name: str, label: str, hint: str) -> None:
        edit = QLineEdit()
        edit.setObjectName(f"campaign_{name}")
        edit.setPlaceholderText(hint)
        edit.textEdited.connect(lambda text: self._model.set_field(name, text))
        self._lines[name] = edit
        row = self._grid.rowCount()
        self._grid.addWidget(labelled(label, edit), row, 0)
        self._grid.addWidget(edit, row, 1)
        self._add_message(name, row + 1)

    def add_row(self, label: str, editor: QWidget, row: QHBoxLayout) -> None:
        """Add a further row whose ``editor`` the label names, aligned with the others."""
        at = self._grid.rowCount()
        self._grid.addWidget(labelled(label, editor), at, 0)
        self._grid.addLayout(row, at, 1)

    def _add_message(self, name: str, row: int) -> None:
        label = QLabel()
        label.setObjectName(f"campaign_{name}_message")
        label.setWordWrap(True)
        self._messages[name] = label
        self._grid.addWidget(label, row, 1)

    def _add_materials(self) -> None:
        row = self._grid.rowCount()
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
        self._grid.addLayout(inner, row, 1)
        self._add_message("material", row + 1)

    def _add_details(self) -> None:
        for gates, words in _GATES:
            self._gates.addItem(words, gates)
        self._gates.setObjectName("campaign_gates")
        self._gates.currentIndexChanged.connect(
            lambda _index: self._model.set_field("gates", self._gates.currentData())
        )
        row = self._grid.rowCount()
        self._grid.addWidget(labelled("Out&come asks", self._gates), row, 0)
        self._grid.addWidget(self._gates, row, 1)
        for line in _DETAIL_LINES:
            self._add_line(*line)


_RADIO_TEXTS = (
    "base metal",
    "alkali metal, sodium-like",
    "superoxide-forming alkali metal",
    "other",
)
