"""The folded part of the forms that make jars: what decides how much oxygen and water reach the metal."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

from PySide6.QtWidgets import QGridLayout, QWidget

from stirfall.bench.records import JAR_MATERIALS
from stirfall.bench.substances import OilHistory
from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.shelf.forms import Fold, InPlaceForm, line
from stirfall.desktop.shelf.jar_form import JarForm

_UNKNOWN = "unknown"
FIELDS = (
    ("diameter", "Diameter, mm"),
    ("headspace", "Headspace, mm"),
    ("pieces", "Pieces"),
    ("piece_size", "Piece size, mm"),
    ("area", "Metal area, cm²"),
    ("storage", "Stored at, °C"),
    ("humidity", "Humidity, %"),
    ("note", "Note"),
)


class Reaching(Fold):
    """Lines and choices about a jar, placed in a form that shows their problems.

    Attributes: lines (by the name of the entry), material, history.
    """

    def __init__(self, form: InPlaceForm, prefix: str, tell: Callable[[], object], *, without: str = "") -> None:
        content = QWidget()
        super().__init__("What reaches the metal", f"{prefix}_more", content)
        self._prefix, self._tell = prefix, tell
        self._labels = {name: label for name, label in FIELDS if name != without}
        self.lines = {name: line(f"{prefix}_{name}", tell, _UNKNOWN) for name in self._labels}
        self.lines["note"].setPlaceholderText("")
        self.lines["diameter"].setToolTip("Inner diameter of the jar")
        if "area" in self.lines:
            self.lines["area"].setToolTip("Whole area of the metal, where pieces and their size say too little")
        self.lines["humidity"].setToolTip("Relative humidity of the room where the jar stands")
        self.material = self.segments("Jar of", JAR_MATERIALS)
        self.history = self.segments("Oil was", tuple(each.value for each in OilHistory))
        self._place(form, content)

    def segments(self, question: str, levels: tuple[str, ...], *, may_be_empty: bool = True) -> Segments:
        """Return a choice that tells of every change."""
        made = Segments(question, levels, may_be_empty=may_be_empty)
        made.setObjectName(f"{self._prefix}_{question.lower().replace(' ', '_')}")
        made.chosen.connect(lambda _level: self._tell())
        return made

    def _place(self, form: InPlaceForm, content: QWidget) -> None:
        inner = QGridLayout(content)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setHorizontalSpacing(GAP)
        inner.setVerticalSpacing(HALF_GAP)
        inner.setColumnStretch(1, 1)
        inner.setColumnStretch(3, 1)
        for at, (name, label) in enumerate(self._labels.items()):
            form.add(name, label, self.lines[name], at // 2 + 1, column=2 * (at % 2), grid=inner)
        last = (len(self.lines) + 1) // 2
        form.add("oil_history", "Oil was", self.history, last + 1, span=3, grid=inner)
        form.add("material", "Jar of", self.material, last + 2, span=3, grid=inner)

    def typed(self) -> dict[str, Any]:
        """Return the entries as a jar form names them."""
        entries = {name: edit.text() for name, edit in self.lines.items()}
        return {**entries, "material": self.material.value or "", "oil_history": self.history.value or ""}

    def fill(self, form: JarForm) -> None:
        """Show the entries of a jar form."""
        self.material.set_value(form.material or None)
        self.history.set_value(form.oil_history or None)
        for name, edit in self.lines.items():
            edit.setText(getattr(form, name))

    def open_for(self, problems: Collection[str]) -> None:
        """Open where one of the problems, by the name of its entry, is in here."""
        if any(name in problems for name in self.lines):
            self.toggle.setChecked(True)
