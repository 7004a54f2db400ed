"""The dialog "How you work": hours, bench days, the target, and how well each condition is held."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, heading, page_sheet, text_label, titled
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import labelled, name_control, show_problem
from stirfall.desktop.plan.tonight_state import DAYS
from stirfall.desktop.plan.working_form import CONTROL, control_unit, held_factors
from stirfall.desktop.plan.working_model import WorkingModel, WorkingState
from stirfall.desktop.theme import set_text_role, wear_sheet

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_ENTRIES = (
    ("attempt_h", "One attempt takes", "h"),
    ("jars_at_once", "Jars opened at one age", ""),
    ("evening_h", "Hours free on a bench day", "h"),
    ("evening_hour", "Work begins at", "o'clock"),
    ("horizon_weeks", "Look ahead", "weeks"),
    ("target", "Aim for", "%"),
)
_FIELD_WIDTH = 13 * GAP
_CHOSEN, _OPEN = "●", "○"
_ABOUT_CONTROL = (
    "What is reached is not exactly what you set. Say within how much you stay, about 19 times of 20. The plan "
    "averages over it."
)


class WorkingDialog(FramedDialog):
    """Edits a copy of how the person works; one command when the person saves."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("How you work", parent)
        self.setObjectName("working_dialog")
        self.model = WorkingModel(workspace, self)
        self._edits: dict[str, ValueEdit] = {}
        self._notes: dict[str, QLabel] = {}
        self.days: dict[int, QPushButton] = {}
        content = QWidget()
        wear_sheet(content, page_sheet, workspace.theme)
        self._grid = QGridLayout(content)
        self._grid.setContentsMargins(0, 0, GAP, 0)
        self._grid.setHorizontalSpacing(GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._grid.setColumnStretch(3, 1)
        self._fill()
        self.build(content, "&Save").clicked.connect(self._save)
        self.model.changed.connect(self.show_state)
        self.show_state(self.model.state)
        self.fit(88 * GAP)

    def edit(self, name: str) -> ValueEdit:
        """Return the field of an entry; that of a factor is named with ``control:`` before its name."""
        return self._edits[name]

    def note(self, name: str) -> QLabel:
        """Return the words beside an entry."""
        return self._notes[name]

    # -- building ----------------------------------------------------------------------------------

    def _fill(self) -> None:
        for name, label, unit in _ENTRIES[:4]:
            self._add_entry(name, label, unit)
        self._add_days()
        for name, label, unit in _ENTRIES[4:]:
            self._add_entry(name, label, unit)
        factors = held_factors(self.model.factors)
        if not factors:
            return
        self._grid.setRowMinimumHeight(self._grid.rowCount(), GAP)
        self._grid.addWidget(heading("How well you hold a condition: within ±"), self._grid.rowCount(), 0, 1, 4)
        self._grid.addWidget(text_label(_ABOUT_CONTROL, "muted"), self._grid.rowCount(), 0, 1, 4)
        for factor in factors:
            unit = control_unit(factor, self.model.shown)
            self._add_entry(CONTROL + factor.name, titled(factor.name), unit)

    def _add_entry(self, name: str, label: str, unit: str) -> None:
        edit = ValueEdit(f"working_{name}")
        edit.setFixedWidth(_FIELD_WIDTH)
        edit.textEdited.connect(partial(self.model.set_entry, name))
        note = text_label(role="muted")
        note.setObjectName(f"working_{name}_note")
        self._edits[name], self._notes[name] = edit, note
        row = self._grid.rowCount()
        words = labelled(f"{label}, {unit}" if unit and unit != "o'clock" else label, edit)
        words.setText(label)
        words.setWordWrap(True)
        self._grid.addWidget(words, row, 0)
        self._grid.addWidget(edit, row, 1)
        self._grid.addWidget(text_label(unit, wrap=False), row, 2)
        self._grid.addWidget(note, row, 3)

    def _add_days(self) -> None:
        row = self._grid.rowCount()
        holder = QWidget()
        holder.setAccessibleName("Bench days")
        line = FlowLayout(holder, gap=HALF_GAP)
        for number, day in enumerate(DAYS, start=1):
            made = button(day[:3], f"working_day_{number}")
            made.setProperty("kind", "segment")
            made.setCheckable(True)
            made.toggled.connect(partial(self.model.set_day, number))
            line.addWidget(made)
            self.days[number] = made
        note = text_label(role="muted")
        note.setObjectName("working_days_note")
        self._notes["bench_days"] = note
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        holder.setSizePolicy(policy)
        self._grid.addWidget(text_label("Bench days", wrap=False), row, 0, Qt.AlignmentFlag.AlignVCenter)
        self._grid.addWidget(holder, row, 1, 1, 3)
        self._grid.addWidget(note, row + 1, 1, 1, 3)

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: WorkingState) -> None:
        """Show a state; showing it twice changes nothing."""
        for name, edit in self._edits.items():
            text = state.form.control.get(name.removeprefix(CONTROL), "") if name.startswith(CONTROL) else ""
            edit.show_text(text or str(getattr(state.form, name, "")))
        for number, made in self.days.items():
            is_free = number in state.form.bench_days
            with QSignalBlocker(made):
                made.setChecked(is_free)
            made.setText(f"{_CHOSEN if is_free else _OPEN} {DAYS[number - 1][:3]}")
            name_control(made, DAYS[number - 1], "a bench day" if is_free else "no bench day")
        for name, note in self._notes.items():
            problem = state.problems.get(name, "")
            target = self._edits.get(name) or self.days[1]
            set_text_role(note, "error" if problem else "muted")
            show_problem(target, note, problem or state.notes.get(name, ""))
        if not state.problems:
            self.show_problem("")

    def _save(self) -> None:
        if self.model.save():
            self.accept()
            return
        for name in (*self._edits, "bench_days"):
            if name in self.model.state.problems:
                self.show_problem(self.model.state.problems[name])
                (self._edits.get(name) or self.days[1]).setFocus()
                return
