"""The ledger page: every attempt ever recorded, none of them lost, each one correctable with a reason."""

from __future__ import annotations

from PySide6.QtCore import (
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QPoint,
    QSignalBlocker,
    QSize,
    Qt,
    QTimer,
)
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QHeaderView,
    QMenu,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.records import Attempt
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, heading, page_sheet, text_label
from stirfall.desktop.labelled import name_control
from stirfall.desktop.ledger.columns import Column, ColumnChoice
from stirfall.desktop.ledger.columns_menu import ColumnsMenu
from stirfall.desktop.ledger.corrections import Entered
from stirfall.desktop.ledger.count_label import CountLabel
from stirfall.desktop.ledger.detail import Detail
from stirfall.desktop.ledger.facts_panel import FactsPanel
from stirfall.desktop.ledger.filter_bar import FilterBar
from stirfall.desktop.ledger.filter_panel import FilterPanel
from stirfall.desktop.ledger.filters import FilterEntry, quick_filters, subject_of, words_of
from stirfall.desktop.ledger.panels import CorrectPanel, HistoryPanel, Panel, StrikePanel
from stirfall.desktop.ledger.picked import MOST_COUNTED, count_words, picked_words
from stirfall.desktop.ledger.table import LedgerTable, mark_size
from stirfall.desktop.ledger.view_model import LedgerModel, LedgerState
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import Theme, wear_sheet
from stirfall.desktop.workspace import Workspace

_ROW_HEIGHT = 36
_SAMPLED_ROWS = 40
_WIDEST = 15  # times the height of a line
_ROOMY_LINES = 24
_EMPTY = "No attempt is recorded yet. Fill the bench form and press Record; each attempt then stands here for good."
_NO_SESSION = "Open a session or make a new one; its attempts appear here."
_NONE_FITS = "No attempt fits. Take a filter away, or empty the search line."


class LedgerPage(QWidget):
    """Search, filters and the table above, what can be done with the attempt in hand below."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("ledger_page")
        self.workspace = workspace
        self.model = LedgerModel(workspace, self)
        self.table_model = LedgerTable(workspace.theme, self)
        self.table_model.choose_columns(ColumnChoice.of_text(workspace.ledger_columns))
        self.table = QTableView()
        self.empty = text_label(_EMPTY)
        self.count = CountLabel("ledger_count")
        self.copy = button("Copy", "ledger_copy")
        name_control(
            self.copy, "Copy as table", "The selected rows where there are several, else all that are shown"
        )
        self.export = button("Export CSV…", "ledger_export")
        self.export_all = button("All…", "ledger_export_all")
        name_control(self.export_all, "Export all", "Every attempt as CSV, whatever the filters say")
        self.columns = button("Columns", "ledger_columns")
        self.columns_menu = ColumnsMenu(self.columns)
        self.columns.setMenu(self.columns_menu)
        self.bar = FilterBar()
        self.detail = Detail()
        self.facts, self.repeat, self.more = self.detail.facts, self.detail.repeat, self.detail.more
        self.correct, self.strike, self.history = self.detail.correct, self.detail.strike, self.detail.history
        self.correct_panel, self.strike_panel, self.history_panel = CorrectPanel(), StrikePanel(), HistoryPanel()
        self.facts_panel, self.filter_panel = FactsPanel(workspace), FilterPanel()
        self.panels: tuple[Panel, ...] = (
            self.correct_panel,
            self.strike_panel,
            self.history_panel,
            self.facts_panel,
            self.filter_panel,
        )
        self._picked_ids: frozenset[str] = frozenset()
        self._counted: tuple[object, str] = (None, "")
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
        table.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        header = table.horizontalHeader()
        # Its own, empty one: else the header asks each of 100,000 selected rows whether its column is selected too.
        header.setSelectionModel(QItemSelectionModel(self.table_model, header))
        header.setResizeContentsPrecision(_SAMPLED_ROWS)
        header.setSectionsClickable(True)
        header.setSectionsMovable(True)
        header.setSortIndicatorClearable(True)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        table.setSortingEnabled(True)

    def _lay_out(self) -> None:
        head = QWidget()
        top = FlowLayout(head)
        for part in (heading("Attempts"), self.count, self.copy, self.export, self.export_all):
            top.addWidget(part)
        self.bar.row.addWidget(self.columns)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(HALF_GAP)
        whole.addWidget(head)
        whole.addWidget(self.bar)
        whole.addWidget(self.empty)
        whole.addWidget(self.table, 1)
        whole.addWidget(self.detail)
        for panel in self.panels:
            whole.addWidget(panel)
            panel.hide()
        whole.addStretch(0)
        self._whole = whole

    def _connect(self) -> None:
        model, detail = self.model, self.detail
        model.changed.connect(self.show_state)
        model.rows_wanted.connect(self.table_model.arrange)
        self.table_model.arranged.connect(self._on_arranged)
        self.table_model.columns_changed.connect(self._fit_columns)
        self.table.selectionModel().currentRowChanged.connect(self._on_current)
        self.table.selectionModel().selectionChanged.connect(self._on_selection)
        self.table.horizontalHeader().sectionMoved.connect(self._on_moved)
        self.table.customContextMenuRequested.connect(self._offer_filters)
        self.table.activated.connect(lambda _index: model.repeat())
        detail.repeat.clicked.connect(model.repeat)
        detail.same_but.connect(model.repeat_but)
        detail.correct.clicked.connect(self.open_correct)
        detail.strike.clicked.connect(self._strike_or_restore)
        detail.history.clicked.connect(self.open_history)
        detail.more.clicked.connect(self.open_facts)
        detail.why.clicked.connect(model.ask_why)
        self._connect_top()
        self.correct_panel.edited.connect(self._judge)
        self.correct_panel.accepted.connect(self._correct)
        self.strike_panel.accepted.connect(self._strike)
        for panel in self.panels:
            panel.left.connect(self.close_panels)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self.close_panels)
        self._add_key(QKeySequence.StandardKey.Copy, self.table, self.copy_table)
        self._add_key(QKeySequence.StandardKey.Find, self, self.go_to_search)

    def _connect_top(self) -> None:
        bar, model, panel = self.bar, self.model, self.filter_panel
        self.copy.clicked.connect(self.copy_table)
        self.export.clicked.connect(lambda: self._ask_where(only_shown=True))
        self.export_all.clicked.connect(lambda: self._ask_where(only_shown=False))
        self.columns_menu.aboutToShow.connect(self._fill_columns)
        self.columns_menu.chosen.connect(self._choose_columns)
        bar.searched.connect(model.search)
        bar.dropped.connect(model.drop_filter)
        bar.all_dropped.connect(model.drop_filters)
        bar.add_wanted.connect(self.open_filter)
        panel.edited.connect(lambda entry: panel.show_read(model.read_filter(entry), self.workspace.decimal))
        panel.accepted.connect(self._add_filter)

    def _add_key(self, keys: QKeySequence.StandardKey, owner: QWidget, act: object) -> None:
        shortcut = QShortcut(QKeySequence(keys), owner)
        is_table = owner is self.table
        contexts = Qt.ShortcutContext
        shortcut.setContext(contexts.WidgetShortcut if is_table else contexts.WidgetWithChildrenShortcut)
        shortcut.activated.connect(act)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme, and the units and decimal sign that go with it."""
        wear_sheet(self, page_sheet, theme)
        self.table_model.set_look(theme, self.workspace.decimal)
        size = mark_size()
        self.table.setIconSize(QSize(size, size))
        self.table.verticalHeader().setDefaultSectionSize(max(_ROW_HEIGHT, round(1.5 * size)))

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: LedgerState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        campaign, photographed = (state.campaign, state.photographed) if state else (None, frozenset())
        with QSignalBlocker(self.table.selectionModel()):
            is_new = self.table_model.show_campaign(campaign, photographed)
            self._select(state.selected if state else None)
        if is_new:
            self._fit_columns()
        has_any = state is not None and state.count > 0
        self.bar.setVisible(has_any and self._has_room_for_bar())
        self.bar.show_filters(state.chips if state else (), state.needle if state else "")
        self.copy.setVisible(has_any)
        self.export.setVisible(has_any)
        self.export.setEnabled(has_any)
        is_filtered = state is not None and state.is_filtered
        self.export.setText("Export shown…" if is_filtered else "Export CSV…")
        name_control(self.export, self.export.text(), "As CSV with everything that an attempt keeps")
        self.export_all.setVisible(has_any and is_filtered)
        self.detail.show_state(state)
        self._show_rows(state)

    def _has_room_for_bar(self) -> bool:
        """Whether search and filters can stay while a panel is open below the table."""
        lines = self.height() / max(self.fontMetrics().lineSpacing(), 1)
        return lines >= _ROOMY_LINES or all(panel.isHidden() for panel in self.panels)

    def _show_rows(self, state: LedgerState | None) -> None:
        """Show the table, or what an empty one teaches, and the count."""
        rows = self.table_model.rowCount()
        has_rows = rows > 0 or self.table_model.is_busy
        self.table.setVisible(has_rows)
        self.empty.setVisible(not has_rows)
        self.detail.setVisible(rows > 0 and all(panel.isHidden() for panel in self.panels))
        is_none_fitting = state is not None and state.count > 0
        self.empty.setText(_NONE_FITS if is_none_fitting else _EMPTY if state else _NO_SESSION)
        self._whole.setStretch(self._whole.count() - 1, 0 if has_rows else 1)
        self.count.setText(self._count_text(state, rows) if state else "")

    def _count_text(self, state: LedgerState, rows: int) -> str:
        if state.is_filtered:
            said = count_words(state.campaign, rows, is_filtered=True)
        else:
            if self._counted[0] is not state.campaign.attempts:
                words = count_words(state.campaign, rows, is_filtered=False)
                self._counted = (state.campaign.attempts, words)
            said = self._counted[1]
        if self.table_model.is_busy:
            return f"{said}, still looking"
        picked = picked_words(self._picked_attempts(), state.picked)
        return f"{said}; {picked}" if picked else said

    def _on_arranged(self) -> None:
        state = self.model.state
        self._restore_selection()
        self._show_rows(state)

    def _fit_columns(self) -> None:
        """Give each column the width of its first rows, and the header the order of the model."""
        header = self.table.horizontalHeader()
        with QSignalBlocker(header):
            for logical in range(header.count()):
                header.moveSection(header.visualIndex(logical), logical)
        self.table.resizeColumnsToContents()
        widest = _WIDEST * mark_size()
        for column in range(header.count()):
            if header.sectionSize(column) > widest:
                header.resizeSection(column, widest)

    # -- the selection -----------------------------------------------------------------------------

    def _select(self, attempt: Attempt | None) -> None:
        selection = self.table.selectionModel()
        current = self.table_model.attempt(selection.currentIndex().row())
        if attempt is None:
            selection.clear()
        elif current is None or current.id != attempt.id:
            self._go_to(attempt.id, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self.table.viewport().update()

    def _go_to(self, attempt_id: str, flag: QItemSelectionModel.SelectionFlag) -> None:
        row = self.table_model.row_of(attempt_id)
        if row is not None:
            index = self.table_model.index(row, 0)
            self.table.selectionModel().setCurrentIndex(index, flag | QItemSelectionModel.SelectionFlag.Rows)
            self.table.scrollTo(index)

    def _restore_selection(self) -> None:
        """Select again what was selected before the rows were put into another order."""
        selection, state = self.table.selectionModel(), self.model.state
        with QSignalBlocker(selection):
            if len(self._picked_ids) > 1:
                last, chosen = self.table_model.columnCount() - 1, QItemSelection()
                for row in self.table_model.rows_of(self._picked_ids):
                    chosen.select(self.table_model.index(row, 0), self.table_model.index(row, last))
                selection.select(chosen, QItemSelectionModel.SelectionFlag.ClearAndSelect)
            if state is not None and state.selected is not None:
                several = len(self._picked_ids) > 1
                flags = QItemSelectionModel.SelectionFlag
                self._go_to(state.selected.id, flags.NoUpdate if several else flags.ClearAndSelect)
        self.table.viewport().update()

    def _on_current(self, current: QModelIndex, _previous: QModelIndex) -> None:
        attempt = self.table_model.attempt(current.row())
        self.close_panels()
        self.model.select(attempt.id if attempt else None)

    def _on_selection(self) -> None:
        count = sum(bottom - top + 1 for top, bottom in self._picked_spans())
        attempts = self._picked_attempts()
        self._picked_ids = frozenset(attempt.id for attempt in attempts)
        self.model.pick(count)
        self._show_rows(self.model.state)
        self.detail.show_state(self.model.state)

    def _picked_spans(self) -> list[tuple[int, int]]:
        chosen = self.table.selectionModel().selection()
        return [(chosen.at(at).top(), chosen.at(at).bottom()) for at in range(chosen.count())]

    def _picked_attempts(self) -> list[Attempt]:
        """Return the selected attempts from the top down; none where there are too many to look at at once."""
        spans = self._picked_spans()
        if sum(bottom - top + 1 for top, bottom in spans) > MOST_COUNTED:
            return []
        rows = sorted({row for top, bottom in spans for row in range(top, bottom + 1)})
        return [attempt for row in rows if (attempt := self.table_model.attempt(row)) is not None]

    # -- columns and filters -----------------------------------------------------------------------

    def _column_at_cursor(self) -> Column | None:
        at = self.table.currentIndex().column()
        columns = self.table_model.columns
        return columns[at] if 0 <= at < len(columns) else None

    def _fill_columns(self) -> None:
        self.columns_menu.offer(self.table_model.all_columns, self.table_model.choice, self._column_at_cursor())

    def _choose_columns(self, choice: ColumnChoice) -> None:
        self.table_model.choose_columns(choice)
        self.workspace.keep_ledger_columns(choice.to_text() if choice != ColumnChoice() else "")

    def _on_moved(self) -> None:
        header = self.table.horizontalHeader()
        columns = self.table_model.columns
        keys = [columns[header.logicalIndex(visual)].key for visual in range(len(columns))]
        QTimer.singleShot(0, self, lambda: self._choose_columns(self.table_model.choice.with_order(keys)))

    def go_to_search(self) -> None:
        """Go to the search line."""
        if self.bar.isVisible():
            self.bar.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.bar.search.selectAll()

    def open_filter(self) -> None:
        """Open the panel that builds a filter."""
        if self.model.state is not None:
            self._open(self.filter_panel)
            self.filter_panel.open_for(self.model.state.campaign, self.workspace.decimal)

    def _add_filter(self, entry: FilterEntry) -> None:
        read = self.model.read_filter(entry)
        if read.condition is not None:
            self.model.add_filter(read.condition)

    def _offer_filters(self, place: QPoint) -> None:
        """Offer the filters that a cell gives, where the menu was asked for."""
        index, state = self.table.indexAt(place), self.model.state
        attempt = self.table_model.attempt(index.row())
        if state is None or attempt is None:
            return
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for condition in quick_filters(self.table_model.columns[index.column()].key, attempt):
            subject = subject_of(condition.what, state.campaign)
            if subject is not None:
                words = words_of(condition, subject, self.workspace.decimal).replace("&", "&&")
                action = menu.addAction(f"Only where {words}" if subject.key != "struck" else words.capitalize())
                action.triggered.connect(lambda _checked=False, one=condition: self.model.add_filter(one))
        menu.addAction("Build a filter…", self.open_filter)
        menu.popup(self.table.viewport().mapToGlobal(place))

    # -- panels in place ---------------------------------------------------------------------------

    @property
    def _selected(self) -> Attempt | None:
        return self.model.state.selected if self.model.state else None

    def _open(self, panel: Panel) -> None:
        for other in self.panels:
            other.setVisible(other is panel)
        self.detail.hide()
        self.bar.setVisible(self._has_room_for_bar())
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
        self.detail.setVisible(self.model.state is not None and self.table_model.rowCount() > 0)
        self.bar.setVisible(self.model.state is not None and self.model.state.count > 0)
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
        """Copy the selected rows when there are several, otherwise all that are shown, in the order shown."""
        picked = self._picked_attempts()
        attempts = picked if len(picked) > 1 else self.table_model.shown_attempts()
        self.model.copy_table(attempts, self.table_model.columns, QGuiApplication.clipboard().setText)

    def _ask_where(self, *, only_shown: bool) -> None:
        shown = self.table_model.shown_attempts() if only_shown else None
        is_part = only_shown and self.model.state is not None and self.model.state.is_filtered
        ask_where(
            self,
            "Export the attempts that are shown" if is_part else "Export the attempts",
            document=self.workspace.document,
            name="attempts.csv",
            file_filter="CSV (*.csv)",
            done=lambda path: self.model.export_csv(path, shown if is_part else None),
        )

    def showEvent(self, event: QShowEvent) -> None:
        """The selected attempt is in hand again when its page is shown."""
        super().showEvent(event)
        self.model.push_in_hand()
