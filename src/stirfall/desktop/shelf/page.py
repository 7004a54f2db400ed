"""The shelf page: what is ageing, what each jar would give now, and the ways in and out of the shelf."""

from __future__ import annotations

from PySide6.QtCore import QItemSelectionModel, QSignalBlocker, Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHBoxLayout, QHeaderView, QTableView, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.checklist import quiet_scroll
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, heading, page_sheet, text_label
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.detail import JarDetail
from stirfall.desktop.shelf.inspect_panel import InspectPanel
from stirfall.desktop.shelf.jar_form import JarForm
from stirfall.desktop.shelf.jar_panel import JarPanel
from stirfall.desktop.shelf.lot_form import LotForm
from stirfall.desktop.shelf.lot_panel import LotPanel
from stirfall.desktop.shelf.split_form import SplitForm
from stirfall.desktop.shelf.split_model import SplitModel
from stirfall.desktop.shelf.split_panel import SplitPanel
from stirfall.desktop.shelf.state import ShelfState
from stirfall.desktop.shelf.table import ResidueTable, ShelfTable
from stirfall.desktop.shelf.view_model import ShelfModel
from stirfall.desktop.theme import Theme, set_surface_role
from stirfall.desktop.workspace import Workspace
from stirfall.planning.limits_exposure import is_alarming
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, level_percent

_NO_JARS = (
    "No jar is ageing. Start a jar, and its age runs by itself from then on; the chance of a clean separation "
    "stands beside it as soon as attempts are recorded."
)
_ROWS_MEASURED, _RESIDUE_ROWS = 200, 3
_NO_LOTS = "First register the lot of crude that you have; then start jars from it. Their ages run by themselves."


class ShelfPage(QWidget):
    """A table of jars above, residue below it, then the selected jar; a form takes their place."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("shelf_page")
        self.workspace = workspace
        self.model = ShelfModel(workspace, self)
        self.forms = self.model.forms
        self.split_model = SplitModel(workspace, self)
        self.table_model, self.residue_model = ShelfTable(self), ResidueTable(self)
        self.table, self.residues = QTableView(), QTableView()
        self.empty = text_label()
        self.empty.setObjectName("shelf_empty")
        self.basis = text_label(role="muted")
        self.basis.setObjectName("shelf_basis")
        self.start = button("Start a jar", "shelf_start_jar")
        self.split = button("Split a lot", "shelf_split_lot")
        self.register = button("Register a lot", "shelf_register_lot")
        self.correct_lot = button("Correct a lot", "shelf_correct_lot")
        self.warning = text_label()
        self.warning.setObjectName("shelf_warning")
        self.warning_strip = QFrame()
        self.residue_head = button("Residue", "shelf_residue")
        self.residue_head.setCheckable(True)
        self.residue_head.setProperty("kind", "fold")
        self.detail = JarDetail()
        self.jar_text, self.jar_warning = self.detail.text, self.detail.warning
        self.use, self.take_off = self.detail.use, self.detail.take_off
        self.jar_panel, self.lot_panel, self.inspect_panel = JarPanel(), LotPanel(), InspectPanel()
        self.split_panel = SplitPanel()
        self._panels = (self.jar_panel, self.lot_panel, self.inspect_panel, self.split_panel)
        self._set_up_tables()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_state(self.model.state)

    def _set_up_tables(self) -> None:
        for table, model, name, title in (
            (self.table, self.table_model, "shelf_table", "Jars that are ageing now"),
            (self.residues, self.residue_model, "residue_table", "Jars of residue that wait for disposal"),
        ):
            set_up_rows(table, model, name=name, title=title, row_height=TARGET)
            table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
            # Looking at every row for its width would take long on a large shelf.
            table.horizontalHeader().setResizeContentsPrecision(_ROWS_MEASURED)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.residues.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.residues.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(GAP)
        top.addWidget(heading("Shelf"))
        top.addStretch(1)
        for act in (self.correct_lot, self.register, self.split, self.start):
            top.addWidget(act)
        set_surface_role(self.warning_strip, "caution")
        strip = QVBoxLayout(self.warning_strip)
        strip.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        strip.addWidget(self.warning)
        holder = QWidget()
        inside = QVBoxLayout(holder)
        inside.setContentsMargins(0, 0, 0, 0)
        for panel in self._panels:
            inside.addWidget(panel)
            panel.hide()
        inside.addStretch(1)
        self.form_area = quiet_scroll(holder, "shelf_forms")
        self.form_area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.form_area.hide()
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, 0)
        whole.setSpacing(GAP)
        whole.addLayout(top)
        whole.addWidget(self.warning_strip)
        whole.addWidget(self.empty)
        whole.addWidget(self.basis)
        whole.addWidget(self.table, 1)
        whole.addWidget(self.residue_head)
        whole.addWidget(self.residues)
        whole.addWidget(self.detail)
        whole.addWidget(self.form_area, 1)
        whole.addStretch(0)
        self._whole = whole

    def _connect(self) -> None:
        model, detail = self.model, self.detail
        model.changed.connect(self.show_state)
        for table in (self.table, self.residues):
            table.selectionModel().selectionChanged.connect(lambda *_parts, which=table: self._on_selection(which))
        self.residue_head.toggled.connect(self._fold_residue)
        self.table.activated.connect(lambda _index: model.use_on_bench())
        detail.use.clicked.connect(model.use_on_bench)
        detail.take_off.clicked.connect(model.take_off)
        detail.compare.clicked.connect(model.compare)
        detail.inspect.clicked.connect(self.open_inspect_panel)
        detail.correct.clicked.connect(self.open_jar_correction)
        self.start.clicked.connect(self.open_jar_panel)
        self.split.clicked.connect(self.open_split_panel)
        self.split_panel.edited.connect(self._judge_split)
        self.split_panel.accepted.connect(self._accept_split)
        self.split_model.films_foretold.connect(self.split_panel.show_films)
        self.split_model.labels_wanted.connect(self.print_labels)
        self.register.clicked.connect(self.open_lot_panel)
        self.correct_lot.clicked.connect(self.open_lot_correction)
        self.jar_panel.edited.connect(self._judge_jar)
        self.lot_panel.edited.connect(self._judge_lot)
        self.lot_panel.lot_wanted.connect(self.open_lot_correction)
        self.inspect_panel.edited.connect(self._judge_look)
        self.jar_panel.accepted.connect(self._accept_jar)
        self.lot_panel.accepted.connect(self._accept_lot)
        self.inspect_panel.accepted.connect(self._accept_look)
        for panel in self._panels:
            panel.left.connect(self.close_panels)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self.close_panels)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.table_model.set_theme(theme)
        self.residue_model.set_theme(theme)
        self.split_panel.apply_theme(theme)
        self.setStyleSheet(page_sheet(theme))

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: ShelfState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        has_jars = state is not None and bool(state.rows)
        for table, model in ((self.table, self.table_model), (self.residues, self.residue_model)):
            with QSignalBlocker(table.selectionModel()):
                model.show_state(state)
                self._select_rows(table, _chosen(state))
        can_change = state is not None and state.can_change
        self.start.setEnabled(state is not None and can_change and bool(state.lots))
        self.split.setEnabled(self.start.isEnabled())
        self.register.setEnabled(can_change)
        self.correct_lot.setEnabled(state is not None and can_change and bool(state.lots))
        self.warning_strip.setVisible(state is not None and state.warning is not None)
        self._show_parts(state)
        if state is None:
            self.empty.setText("Open a session or make a new one; its jars appear here.")
            self.basis.clear()
            return
        if state.warning is not None:
            self.warning.setText("⚠ " + sentence(state.warning.code, state.warning.params))
        self.empty.setText(_NO_JARS if state.lots else _NO_LOTS)
        self.basis.setText(_basis(state) if has_jars else "")
        self._name_residue(state)
        self.detail.show_state(state)

    def _show_parts(self, state: ShelfState | None) -> None:
        """Show the tables and the chosen jar, or the form that takes their place."""
        is_open = any(not panel.isHidden() for panel in self._panels)
        has_jars = state is not None and bool(state.rows)
        has_residue = state is not None and bool(state.residues)
        self.form_area.setVisible(is_open)
        self.table.setVisible(has_jars and not is_open)
        self.basis.setVisible(has_jars and not is_open)
        self.empty.setVisible(not has_jars)
        self.residue_head.setVisible(has_residue and not is_open)
        self.residues.setVisible(has_residue and not is_open and self.residue_head.isChecked())
        self.detail.setVisible((has_jars or has_residue) and not is_open)
        self._whole.setStretch(self._whole.count() - 1, 0 if has_jars or is_open else 1)
        if state is not None and has_residue:
            rows = min(len(state.residues), _RESIDUE_ROWS)
            header = self.residues.horizontalHeader().sizeHint().height()
            self.residues.setFixedHeight(rows * TARGET + header + 2 * self.residues.frameWidth())

    def _name_residue(self, state: ShelfState) -> None:
        text = _residue_text(state)
        self.residue_head.setText(f"{'▾' if self.residue_head.isChecked() else '▸'} {text}")
        self.residue_head.setAccessibleName(text)
        self.residue_head.setAccessibleDescription("open" if self.residue_head.isChecked() else "folded")
        self.residue_head.setToolTip(
            " ".join(sentence(found.code, found.params, decimal=state.decimal) for found in state.reminder)
        )

    def _fold_residue(self) -> None:
        if self.model.state is not None:
            self._show_parts(self.model.state)
            self._name_residue(self.model.state)

    def _select_rows(self, table: QTableView, jar_ids: tuple[str, ...]) -> None:
        model, selection = table.model(), table.selectionModel()
        assert isinstance(model, ShelfTable)
        rows = [row for jar_id in jar_ids if (row := model.row_of(jar_id)) is not None]
        if sorted(rows) == sorted(index.row() for index in selection.selectedRows()):
            return
        selection.clear()
        flags = QItemSelectionModel.SelectionFlag.Select | QItemSelectionModel.SelectionFlag.Rows
        for row in rows:
            selection.select(model.index(row, 0), flags)
            selection.setCurrentIndex(model.index(row, 0), QItemSelectionModel.SelectionFlag.NoUpdate)
        table.viewport().update()

    def _on_selection(self, table: QTableView) -> None:
        model = table.model()
        assert isinstance(model, ShelfTable)
        rows = sorted(index.row() for index in table.selectionModel().selectedRows())
        chosen = [jar_id for row in rows if (jar_id := model.jar_id(row)) is not None]
        other = self.residues if table is self.table else self.table
        if chosen and other.selectionModel().hasSelection():
            with QSignalBlocker(other.selectionModel()):
                other.selectionModel().clear()
            other.viewport().update()
        self.model.choose(chosen)

    # -- forms in place ----------------------------------------------------------------------------

    def _open(self, panel: QWidget) -> None:
        for each in self._panels:
            each.setVisible(each is panel)
        self._show_parts(self.model.state)
        # Nothing scrolls sideways, so the page is at least as wide as the form; larger text needs more.
        bar = self.form_area.verticalScrollBar()
        self.form_area.setMinimumWidth(panel.minimumSizeHint().width() + bar.sizeHint().width())
        bar.setValue(0)

    def open_jar_panel(self) -> None:
        """Open the form that starts a jar."""
        state = self.model.state
        if state is None or not state.lots:
            return
        self._open(self.jar_panel)
        self.jar_panel.open_with(self.forms.new_jar(), state.lots, state.now, self.forms.remembered())

    def open_split_panel(self) -> None:
        """Open the form that splits a lot: that of the jar in hand, or the newest."""
        state = self.model.state
        if state is None or not state.lots:
            return
        row = state.selected_row
        self._open(self.split_panel)
        form = self.split_model.new(row.jar.lot_id if row else "")
        self.split_panel.open_with(form, state.lots, state.now, may_plan=self.split_model.may_plan)

    def print_labels(self, jar_ids: tuple[str, ...] = ()) -> None:
        """Open the dialog that prints labels of these jars."""
        from stirfall.desktop.printing import open_labels_dialog

        open_labels_dialog(self.workspace, jar_ids, self)

    def open_jar_correction(self) -> None:
        """Open the form that corrects the jar in hand."""
        state = self.model.state
        if state is None or state.selected_row is None:
            return
        jar = state.selected_row.jar
        self._open(self.jar_panel)
        self.jar_panel.open_to_correct(jar, self.forms.jar_as_it_is(jar), state.lots)

    def open_lot_panel(self) -> None:
        """Open the form that registers a lot."""
        state = self.model.state
        if state is None:
            return
        self._open(self.lot_panel)
        self.lot_panel.open_with(self.forms.new_lot(), state.now)

    def open_lot_correction(self, lot_id: str | bool = "") -> None:
        """Open the form that corrects a lot: the one named, that of the jar in hand, or the newest."""
        state = self.model.state
        if state is None or not state.lots:
            return
        row = state.selected_row
        wanted = lot_id if isinstance(lot_id, str) and lot_id else row.jar.lot_id if row else ""
        lot = next((each for each in state.lots if each.id == wanted), state.lots[-1])
        self._open(self.lot_panel)
        self.lot_panel.open_to_correct(lot, self.forms.lot_as_it_is(lot), state.lots, state.now)

    def open_inspect_panel(self) -> None:
        """Open the form that notes how the metal of the jar in hand looks."""
        row = self.model.state.selected_row if self.model.state else None
        if row is None:
            return
        self._open(self.inspect_panel)
        self.inspect_panel.open_for(row.jar)

    def close_panels(self) -> None:
        """Close the forms; what stood there before comes back."""
        for panel in self._panels:
            panel.hide()
        self._show_parts(self.model.state)

    def _judge_jar(self, form: JarForm) -> None:
        self.jar_panel.show_read(self.forms.read_jar(form, self.jar_panel.corrects), self.workspace.decimal)

    def _judge_split(self, form: SplitForm) -> None:
        read = self.split_model.read(form)
        self.split_panel.show_read(read, self.workspace.decimal)
        self.split_model.foretell(read)

    def _judge_lot(self, form: LotForm) -> None:
        self.lot_panel.show_read(self.forms.read_lot(form, self.lot_panel.corrects), self.workspace.decimal)

    def _judge_look(self) -> None:
        panel, document = self.inspect_panel, self.workspace.document
        if panel.jar is None or document is None:
            return
        look = panel.look.value or ""
        panel.show_asked(
            is_alarming=is_alarming(document.state.settings, look),
            takes_back=self.forms.takes_alarm_back(panel.jar, look),
            decimal=self.workspace.decimal,
        )

    def _accept_jar(self) -> None:
        panel = self.jar_panel
        corrects = panel.corrects
        done = self.forms.correct_jar(panel.form, corrects) if corrects else self.forms.start_jar(panel.form)
        self._leave_form(done, self.table)

    def _accept_split(self) -> None:
        self._leave_form(bool(self.split_model.split(self.split_panel.form)), self.table)

    def _accept_lot(self) -> None:
        panel = self.lot_panel
        corrects = panel.corrects
        done = self.forms.correct_lot(panel.form, corrects) if corrects else self.forms.register_lot(panel.form)
        self._leave_form(done, self.start)

    def _accept_look(self) -> None:
        panel = self.inspect_panel
        if panel.jar is not None and panel.look.value is not None:
            done = self.forms.inspect(panel.jar.id, panel.look.value, panel.reason.text())
            self._leave_form(done, self.residues if panel.jar.is_residue else self.table)

    def _leave_form(self, done: bool, then: QWidget) -> None:
        if done:
            self.close_panels()
            then.setFocus(Qt.FocusReason.OtherFocusReason)

    def showEvent(self, event: QShowEvent) -> None:
        """Ages are those of this moment."""
        super().showEvent(event)
        self.model.tick()
        self.model.push_in_hand()

    def hideEvent(self, event: QHideEvent) -> None:
        """A form left open is closed with its page."""
        super().hideEvent(event)
        self.close_panels()


def _chosen(state: ShelfState | None) -> tuple[str, ...]:
    if state is None:
        return ()
    return state.pair or ((state.selected,) if state.selected else ())


def _residue_text(state: ShelfState) -> str:
    """Say how much residue waits for disposal and for how long, marked where that is too long."""
    if not state.residues:
        return ""
    count = len(state.residues)
    mark = "⚠ " if state.reminder else ""
    longest = state.residues[0].age
    return f"{mark}Residue waits for disposal: {count} jar{'' if count == 1 else 's'}, the oldest {longest}"


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
