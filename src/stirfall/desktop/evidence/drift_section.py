"""The section "Drift": the attempts in time, and whether something has changed."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QWidget

from stirfall.desktop.bench_form.look import TARGET, button, heading
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.evidence.drift_building import chart_choices
from stirfall.desktop.evidence.drift_dialog import MarkDialog
from stirfall.desktop.evidence.drift_export import DriftExport
from stirfall.desktop.evidence.drift_model import DriftModel
from stirfall.desktop.evidence.drift_picture import DriftPicture
from stirfall.desktop.evidence.drift_plot import DriftPlot
from stirfall.desktop.evidence.drift_state import DriftState
from stirfall.desktop.evidence.drift_tables import WordTable
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.shelf.choices import ChoiceRow
from stirfall.desktop.theme import set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.drift_words import MEASURE_WORDS
from stirfall.reporting.sentences import sentence
from stirfall.session.drift_records import Drift, DriftMeasure

_PLOT_HEIGHT = 340
_PLOT_LINES = 18


class DriftSection(ScrolledView):
    """One column: the verdict, what is followed, the picture, signals, changes, and what it rests on.

    Signals:
        front_wanted(): an act from the menus has its answer here.
    """

    front_wanted = Signal()

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_drift", "Drift", parent)
        self.workspace = workspace
        self.model = DriftModel(workspace, self)
        self.verdict = wrapped_label("drift_verdict", "heading")
        self.caveat = wrapped_label("drift_caveat")
        self.lines = wrapped_label("drift_lines")
        self.measure = CalmCombo()
        self.charts = ChoiceRow("Chart", "drift_chart")
        self.plot = DriftPlot(workspace.theme)
        self.pointed = wrapped_label("drift_pointed", "muted")
        self.key = wrapped_label("drift_key", "muted")
        self.open = button("Show the attempt", "drift_open")
        self.mark = button("Mark a change…", "drift_mark")
        self.picture = DriftExport(workspace, self._told)
        self.signals_title, self.signals = (
            heading("Signals"),
            WordTable("drift_signals", "Signals", ("Attempt", "Day", "Chart", "Rule")),
        )
        self.no_signals = wrapped_label("drift_no_signals", "muted")
        self.marks_title, self.marks = (
            heading("Changes at the bench"),
            WordTable("drift_marks", "Changes at the bench", ("Before attempt", "Since", "Kind", "From", "Words")),
        )
        self.no_marks = wrapped_label("drift_no_marks", "muted")
        self.drop = button("Take the mark away", "drift_drop")
        self.rests_title = heading("What this rests on")
        self.dialog: MarkDialog | None = None
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        self.measure.setObjectName("drift_measure")
        self.measure.setMinimumHeight(TARGET)
        self.measure.setMinimumContentsLength(max(map(len, MEASURE_WORDS.values())))
        name_control(self.measure, "What is followed", "Which measure of the attempts is followed over time")
        for measure in DriftMeasure:
            self.measure.addItem(MEASURE_WORDS[measure], measure.value)
        self._choices = row_of(self.measure, self.charts)
        self._acts = row_of(self.open, self.mark, self.picture)
        self._drop_row = row_of(self.drop)
        parts: tuple[QWidget, ...] = (
            self.verdict,
            self.caveat,
            self._choices,
            self.plot,
            self.key,
            self.pointed,
            self._acts,
            self.signals_title,
            self.signals,
            self.no_signals,
            self.marks_title,
            self.marks,
            self.no_marks,
            self._drop_row,
            self.rests_title,
            self.lines,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        model = self.model
        self.measure.activated.connect(self._choose_measure)
        self.charts.chosen.connect(model.choose_chart)
        self.plot.pointed.connect(model.point_at)
        self.plot.pointed.connect(self._show_note)
        self.plot.attempt_chosen.connect(model.open_attempt)
        self.open.clicked.connect(model.open_pointed)
        self.mark.clicked.connect(self.open_mark_dialog)
        self.signals.opened.connect(self._open_signal)
        self.signals.picked.connect(self._point_at_signal)
        self.marks.picked.connect(self._show_drop)
        self.drop.clicked.connect(self._drop)
        self.workspace.theme_changed.connect(self.plot.apply_theme)

    # -- what the person does ----------------------------------------------------------------------------

    def _show_note(self, attempt_id: str) -> None:
        """Keep the note beside the attempt only while the pointer or the keys are there."""
        state = self.model.state
        self.plot.show_note(state.pointed if attempt_id and attempt_id == state.pointed_id else "")

    def _choose_measure(self, place: int) -> None:
        self.model.choose_measure(str(self.measure.itemData(place)))

    def open_mark_dialog(self) -> None:
        """Ask what was changed, and since when."""
        self.front_wanted.emit()
        self.dialog = MarkDialog(self.model, self.window())
        self.dialog.open()

    def _open_signal(self, row: int) -> None:
        if 0 <= row < len(self.model.state.signals):
            self.model.open_attempt(self.model.state.signals[row].attempt_id)

    def _point_at_signal(self, row: int) -> None:
        if 0 <= row < len(self.model.state.signals):
            self.model.point_at(self.model.state.signals[row].attempt_id)

    def _mark_id(self) -> str:
        rows, row = self.model.state.marks, self.marks.row
        return rows[row].mark_id if 0 <= row < len(rows) else ""

    def _show_drop(self, *_unused: object) -> None:
        self.drop.setEnabled(bool(self._mark_id()) and self.model.state.can_mark)

    def _drop(self) -> None:
        self.front_wanted.emit()
        self.model.drop_mark(self._mark_id())

    def _told(self) -> tuple[Drift, str, DriftPicture, str] | None:
        state = self.model.state
        if state.found is None or state.picture is None:
            return None
        caption = f"{state.verdict} {state.caveat}".strip()
        return state.found, state.chart, state.picture, caption

    # -- showing -----------------------------------------------------------------------------------------

    def render(self, state: DriftState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        if self.workspace.document is None:
            self.show_message(sentence("drift.no_session"))
            return
        self.show_message("")
        show_text(self.verdict, state.message or state.verdict)
        show_text(self.caveat, state.caveat)
        set_text_role(self.verdict, "muted" if state.is_stale and state.message else "heading")
        with QSignalBlocker(self.measure):
            self.measure.setCurrentIndex(self.measure.findData(state.measure))
        is_share = DriftMeasure(state.measure).is_share
        has_picture = state.picture is not None
        self.charts.show_choices(chart_choices(is_share=is_share), state.chart)
        self.charts.setVisible(has_picture)
        self.plot.setFixedHeight(max(_PLOT_HEIGHT, round(_PLOT_LINES * self.plot.metrics().height())))
        self.plot.setVisible(has_picture)
        if self.plot.decimal != self.workspace.decimal:
            self.plot.decimal = self.workspace.decimal
        self.plot.show_picture(state.picture, state.verdict, late=state.is_stale)
        self.plot.show_note(state.pointed if self.plot.pointed_place() is not None else "")
        show_text(self.pointed, (state.pointed or sentence("drift.point_hint")) if has_picture else "")
        show_text(self.key, state.key)
        self.open.setEnabled(bool(state.pointed_id))
        self.open.setVisible(has_picture)
        self.mark.setEnabled(state.can_mark)
        self.picture.setVisible(has_picture)
        self._render_tables(state, has_picture=has_picture)
        self.rests_title.setVisible(bool(state.lines))
        show_text(self.lines, "\n".join(f"• {line}" for line in state.lines))
        self.describe(" ".join((state.message or state.verdict, state.caveat, *state.lines[:1])))

    def _render_tables(self, state: DriftState, *, has_picture: bool) -> None:
        self.signals_title.setVisible(has_picture)
        self.signals.setVisible(bool(state.signals))
        self.signals.show_rows([(each.number, each.day, each.chart, each.rule) for each in state.signals])
        show_text(self.no_signals, sentence("drift.no_signal_rows") if has_picture and not state.signals else "")
        self.marks.setVisible(bool(state.marks))
        rows = [(each.before, each.day, each.kind, each.source, each.words) for each in state.marks]
        self.marks.show_rows(rows)
        show_text(self.no_marks, "" if state.marks else sentence("drift.no_mark_rows"))
        self.drop.setVisible(any(each.mark_id for each in state.marks))
        self._show_drop()
