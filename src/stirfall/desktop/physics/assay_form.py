"""The inputs of one assay calculation: value, standard uncertainty, unit, and what each gives to the result's u."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QWidget

from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.physics.assay_inputs import AssayInput, AssayMethod
from stirfall.desktop.physics.assay_model import AssayModel, AssayState
from stirfall.desktop.theme import SPACING, set_text_role

_HEADS = ("", "Value", "u (k = 1)", "Unit", "Share of u²")
_VALUE_LETTERS, _U_LETTERS = 13, 11
_VALUE, _U, _UNIT, _SHARE = range(1, 5)
_WATER = (("not said: taken as dry", None), ("dry", False), ("over water", True))


class AssayForm(QWidget):
    """A grid with one row per input of a method."""

    def __init__(self, method: AssayMethod, model: AssayModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._method, self._model = method, model
        self._values: dict[str, QLineEdit] = {}
        self._us: dict[str, QLineEdit] = {}
        self._shares: dict[str, QLabel] = {}
        self.water: CalmCombo | None = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(SPACING)
        self._grid.setVerticalSpacing(SPACING // 2)
        self._grid.setColumnStretch(0, 4)
        self._grid.setColumnStretch(_VALUE, 3)
        self._grid.setColumnStretch(_U, 2)
        self._grid.setColumnMinimumWidth(_SHARE, 11 * SPACING)
        for column, text in enumerate(_HEADS):
            head = QLabel(text)
            set_text_role(head, "muted")
            if column == _SHARE:
                head.setAlignment(Qt.AlignmentFlag.AlignRight)
            self._grid.addWidget(head, 0, column)
        for item in method.inputs:
            self._add(item)
        if method.asks_water:
            self._add_water()

    def value(self, key: str) -> QLineEdit:
        """Return the field of a value."""
        return self._values[key]

    def u(self, key: str) -> QLineEdit:
        """Return the field of a standard uncertainty."""
        return self._us[key]

    def share(self, key: str) -> QLabel:
        """Return the label of an input's share of the variance."""
        return self._shares[key]

    @property
    def first_field(self) -> QLineEdit:
        """The field to begin with."""
        return next(iter(self._values.values()))

    def _add(self, item: AssayInput) -> None:
        row = self._grid.rowCount()
        target: QWidget | None = None
        if item.kind != "relative_u":
            target = self._values[item.key] = self._line(item, "value", item.hint)
            self._grid.addWidget(target, row, _VALUE)
        if item.kind != "count":
            hint = item.hint if item.kind == "relative_u" else "unknown"
            line = self._us[item.key] = self._line(item, "u", hint)
            self._grid.addWidget(line, row, _U)
            target = target or line
        assert target is not None
        optional = " (optional)" if item.is_optional and item.usual is None else ""
        label = labelled(f"{item.label}{optional}", target)
        label.setWordWrap(True)
        self._grid.addWidget(label, row, 0)
        if item.key in self._us and target is not self._us[item.key]:
            name_control(self._us[item.key], f"Standard uncertainty of {item.label.lower()}")
        self._grid.addWidget(QLabel(item.unit), row, _UNIT)
        share = self._shares[item.key] = QLabel()
        share.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._grid.addWidget(share, row, _SHARE)

    def _line(self, item: AssayInput, which: str, hint: str) -> QLineEdit:
        edit = QLineEdit()
        edit.setObjectName(f"assay_{self._method.key}_{item.key}_{which}")
        edit.setPlaceholderText(hint)
        letters = _VALUE_LETTERS if which == "value" else _U_LETTERS
        edit.setMinimumWidth(letters * edit.fontMetrics().averageCharWidth())
        take = self._model.set_value if which == "value" else self._model.set_u
        edit.textEdited.connect(lambda text: take(item.key, text))
        return edit

    def _add_water(self) -> None:
        row = self._grid.rowCount()
        self.water = water = CalmCombo()
        water.setObjectName("assay_water")
        for text, meaning in _WATER:
            water.addItem(text, meaning)
        water.activated.connect(lambda index: self._model.set_water(_WATER[index][1]))
        self._grid.addWidget(labelled("How the gas stood", water), row, 0)
        self._grid.addWidget(water, row, _VALUE, 1, 2)

    def show_state(self, state: AssayState) -> None:
        """Show a state; fields that already read the same are left alone."""
        shares = state.answer.shares if state.answer is not None else {}
        for item in self._method.inputs:
            typed = state.typed[item.key]
            for edit, text in ((self._values.get(item.key), typed.value), (self._us.get(item.key), typed.u)):
                if edit is not None and edit.text() != text:
                    with QSignalBlocker(edit):
                        edit.setText(text)
            share = shares.get(item.key)
            self._shares[item.key].setText(_percent(share) if item.key in shares else "")
            last = self._us.get(item.key) or self._values[item.key]
            last.setAccessibleDescription(f"Share of the variance: {_percent(share)}" if item.key in shares else "")
        if self.water is not None:
            with QSignalBlocker(self.water):
                self.water.setCurrentIndex([meaning for _text, meaning in _WATER].index(state.over_water))


def _percent(share: float | None) -> str:
    """Write a share of the variance: whole per cent, small ones as "below 1 %"."""
    if share is None:
        return "unknown"
    return f"{100 * share:.0f}\u2009%" if share >= 0.005 else "below 1\u2009%"
