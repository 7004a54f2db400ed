"""Which jar, which lot and when: the first line of the bench form."""

from __future__ import annotations

from datetime import UTC, datetime

from PySide6.QtCore import QDateTime, QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QComboBox, QDateTimeEdit, QGridLayout, QHBoxLayout, QLineEdit, QSizePolicy, QWidget

from stirfall.bench.ages import age_h
from stirfall.bench.errors import InputError
from stirfall.bench.records import Jar
from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.form import age_text
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, guard_from_wheel, text_label, unbroken
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.labelled import labelled, name_control, show_problem
from stirfall.reporting.sentences import sentence

NO_JAR = "no jar"
NO_LOT = "no lot"


def jar_age_text(jar: Jar, now: datetime, decimal: str) -> str:
    """Return the age of a jar as a person says it, or that the clock was wrong."""
    try:
        hours = age_h(jar.started_at, now)
    except InputError:
        return "starts in the future"
    return age_text(hours, decimal)


def jar_facts(jar: Jar, now: datetime, decimal: str, *, with_lot: bool = True) -> str:
    """Return what the label of a jar says, in one line; the lot only where it does not stand beside it."""
    depth = format_quantity(jar.oil_depth_mm, "mm", decimal=decimal) if jar.oil_depth_mm is not None else ""
    parts = (
        f"lot {jar.lot_id}" if with_lot else "",
        f"{jar_age_text(jar, now, decimal)} in the jar",
        jar.oil or "oil unknown",
        f"{depth} of oil" if depth else "",
        f"lid {jar.lid}" if jar.lid else "",
        format_quantity(jar.charge_g, "g", decimal=decimal) if jar.charge_g is not None else "",
    )
    return " · ".join(part for part in parts if part)


def local_text(moment: datetime, now: datetime) -> str:
    """Return a local time as a person says it: today and yesterday by word, other days by date."""
    here, today = moment.astimezone(), now.astimezone().date()
    days = (today - here.date()).days
    day = {0: "today", 1: "yesterday"}.get(days, here.date().isoformat())
    return f"{day} {here:%H:%M}"


class JarEdit(QWidget):
    """Jar, lot and start of the attempt.

    Signals:
        jar_entered(str): an id was typed, scanned or chosen (empty: no jar).
        lot_chosen(object): the id of a lot or None.
        start_chosen(object): an aware datetime, or None for now.
    """

    jar_entered = Signal(str)
    lot_chosen = Signal(object)
    start_chosen = Signal(object)
    accepted = Signal()

    def __init__(self, label_width: int) -> None:
        super().__init__()
        self._jars: tuple[tuple[str, str], ...] = ()
        self._lots: tuple[str, ...] = ()
        self._shown_jar = ""
        self.jar = QComboBox()
        self.jar.setObjectName("jar")
        self.jar_line = QLineEdit()
        self.jar.setLineEdit(self.jar_line)
        self.jar.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.jar.setMinimumContentsLength(8)
        self.jar.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.jar.setCompleter(None)  # type: ignore[arg-type]
        self.jar_line.setPlaceholderText("scan, type or choose")
        self.lot = QComboBox()
        self.lot.setObjectName("lot")
        self.start = text_label("", wrap=False)
        self.start.setObjectName("started")
        self.change = button("Change", "change_start", height=TARGET)
        name_control(self.change, "Change when the attempt started")
        self.change.setCheckable(True)
        self.moment = QDateTimeEdit()
        self.moment.setObjectName("start_moment")
        self.moment.setDisplayFormat("yyyy-MM-dd HH:mm")
        name_control(self.moment, "Start of the attempt, local time")
        self.now = button("Now", "start_now", height=TARGET)
        name_control(self.now, "The attempt starts now")
        self.facts = text_label(role="muted")
        self.facts.setObjectName("jar_facts")
        self.problem = text_label(role="error")
        self.problem.setObjectName("jar_problem")
        self._lay_out(label_width)
        self._connect()

    def _lay_out(self, label_width: int) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 3)
        grid.setColumnStretch(3, 2)
        label = labelled("Jar", self.jar, target=self.jar)
        self._label = label
        self.set_label_width(label_width)
        name_control(self.jar_line, "Jar", "Scan, type or choose the jar, then Enter")
        for box in (self.jar, self.lot, self.moment):
            box.setMinimumHeight(TARGET)
            guard_from_wheel(box)
        grid.addWidget(label, 0, 0)
        grid.addWidget(self.jar, 0, 1)
        grid.addWidget(labelled("Lot", self.lot), 0, 2)
        grid.addWidget(self.lot, 0, 3)
        grid.addWidget(self.problem, 1, 1, 1, 3)
        grid.addWidget(self.facts, 2, 1, 1, 3)
        when = QWidget()
        when.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        row = QHBoxLayout(when)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GAP)
        row.addWidget(self.start)
        row.addWidget(self.change)
        row.addStretch(1)
        self.line = FlowLayout()
        self.line.addWidget(when)
        grid.addWidget(text_label("Started", wrap=False), 4, 0)
        grid.addLayout(self.line, 4, 1, 1, 3)
        other = QHBoxLayout()
        other.setSpacing(GAP)
        other.addWidget(self.moment, 1)
        other.addWidget(self.now)
        grid.addLayout(other, 5, 1, 1, 3)
        self._grid = grid
        self._show_change(False)

    def set_label_width(self, width: int) -> None:
        """Align the labels with those of the rows below."""
        self._label.setFixedWidth(width)

    def place_look(self, row: QWidget) -> None:
        """Put the question about the surface right below the jar."""
        self._grid.addWidget(row, 3, 0, 1, 4)

    def _connect(self) -> None:
        self.jar.activated.connect(lambda index: self.jar_entered.emit(self.jar.itemData(index) or ""))
        self.jar_line.returnPressed.connect(self._enter)
        self.jar_line.editingFinished.connect(self._leave)
        self.lot.activated.connect(lambda index: self.lot_chosen.emit(self.lot.itemData(index)))
        self.change.toggled.connect(self._show_change)
        self.now.clicked.connect(lambda: self._choose_start(None))
        self.moment.dateTimeChanged.connect(self._moment_changed)

    def _enter(self) -> None:
        self.jar_entered.emit(self.jar.currentText().strip())
        self.accepted.emit()

    def _leave(self) -> None:
        if self.jar.currentText().strip() != self._shown_jar:
            self.jar_entered.emit(self.jar.currentText().strip())

    def _moment_changed(self, moment: QDateTime) -> None:
        self.start_chosen.emit(datetime.fromtimestamp(moment.toSecsSinceEpoch(), UTC))

    def _choose_start(self, moment: datetime | None) -> None:
        self.start_chosen.emit(moment)
        self.change.setChecked(False)

    def _show_change(self, shown: bool) -> None:
        self.moment.setVisible(shown)
        self.now.setVisible(shown)
        self.change.setText("Done" if shown else "Change")

    def show_state(self, state: FormState) -> None:
        """Show jar, lot and start."""
        self._fill_jars(state)
        self._fill_lots(state)
        text = state.form.jar_text
        if text != self._shown_jar or self.jar.currentText() != text:
            with QSignalBlocker(self.jar), QSignalBlocker(self.jar_line):
                self.jar.setEditText(text)
        self._shown_jar = text
        problem = state.jar_problem or state.clock_problem
        told = sentence(problem.code, problem.params, decimal=state.decimal) if problem else ""
        show_problem(self.jar, self.problem, told)
        facts = jar_facts(state.jar, state.starts_at, state.decimal, with_lot=False) if state.jar else ""
        facts = "\n".join(part for part in (facts, state.film.text) if part)
        self.facts.setText(unbroken(facts))
        self.facts.setVisible(state.jar is not None)
        when = "now" if state.form.started_at is None else local_text(state.starts_at, state.now)
        self.start.setText(when)
        if not self.moment.hasFocus():
            with QSignalBlocker(self.moment):
                self.moment.setDateTime(QDateTime.fromSecsSinceEpoch(int(state.starts_at.timestamp())))

    def _fill_jars(self, state: FormState) -> None:
        rows = tuple((jar.id, f"{jar.id}   {jar_facts(jar, state.now, state.decimal)}") for jar in state.jars)
        if rows == self._jars and self.jar.count():
            return
        self._jars = rows
        with QSignalBlocker(self.jar), QSignalBlocker(self.jar_line):
            kept = self.jar.currentText()
            self.jar.clear()
            self.jar.addItem(NO_JAR, "")
            for jar_id, text in rows:
                self.jar.addItem(text, jar_id)
            self.jar.setEditText(kept)
        self.jar.view().setMinimumWidth(self.jar.view().sizeHintForColumn(0) + 4 * GAP)
        self.jar.view().setTextElideMode(Qt.TextElideMode.ElideNone)

    def _fill_lots(self, state: FormState) -> None:
        ids = tuple(lot.id for lot in state.lots)
        with QSignalBlocker(self.lot):
            if ids != self._lots or not self.lot.count():
                self._lots = ids
                self.lot.clear()
                self.lot.addItem(NO_LOT, None)
                for lot_id in ids:
                    self.lot.addItem(lot_id, lot_id)
            self.lot.setCurrentIndex(self._lots.index(state.lot.id) + 1 if state.lot else 0)
        self.lot.setEnabled(state.jar is None)
        self.lot.setToolTip("The lot follows from the jar" if state.jar else "The lot of an attempt without a jar")
