"""What opens in place below the ledger: correct, strike out, history."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Attempt
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, guard_from_wheel, heading, text_label
from stirfall.desktop.bench_form.outcome_edit import GatesEdit
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.ledger.corrections import Entered, HistoryLine, ReadCorrection
from stirfall.desktop.ledger.kinds import Correctable, Kind
from stirfall.desktop.theme import set_primary, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence

_UNKNOWN_CHOICE = "unknown"


class Panel(QFrame):
    """A raised strip with a heading that Escape closes.

    Signals:
        left(): the person wants it closed.
    """

    left = Signal()

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        set_surface_role(self, "raised")
        self.title = heading("")
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(GAP, GAP, GAP, GAP)
        self.column.setSpacing(GAP)
        self.column.addWidget(self.title)

    def add_grid(self) -> QGridLayout:
        """Add rows of label and editor, the editors as wide as there is room, and return them."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        self.column.addLayout(grid)
        return grid

    def add_foot(self, said: QLabel, *buttons: QPushButton) -> None:
        """Add a line with what is said of the entries and the buttons."""
        foot = QHBoxLayout()
        foot.setSpacing(GAP)
        foot.addWidget(said, 1)
        for each in buttons:
            foot.addWidget(each)
        self.column.addLayout(foot)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave with Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)


class CorrectPanel(Panel):
    """Choose what is wrong, give the right value and the reason.

    Signals:
        edited(Entered): something was entered.
        accepted(Entered): please correct.
    """

    edited = Signal(object)
    accepted = Signal(object)

    def __init__(self) -> None:
        super().__init__("correct_panel")
        self._items: tuple[Correctable, ...] = ()
        self._attempt: Attempt | None = None
        self.what = QComboBox()
        self.what.setObjectName("correct_what")
        guard_from_wheel(self.what)
        self.value = QLineEdit()
        self.value.setObjectName("correct_value")
        self.choice = QComboBox()
        self.choice.setObjectName("correct_choice")
        guard_from_wheel(self.choice)
        self.gates = GatesEdit()
        self.echo = text_label(role="muted")
        self.echo.setObjectName("correct_echo")
        self.reason = QLineEdit()
        self.reason.setObjectName("correct_reason")
        self.reason.setPlaceholderText("kept with the old value")
        self.problem = text_label(role="muted")
        self.problem.setObjectName("correct_problem")
        self.accept = button("Correct", "correct_accept")
        set_primary(self.accept)
        self.cancel = button("Cancel", "correct_cancel")
        self._lay_out()
        self.what.currentIndexChanged.connect(self._show_item)
        self.value.textChanged.connect(self._tell)
        self.choice.currentIndexChanged.connect(self._tell)
        self.reason.textChanged.connect(self._tell)
        self.gates.parted_chosen.connect(self._show_gates)
        self.gates.pooled_chosen.connect(self._tell)
        self.accept.clicked.connect(lambda: self.accepted.emit(self.entered))
        self.cancel.clicked.connect(self.left)

    def _lay_out(self) -> None:
        grid = self.add_grid()
        for editor in (self.what, self.value, self.choice, self.reason):
            editor.setMinimumHeight(TARGET)
        grid.addWidget(labelled("What", self.what), 0, 0)
        grid.addWidget(self.what, 0, 1)
        self._value_label = labelled("New value", self.value)
        grid.addWidget(self._value_label, 1, 0)
        name_control(self.choice, "New value")
        grid.addWidget(self.value, 1, 1)
        grid.addWidget(self.choice, 1, 1)
        grid.addWidget(self.gates, 2, 0, 1, 2)
        grid.addWidget(self.echo, 3, 1)
        grid.addWidget(labelled("Reason", self.reason), 4, 0)
        grid.addWidget(self.reason, 4, 1)
        self.add_foot(self.problem, self.cancel, self.accept)

    @property
    def item(self) -> Correctable | None:
        """What is being corrected."""
        at = self.what.currentIndex()
        return self._items[at] if 0 <= at < len(self._items) else None

    @property
    def entered(self) -> Entered:
        """The entries."""
        item = self.item
        if item is None:
            return Entered(reason=self.reason.text())
        is_choice = item.kind is Kind.CHOICE
        text = (self.choice.currentData() or "") if is_choice else self.value.text()
        parted, pooled = self.gates.answers
        return Entered(item.key, text, parted, pooled, self.reason.text())

    def open_for(self, attempt: Attempt, items: tuple[Correctable, ...]) -> None:
        """Open for an attempt."""
        self._items, self._attempt = items, attempt
        self.title.setText(f"Correct attempt {attempt.number}")
        with QSignalBlocker(self.what), QSignalBlocker(self.reason):
            self.what.clear()
            for item in items:
                self.what.addItem(f"{item.label}: {item.now}" if len(item.now) < 40 else item.label)
            self.what.setCurrentIndex(0)
            self.reason.clear()
        self._show_item()
        self.what.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_item(self) -> None:
        item, attempt = self.item, self._attempt
        if item is None or attempt is None:
            return
        self.value.setVisible(item.kind in (Kind.NUMBER, Kind.TEXT))
        self.choice.setVisible(item.kind is Kind.CHOICE)
        self.gates.setVisible(item.kind is Kind.OUTCOME)
        self._value_label.setVisible(item.kind is not Kind.OUTCOME)
        with QSignalBlocker(self.value), QSignalBlocker(self.choice):
            self.value.setText(item.raw)
            self.value.selectAll()
            self.choice.clear()
            if item.key not in ("aborted",):
                self.choice.addItem(_UNKNOWN_CHOICE, "")
            for level in item.levels:
                self.choice.addItem(level, level)
            self.choice.setCurrentIndex(max(0, self.choice.findData(item.raw)))
        is_open = attempt.parted in (Parted.PARTLY, Parted.YES)
        self.gates.show_answers(attempt.parted, attempt.pooled, pooled_enabled=is_open)
        self._tell()

    def _show_gates(self, parted: Parted | None) -> None:
        _, pooled = self.gates.answers
        is_open = parted in (Parted.PARTLY, Parted.YES)
        self.gates.show_answers(parted, pooled if is_open else None, pooled_enabled=is_open)
        self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.entered)

    def show_read(self, read: ReadCorrection, decimal: str) -> None:
        """Show what was understood and what is missing."""
        self.echo.setText(read.echo)
        self.echo.setVisible(bool(read.echo))
        self.accept.setEnabled(read.changes is not None)
        told = sentence(read.problem.code, read.problem.params, decimal=decimal) if read.problem else ""
        is_gentle = read.problem is None or read.problem.code.startswith("ledger.")
        set_text_role(self.problem, "muted" if is_gentle else "error")
        self.problem.setText(told)
        self.value.setAccessibleDescription("" if is_gentle else told)
        self.accept.setAccessibleDescription(told)


class StrikePanel(Panel):
    """Asks once, in place, why an attempt is struck out.

    Signals:
        accepted(str): the reason.
    """

    accepted = Signal(str)

    def __init__(self) -> None:
        super().__init__("strike_panel")
        self.column.addWidget(
            text_label("It stays on record with your reason and no longer counts. It can be restored at any time.")
        )
        self.reason = QLineEdit()
        self.reason.setObjectName("strike_reason")
        self.reason.setMinimumHeight(TARGET)
        self.accept = button("Strike out", "strike_accept")
        set_primary(self.accept)
        self.cancel = button("Cancel", "strike_cancel")
        line = QHBoxLayout()
        line.setSpacing(GAP)
        line.addWidget(labelled("Reason", self.reason))
        line.addWidget(self.reason, 1)
        line.addWidget(self.cancel)
        line.addWidget(self.accept)
        self.column.addLayout(line)
        self.reason.textChanged.connect(lambda text: self.accept.setEnabled(bool(text.strip())))
        self.reason.returnPressed.connect(self._accept)
        self.accept.clicked.connect(self._accept)
        self.cancel.clicked.connect(self.left)

    def open_for(self, attempt: Attempt) -> None:
        """Open for an attempt."""
        self.title.setText(f"Strike out attempt {attempt.number}")
        self.reason.clear()
        self.accept.setEnabled(False)
        self.reason.setFocus(Qt.FocusReason.OtherFocusReason)

    def _accept(self) -> None:
        if self.reason.text().strip():
            self.accepted.emit(self.reason.text().strip())


class HistoryPanel(Panel):
    """Every change of an attempt: when, what, the old value, the new one and why."""

    _HEADERS = ("When", "What", "Old", "New", "Why")

    def __init__(self) -> None:
        super().__init__("history_panel")
        self.table = QTableWidget(0, len(self._HEADERS))
        self.table.setObjectName("history_table")
        self.table.setAccessibleName("Changes of the attempt")
        self.table.setHorizontalHeaderLabels(list(self._HEADERS))
        self.table.setEditTriggers(QTableWidget.EditTrigger.NoEditTriggers)
        self.table.setTabKeyNavigation(False)
        self.table.verticalHeader().hide()
        self.table.setShowGrid(False)
        self.table.setWordWrap(True)
        self.table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self.table.setSelectionMode(QTableWidget.SelectionMode.NoSelection)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.horizontalHeader().setStretchLastSection(True)
        self.table.setMinimumHeight(3 * TARGET)
        self.table.setMaximumHeight(5 * TARGET)
        self.none = text_label("Nothing was changed since it was recorded.", "muted")
        self.close_button = button("Close", "history_close")
        self.close_button.clicked.connect(self.left)
        self.column.addWidget(self.table)
        self.column.addWidget(self.none)
        foot = QHBoxLayout()
        foot.addStretch(1)
        foot.addWidget(self.close_button)
        self.column.addLayout(foot)

    def open_for(self, attempt: Attempt, lines: tuple[HistoryLine, ...]) -> None:
        """Open for an attempt."""
        self.title.setText(f"History of attempt {attempt.number}")
        self.table.setVisible(bool(lines))
        self.none.setVisible(not lines)
        self.table.setRowCount(len(lines))
        for row, line in enumerate(lines):
            for column, text in enumerate((line.when, line.what, line.old, line.new, line.why)):
                cell = QTableWidgetItem(text)
                cell.setToolTip(text)
                self.table.setItem(row, column, cell)
        self.table.resizeRowsToContents()
        editor: QWidget = self.table if lines else self.close_button
        editor.setFocus(Qt.FocusReason.OtherFocusReason)
