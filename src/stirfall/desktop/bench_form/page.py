"""The bench page: what a person at the bench records an attempt with."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, QSignalBlocker, QSize, Qt, QTimer
from PySide6.QtGui import QHideEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QCheckBox, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.desktop.bench_form.checklist import CautionStrip, ChecklistPanel, quiet_scroll
from stirfall.desktop.bench_form.extras import NoteAndPhotos
from stirfall.desktop.bench_form.fill_in import FillIn
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.folds import Folds
from stirfall.desktop.bench_form.form import last_attempt
from stirfall.desktop.bench_form.jar_edit import JarEdit
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, page_sheet, text_label
from stirfall.desktop.bench_form.look_edit import LookAlarm, LookRow
from stirfall.desktop.bench_form.outcome_edit import RecordBar
from stirfall.desktop.bench_form.proof_line import ProofLine
from stirfall.desktop.bench_form.seen_edit import SeenEdit
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.bench_form.value_edit import ChoiceRow, NumberRow, label_of, make_row
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.bench_form.weighing_edit import WeighingEdit
from stirfall.desktop.bench_form.who_edit import words_in_short
from stirfall.desktop.photos.anchor_strip import AnchorStrip
from stirfall.desktop.plan.next_line import NextLine
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import Theme, wear_sheet
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.cautions import load_cautions

_LEAST_WIDTH = 590
_LABEL_MIN, _LABEL_MAX = 96, 152


class BenchPage(QWidget):
    """Cautions above, the form in the middle, outcome and record button at the foot, always in reach."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("bench_page")
        self.workspace = workspace
        self.model = BenchFormModel(workspace, self)
        self.rows: dict[str, NumberRow | ChoiceRow] = {}
        self._factors: tuple[Factor, ...] = ()
        self._material: MaterialClass | None = None
        self.cautions = CautionStrip()
        self.empty = text_label(
            "Open a session or make a new one; the form for the next attempt appears here.", "muted"
        )
        self.filled_from = text_label(role="accent")
        self.filled_from.setObjectName("filled_from")
        self.tonight = NextLine(workspace, "bench")
        self.proof = ProofLine()
        self.jar = JarEdit(_LABEL_MIN)
        self.look_alarm = LookAlarm()
        self.look, self.folded_look = LookRow(_LABEL_MIN), LookRow(_LABEL_MIN)
        self.seen = SeenEdit(self.folded_look)
        self.weighing = WeighingEdit()
        self.extras = NoteAndPhotos(workspace)
        self.empties = QCheckBox("The jar is used up")
        self.empties.setObjectName("empties_jar")
        self.empties.setAccessibleName("The jar is used up: take it off the shelf")
        self.record_bar = RecordBar()
        self.examples = AnchorStrip(workspace)
        self.record_bar.place_examples(self.examples)
        self.checklist = ChecklistPanel()
        self.clear = button("Clear", "clear_form")
        self.clear.setAccessibleName("Clear the form")
        self.fill_in = FillIn(self.model)
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_state(self.model.state)

    # -- building ----------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        self.body = QWidget()
        column = QVBoxLayout(self.body)
        column.setContentsMargins(GAP, HALF_GAP, GAP, GAP)
        column.setSpacing(GAP)
        column.addWidget(self.jar)
        self.jar.line.addWidget(self.record_bar.run)
        self.jar.place_look(self.look)
        start = QWidget()
        beside = FlowLayout(start)
        self.empties.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        for part in (self.empties, self.fill_in, self.clear):
            beside.addWidget(part)
        column.addWidget(self.filled_from)
        column.addWidget(self.proof)
        self._rows_box = QVBoxLayout()
        self._rows_box.setSpacing(GAP)
        column.addLayout(self._rows_box)
        column.addWidget(start)  # after the values: on a low screen they are what must be in view
        self.folds = Folds(
            (
                ("What was seen", "fold_seen", self.seen),
                ("Weighing", "fold_masses", self.weighing),
                ("Note and photos", "fold_note", self.extras),
            )
        )
        column.addWidget(self.folds)
        column.addStretch(1)
        self.scroller = quiet_scroll(self.body, "bench_scroll", least=2 * TARGET)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        everything = QWidget()
        # Where large text needs more than the window has, the whole page scrolls; nothing is squeezed.
        outer = quiet_scroll(everything, "bench_page_scroll")
        outer.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        around = QVBoxLayout(self)
        around.setContentsMargins(0, 0, 0, 0)
        around.addWidget(outer)
        whole = QVBoxLayout(everything)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(HALF_GAP)
        whole.addWidget(self.empty)
        whole.addWidget(self.cautions)
        whole.addWidget(self.tonight)
        whole.addWidget(self.look_alarm)
        whole.addWidget(self.scroller, 1)
        whole.addWidget(self.checklist, 2)
        whole.addWidget(self.record_bar)

    def _connect(self) -> None:
        model, bar = self.model, self.record_bar
        model.changed.connect(self.show_state)
        model.field_wanted.connect(self.focus_field)
        model.photos.changed.connect(lambda: self.show_state(model.state))
        self.jar.jar_entered.connect(model.pick_jar)
        self.jar.lot_chosen.connect(model.pick_lot)
        self.jar.start_chosen.connect(model.set_started_at)
        self.jar.accepted.connect(self._after_jar)
        self.empties.toggled.connect(model.set_empties_jar)
        self.proof.chosen.connect(model.set_counts_for_proof)
        bar.gates.parted_chosen.connect(model.set_parted)
        bar.gates.pooled_chosen.connect(model.set_pooled)
        bar.aborted.connect(model.set_aborted)
        bar.abort_reason.connect(lambda text: model.set_text("abort_reason", text))
        bar.limit_reason.connect(model.give_limit_reason)
        bar.record_wanted.connect(self.record)
        bar.run_wanted.connect(self._request_run)
        self.checklist.ticked.connect(model.tick)
        self.checklist.finished.connect(self._finish_checklist)
        for look in (self.look, self.folded_look):
            look.chosen.connect(model.set_look)
        self.look_alarm.note_wanted.connect(model.note_look)
        self.seen.typed.connect(model.set_seen)
        self.seen.words.typed.connect(model.set_text)
        self.weighing.mass_typed.connect(model.set_mass)
        self.weighing.tare_typed.connect(model.set_tare)
        self.weighing.sheet_typed.connect(model.set_sheet)
        for part in (self.seen, self.weighing):
            part.left.connect(model.finish_typing)
        self.extras.note_typed.connect(lambda text: model.set_text("note", text))
        self.extras.file_added.connect(model.add_photo_file)
        self.extras.pasted.connect(model.add_pasted_photo)
        self.extras.removed.connect(model.remove_photo)
        self.extras.said.connect(self.workspace.notify)
        self.clear.clicked.connect(model.clear)
        self.record_bar.repeat_menu.aboutToShow.connect(self._fill_repeat_menu)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.form_requested.connect(self._to_top)
        self.workspace.document_opened.connect(self._take_keyboard_soon)
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(self.record)
        for keys, act in (("Ctrl+L", lambda: self.model.repeat_last("")), ("Ctrl+Shift+L", self._offer_repeat)):
            shortcut = QShortcut(QKeySequence(keys), self)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)

    def _offer_repeat(self) -> None:
        """Open the menu that repeats the last attempt with one change."""
        button = self.record_bar.repeat
        if button.isEnabled():
            self.record_bar.repeat_menu.popup(button.mapToGlobal(button.rect().bottomLeft()))

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        wear_sheet(self, page_sheet, theme)
        if self.model.state is not None:
            self.show_state(self.model.state)

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: FormState | None) -> None:
        """Show the state; rendering twice changes nothing."""
        has_session = state is not None and self.workspace.document is not None
        self.empty.setVisible(not has_session)
        self.cautions.setVisible(has_session)
        self.scroller.setVisible(has_session)
        self.checklist.setVisible(state is not None and state.checklist.is_due)
        self.record_bar.setVisible(state is not None and not state.checklist.is_due)
        self.look_alarm.show_state(state)
        if state is None or self.workspace.document is None:
            return
        self._render_cautions(self.workspace.document.state.settings.material)
        shown = Shown.of(state.decimal)
        self._build_rows(tuple(shown.factor(item.factor) for item in state.fields))
        self.jar.show_state(state)
        for item in state.fields:
            self.rows[item.factor.name].show_state(item, state.decimal)
        self.filled_from.setText(f"Filled in from {state.form.filled_from}" if state.form.filled_from else "")
        self.filled_from.setVisible(bool(state.form.filled_from))
        self.tonight.show_for(state.form.planned_jar if state.form.jar_id == state.form.planned_jar else None)
        with QSignalBlocker(self.empties):
            self.empties.setChecked(state.form.empties_jar)
        self.empties.setVisible(state.jar is not None)
        self.look.setVisible(state.look.is_needed)
        self.folded_look.setVisible(not state.look.is_needed)
        for look in (self.look, self.folded_look):
            look.show_state(state)
        self.proof.show_state(state.proof, state.decimal)
        self.seen.show_state(state, self.workspace.document.state)
        self.folds.add_words("fold_seen", words_in_short(state.form))
        self.weighing.show_state(state)
        self.extras.show_state(state, self.model.photos.shots(state.form.photos))
        self.record_bar.show_state(state, self.workspace.theme)
        self.checklist.show_state(state.checklist)
        self.record_bar.repeat.setEnabled(last_attempt(self.workspace.document.state) is not None)

    def _render_cautions(self, material: MaterialClass) -> None:
        if material != self._material:
            self._material = material
            self.cautions.show_state(load_cautions(material))

    def _build_rows(self, factors: tuple[Factor, ...]) -> None:
        if factors == self._factors:
            return
        self._factors = factors
        for row in self.rows.values():
            self._rows_box.removeWidget(row)
            row.hide()
            row.deleteLater()
        metrics = self.fontMetrics()
        widest = max((metrics.horizontalAdvance(label_of(factor)) for factor in factors), default=0)
        width = min(max(widest + GAP, _LABEL_MIN), _LABEL_MAX)
        model = self.model
        self.rows = {
            factor.name: make_row(
                factor,
                width,
                typed=model.type_value,
                stepped=model.step,
                left=model.finish_typing,
                chosen=model.choose,
                reason=model.give_reason,
                clock=model.use_clock,
            )
            for factor in factors
        }
        for part in (self.jar, self.look, self.folded_look):
            part.set_label_width(width)
        for row in self.rows.values():
            self._rows_box.addWidget(row)
        self._set_tab_order()

    def _set_tab_order(self) -> None:
        order: list[QWidget] = [self.jar.lot]
        order += [self.look.segments.button(level) for level in self.look.segments.levels]
        order += [self.jar.change, self.jar.moment, self.jar.now, self.record_bar.run, self.proof.box]
        for row in self.rows.values():
            if isinstance(row, NumberRow):
                order += [row.edit, row.minus, row.plus, row.reason, row.clock_button]
            else:
                order += [row.segments.button(level) for level in row.segments.levels]
        order += [self.empties, self.fill_in, self.clear]
        for first, second in pairwise(order):
            QWidget.setTabOrder(first, second)

    # -- acting ------------------------------------------------------------------------------------

    def record(self) -> None:
        """Record the attempt; when something is missing the sentence beside the button says so."""
        if self.model.record():
            self._to_top()
            self.jar.jar.setFocus(Qt.FocusReason.OtherFocusReason)

    def _to_top(self, *_unused: object) -> None:
        """Show where the form begins: with the jar, and with the words that say what filled it in."""
        self.scroller.verticalScrollBar().setValue(0)

    def _request_run(self) -> None:
        self.workspace.request_run()

    def _take_keyboard_soon(self) -> None:
        QTimer.singleShot(0, self, self._take_keyboard)

    def _take_keyboard(self) -> None:
        """After opening, the keyboard is where the work starts: at the checklist of the day, else at the jar."""
        state = self.model.state
        if state is None or not self.isVisible():
            return
        lines = tuple(self.checklist.lines.values())
        first = lines[0].box if lines and state.checklist.is_due else self.jar.jar
        first.setFocus(Qt.FocusReason.OtherFocusReason)

    def _finish_checklist(self) -> None:
        self.model.finish_checklist()
        self.jar.jar.setFocus(Qt.FocusReason.OtherFocusReason)

    def _after_jar(self) -> None:
        state = self.model.state
        if state is None or state.jar is None or state.jar_problem is not None:
            self.jar.jar_line.selectAll()
            return
        if state.look.is_needed and not state.look.look:
            self.look.segments.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        todo = next((item for item in state.fields if item.value is None), None)
        self.focus_field(todo.factor.name) if todo else self.record_bar.gates.parted.setFocus()

    def focus_field(self, name: str) -> None:
        """Put the focus on one factor and bring it into view."""
        row = self.rows.get(name)
        if row is None:
            return
        editor = row.edit if isinstance(row, NumberRow) else row.segments
        editor.setFocus(Qt.FocusReason.OtherFocusReason)
        if isinstance(row, NumberRow):
            row.edit.selectAll()
        self.scroller.ensureWidgetVisible(row)

    def _fill_repeat_menu(self) -> None:
        menu = self.record_bar.repeat_menu
        menu.clear()
        for factor in self._factors:
            action = menu.addAction(label_of(factor).replace("&", "&&"))
            action.triggered.connect(lambda _checked=False, name=factor.name: self.model.repeat_last(name))

    def minimumSizeHint(self) -> QSize:
        """Return a width in which the two questions stand in one row each at the usual size of text."""
        return super().minimumSizeHint().expandedTo(QSize(_LEAST_WIDTH, 0))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Save a draft that still waits before the window closes."""
        if event.type() == QEvent.Type.Close:
            self.model.flush_draft()
        return super().eventFilter(watched, event)

    def hideEvent(self, event: QHideEvent) -> None:
        """Save a draft that still waits when another page comes to the front."""
        super().hideEvent(event)
        self.model.flush_draft()

    def showEvent(self, event: QShowEvent) -> None:
        """The form is in hand again when its page is shown."""
        super().showEvent(event)
        if self.window() is not self:
            self.window().installEventFilter(self)
        self.model.refresh()
        self.model.push_in_hand()
