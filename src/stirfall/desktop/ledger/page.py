"""The ledger page: every attempt ever recorded, none of them lost, each one correctable with a reason."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QSignalBlocker, Qt, QTimer
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.records import Attempt
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, heading, page_sheet, text_label
from stirfall.desktop.ledger.corrections import Entered
from stirfall.desktop.ledger.facts_panel import FactsPanel
from stirfall.desktop.ledger.panels import CorrectPanel, HistoryPanel, Panel, StrikePanel
from stirfall.desktop.ledger.table import LedgerTable
from stirfall.desktop.ledger.view_model import LedgerModel, LedgerState
from stirfall.desktop.odds.phrases import conditions_text, counted
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import Theme, set_surface_role
from stirfall.desktop.workspace import Workspace

_ROW_HEIGHT = 36
_SAMPLED_ROWS = 40
_EMPTY = "No attempt is recorded yet. Fill the bench form and press Record; each attempt then stands here for good."


class LedgerPage(QWidget):
    """The table of attempts above, what can be done with the selected one below."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("ledger_page")
        self.workspace = workspace
        self.model = LedgerModel(workspace, self)
        self.table_model = LedgerTable(workspace.theme, self)
        self.table = QTableView()
        self.empty = text_label(_EMPTY)
        self.count = text_label(role="muted")
        self.count.setObjectName("ledger_count")
        self.copy = button("Copy as table", "ledger_copy")
        self.export = button("Export CSV…", "ledger_export")
        self.facts = text_label()
        self.facts.setObjectName("ledger_facts")
        self.repeat = button("Repeat this", "ledger_repeat")
        self.correct = button("Correct", "ledger_correct")
        self.strike = button("Strike out", "ledger_strike")
        self.history = button("History", "ledger_history")
        self.more = button("All facts", "ledger_facts_open")
        self.correct_panel, self.strike_panel, self.history_panel = CorrectPanel(), StrikePanel(), HistoryPanel()
        self.facts_panel = FactsPanel()
        self.panels: tuple[Panel, ...] = (
            self.correct_panel,
            self.strike_panel,
            self.history_panel,
            self.facts_panel,
        )
        self.detail = QFrame()
        self._set_up_table()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_state(self.model.state)

    def _set_up_table(self) -> None:
        table = self.table
        set_up_rows(table, self.table_model, name="ledger_table", title="Attempts", row_height=_ROW_HEIGHT)
        table.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header = table.horizontalHeader()
        header.setResizeContentsPrecision(_SAMPLED_ROWS)
        header.setSectionsClickable(True)
        header.setSortIndicatorClearable(True)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        table.setSortingEnabled(True)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(GAP)
        top.addWidget(heading("Attempts"))
        top.addWidget(self.count, 1)
        top.addWidget(self.copy)
        top.addWidget(self.export)
        set_surface_role(self.detail, "raised")
        below = QVBoxLayout(self.detail)
        below.setContentsMargins(GAP, GAP, GAP, GAP)
        below.setSpacing(HALF_GAP)
        below.addWidget(self.facts)
        row = QWidget()
        acts = FlowLayout(row)
        for act in (self.repeat, self.more, self.history, self.correct, self.strike):
            acts.addWidget(act)
        below.addWidget(row)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        whole.addLayout(top)
        whole.addWidget(self.empty)
        whole.addWidget(self.table, 1)
        whole.addWidget(self.detail)
        for panel in self.panels:
            whole.addWidget(panel)
            panel.hide()
        whole.addStretch(0)
        self._whole = whole

    def _connect(self) -> None:
        model = self.model
        model.changed.connect(self.show_state)
        self.table.selectionModel().currentRowChanged.connect(self._on_current)
        self.table.activated.connect(lambda _index: model.repeat())
        self.repeat.clicked.connect(model.repeat)
        self.correct.clicked.connect(self.open_correct)
        self.strike.clicked.connect(self._strike_or_restore)
        self.history.clicked.connect(self.open_history)
        self.more.clicked.connect(self.open_facts)
        self.copy.clicked.connect(self.copy_table)
        self.export.clicked.connect(self._ask_where)
        self.correct_panel.edited.connect(self._judge)
        self.correct_panel.accepted.connect(self._correct)
        self.strike_panel.accepted.connect(self._strike)
        for panel in self.panels:
            panel.left.connect(self.close_panels)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self.close_panels)
        shortcut = QShortcut(QKeySequence.StandardKey.Copy, self.table)
        shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
        shortcut.activated.connect(self.copy_table)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.setStyleSheet(page_sheet(theme))
        self.table_model.set_look(theme, self.workspace.decimal)

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: LedgerState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        with QSignalBlocker(self.table.selectionModel()):
            is_new = self.table_model.show_campaign(state.campaign if state else None)
            self._select(state.selected if state else None)
        if is_new:
            self.table.resizeColumnsToContents()
        has_rows = state is not None and state.count > 0
        self.table.setVisible(has_rows)
        self.empty.setVisible(not has_rows)
        self._whole.setStretch(self._whole.count() - 1, 0 if has_rows else 1)
        self.empty.setText(_EMPTY if state else "Open a session or make a new one; its attempts appear here.")
        self.copy.setEnabled(has_rows)
        self.export.setEnabled(has_rows)
        self.count.setText(_counts(state) if state else "")
        is_free = all(panel.isHidden() for panel in self.panels)
        self.detail.setVisible(has_rows and is_free)
        self._show_detail(state)

    def _show_detail(self, state: LedgerState | None) -> None:
        selected = state.selected if state else None
        for act in (self.repeat, self.history, self.more):
            act.setEnabled(selected is not None)
        can_change = selected is not None and state is not None and state.can_change
        self.correct.setEnabled(can_change)
        self.strike.setEnabled(can_change)
        is_struck = selected is not None and selected.is_struck
        self.strike.setText("Restore" if is_struck else "Strike out")
        self.strike.setAccessibleName(self.strike.text())
        if state is None or selected is None:
            self.facts.setText("Choose an attempt: the odds at the right then answer for its conditions.")
            return
        self.facts.setText(_facts(selected, state))

    def _select(self, attempt: Attempt | None) -> None:
        selection = self.table.selectionModel()
        current = self.table_model.attempt(selection.currentIndex().row())
        if attempt is None:
            selection.clear()
        elif current is None or current.id != attempt.id:
            row = self.table_model.row_of(attempt.id)
            if row is not None:
                flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
                selection.setCurrentIndex(self.table_model.index(row, 0), flags)
                self.table.scrollTo(self.table_model.index(row, 0))
        self.table.viewport().update()

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        attempt = self.table_model.attempt(current.row())
        self.close_panels()
        self.model.select(attempt.id if attempt else None)

    # -- panels in place ---------------------------------------------------------------------------

    @property
    def _selected(self) -> Attempt | None:
        return self.model.state.selected if self.model.state else None

    def _open(self, panel: Panel) -> None:
        for other in self.panels:
            other.setVisible(other is panel)
        self.detail.hide()
        QTimer.singleShot(0, self, lambda: self.table.scrollTo(self.table.currentIndex()))

    def open_correct(self) -> None:
        """Open the panel that corrects the selected attempt."""
        if self._selected is not None:
            self._open(self.correct_panel)
            self.correct_panel.open_for(self._selected, self.model.correctables())

    def open_history(self) -> None:
        """Open the changes of the selected attempt."""
        if self._selected is not None:
            self._open(self.history_panel)
            self.history_panel.open_for(self._selected, self.model.history())

    def open_facts(self) -> None:
        """Open all that the selected attempt keeps."""
        if self._selected is not None:
            self._open(self.facts_panel)
            self.facts_panel.open_for(self._selected, self.model.facts())

    def _strike_or_restore(self) -> None:
        if self._selected is None:
            return
        if self._selected.is_struck:
            self.model.restore()
            return
        self._open(self.strike_panel)
        self.strike_panel.open_for(self._selected)

    def close_panels(self) -> None:
        """Close what is open in place; the focus goes back to the table."""
        focused = QApplication.focusWidget()
        had_focus = focused is not None and any(panel.isAncestorOf(focused) for panel in self.panels)
        for panel in self.panels:
            panel.hide()
        self.detail.setVisible(self.model.state is not None and self.model.state.count > 0)
        if had_focus:
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _judge(self, entered: Entered) -> None:
        self.correct_panel.show_read(self.model.read(entered), self.workspace.decimal)

    def _correct(self, entered: Entered) -> None:
        if self.model.correct(entered):
            self.close_panels()

    def _strike(self, reason: str) -> None:
        if self.model.strike(reason):
            self.close_panels()

    # -- out of the program ------------------------------------------------------------------------

    def copy_table(self) -> None:
        """Copy the selected rows when there are several, otherwise all, in the order shown."""
        rows = sorted(index.row() for index in self.table.selectionModel().selectedRows())
        picked = [attempt for row in rows if (attempt := self.table_model.attempt(row)) is not None]
        attempts = picked if len(picked) > 1 else self.table_model.shown_attempts()
        QGuiApplication.clipboard().setText(self.model.table_text(attempts))

    def _ask_where(self) -> None:
        ask_where(
            self,
            "Export the attempts",
            document=self.workspace.document,
            name="attempts.csv",
            file_filter="CSV (*.csv)",
            done=self.model.export_csv,
        )

    def showEvent(self, event: QShowEvent) -> None:
        """The selected attempt is in hand again when its page is shown."""
        super().showEvent(event)
        self.model.push_in_hand()


def _counts(state: LedgerState) -> str:
    struck = sum(attempt.is_struck for attempt in state.campaign.attempts)
    aborted = sum(attempt.aborted for attempt in state.campaign.attempts)
    parts = [counted(state.count)]
    parts += [f"{aborted} aborted"] if aborted else []
    parts += [f"{struck} struck out"] if struck else []
    return ", ".join(parts)


def _facts(attempt: Attempt, state: LedgerState) -> str:
    pairs = conditions_text(state.campaign.factors, attempt.conditions, decimal=state.decimal)
    conditions = ", ".join(f"{name} {value}" for name, value in pairs) or "no condition known"
    overrides = "".join(f" {item.factor} typed by hand: {item.reason}." for item in attempt.overrides)
    return f"<b>Attempt {attempt.number}</b>: {_escaped(conditions)}.{_escaped(overrides)}"


def _escaped(text: str) -> str:
    # The narrow space of a unit must not end a line.
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(THIN_SPACE, "\u202f")
