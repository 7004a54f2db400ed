"""The shelf page: what is ageing, what each jar would give now, and the ways in and out of the shelf."""

from __future__ import annotations

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QSignalBlocker, Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHBoxLayout, QHeaderView, QTableView, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading, page_sheet, text_label
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.forms import JarPanel, LotPanel
from stirfall.desktop.shelf.state import JarForm, LotForm, ShelfState
from stirfall.desktop.shelf.table import ShelfTable, chance_text
from stirfall.desktop.shelf.view_model import ShelfModel
from stirfall.desktop.theme import Theme, set_primary, set_surface_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, level_percent

_NO_JARS = (
    "No jar is ageing. Start a jar, and its age runs by itself from then on; the chance of a clean separation "
    "stands beside it as soon as attempts are recorded."
)
_NO_LOTS = "First register the lot of crude that you have; then start jars from it. Their ages run by themselves."


class ShelfPage(QWidget):
    """A table of jars above, the selected jar or a form in place below."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelf_page")
        self.workspace = workspace
        self.model = ShelfModel(workspace, self)
        self.table_model = ShelfTable(self)
        self.table = QTableView()
        self.empty = text_label()
        self.empty.setObjectName("shelf_empty")
        self.basis = text_label(role="muted")
        self.basis.setObjectName("shelf_basis")
        self.start = button("Start a jar", "shelf_start_jar")
        self.register = button("Register a lot", "shelf_register_lot")
        self.warning = text_label()
        self.warning.setObjectName("shelf_warning")
        self.warning_strip = QFrame()
        self.detail = QFrame()
        self.jar_text = text_label()
        self.jar_text.setObjectName("shelf_jar_text")
        self.jar_warning = text_label(role="caution")
        self.jar_warning.setObjectName("shelf_jar_warning")
        self.use = button("Use on the bench", "shelf_use")
        self.take_off = button("Take off the shelf", "shelf_take_off")
        self.jar_panel, self.lot_panel = JarPanel(), LotPanel()
        self._set_up_table()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_state(self.model.state)

    def _set_up_table(self) -> None:
        set_up_rows(
            self.table, self.table_model, name="shelf_table", title="Jars that are ageing now", row_height=TARGET
        )
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(GAP)
        top.addWidget(heading("Shelf"))
        top.addWidget(self.basis, 1)
        top.addWidget(self.register)
        top.addWidget(self.start)
        set_surface_role(self.warning_strip, "caution")
        strip = QVBoxLayout(self.warning_strip)
        strip.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        strip.addWidget(self.warning)
        set_surface_role(self.detail, "raised")
        set_primary(self.use)
        below = QVBoxLayout(self.detail)
        below.setContentsMargins(GAP, GAP, GAP, GAP)
        below.setSpacing(HALF_GAP)
        below.addWidget(self.jar_text)
        below.addWidget(self.jar_warning)
        acts = QHBoxLayout()
        acts.setSpacing(GAP)
        acts.addWidget(self.take_off)
        acts.addStretch(1)
        acts.addWidget(self.use)
        below.addLayout(acts)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        whole.addLayout(top)
        whole.addWidget(self.warning_strip)
        whole.addWidget(self.empty)
        whole.addWidget(self.table, 1)
        for panel in (self.detail, self.jar_panel, self.lot_panel):
            whole.addWidget(panel)
        whole.addStretch(0)
        self._whole = whole
        self.jar_panel.hide()
        self.lot_panel.hide()

    def _connect(self) -> None:
        model = self.model
        model.changed.connect(self.show_state)
        self.table.selectionModel().selectionChanged.connect(self._on_selection)
        self.table.activated.connect(lambda _index: model.use_on_bench())
        self.use.clicked.connect(model.use_on_bench)
        self.take_off.clicked.connect(model.take_off)
        self.start.clicked.connect(self.open_jar_panel)
        self.register.clicked.connect(self.open_lot_panel)
        self.jar_panel.edited.connect(self._judge_jar)
        self.lot_panel.edited.connect(self._judge_lot)
        self.jar_panel.accepted.connect(self._accept_jar)
        self.lot_panel.accepted.connect(self._accept_lot)
        self.jar_panel.left.connect(self.close_panels)
        self.lot_panel.left.connect(self.close_panels)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self.close_panels)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.setStyleSheet(page_sheet(theme))

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: ShelfState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        has_jars = state is not None and bool(state.rows)
        self.table.setVisible(has_jars)
        self.empty.setVisible(not has_jars)
        self._whole.setStretch(self._whole.count() - 1, 0 if has_jars else 1)
        with QSignalBlocker(self.table.selectionModel()):
            self.table_model.show_state(state)
            self._select_row(state.selected if state else None)
        self.start.setEnabled(state is not None and state.can_change and bool(state.lots))
        self.register.setEnabled(state is not None and state.can_change)
        self.warning_strip.setVisible(state is not None and state.warning is not None)
        if state is None:
            self.empty.setText("Open a session or make a new one; its jars appear here.")
            self.basis.clear()
            self.detail.hide()
            return
        if state.warning is not None:
            self.warning.setText("⚠ " + sentence(state.warning.code, state.warning.params))
        self.empty.setText(_NO_JARS if state.lots else _NO_LOTS)
        self.basis.setText(_basis(state))
        self._show_detail(state)

    def _show_detail(self, state: ShelfState) -> None:
        row = state.selected_row
        is_free = self.jar_panel.isHidden() and self.lot_panel.isHidden()
        self.detail.setVisible(bool(state.rows) and is_free)
        self.use.setEnabled(row is not None)
        self.take_off.setEnabled(row is not None and state.can_change)
        self.jar_warning.setVisible(row is not None and row.warning is not None)
        if row is None:
            self.jar_text.setText("Choose a jar: the odds at the right then answer for its ages.")
            return
        facts = f"Jar {row.jar.id}, lot {row.jar.lot_id}, {row.age} old, kept under {row.kept}."
        chance = f" Clean separation now: {chance_text(row.estimate)}." if row.estimate else ""
        self.jar_text.setText(facts + chance)
        if row.warning is not None:
            self.jar_warning.setText("⚠ " + sentence(row.warning.code, row.warning.params, decimal=state.decimal))

    def _select_row(self, jar_id: str | None) -> None:
        row = self.table_model.row_of(jar_id)
        selection = self.table.selectionModel()
        if row is None:
            selection.clear()
            return
        flags = QItemSelectionModel.SelectionFlag.ClearAndSelect | QItemSelectionModel.SelectionFlag.Rows
        index = self.table_model.index(row, 0)
        selection.select(index, flags)
        selection.setCurrentIndex(index, QItemSelectionModel.SelectionFlag.NoUpdate)
        self.table.viewport().update()

    def _on_selection(self, selected: QItemSelection, _gone: QItemSelection) -> None:
        rows = [index.row() for index in selected.indexes()]
        self.model.select(self.table_model.jar_id(rows[0]) if rows else None)

    # -- forms in place ----------------------------------------------------------------------------

    def open_jar_panel(self) -> None:
        """Open the form that starts a jar."""
        state = self.model.state
        if state is None or not state.lots:
            return
        self.lot_panel.hide()
        self.detail.hide()
        self.jar_panel.show()
        self.jar_panel.open_with(self.model.new_jar(), state.lots, state.now)

    def open_lot_panel(self) -> None:
        """Open the form that registers a lot."""
        state = self.model.state
        if state is None:
            return
        self.jar_panel.hide()
        self.detail.hide()
        self.lot_panel.show()
        self.lot_panel.open_with(self.model.new_lot(), state.now)

    def close_panels(self) -> None:
        """Close the forms; what stood there before comes back."""
        self.jar_panel.hide()
        self.lot_panel.hide()
        if self.model.state is not None:
            self.show_state(self.model.state)

    def _judge_jar(self, form: JarForm) -> None:
        self.jar_panel.show_read(self.model.read_jar(form), self.workspace.decimal)

    def _judge_lot(self, form: LotForm) -> None:
        self.lot_panel.show_read(self.model.read_lot(form), self.workspace.decimal)

    def _accept_jar(self) -> None:
        if self.model.start_jar(self.jar_panel.form):
            self.close_panels()
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _accept_lot(self) -> None:
        if self.model.register_lot(self.lot_panel.form):
            self.close_panels()
            self.start.setFocus(Qt.FocusReason.OtherFocusReason)

    def showEvent(self, event: QShowEvent) -> None:
        """Ages are those of this moment."""
        super().showEvent(event)
        self.model.tick()
        self.model.push_in_hand()

    def hideEvent(self, event: QHideEvent) -> None:
        """A form left open is closed with its page."""
        super().hideEvent(event)
        self.jar_panel.hide()
        self.lot_panel.hide()


def _basis(state: ShelfState) -> str:
    if not state.rows:
        return ""
    rest_on = state.chances_rest_on
    if rest_on is None:
        return "The chances appear when the attempts are worked out."
    stale = ", being worked out anew" if state.is_stale else ""
    return (
        f"Usual settings, each jar's own age and lot; {level_percent(rest_on.level)} intervals from "
        f"{basis(rest_on)}{stale}."
    )
