"""Preferences of the program: theme, text size, decimal sign and what opens at the start."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QWidget

from stirfall.desktop.appearance import SYSTEM, nearest_scale
from stirfall.desktop.bench_form.look import guard_from_wheel
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.foot_switch_field import FootSwitchField
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.theme import SPACING, TEXT_SCALES, set_text_role

if TYPE_CHECKING:
    from stirfall.session.settings import ProgramSettings

_THEMES = {SYSTEM: "As the system", "light": "Light", "dark": "Dark", "high contrast": "High contrast"}
_TEMPERATURES = {
    "campaign": "As in the campaign",
    "C": "Degrees Celsius, °C",
    "F": "Degrees Fahrenheit, °F",
    "K": "Kelvin, K",
}
_VOLUMES = {0.25: "Soft", 0.5: "Medium", 1.0: "Loud"}
_DECIMALS = {"system": "As the system", ".": "Point, 1.5", ",": "Comma, 1,5"}


class PreferencesDialog(FramedDialog):
    """Shows the settings; each change is passed on at once.

    Signals:
        changed(str, object): the name of a setting and its new value.
    """

    changed = Signal(str, object)

    def __init__(self, settings: ProgramSettings, parent: QWidget | None = None) -> None:
        super().__init__("Preferences", parent)
        content = QWidget()
        self._grid = QGridLayout(content)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * SPACING)
        self._grid.setVerticalSpacing(SPACING)
        self._grid.setColumnStretch(1, 1)
        self.theme = self._choice("&Theme", "theme", _THEMES, settings.theme)
        sizes = {scale: f"{round(scale * 100)} %" for scale in TEXT_SCALES}
        self.text_size = self._choice("Text &size", "text_scale", sizes, nearest_scale(settings.text_scale))
        self.decimal = self._choice("&Decimal sign", "decimal", _DECIMALS, settings.decimal)
        self.temperature = self._choice(
            "Te&mperatures", "temperature_unit", _TEMPERATURES, settings.temperature_unit
        )
        self.reopen = QCheckBox("&Open the last session at the start")
        name_control(self.reopen, "Open the last session at the start")
        self.reopen.setChecked(settings.reopen_last)
        self.reopen.toggled.connect(lambda on: self.changed.emit("reopen_last", on))
        self._grid.addWidget(self.reopen, self._grid.rowCount(), 1)
        self.sound = QCheckBox("&Alarms sound as well")
        name_control(self.sound, "Alarms sound as well", "Their words are always shown")
        self.sound.setChecked(settings.alarm_sound)
        self.sound.toggled.connect(lambda on: self.changed.emit("alarm_sound", on))
        self._grid.addWidget(self.sound, self._grid.rowCount(), 1)
        nearest = min(_VOLUMES, key=lambda each: abs(each - settings.alarm_volume))
        self.volume = self._choice("&Loudness of alarms", "alarm_volume", _VOLUMES, nearest)
        self.originals = QCheckBox("&Keep original photos beside the smaller copies")
        name_control(self.originals, "Keep original photos", "Sessions grow by their size; they may tell the place")
        self.originals.setChecked(settings.keep_original_photos)
        self.originals.toggled.connect(lambda on: self.changed.emit("keep_original_photos", on))
        self._grid.addWidget(self.originals, self._grid.rowCount(), 1)
        self.foot_switch = FootSwitchField(settings.foot_switch_key)
        self.foot_switch.learned.connect(lambda key: self.changed.emit("foot_switch_key", key))
        row = self._grid.rowCount()
        label = labelled("&Foot switch", self.foot_switch, target=self.foot_switch.learn)
        name_control(self.foot_switch.learn, "Learn the key of the foot switch")
        self._grid.addWidget(label, row, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(self.foot_switch, row, 1)
        note = QLabel("Changes hold at once. Typed numbers may use a point or a comma, whatever is chosen here.")
        note.setWordWrap(True)
        set_text_role(note, "muted")
        self._grid.addWidget(note, self._grid.rowCount(), 0, 1, 2)
        self._grid.setRowStretch(self._grid.rowCount(), 1)
        self.build(content, "&Close", cancel="").clicked.connect(self.accept)
        self.fit(56 * SPACING)

    def _choice(self, label: str, name: str, words: dict[str, str] | dict[float, str], now: object) -> QComboBox:
        chooser = QComboBox()
        chooser.setObjectName(f"preference_{name}")
        guard_from_wheel(chooser)
        for value, text in words.items():
            chooser.addItem(text, value)
        chooser.setCurrentIndex(chooser.findData(now))
        chooser.currentIndexChanged.connect(lambda _index: self.changed.emit(name, chooser.currentData()))
        row = self._grid.rowCount()
        self._grid.addWidget(labelled(label, chooser), row, 0)
        self._grid.addWidget(chooser, row, 1)
        return chooser
