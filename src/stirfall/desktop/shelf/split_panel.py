"""The form that splits a lot into jars in one step, with a table of what it will make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from PySide6.QtCore import QEvent, QSignalBlocker, Signal
from PySide6.QtWidgets import QAbstractItemView, QComboBox, QHeaderView, QTableView

from stirfall.bench.records import Lot
from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.look import TARGET, guard_from_wheel, text_label
from stirfall.desktop.cell_entry import CellEntry
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.forms import InPlaceForm, line, moment, read_moment, show_moment
from stirfall.desktop.shelf.jar_form import LIDS
from stirfall.desktop.shelf.reaching import Reaching
from stirfall.desktop.shelf.split_form import DIVISIONS, TOTAL, ReadSplit, SplitForm
from stirfall.desktop.shelf.split_grid import SPLIT_COLUMNS, SplitGrid, said_findings
from stirfall.desktop.shelf.split_starts import AGES, AT_ONCE, IN_TURN, STARTS, StartEntries
from stirfall.desktop.shelf.state import JarFilm
from stirfall.desktop.theme import Theme
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted


class SplitPanel(InPlaceForm):
    """Asks how many jars, how much in each, and when they start; below stands every jar that this makes.

    Signals:
        edited(SplitForm): an entry changed.
    """

    edited = Signal(object)

    def __init__(self) -> None:
        super().__init__("Split a lot into jars", "Make the jars", "split_lot")
        self._before, self._may_plan = SplitForm(), True
        self._begin: datetime | None = None
        self._evening: datetime | None = None
        self._own: dict[str, dict[int, str]] = {"charge": {}, "depth": {}}
        self.lot = QComboBox()
        self.lot.setObjectName("split_lot_which")
        guard_from_wheel(self.lot)
        self.lot.activated.connect(lambda _index: self._tell())
        self.count = line("split_count", self._tell, "1 to 24")
        self.mass = line("split_mass", self._tell, "not weighed")
        self.oil_depth = line("split_depth", self._tell, "unknown")
        self.other_depth = line("split_other_depth", self._tell, "the same")
        self.other_depth.setToolTip("A second depth: jars then have one or the other, in turn")
        self.oil = line("split_oil", self._tell, "the words on the bottle")
        self.fold = Reaching(self, "split", self._tell, without="area")
        self.division = self.fold.segments("Mass is", DIVISIONS, may_be_empty=False)
        self.lid = self.fold.segments("Lid", LIDS)
        self.starts = self.fold.segments("They start", STARTS, may_be_empty=False)
        self.begin = moment("split_begin", self._tell)
        self.every = line("split_every", self._tell, "such as 6 h or 2 days")
        self.ages = line("split_ages", self._tell, "such as 2, 8, 24, 96 h")
        self.evening = moment("split_evening", self._tell)
        self.seed = line("split_seed", self._tell)
        self.seed.setToolTip("The ages are dealt to the jars in random order; the same seed deals the same order")
        self.why = text_label(sentence("shelf.split_superoxide"), "caution")
        self.why.setObjectName("split_why")
        self.summary = text_label()
        self.summary.setObjectName("split_summary")
        self.warnings = text_label(role="caution")
        self.warnings.setObjectName("split_warnings")
        self.grid_model, self.jars = SplitGrid(self), QTableView()
        self._set_up_grid()
        self._place()

    def _set_up_grid(self) -> None:
        set_up_rows(self.jars, self.grid_model, name="split_table", title="Jars that this makes", row_height=TARGET)
        self.jars.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.jars.horizontalHeader().setStretchLastSection(False)
        self.jars.setItemDelegate(CellEntry(self.jars))
        self.jars.setEditTriggers(QAbstractItemView.EditTrigger.AllEditTriggers)
        self.jars.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.jars.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.grid_model.typed_over.connect(self._take_own)

    def _place(self) -> None:
        self.add("lot_id", "Lot", self.lot, 1)
        self.add("count", "Jars", self.count, 1, column=2)
        self.add("division", "Mass is", self.division, 2, span=3)
        self.add("mass", "Mass, g", self.mass, 3, span=3)
        self.add("depth", "Depth, mm", self.oil_depth, 4)
        self.add("other_depth", "or, mm", self.other_depth, 4, column=2)
        self.oil_depth.setToolTip("Depth of the oil over the metal")
        self.add("oil", "Oil", self.oil, 5, span=3)
        self.add("lid", "Lid", self.lid, 6, span=3)
        self.grid.addWidget(self.fold, 13, 0, 1, 4)
        self.add("starts", "They start", self.starts, 8, span=3)
        self.add("begin", "The first", self.begin, 9)
        self.add("every", "then every", self.every, 9, column=2)
        self.add("ages", "Ages", self.ages, 10, span=3)
        self.add("evening", "Evening", self.evening, 11)
        self.add("seed", "Seed", self.seed, 11, column=2)
        self.grid.addWidget(self.why, 23, 0, 1, 4)
        self.grid.addWidget(self.summary, 24, 0, 1, 4)
        self.grid.addWidget(self.jars, 25, 0, 1, 4)
        self.grid.addWidget(self.warnings, 26, 0, 1, 4)
        self.finish(14)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.grid_model.set_theme(theme)

    # -- entries -----------------------------------------------------------------------------------

    @property
    def form(self) -> SplitForm:
        """The entries; untouched times are those that the form opened with."""
        begin, evening = read_moment(self.begin), read_moment(self.evening)
        starts = StartEntries(
            mode=self.starts.value or AT_ONCE,
            begin=None if begin == self._begin else begin,
            every=self.every.text(),
            ages=self.ages.text(),
            evening=evening,
            seed=self.seed.text(),
        )
        before = self._before.kept
        lid = self.lid.value or ("" if before.lid in LIDS else before.lid)
        kept = replace(before, oil=self.oil.text(), depth=self.oil_depth.text(), lid=lid, **self.fold.typed())
        return SplitForm(
            lot_id=self.lot.currentData() or "",
            count=self.count.text(),
            division=self.division.value or DIVISIONS[0],
            mass=self.mass.text(),
            other_depth=self.other_depth.text(),
            kept=kept,
            starts=starts,
            own_charge=dict(self._own["charge"]),
            own_depth=dict(self._own["depth"]),
        )

    def open_with(self, form: SplitForm, lots: tuple[Lot, ...], now: datetime, *, may_plan: bool) -> None:
        """Fill in the form; without ``may_plan`` the jars can only start now, and it says why."""
        self._before = form
        with QSignalBlocker(self):
            self.lot.clear()
            for lot in lots:
                self.lot.addItem(lot.id, lot.id)
            self.lot.setCurrentIndex(max(0, self.lot.findData(form.lot_id)))
            self.count.setText(form.count)
            self.division.set_value(form.division)
            self.mass.setText(form.mass)
            self.oil_depth.setText(form.kept.depth)
            self.other_depth.setText(form.other_depth)
            self.oil.setText(form.kept.oil)
            self.lid.set_value(form.kept.lid if form.kept.lid in LIDS else None)
            self.fold.fill(form.kept)
            self.starts.set_value(form.starts.mode)
            show_moment(self.begin, form.starts.begin or now)
            self._begin = read_moment(self.begin)
            self.every.setText(form.starts.every)
            self.ages.setText(form.starts.ages)
            show_moment(self.evening, form.starts.evening or now)
            self.seed.setText(form.starts.seed)
            self._own = {"charge": {}, "depth": {}}
        self._may_plan = may_plan
        for mode in (IN_TURN, AGES):
            self.starts.button(mode).setEnabled(may_plan)
        self.why.setVisible(not may_plan)
        self.fold.toggle.setChecked(False)
        self._tell()
        self.mass.setFocus()

    def _take_own(self, name: str, place: int, text: str) -> None:
        self._own[name][place] = text
        self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.form)

    # -- showing -----------------------------------------------------------------------------------

    def show_read(self, read: ReadSplit, decimal: str) -> None:
        """Show what the entries make, and what is wrong."""
        mode = self.starts.value
        for name in ("begin", "every"):
            self.set_row_visible(name, mode == IN_TURN)
        for name in ("ages", "evening", "seed"):
            self.set_row_visible(name, mode == AGES)
        in_cells = {name: reason for name, reason in read.problems.items() if ":" in name}
        self.show_problems(read.problems, decimal)
        self.fold.open_for(read.problems)
        self.grid_model.show_read(read, self._own, decimal)
        self.jars.setColumnHidden(SPLIT_COLUMNS.index("Age"), mode != AGES)
        self.jars.setColumnHidden(SPLIT_COLUMNS.index("Says"), not any(row.findings for row in read.jars))
        self._fit_grid()
        self.jars.setVisible(bool(read.jars))
        self.jars.setColumnHidden(SPLIT_COLUMNS.index("Film index"), not self._may_plan)
        self.summary.setText(_summary(read, self.division.value == TOTAL, decimal, has_film=self._may_plan))
        said = [sentence(each.code, each.params, decimal=decimal) for each in in_cells.values()]
        found = [text for row in read.jars for text in said_findings(row, decimal)]
        self.warnings.setText("\n".join(dict.fromkeys([*(f"⚠ {text}" for text in said), *found])))
        self.warnings.setVisible(bool(self.warnings.text()))
        verb = f"Make {counted(len(read.jars), 'jar')}" if read.jars else "Make the jars"
        self.accept.setText(verb)
        self.accept.setAccessibleName(verb)

    def show_films(self, films: Mapping[str, JarFilm]) -> None:
        """Show the film index of each jar."""
        self.grid_model.show_films(films)

    def _fit_grid(self) -> None:
        """Give the table the height of all its rows: the page scrolls, and nothing scrolls inside it."""
        rows = self.grid_model.rowCount()
        row = max(TARGET, round(self.jars.fontMetrics().height() * 1.8))
        self.jars.verticalHeader().setDefaultSectionSize(row)
        header = self.jars.horizontalHeader().sizeHint().height()
        bar = self.jars.horizontalScrollBar().sizeHint().height()
        self.jars.setFixedHeight(header + rows * row + 2 * self.jars.frameWidth() + bar)

    def changeEvent(self, event: QEvent) -> None:
        """Larger text needs higher rows."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "jars"):
            self._fit_grid()


def _summary(read: ReadSplit, is_total: bool, decimal: str, *, has_film: bool) -> str:
    """Say what the split makes, and how the ages were dealt."""
    if not read.jars:
        return ""
    planned, total = read.planned, read.total_g
    parts = [f"{counted(len(read.jars), 'jar')} of lot {read.lot_id}"]
    if total is not None:
        parts.append(f"{format_quantity(total, 'g', digits=5, decimal=decimal)}{'' if is_total else ' in all'}")
    started = len(read.jars) - planned
    parts.append(" and ".join(part for part in (started_words(started), planned_words(planned)) if part))
    dealt = "" if read.seed is None else f" Ages are dealt in random order, with seed {read.seed}."
    film = f" Film index: {'on that evening' if read.seed is not None else 'after a day under oil'}."
    typed_over = " Type over the mass or depth of a single jar below."
    return f"{', '.join(parts)}.{dealt}{typed_over}{film if has_film else ''}"


def started_words(count: int) -> str:
    """Say how many jars start now."""
    return "" if not count else f"{count} {'starts' if count == 1 else 'start'} now"


def planned_words(count: int) -> str:
    """Say how many jars are planned."""
    return "" if not count else f"{count} {'is' if count == 1 else 'are'} planned"
