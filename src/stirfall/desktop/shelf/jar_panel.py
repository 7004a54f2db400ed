"""The form of a jar: start one, or correct one that is on the shelf."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QWidget

from stirfall.bench.records import CRUDE, JAR_MATERIALS, RESIDUE, Jar, Lot
from stirfall.bench.substances import OilHistory
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, text_label
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.shelf.forms import Fold, InPlaceForm, line, moment, read_moment, show_moment
from stirfall.desktop.shelf.jar_form import LIDS, JarForm, ReadJar

_UNKNOWN = "unknown"
_IN_FOLD = (
    ("diameter", "Diameter, mm"),
    ("headspace", "Headspace, mm"),
    ("pieces", "Pieces"),
    ("piece_size", "Piece size, mm"),
    ("area", "Metal area, cm²"),
    ("storage", "Stored at, °C"),
    ("humidity", "Humidity, %"),
    ("note", "Note"),
)


class JarPanel(InPlaceForm):
    """Starts a jar, filled in like the newest one, or corrects one, with a reason.

    Signals:
        edited(JarForm): an entry changed.
    """

    edited = Signal(object)

    def __init__(self) -> None:
        super().__init__("Start a jar", "Put it on the shelf", "start_jar")
        self.corrects = ""
        self._started: datetime | None = None
        self._free_lid = ""
        self.jar = line("new_jar_id", self._tell)
        self.lot = QComboBox()
        self.lot.setObjectName("new_jar_lot")
        self.lot.activated.connect(lambda _index: self._tell())
        self.contents = self._segments("Contents", (CRUDE, RESIDUE), may_be_empty=False)
        self.started = moment("new_jar_started", self._tell)
        self.oil = line("new_jar_oil", self._tell, "the words on the bottle")
        self.oil_depth = line("new_jar_depth", self._tell, _UNKNOWN)
        self.charge = line("new_jar_charge", self._tell, "not weighed")
        self.lid = self._segments("Lid", LIDS)
        self.material = self._segments("Jar of", JAR_MATERIALS)
        self.history = self._segments("Oil was", tuple(each.value for each in OilHistory))
        self.lines = {name: line(f"new_jar_{name}", self._tell, _UNKNOWN) for name, _ in _IN_FOLD}
        self.lines["note"].setPlaceholderText("")
        self.lines["diameter"].setToolTip("Inner diameter of the jar")
        self.lines["area"].setToolTip("Whole area of the metal, where pieces and their size say too little")
        self.lines["humidity"].setToolTip("Relative humidity of the room where the jar stands")
        self.reason = line("new_jar_reason", self._tell, "the old values stay on record")
        self.remembered = text_label(role="muted")
        self.remembered.setObjectName("new_jar_remembered")
        self._place()

    def _segments(self, question: str, levels: tuple[str, ...], *, may_be_empty: bool = True) -> Segments:
        made = Segments(question, levels, may_be_empty=may_be_empty)
        made.setObjectName(f"new_jar_{question.lower().replace(' ', '_')}")
        made.chosen.connect(lambda _level: self._tell())
        return made

    def _place(self) -> None:
        self.add("jar_id", "Jar", self.jar, 1)
        self.add("lot_id", "Lot", self.lot, 1, column=2)
        self.add("started_at", "Started", self.started, 2, span=3)
        self.add("charge", "Charge, g", self.charge, 3)
        self.add("depth", "Depth, mm", self.oil_depth, 3, column=2)
        self.oil_depth.setToolTip("Depth of the oil over the metal")
        self.add("oil", "Oil", self.oil, 4, span=3)
        self.add("lid", "Lid", self.lid, 5, span=3)
        self.add("contents", "Contents", self.contents, 6, span=3)
        content = QWidget()
        inner = QGridLayout(content)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setHorizontalSpacing(GAP)
        inner.setVerticalSpacing(HALF_GAP)
        inner.setColumnStretch(1, 1)
        inner.setColumnStretch(3, 1)
        for at, (name, label) in enumerate(_IN_FOLD):
            self.add(name, label, self.lines[name], at // 2 + 1, column=2 * (at % 2), grid=inner)
        last = (len(_IN_FOLD) + 1) // 2
        self.add("oil_history", "Oil was", self.history, last + 1, span=3, grid=inner)
        self.add("material", "Jar of", self.material, last + 2, span=3, grid=inner)
        self.fold = Fold("What reaches the metal", "new_jar_more", content)
        self.grid.addWidget(self.fold, 13, 0, 1, 4)
        self.grid.addWidget(self.remembered, 14, 0, 1, 4)
        self.add("reason", "Reason", self.reason, 8, span=3)
        self.finish(9)

    @property
    def form(self) -> JarForm:
        """The entries; an untouched start is the moment of recording, or the start as it was."""
        started = read_moment(self.started)
        typed = {name: edit.text() for name, edit in self.lines.items()}
        return JarForm(
            self.jar.text(),
            self.lot.currentData() or "",
            self.oil.text(),
            self.oil_depth.text(),
            self.lid.value or self._free_lid,
            self.charge.text(),
            None if started == self._started else started,
            contents=self.contents.value or CRUDE,
            material=self.material.value or "",
            oil_history=self.history.value or "",
            reason=self.reason.text(),
            **typed,
        )

    def open_with(self, form: JarForm, lots: tuple[Lot, ...], now: datetime, remembered: str = "") -> None:
        """Fill in the form for a new jar; ``remembered`` says what it takes over."""
        self.corrects = ""
        self.rename("Start a jar", "Put it on the shelf")
        self.remembered.setText(f"As in the jar before: {remembered}." if remembered else "")
        self._fill(form, lots, now)
        self.fold.toggle.setChecked(False)
        self.charge.setFocus()

    def open_to_correct(self, jar: Jar, form: JarForm, lots: tuple[Lot, ...]) -> None:
        """Fill in the form with a jar as it is."""
        self.corrects = jar.id
        self.rename(f"Correct jar {jar.id}", "Correct the jar")
        self.remembered.clear()
        self._fill(form, lots, jar.started_at)
        self.fold.toggle.setChecked(True)
        self.charge.setFocus()

    def _fill(self, form: JarForm, lots: tuple[Lot, ...], started: datetime) -> None:
        with QSignalBlocker(self):
            self.lot.clear()
            for lot in lots:
                self.lot.addItem(lot.id, lot.id)
            self.lot.setCurrentIndex(max(0, self.lot.findData(form.lot_id)))
            show_moment(self.started, started)
            self._started = read_moment(self.started)
            self.jar.setText(form.jar_id)
            self.jar.setReadOnly(bool(self.corrects))
            self.oil.setText(form.oil)
            self.oil_depth.setText(form.depth)
            self.charge.setText(form.charge)
            self.lid.set_value(form.lid if form.lid in LIDS else None)
            self._free_lid = "" if form.lid in LIDS else form.lid
            self.contents.set_value(form.contents)
            self.material.set_value(form.material or None)
            self.history.set_value(form.oil_history or None)
            for name, edit in self.lines.items():
                edit.setText(getattr(form, name))
            self.reason.clear()
        self.remembered.setVisible(bool(self.remembered.text()))
        self.set_row_visible("reason", bool(self.corrects))
        self._tell()

    def show_read(self, read: ReadJar, decimal: str) -> None:
        """Show what is wrong, with the fold open where it is in there."""
        self.show_problems(read.problems, decimal)
        if any(name in read.problems for name in self.lines):
            self.fold.toggle.setChecked(True)

    def _tell(self) -> None:
        self.edited.emit(self.form)
