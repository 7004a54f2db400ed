"""The view-model of "How you work": holds what is typed, says what is wrong, and keeps it with one command."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.desktop.plan.working_form import WorkingForm, form_of, read_working
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeSettings

if TYPE_CHECKING:
    from stirfall.bench.plans import PlanSettings
    from stirfall.desktop.workspace import Workspace


@dataclass(frozen=True)
class WorkingState:
    """What the dialog shows: the typed form, and per entry the problem or the note beside it."""

    form: WorkingForm
    problems: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    touched: frozenset[str] = frozenset()
    is_asked: bool = False


class WorkingModel(QObject):
    """Reads the form on every change; a problem shows once its entry was touched or the whole was asked for.

    Signals:
        changed(WorkingState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        assert workspace.document is not None
        self._workspace = workspace
        self.factors = workspace.document.state.factors
        self._before = workspace.document.state.settings.plan
        self.shown = workspace.shown
        self.state = self._judged(WorkingState(form_of(self._before, self.factors, self.shown)))

    def set_entry(self, name: str, value: object) -> None:
        """Change one entry."""
        form = self.state.form.with_entry(name, value)
        self._show(replace(self.state, form=form, touched=self.state.touched | {name}))

    def set_day(self, day: int, is_free: bool) -> None:
        """Make a weekday a bench day, or none."""
        days = set(self.state.form.bench_days) - {day} | ({day} if is_free else set())
        self.set_entry("bench_days", tuple(sorted(days)))

    def save(self) -> bool:
        """Keep the settings; False where something is wrong, which the state then says."""
        self._show(replace(self.state, is_asked=True))
        plan = self._read(self.state.form)
        document = self._workspace.document
        if plan is None or document is None:
            return False
        settings = document.state.settings
        if plan == settings.plan:
            return True
        if self._workspace.execute(ChangeSettings(replace(settings, plan=plan)), origin=self) is None:
            return False
        self._workspace.notifier.info(sentence("working.kept"), "Undo", self._workspace.undo)
        return True

    def _read(self, form: WorkingForm) -> PlanSettings | None:
        return read_working(form, self.factors, self._before, self.shown).plan

    def _show(self, state: WorkingState) -> None:
        judged = self._judged(state)
        if judged != self.state:
            self.state = judged
            self.changed.emit(judged)

    def _judged(self, state: WorkingState) -> WorkingState:
        reading = read_working(state.form, self.factors, self._before, self.shown)
        shown = {name: text for name, text in reading.problems.items() if state.is_asked or name in state.touched}
        return replace(state, problems=MappingProxyType(shown), notes=reading.notes)
