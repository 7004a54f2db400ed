"""The form of a lot: register one, or correct one."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QCheckBox, QComboBox

from stirfall.bench.records import Lot
from stirfall.desktop.bench_form.look import guard_from_wheel, text_label
from stirfall.desktop.shelf.forms import InPlaceForm, line, moment, read_moment, show_moment
from stirfall.desktop.shelf.lot_form import LotForm, ReadLot
from stirfall.reporting.sentences import sentence

_UNKNOWN = "unknown"


class LotPanel(InPlaceForm):
    """Registers a lot of crude, or corrects one, with a reason.

    Signals:
        edited(LotForm): an entry changed.
        lot_wanted(str): another lot is to be corrected.
    """

    edited = Signal(object)
    lot_wanted = Signal(str)

    def __init__(self) -> None:
        super().__init__("Register a lot of crude", "Register the lot", "register_lot")
        self.corrects = ""
        self._made: datetime | None = None
        self._exact: datetime | None = None
        self.lot = line("new_lot_id", self._tell)
        self.which = QComboBox()
        self.which.setObjectName("correct_lot_which")
        guard_from_wheel(self.which)
        self.which.activated.connect(lambda _index: self.lot_wanted.emit(self.which.currentData()))
        self.knows = QCheckBox("Made at")
        self.knows.setObjectName("new_lot_knows_date")
        self.knows.setToolTip("Untick when the time is unknown; sample ages are then typed by hand")
        self.knows.toggled.connect(self._toggle)
        self.made = moment("new_lot_made", self._tell)
        self.solids = line("new_lot_solids", self._tell, _UNKNOWN)
        self.note = line("new_lot_note", self._tell)
        self.metal = line("new_lot_metal", self._tell, "not assayed")
        self.metal_u = line("new_lot_metal_u", self._tell, _UNKNOWN)
        self.assays = line("new_lot_assays", self._tell, _UNKNOWN)
        self.reason = line("new_lot_reason", self._tell, "the old values stay on record")
        self.add("lot_id", "Lot", self.lot, 1)
        self.add("which", "Which lot", self.which, 1)
        self.add("solids", "Solids, %", self.solids, 1, column=2)
        self.add("made_at", "", self.made, 2, span=3)
        self.made.setAccessibleName("Made at, local time")
        self.knows.setAccessibleName("The time of making is known")
        self.grid.addWidget(self.knows, 3, 0)
        self.add("metal", "Metal, %", self.metal, 3)
        self.add("metal_u", "its u, %", self.metal_u, 3, column=2)
        self.add("assays", "Assays", self.assays, 4)
        self.grid.addWidget(text_label(sentence("shelf.about_assay"), "muted"), 9, 1, 1, 3)
        self.add("note", "Note", self.note, 6, span=3)
        self.add("reason", "Reason", self.reason, 7, span=3)
        self.finish(8)

    @property
    def form(self) -> LotForm:
        """The entries; an untouched time of making is the one that was."""
        made = read_moment(self.made) if self.knows.isChecked() else None
        if made is not None and made == self._made and self._exact is not None:
            made = self._exact
        return LotForm(
            self.lot.text(),
            made,
            self.solids.text(),
            self.note.text(),
            self.metal.text(),
            self.metal_u.text(),
            self.assays.text(),
            self.reason.text(),
        )

    def open_with(self, form: LotForm, now: datetime) -> None:
        """Fill in the form for a new lot."""
        self.corrects, self._exact = "", None
        self.rename("Register a lot of crude", "Register the lot")
        self._fill(form, now, knows=True)
        self.lot.setFocus()
        self.lot.selectAll()

    def open_to_correct(self, lot: Lot, form: LotForm, lots: tuple[Lot, ...], now: datetime) -> None:
        """Fill in the form with a lot as it is; another one can be chosen in it."""
        self.corrects, self._exact = lot.id, lot.made_at
        self.rename(f"Correct lot {lot.id}", "Correct the lot")
        with QSignalBlocker(self.which):
            self.which.clear()
            for each in lots:
                self.which.addItem(each.id, each.id)
            self.which.setCurrentIndex(self.which.findData(lot.id))
        self._fill(form, lot.made_at or now, knows=lot.made_at is not None)
        self.metal.setFocus()

    def _fill(self, form: LotForm, made: datetime, *, knows: bool) -> None:
        with QSignalBlocker(self):
            self.lot.setText(form.lot_id)
            show_moment(self.made, made)
            self._made = read_moment(self.made)
            self.knows.setChecked(knows)
            self.made.setEnabled(knows)
            self.solids.setText(form.solids)
            self.note.setText(form.note)
            self.metal.setText(form.metal)
            self.metal_u.setText(form.metal_u)
            self.assays.setText(form.assays)
            self.reason.clear()
        is_correction = bool(self.corrects)
        self.set_row_visible("lot_id", not is_correction)
        self.set_row_visible("which", is_correction)
        self.set_row_visible("reason", is_correction)
        self._tell()

    def show_read(self, read: ReadLot, decimal: str) -> None:
        """Show what is wrong."""
        self.show_problems(read.problems, decimal)

    def _toggle(self, known: bool) -> None:
        self.made.setEnabled(known)
        self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.form)
