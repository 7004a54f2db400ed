"""The form of a jar: start one, or correct one that is on the shelf."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QComboBox

from stirfall.bench.records import CRUDE, RESIDUE, Jar, Lot
from stirfall.desktop.bench_form.look import guard_from_wheel, text_label
from stirfall.desktop.shelf.forms import InPlaceForm, line, moment, read_moment, show_moment
from stirfall.desktop.shelf.jar_form import LIDS, JarForm, ReadJar
from stirfall.desktop.shelf.reaching import Reaching

_UNKNOWN = "unknown"


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
        guard_from_wheel(self.lot)
        self.lot.activated.connect(lambda _index: self._tell())
        self.started = moment("new_jar_started", self._tell)
        self.oil = line("new_jar_oil", self._tell, "the words on the bottle")
        self.oil_depth = line("new_jar_depth", self._tell, _UNKNOWN)
        self.charge = line("new_jar_charge", self._tell, "not weighed")
        self.fold = Reaching(self, "new_jar", self._tell)
        self.lines, self.material, self.history = self.fold.lines, self.fold.material, self.fold.history
        self.contents = self.fold.segments("Contents", (CRUDE, RESIDUE), may_be_empty=False)
        self.lid = self.fold.segments("Lid", LIDS)
        self.reason = line("new_jar_reason", self._tell, "the old values stay on record")
        self.remembered = text_label(role="muted")
        self.remembered.setObjectName("new_jar_remembered")
        self._place()

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
        self.grid.addWidget(self.fold, 13, 0, 1, 4)
        self.grid.addWidget(self.remembered, 14, 0, 1, 4)
        self.add("reason", "Reason", self.reason, 8, span=3)
        self.finish(9)

    @property
    def form(self) -> JarForm:
        """The entries; an untouched start is the moment of recording, or the start as it was."""
        started = read_moment(self.started)
        return JarForm(
            self.jar.text(),
            self.lot.currentData() or "",
            self.oil.text(),
            self.oil_depth.text(),
            self.lid.value or self._free_lid,
            self.charge.text(),
            None if started == self._started else started,
            contents=self.contents.value or CRUDE,
            reason=self.reason.text(),
            **self.fold.typed(),
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
            self.fold.fill(form)
            self.reason.clear()
        self.remembered.setVisible(bool(self.remembered.text()))
        self.set_row_visible("reason", bool(self.corrects))
        self._tell()

    def show_read(self, read: ReadJar, decimal: str) -> None:
        """Show what is wrong, with the fold open where it is in there."""
        self.show_problems(read.problems, decimal)
        self.fold.open_for(read.problems)

    def _tell(self) -> None:
        self.edited.emit(self.form)
