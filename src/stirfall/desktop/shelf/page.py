"""The shelf page: what is ageing and what each jar would give when, what to start, and what waits as residue."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QSignalBlocker, Qt
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QMenu, QTableView, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, page_sheet, text_label
from stirfall.desktop.labelled import name_control
from stirfall.desktop.plan.next_line import NextLine
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.board import OPEN_FIRST
from stirfall.desktop.shelf.board_view import BoardView, columns_of_text
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.shelf.detail import AGEING, RESIDUES, TO_START, JarDetail, has_run_page
from stirfall.desktop.shelf.form_area import FormArea
from stirfall.desktop.shelf.page_text import about_view, basis_text, lots_text, views_text
from stirfall.desktop.shelf.state import ShelfState
from stirfall.desktop.shelf.table import PlannedTable, ResidueTable, RowsTable, ShelfTable
from stirfall.desktop.shelf.view_model import ShelfModel
from stirfall.desktop.theme import Theme, set_surface_role, wear_sheet
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_ROWS_MEASURED = 200


class ShelfPage(QWidget):
    """One of three lists with the chosen jar below it; a form takes their place."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelf_page")
        self.workspace = workspace
        self.model = ShelfModel(workspace, self)
        self.form_area = FormArea(self.model, self)
        self._view, self._lot = AGEING, ""
        self.table_model, self.planned_model, self.residue_model = (
            ShelfTable(self),
            PlannedTable(self),
            ResidueTable(self),
        )
        self.table, self.planned, self.residues = BoardView(self.table_model), QTableView(), QTableView()
        self.views = ChoiceRow("Show", "shelf_view")
        self.lots = ChoiceRow("Lot", "shelf_lot")
        self.detail = JarDetail()
        self._make_parts()
        self._set_up_tables()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_state(self.model.state)

    def _make_parts(self) -> None:
        self.empty = text_label()
        self.empty.setObjectName("shelf_empty")
        self.tonight = NextLine(self.workspace, "shelf")
        self.basis = text_label(role="muted")
        self.basis.setObjectName("shelf_basis")
        self.start = button("Start a jar", "shelf_start_jar")
        self.split = button("Split a lot", "shelf_split_lot")
        self.register = button("Register a lot", "shelf_register_lot")
        self.correct_lot = button("Correct a lot", "shelf_correct_lot")
        self.register_residue = button("Register residue", "shelf_register_residue")
        self.by_opening = button("Open first", "shelf_open_first")
        self.by_opening.setToolTip("Let the jars stand in the order in which to open them")
        self.columns = button("☰", "shelf_columns")
        name_control(self.columns, "Order and columns", "Choose the order of the jars and which columns are shown")
        self._columns_menu = QMenu(self.columns)
        self._columns_menu.setStyleSheet(f"QMenu::item {{ padding: {GAP + HALF_GAP}px {3 * GAP}px; }}")
        self.columns.setMenu(self._columns_menu)
        self.warning = text_label()
        self.warning.setObjectName("shelf_warning")
        self.warning_strip = QFrame()
        # Names under which others know these parts.
        self.jar_text, self.jar_warning = self.detail.text, self.detail.warning
        self.use, self.take_off = self.detail.use, self.detail.take_off
        forms = self.form_area
        self.forms, self.split_model = forms.forms, forms.split_model
        self.jar_panel, self.lot_panel, self.inspect_panel = forms.jar_panel, forms.lot_panel, forms.inspect_panel
        self.split_panel, self.residue_entry = forms.split_panel, forms.residue_entry
        self.hand_over_panel = forms.hand_over_panel
        self.open_jar_panel, self.open_lot_panel = forms.start_jar, forms.register_lot
        self.open_split_panel, self.close_panels = forms.split_lot, forms.close

    def _set_up_tables(self) -> None:
        for table, model, name, title in (
            (self.planned, self.planned_model, "planned_table", "Jars to start"),
            (self.residues, self.residue_model, "residue_table", "Jars of residue that wait for disposal"),
        ):
            set_up_rows(table, model, name=name, title=title, row_height=TARGET)
            table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
            table.horizontalHeader().setResizeContentsPrecision(_ROWS_MEASURED)
            table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
            table.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self._lists: dict[str, tuple[QTableView, RowsTable]] = {
            AGEING: (self.table, self.table_model),
            TO_START: (self.planned, self.planned_model),
            RESIDUES: (self.residues, self.residue_model),
        }

    def _lay_out(self) -> None:
        acts = QWidget()
        top = FlowLayout(acts)
        self._shelf_acts = (self.start, self.split, self.register, self.correct_lot)
        for act in (*self._shelf_acts, self.register_residue):
            top.addWidget(act)
        choices = QWidget()
        row = FlowLayout(choices)
        shown: tuple[QWidget, ...] = (self.views, self.lots, self.columns, self.by_opening)
        for part in shown:
            row.addWidget(part)
        self._choices, self._acts = choices, acts
        set_surface_role(self.warning_strip, "caution")
        strip = QVBoxLayout(self.warning_strip)
        strip.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        strip.addWidget(self.warning)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        above: tuple[QWidget, ...] = (acts, self.tonight, self.warning_strip, choices, self.empty, self.basis)
        for part in above:
            whole.addWidget(part)
        for table, _model in self._lists.values():
            whole.addWidget(table, 1)
        whole.addWidget(self.detail)
        whole.addWidget(self.form_area.area, 1)
        whole.addStretch(0)
        self._whole = whole

    def _connect(self) -> None:
        model, detail, forms = self.model, self.detail, self.form_area
        model.changed.connect(self.show_state)
        for name, (table, _model) in self._lists.items():
            table.selectionModel().selectionChanged.connect(lambda *_parts, which=name: self._on_selection(which))
        self.views.chosen.connect(self.show_view)
        self.lots.chosen.connect(model.show_lot)
        self.by_opening.clicked.connect(lambda: model.sort_by(OPEN_FIRST))
        self.table.order_wanted.connect(model.sort_by)
        self._columns_menu.aboutToShow.connect(lambda: self.table.fill_menu(self._columns_menu))
        self.table.choose_columns(columns_of_text(self.workspace.shelf_columns))
        self.table.columns_chosen.connect(self.workspace.keep_shelf_columns)
        self.table.activated.connect(lambda _index: model.use_on_bench())
        detail.use.clicked.connect(model.use_on_bench)
        detail.run.clicked.connect(model.request_run)
        detail.take_off.clicked.connect(model.take_off)
        detail.drop.clicked.connect(model.take_off)
        detail.start.clicked.connect(model.start_planned)
        detail.compare.clicked.connect(model.compare)
        detail.label.clicked.connect(self._print_chosen)
        detail.inspect.clicked.connect(forms.inspect)
        detail.correct.clicked.connect(forms.correct_jar)
        detail.hand_over.clicked.connect(forms.hand_over)
        self.start.clicked.connect(forms.start_jar)
        self.split.clicked.connect(forms.split_lot)
        self.register.clicked.connect(forms.register_lot)
        self.correct_lot.clicked.connect(forms.correct_lot)
        self.register_residue.clicked.connect(forms.register_residue)
        forms.split_model.labels_wanted.connect(self.print_labels)
        forms.opened.connect(lambda: self._show_parts(model.state))
        forms.closed.connect(self._after_form)
        model.forms.jar_started.connect(lambda _jar: self.show_view(AGEING))
        self.workspace.residue_requested.connect(self._register_residue)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self._on_document_opened)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        for table, model in self._lists.values():
            model.set_theme(theme)
            table.viewport().update()
        self.table.set_theme(theme)
        self.detail.apply_theme(theme)
        self.form_area.apply_theme(theme)
        wear_sheet(self, page_sheet, theme)

    # -- showing -----------------------------------------------------------------------------------

    @property
    def view(self) -> str:
        """The list that is shown: jars that are ageing, jars to start, or residue."""
        return self._view

    def show_view(self, view: str) -> None:
        """Show one of the three lists; nothing is chosen in the others."""
        if view != self._view:
            self._view = view
            self.model.select(None)
        self.detail.show_view(view)
        self.show_state(self.model.state)

    def show_state(self, state: ShelfState | None) -> None:
        """Show the state, with the list of the chosen jar; showing it twice changes nothing."""
        asked = _view_of(state)
        if state is not None and state.lot not in ("", self._lot):
            asked = AGEING  # a lot that was scanned is seen on the board
        self._lot = state.lot if state is not None else ""
        if asked not in (None, self._view):
            self._view = asked or AGEING
            self.detail.show_view(self._view)
        for table, model in self._lists.values():
            with QSignalBlocker(table.selectionModel()):
                model.show_state(state)
                self._select_rows(table, model, _chosen(state))
        can_change = state is not None and state.can_change
        has_lots = state is not None and bool(state.lots)
        for act in (self.start, self.split, self.correct_lot, self.register_residue):
            act.setEnabled(can_change and has_lots)
        self.register.setEnabled(can_change)
        self.warning_strip.setVisible(state is not None and state.warning is not None)
        self.empty.setText(about_view(state, self._view))
        self.basis.setText(basis_text(state) if self._view == AGEING else "")
        if state is None:
            self._show_parts(None)
            return
        if state.warning is not None:
            self.warning.setText("⚠ " + sentence(state.warning.code, state.warning.params))
        self.views.show_choices(views_text(state), self._view)
        self.lots.show_choices(lots_text(state), state.lot)
        self.table.show_order(state.order, is_reversed=state.is_reversed)
        self.detail.has_run = has_run_page(self.workspace)
        self.detail.show_state(state)
        self._show_parts(state)

    def _show_parts(self, state: ShelfState | None) -> None:
        """Show the list with its jar, or the form that takes their place."""
        is_open = self.form_area.is_open
        rows = {name: model.rowCount() for name, (_table, model) in self._lists.items()}
        has_rows = bool(rows[self._view])
        self.form_area.area.setVisible(is_open)
        self._choices.setVisible(state is not None and not is_open and not state.is_empty)
        for name, (table, _model) in self._lists.items():
            table.setVisible(name == self._view and has_rows and not is_open)
        self.columns.setVisible(self._view == AGEING)
        is_other = state is not None and state.order != OPEN_FIRST
        self.by_opening.setVisible(self._view == AGEING and is_other)
        for act in self._shelf_acts:
            act.setVisible(self._view != RESIDUES)
        self.register_residue.setVisible(self._view == RESIDUES)
        self.lots.setVisible(self._view == AGEING and state is not None and len(lots_text(state)) > 2)
        self.basis.setVisible(has_rows and not is_open and bool(self.basis.text()))
        self.empty.setVisible(bool(self.empty.text()) and not is_open)
        self.detail.setVisible(has_rows and not is_open)
        self._acts.setVisible(is_open or not (self.detail.is_tiny and self.detail.has_jar))
        self._whole.setStretch(self._whole.count() - 1, 0 if has_rows or is_open else 1)

    def _select_rows(self, table: QTableView, model: RowsTable, jar_ids: tuple[str, ...]) -> None:
        selection = table.selectionModel()
        rows = [row for jar_id in jar_ids if (row := model.row_of(jar_id)) is not None]
        if sorted(rows) == sorted(index.row() for index in selection.selectedRows()):
            return
        selection.clear()
        flags = QItemSelectionModel.SelectionFlag.Select | QItemSelectionModel.SelectionFlag.Rows
        for row in rows:
            selection.select(model.index(row, 0), flags)
            selection.setCurrentIndex(model.index(row, 0), QItemSelectionModel.SelectionFlag.NoUpdate)
        table.viewport().update()

    def _on_selection(self, view: str) -> None:
        table, model = self._lists[view]
        rows = sorted(index.row() for index in table.selectionModel().selectedRows())
        self.model.choose([jar_id for row in rows if (jar_id := model.jar_id(row)) is not None])

    def _register_residue(self, attempt: int) -> None:
        self.show_view(RESIDUES)
        self.form_area.register_residue(attempt)

    # -- forms and labels --------------------------------------------------------------------------

    def _after_form(self, accepted: str) -> None:
        view = {"jar": AGEING, "planned": TO_START, "residue": RESIDUES}.get(accepted, self._view)
        self.show_view(view)
        if accepted == "lot":
            self.start.setFocus(Qt.FocusReason.OtherFocusReason)
        elif accepted:
            self._lists[view][0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_document_opened(self) -> None:
        self._view = AGEING
        self.form_area.close()

    def _print_chosen(self) -> None:
        state = self.model.state
        row = (state.selected_row or state.selected_plan) if state else None
        if row is not None:
            self.print_labels((row.jar.id,))

    def print_labels(self, jar_ids: tuple[str, ...] = ()) -> None:
        """Open the dialog that prints labels of these jars."""
        from stirfall.desktop.printing import open_labels_dialog

        open_labels_dialog(self.workspace, jar_ids, self)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Say less about the chosen jar where the page is low, so that rows of the board stay in sight."""
        super().resizeEvent(event)
        if self.detail.fit(self.height() / self.fontMetrics().height()) and self.model.state:
            self.show_state(self.model.state)

    def showEvent(self, event: QShowEvent) -> None:
        """Ages are those of this moment."""
        super().showEvent(event)
        self.model.tick()
        self.model.push_in_hand()

    def hideEvent(self, event: QHideEvent) -> None:
        """A form left open is closed with its page."""
        super().hideEvent(event)
        self.form_area.close()


def _view_of(state: ShelfState | None) -> str | None:
    """Return the list that holds the chosen jar, None where none is chosen."""
    if state is None or state.selected is None:
        return None
    if state.selected_plan is not None:
        return TO_START
    return RESIDUES if state.selected in {row.jar.id for row in state.residues} else AGEING


def _chosen(state: ShelfState | None) -> tuple[str, ...]:
    if state is None:
        return ()
    return state.pair or ((state.selected,) if state.selected else ())
