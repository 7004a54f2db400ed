"""The view-model of "Tonight": asks for the plan of the evening, keeps it, drops it, and starts jars."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.desktop.notifier import Notice
from stirfall.desktop.plan.kept import begin_next, fill_in_next, plan_in_force
from stirfall.desktop.plan.tonight_asking import Answer, Asked, with_kept, work_out
from stirfall.desktop.plan.tonight_building import build_state
from stirfall.desktop.plan.tonight_rows import said
from stirfall.desktop.plan.tonight_state import TonightState
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.planning.goals import Goal
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.reporting.shares import counted
from stirfall.session.commands import Changes, ChangeSettings, DropEvening, KeepEvening

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.tonight import JarToStart

CLOCK_INTERVAL_MS = 60_000
HOURS_STEP = 0.5
_LEAST_H, _MOST_H = 0.5, 24.0
_OLD = timedelta(minutes=10)
_SLOT = "plan tonight"


class TonightModel(QObject):
    """Holds what the section shows; works only while somebody looks.

    Signals:
        changed(TonightState).
        labels_wanted(tuple of str): the person wants to print the labels of these jars.
    """

    changed = Signal(object)
    labels_wanted = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = TonightState()
        self._asked = Asked()
        self._answer: Answer | None = None
        self._problem = ""
        self._count: int | None = None
        self._is_shown = self._is_asking = False
        self._answered: tuple[Analysis, Asked] | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(CLOCK_INTERVAL_MS)
        self._timer.timeout.connect(self.tick)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._asked, self._answer, self._answered = Asked(), None, None
        self._problem, self._count, self._is_asking = "", None, False
        self.refresh()

    def _on_document_changed(self, changes: Changes) -> None:
        self.refresh()
        if changes.evenings:
            self._ask_of_kept()

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another page is in front."""
        self._is_shown = shown
        if shown:
            self._timer.start()
            self.tick()
        else:
            self._timer.stop()

    def tick(self) -> None:
        """The clock moved: an old plan is worked out again."""
        document = self.workspace.document
        if document is not None and self._answer is not None and document.now() - self._answer.tonight.at > _OLD:
            self._answered = None
        self._ask()
        self.refresh()

    def refresh(self, *_unused: object) -> None:
        """Show what is known now."""
        document = self.workspace.document
        new = TonightState()
        if document is not None:
            new = build_state(
                document.state,
                self._answer,
                self._asked,
                document.now(),
                decimal=self.workspace.decimal,
                count=self._count,
                problem=self._problem,
            )
            is_stale = self.workspace.is_stale or self.workspace.is_refining or self._is_asking
            has_analysis = self.workspace.analysis is not None
            new = replace(
                new,
                can_change=not document.read_only,
                is_stale=is_stale,
                is_working=self._is_asking or not has_analysis,
            )
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- the plan ----------------------------------------------------------------------------------

    def _ask(self, *_unused: object) -> None:
        """Ask for the plan, of the refined answer, unless just this was asked."""
        document, analysis = self.workspace.document, self.workspace.analysis
        if document is None or analysis is None or not self._is_shown:
            return
        if self.workspace.is_stale or self.workspace.is_refining:
            return
        if self._answered is not None and self._answered[0] is analysis and self._answered[1] == self._asked:
            return
        self._answered = (analysis, self._asked)
        state, now = document.state, document.now()
        self._is_asking = True
        self.refresh()
        self.workspace.submit(
            partial(work_out, analysis, state, now, self._asked), self._take, self._failed, slot=_SLOT
        )

    def _ask_of_kept(self) -> None:
        """Another plan is kept, or none: ask for its chances only, where the rest is known."""
        document, analysis, answer = self.workspace.document, self.workspace.analysis, self._answer
        is_known = self._answered is not None and self._answered[0] is analysis and not self._is_asking
        if document is None or analysis is None or answer is None or not is_known:
            self._answered = None
            self._ask()
            return
        job = partial(with_kept, answer.tonight, analysis, document.state, document.now())
        self.workspace.submit(job, self._take, self._failed, slot=_SLOT)

    def _take(self, answer: Answer) -> None:
        self._answer, self._problem, self._is_asking = answer, "", False
        self.refresh()

    def _failed(self, error: Exception) -> None:
        self._is_asking = False
        if isinstance(error, StirfallError):
            self._answer = None
            self._problem = error_sentence(error, decimal=self.workspace.decimal)
        else:
            self._problem = sentence("plan_page.failed")
            self.workspace.notifier.fail(error)
        self.refresh()

    def _want(self, asked: Asked) -> None:
        if asked != self._asked:
            self._asked = asked
            self._ask()
            self.refresh()

    def choose_evening(self, evening: str) -> None:
        """Plan for the next bench day, or for today."""
        self._want(replace(self._asked, evening=evening))

    def step_hours(self, steps: int) -> None:
        """Have some half hours more or less."""
        whole = round(self.state.hours / HOURS_STEP) + steps
        self.set_hours(whole * HOURS_STEP)

    def set_hours(self, hours: float) -> None:
        """Have so many hours free."""
        self._want(replace(self._asked, hours=min(max(hours, _LEAST_H), _MOST_H)))

    def keep_hours(self) -> None:
        """Let these hours be the usual ones of the campaign."""
        document, hours = self.workspace.document, self.state.hours
        if document is None:
            return
        settings = document.state.settings
        plan = replace(settings.plan, evening_h=hours)
        if self.workspace.execute(ChangeSettings(replace(settings, plan=plan)), origin=self) is not None:
            self._want(replace(self._asked, hours=None))

    def choose_goal(self, goal: Goal) -> None:
        """Plan for another goal."""
        self._want(replace(self._asked, goal=goal))

    def draw_anew(self) -> None:
        """Draw the order by another seed."""
        if self.state.seed is not None:
            self._want(replace(self._asked, seed=self.state.seed + 1))

    def keep(self) -> bool:
        """Keep the plan that is shown, so that its order stays as it was drawn."""
        from stirfall.session.tonight import evening_plan

        if self._answer is None or not self.state.can_keep:
            return False
        plan = evening_plan(self._answer.tonight, self._words)
        if self.workspace.execute(KeepEvening(plan), origin=self) is None:
            return False
        told = sentence("plan_page.kept", {"attempts": counted(len(plan.attempts))})
        self.workspace.notify(Notice("info", told, "Undo", self.workspace.undo))
        return True

    def _words(self, reason: Reason) -> str:
        return said(reason, self.workspace.decimal)

    def drop(self) -> bool:
        """Put the kept plan aside; a new one is worked out."""
        document = self.workspace.document
        plan = plan_in_force(document.state, document.now()) if document is not None else None
        if plan is None or self.workspace.execute(DropEvening(plan.id), origin=self) is None:
            return False
        self.workspace.notify(Notice("info", sentence("plan_page.dropped"), "Undo", self.workspace.undo))
        return True

    def fill_in(self) -> bool:
        """Put the attempt whose turn it is into the bench form."""
        return fill_in_next(self.workspace)

    def begin(self) -> bool:
        """Begin the guided run of the attempt whose turn it is."""
        return begin_next(self.workspace)

    def look_at(self, place: int) -> None:
        """Take the conditions of a line in hand: the odds pane then answers for them."""
        line = next((each for each in self.state.lines if each.place == place), None)
        if line is not None:
            label = f"Jar {line.jar} {line.clock}"
            held = InHand(line.conditions, "suggestion", label, lot_id=line.lot, jar_id=line.jar)
            self.workspace.set_in_hand(held, origin=self)

    def look_at_jar(self, place: int) -> None:
        """Take a jar of the shelf in hand as it is now, unless it must stay closed."""
        from stirfall.session.forecast_course import shelf_conditions

        document = self.workspace.document
        line = self.state.decisions[place] if place < len(self.state.decisions) else None
        jar = document.state.jar(line.jar) if document is not None and line is not None else None
        if document is None or line is None or jar is None or line.now is None:
            return
        conditions = shelf_conditions(document.state, jar, document.now())
        held = InHand(conditions, "jar", f"Jar {jar.id}", lot_id=jar.lot_id, jar_id=jar.id)
        self.workspace.set_in_hand(held, origin=self)

    # -- jars to start -----------------------------------------------------------------------------

    def choose_count(self, count: int) -> None:
        """Start the first so many of the proposed jars."""
        if self._answer is not None:
            self._count = min(max(count, 1), len(self._answer.tonight.starts)) or None
            self.refresh()

    def _chosen_starts(self) -> tuple[JarToStart, ...]:
        return () if self._answer is None else self._answer.tonight.starts[: self.state.start_count]

    def start_jars(self) -> bool:
        """Make the jars that are shown, those of later days planned, and offer to print their labels."""
        from stirfall.session.tonight import start_commands

        starts = self._chosen_starts()
        if not starts or not self.state.can_start:
            return False
        for command in start_commands(starts):
            if self.workspace.execute(command, origin=self) is None:
                return False
        made = tuple(each.jar.id for each in starts)
        planned = sum(not each.is_now for each in starts)
        code = "plan_page.started_some" if planned else "plan_page.started"
        params = {"jars": counted(len(made), "jar"), "planned": planned, "ids": ", ".join(made)}
        self.workspace.notify(
            Notice("info", sentence(code, params), "Print labels", partial(self.labels_wanted.emit, made))
        )
        return True
