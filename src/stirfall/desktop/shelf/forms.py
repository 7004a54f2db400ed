"""The two short forms of the shelf, opened in place: start a jar, register a lot."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime

from PySide6.QtCore import QDateTime, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDateTimeEdit,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from stirfall.bench.estimates import Reason
from stirfall.bench.records import Lot
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading, text_label
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.labelled import labelled, show_problem
from stirfall.desktop.shelf.state import LIDS, JarForm, LotForm, ReadJar, ReadLot
from stirfall.desktop.theme import set_primary, set_surface_role
from stirfall.reporting.sentences import sentence


class InPlaceForm(QFrame):
    """A form that opens in the page: labelled rows with their problems, a verb and a way out.

    Signals:
        accepted(): the verb was pressed; the page reads the form.
        left(): the person does not want it.
    """

    accepted = Signal()
    left = Signal()

    def __init__(self, title: str, verb: str, name: str) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.setObjectName(name)
        self.grid = QGridLayout(self)
        self.grid.setContentsMargins(GAP, GAP, GAP, GAP)
        self.grid.setHorizontalSpacing(GAP)
        self.grid.setVerticalSpacing(HALF_GAP)
        self.grid.setColumnStretch(1, 1)
        self.grid.setColumnStretch(3, 1)
        self.grid.addWidget(heading(title), 0, 0, 1, 4)
        self._problems: dict[str, tuple[QWidget, QLabel]] = {}
        self.accept: QPushButton = button(verb, f"{name}_accept")
        set_primary(self.accept)
        self.cancel = button("Cancel", f"{name}_cancel")
        self.accept.clicked.connect(self.accepted)
        self.cancel.clicked.connect(self.left)

    def add(self, name: str, label: str, editor: QWidget, row: int, *, column: int = 0, span: int = 1) -> None:
        """Place a labelled editor with a line for its problem below."""
        editor.setMinimumHeight(TARGET)
        problem = text_label(role="error")
        problem.hide()
        self.grid.addWidget(labelled(label, editor), 2 * row - 1, column)
        self.grid.addWidget(editor, 2 * row - 1, column + 1, 1, span)
        self.grid.addWidget(problem, 2 * row, column + 1, 1, span)
        self._problems[name] = (editor, problem)

    def finish(self, row: int) -> None:
        """Place the buttons below the last row."""
        line = QHBoxLayout()
        line.setSpacing(GAP)
        line.addStretch(1)
        line.addWidget(self.cancel)
        line.addWidget(self.accept)
        self.grid.addLayout(line, 2 * row, 0, 1, 4)

    def show_problems(self, problems: Mapping[str, Reason], decimal: str) -> None:
        """Say each problem beside its entry; the verb waits until there is none."""
        for name, (editor, label) in self._problems.items():
            reason = problems.get(name)
            show_problem(editor, label, sentence(reason.code, reason.params, decimal=decimal) if reason else "")
        self.accept.setEnabled(not problems)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


def _line(name: str, changed: Callable[[], object], placeholder: str = "") -> QLineEdit:
    edit = QLineEdit()
    edit.setObjectName(name)
    edit.setPlaceholderText(placeholder)
    edit.textChanged.connect(lambda _text: changed())
    return edit


def _moment(name: str, changed: Callable[[], object]) -> QDateTimeEdit:
    edit = QDateTimeEdit()
    edit.setObjectName(name)
    edit.setDisplayFormat("yyyy-MM-dd HH:mm")
    edit.setCalendarPopup(False)
    edit.dateTimeChanged.connect(lambda _moment: changed())
    return edit


def _read_moment(edit: QDateTimeEdit) -> datetime:
    return datetime.fromtimestamp(edit.dateTime().toSecsSinceEpoch(), UTC)


class JarPanel(InPlaceForm):
    """Starts a jar; it is filled in like the newest one.

    Signals:
        edited(JarForm): an entry changed.
    """

    edited = Signal(object)

    def __init__(self) -> None:
        super().__init__("Start a jar", "Put it on the shelf", "start_jar")
        self.jar = _line("new_jar_id", self._tell)
        self.lot = QComboBox()
        self.lot.setObjectName("new_jar_lot")
        self.lot.activated.connect(lambda _index: self._tell())
        self.started = _moment("new_jar_started", self._tell)
        self.oil = _line("new_jar_oil", self._tell, "kind, new or reused")
        self.oil_depth = _line("new_jar_depth", self._tell, "unknown")
        self.charge = _line("new_jar_charge", self._tell, "not weighed")
        self.lid = Segments("Lid", LIDS)
        self.lid.setObjectName("new_jar_lid")
        self.lid.chosen.connect(lambda _level: self._tell())
        self.add("jar_id", "Jar", self.jar, 1)
        self.add("lot_id", "Lot", self.lot, 1, column=2)
        self.add("started_at", "Started", self.started, 2)
        self.add("charge", "Charge, g", self.charge, 2, column=2)
        self.add("oil", "Oil", self.oil, 3)
        self.add("depth", "Oil depth, mm", self.oil_depth, 3, column=2)
        self.add("lid", "Lid", self.lid, 4, span=3)
        self.finish(5)
        self._started: datetime | None = None

    @property
    def form(self) -> JarForm:
        """The entries; an untouched start is the moment of recording."""
        started = _read_moment(self.started)
        return JarForm(
            self.jar.text(),
            self.lot.currentData() or "",
            self.oil.text(),
            self.oil_depth.text(),
            self.lid.value or "",
            self.charge.text(),
            None if started == self._started else started,
        )

    def open_with(self, form: JarForm, lots: tuple[Lot, ...], now: datetime) -> None:
        """Fill in the form."""
        with QSignalBlocker(self):
            self.lot.clear()
            for lot in lots:
                self.lot.addItem(lot.id, lot.id)
            self.lot.setCurrentIndex(max(0, self.lot.findData(form.lot_id)))
            self.started.setDateTime(QDateTime.fromSecsSinceEpoch(int(now.timestamp())))
            self._started = _read_moment(self.started)
            self.jar.setText(form.jar_id)
            self.oil.setText(form.oil)
            self.oil_depth.setText(form.depth)
            self.charge.setText(form.charge)
            self.lid.set_value(form.lid if form.lid in LIDS else None)
        self._tell()
        self.charge.setFocus()

    def show_read(self, read: ReadJar, decimal: str) -> None:
        """Show what is wrong."""
        self.show_problems(read.problems, decimal)

    def _tell(self) -> None:
        self.edited.emit(self.form)


class LotPanel(InPlaceForm):
    """Registers a lot of crude.

    Signals:
        edited(LotForm): an entry changed.
    """

    edited = Signal(object)

    def __init__(self) -> None:
        super().__init__("Register a lot of crude", "Register the lot", "register_lot")
        self.lot = _line("new_lot_id", self._tell)
        self.knows = QCheckBox("Made at")
        self.knows.setObjectName("new_lot_knows_date")
        self.knows.setToolTip("Untick when the time is unknown; sample ages are then typed by hand")
        self.knows.toggled.connect(self._toggle)
        self.made = _moment("new_lot_made", self._tell)
        self.solids = _line("new_lot_solids", self._tell, "unknown")
        self.note = _line("new_lot_note", self._tell)
        self.add("lot_id", "Lot", self.lot, 1)
        self.add("solids", "Solids, %", self.solids, 1, column=2)
        self.add("made_at", "", self.made, 2)
        self.made.setAccessibleName("Made at, local time")
        self.knows.setAccessibleName("The time of making is known")
        self.grid.addWidget(self.knows, 3, 0)
        self.add("note", "Note", self.note, 2, column=2)
        self.finish(3)

    @property
    def form(self) -> LotForm:
        """The entries."""
        made = _read_moment(self.made) if self.knows.isChecked() else None
        return LotForm(self.lot.text(), made, self.solids.text(), self.note.text())

    def open_with(self, form: LotForm, now: datetime) -> None:
        """Fill in the form."""
        with QSignalBlocker(self):
            self.lot.setText(form.lot_id)
            self.made.setDateTime(QDateTime.fromSecsSinceEpoch(int(now.timestamp())))
            self.knows.setChecked(True)
            self.solids.setText(form.solids)
            self.note.setText(form.note)
        self._tell()
        self.lot.setFocus()
        self.lot.selectAll()

    def show_read(self, read: ReadLot, decimal: str) -> None:
        """Show what is wrong."""
        self.show_problems(read.problems, decimal)

    def _toggle(self, known: bool) -> None:
        self.made.setEnabled(known)
        self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.form)
