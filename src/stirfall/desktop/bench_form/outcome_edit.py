"""The two questions after the run, the limits, and the button that records; always in reach."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMenu,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.outcomes import Parted, Pooled
from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.limits_line import LimitsLine
from stirfall.desktop.bench_form.limits_text import limits_text
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, text_label, unbroken
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.theme import Theme, set_primary, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence

PARTED_QUESTION = "Did the solids leave the metal?"
POOLED_QUESTION = "Did the metal become one pool?"
_LONGEST_LINE = "become one pool?"


class GatesEdit(QWidget):
    """The two questions as large buttons; the second is closed while the first says no.

    Signals:
        parted_chosen(Parted or None), pooled_chosen(Pooled or None).
    """

    parted_chosen = Signal(object)
    pooled_chosen = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.parted = Segments(PARTED_QUESTION, tuple(item.value for item in Parted))
        self.parted.setObjectName("parted")
        self.pooled = Segments(POOLED_QUESTION, tuple(item.value for item in Pooled))
        self.pooled.setObjectName("pooled")
        self._labels: list[QLabel] = []
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        for row, segments in enumerate((self.parted, self.pooled)):
            label = labelled(segments.question, segments)
            label.setWordWrap(True)
            self._labels.append(label)
            grid.addWidget(label, row, 0)
            grid.addWidget(segments, row, 1)
        self.parted.chosen.connect(lambda level: self.parted_chosen.emit(Parted(level) if level else None))
        self.pooled.chosen.connect(lambda level: self.pooled_chosen.emit(Pooled(level) if level else None))

        self._fit_labels()

    def _fit_labels(self) -> None:
        width = self.fontMetrics().horizontalAdvance(_LONGEST_LINE) + GAP
        for label in self._labels:
            label.setFixedWidth(width)

    def changeEvent(self, event: QEvent) -> None:
        """Give the questions two lines at every size of text."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit_labels()

    @property
    def answers(self) -> tuple[Parted | None, Pooled | None]:
        """The answers that are shown."""
        parted, pooled = self.parted.value, self.pooled.value
        return Parted(parted) if parted else None, Pooled(pooled) if pooled else None

    def show_answers(self, parted: Parted | None, pooled: Pooled | None, *, pooled_enabled: bool) -> None:
        """Show the answers."""
        self.parted.set_value(parted.value if parted else None)
        self.pooled.set_value(pooled.value if pooled else None)
        self.pooled.setEnabled(pooled_enabled)


class RecordBar(QFrame):
    """The foot of the bench form: outcome, the limits in one line, what is still missing, and the record button.

    Signals:
        aborted(bool), abort_reason(str), record_wanted().
        run_wanted(): the attempt shall be made step by step, as a guided run.
        limit_reason(str): why the warnings of the limits are gone past.
    """

    aborted = Signal(bool)
    abort_reason = Signal(str)
    limit_reason = Signal(str)
    record_wanted = Signal()
    run_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.gates = GatesEdit()
        self.abort = QCheckBox("Aborted")
        self.abort.setObjectName("aborted")
        name_control(self.abort, "Aborted", "Broken off; it stays on record and is left out of the odds.")
        self.reason = QLineEdit()
        self.reason.setObjectName("abort_reason")
        self.reason.setProperty("kind", "value")
        self.reason.setPlaceholderText("Why was it aborted?")
        name_control(self.reason, "Why was it aborted?")
        self.missing = text_label()
        self.missing.setObjectName("missing")
        self.missing.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.limits = LimitsLine()
        self.why = QLineEdit()
        self.why.setObjectName("limit_reason")
        self.why.setProperty("kind", "value")
        self.why.setPlaceholderText("Why is it right all the same?")
        name_control(self.why, "Why is it right all the same?", "Kept with the attempt, beside each warning")
        self.record = button("Record attempt", "record", height=TARGET + GAP)
        self.record.setToolTip("Record the attempt (Ctrl+Enter)")
        set_primary(self.record)
        self.repeat = button("Repeat last…", "repeat_last")
        name_control(self.repeat, "Repeat the last attempt, change one thing")
        self.repeat.setToolTip("Fill the form as in the last attempt (Ctrl+L) and change one thing (Ctrl+Shift+L)")
        self.repeat_menu = QMenu(self.repeat)
        self.repeat.setMenu(self.repeat_menu)
        self.run = button("Run step by step", "begin_run")
        name_control(self.run, "Run step by step", "One step at a time from jar to result, with timers (Ctrl+R)")
        self.run.setShortcut("Ctrl+R")
        self._lay_out()
        self.run.clicked.connect(self.run_wanted)
        self.abort.toggled.connect(self.aborted)
        self.reason.textEdited.connect(self.abort_reason)
        self.why.textEdited.connect(self.limit_reason)
        self.why.returnPressed.connect(self.record.setFocus)
        self.record.clicked.connect(self.record_wanted)

    def place_examples(self, examples: QWidget) -> None:
        """Place the examples of the classes below the questions."""
        self._column.insertWidget(1, examples)

    def _lay_out(self) -> None:
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(GAP, GAP, GAP, GAP)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.gates)
        column.addWidget(self.reason)
        column.addWidget(self.limits)
        row = QWidget()
        line = FlowLayout(row)
        self.limits.toggle.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        for part in (self.abort, self.limits.toggle, self.repeat):
            line.addWidget(part)
        said = QVBoxLayout()
        said.setSpacing(0)
        for each in (row, self.limits.small, self.missing, self.why):
            said.addWidget(each)
        foot = QHBoxLayout()
        foot.setSpacing(GAP)
        foot.addLayout(said, 1)
        foot.addWidget(self.record, 0, Qt.AlignmentFlag.AlignBottom)
        column.addLayout(foot)

    def show_state(self, state: FormState, theme: Theme) -> None:
        """Show the state of the outcome and of the record button."""
        form = state.form
        # With a crust that may explode no attempt is made, so there is nothing to grade.
        is_graded = form.aborted or form.parted is not None
        self.gates.setVisible(is_graded or not state.look.is_alarming)
        self.gates.show_answers(form.parted, state.pooled, pooled_enabled=state.pooled_enabled)
        with QSignalBlocker(self.abort), QSignalBlocker(self.why), QSignalBlocker(self.reason):
            self.abort.setChecked(form.aborted)
            if self.why.text() != state.reason:
                self.why.setText(state.reason)
            if self.reason.text() != form.abort_reason:
                self.reason.setText(form.abort_reason)
        self.reason.setVisible(form.aborted)
        self.why.setVisible(state.asks_reason)
        self.limits.show_text(limits_text(state))
        self.record.setEnabled(state.can_record)
        text, role = _said(state, theme)
        set_text_role(self.missing, role)
        self.missing.setText(unbroken(text))
        self.record.setAccessibleDescription(text)


def _said(state: FormState, theme: Theme) -> tuple[str, str]:
    if state.missing is not None:
        text = sentence(state.missing.code, state.missing.params, decimal=state.decimal)
        if state.missing.code == "bench.missing.reason":
            open_one = next(item for item in state.warned if not item.reason.strip())
            return f"⚠ {open_one.text}", "caution"
        is_block = not state.missing.code.startswith("bench.missing")
        return (f"⊘ {text}", "error") if is_block else (text, "muted")
    if state.outcome is None:
        return "", ""
    mark = theme.mark(state.outcome)
    return f"{mark.glyph} Will be recorded as: {mark.word}.", ""
