"""The view-model of "Rehearsal": what is asked, playing it beside the work, stopping, going on, and the results."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import StirfallError
from stirfall.desktop.notifier import Notice
from stirfall.desktop.plan.rehearsal_asking import Answer, Asked, Playing, look_up, play_on, records_folder
from stirfall.desktop.plan.rehearsal_guessing import Typed, guess_lines, read_guess
from stirfall.desktop.plan.rehearsal_state import ATTEMPTS, GUESS, PRESENT, WEEKS, RehearsalState
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.bench.factors import Factor
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.analysis import Analysis
    from stirfall.session.commands import Changes

_LOOK_SLOT, _PLAY_SLOT = "rehearsal kept", "rehearsal"
CAMPAIGN_STEPS = (10, 20, 50, 100, 200, 500, 1000)
MOST_STEPS = (5, 10, 15, 20, 30, 40, 60, 80, 100)
_TARGETS, _BESTS = (50, 99), (50, 99)
_LEAST_TOLD_S = 2.0


class _Identity:
    """An analysis that is equal to itself only: comparing what it holds would take long, and fail."""

    def __init__(self, analysis: Analysis) -> None:
        self.analysis = analysis

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Identity) and self.analysis is other.analysis

    def __hash__(self) -> int:
        return id(self.analysis)


class RehearsalModel(QObject):
    """Holds what the section shows. What was begun goes on while another page is in front.

    Signals:
        changed(RehearsalState).
        front_wanted(): the section shall come to the front.
        _told(int, Answer): from the worker of the run with this number.
    """

    changed = Signal(object)
    front_wanted = Signal()
    _told = Signal(int, object)

    def __init__(
        self,
        workspace: Workspace,
        parent: QObject | None = None,
        *,
        folder: Path | None = None,
        jobs: int = -1,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = RehearsalState()
        self._folder, self._jobs, self._clock = folder, jobs, clock
        self._run = 0
        self._is_shown = False
        self._forget()
        self._told.connect(self._hear)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._on_analysis)
        workspace.refinement_failed.connect(self._on_analysis)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _forget(self) -> None:
        self._asked = Asked()
        self._source, self._best, self._measure = PRESENT, 95, ATTEMPTS
        self._typed: dict[str, Typed] = {}
        self._is_open = True
        self._problem = ""
        self._stop: CancelToken | None = None
        self._began: tuple[float, int] | None = None
        self._now: Answer | None = None
        self._results: Answer | None = None
        self._looked: tuple[_Identity, Asked] | None = None
        self._results_of: tuple[_Identity, Asked] | None = None
        self._run += 1

    def _on_document_opened(self) -> None:
        self._forget()
        self.refresh()

    def _on_document_changed(self, _changes: Changes) -> None:
        self.refresh()

    def _on_analysis(self, _told: object) -> None:
        self._look()
        self.refresh()

    def set_shown(self, shown: bool) -> None:
        """Look for what is kept while somebody looks."""
        self._is_shown = shown
        if shown:
            self._look()
            self.refresh()

    # -- what is kept ------------------------------------------------------------------------------

    @property
    def is_running(self) -> bool:
        """Whether campaigns are being played."""
        return self._stop is not None

    @property
    def _analysis(self) -> Analysis | None:
        """The refined answer to what is recorded now, None while it is worked out."""
        workspace = self.workspace
        is_old = workspace.document is None or workspace.is_stale or workspace.is_refining
        return None if is_old else workspace.analysis

    @property
    def _records(self) -> Path:
        return records_folder() if self._folder is None else self._folder

    def _wanted(self) -> Asked | None:
        """Return what is asked for, the guess included; None where that cannot be read."""
        if not self._asked.orders:
            return None
        if self._source == PRESENT:
            return self._asked
        guess = read_guess(self._factors(), self._typed, self._best, self.workspace.shown)
        return None if guess is None else replace(self._asked, guess=guess)

    def _factors(self) -> tuple[Factor, ...]:
        analysis = self.workspace.analysis
        return () if analysis is None else analysis.limits.factors

    def _look(self, *_unused: object) -> None:
        """Look for what is kept of just this rehearsal."""
        analysis, wanted = self._analysis, self._wanted()
        if not self._is_shown or self.is_running or analysis is None or wanted is None:
            return
        if self._looked == (_Identity(analysis), wanted):
            return
        self._looked, self._now = (_Identity(analysis), wanted), None
        job = partial(look_up, analysis, wanted, self._records)
        self.workspace.submit(job, self._take_kept, self._failed, slot=_LOOK_SLOT)

    def _take_kept(self, answer: Answer) -> None:
        if self.is_running:
            return
        self._problem = ""
        self._take(answer)

    def _take(self, answer: Answer) -> None:
        self._now = answer
        if answer.rehearsed is not None:
            if self._results is None:
                self._is_open = False
            self._results, self._results_of = answer, self._looked
        self.refresh()

    def _failed(self, error: Exception) -> None:
        self._stop = self._began = None
        if isinstance(error, StirfallError):
            self._problem = error_sentence(error, decimal=self.workspace.decimal)
            if not self._is_shown:
                self.workspace.notifier.fail(error)
        else:
            self._problem = sentence("rehearsal_page.failed")
            self.workspace.notifier.fail(error)
        self.refresh()

    # -- playing -----------------------------------------------------------------------------------

    def rehearse(self, *, anew: bool = False) -> bool:
        """Play what is missing; ``anew`` forgets what is kept first."""
        analysis, wanted, document = self._analysis, self._wanted(), self.workspace.document
        if analysis is None or wanted is None or document is None or self.is_running:
            return False
        self._run += 1
        self._stop, self._began, self._is_open, self._problem = CancelToken(), None, False, ""
        if anew or self._looked != (_Identity(analysis), wanted):
            self._now = None
        self._looked = (_Identity(analysis), wanted)
        self.refresh()
        playing = Playing(analysis, wanted, self._records, document.now(), self._jobs, anew)
        job = partial(play_on, playing, partial(self._tell, self._run), self._stop)
        self.workspace.submit(job, partial(self._played, self._run), self._failed, slot=_PLAY_SLOT)
        return True

    def begin_anew(self) -> bool:
        """Play all campaigns again from now on."""
        return self.rehearse(anew=True)

    def stop(self) -> None:
        """Stop soon, and keep what is done."""
        if self._stop is not None:
            self._stop.cancel()
            self.refresh()

    def _tell(self, run: int, answer: Answer) -> None:
        """Hand on how far it is; called on the worker."""
        try:
            self._told.emit(run, answer)
        except RuntimeError:  # the window went meanwhile; nobody wants to know
            return

    def _hear(self, run: int, answer: Answer) -> None:
        if run != self._run or not self.is_running:
            return
        if self._began is None:
            self._began = (self._clock(), answer.done)
        self._take(answer)

    def _played(self, run: int, answer: Answer) -> None:
        if run == self._run:
            self._stop = self._began = None
            self._take(answer)
            if answer.done == answer.of and not self._is_shown:
                told = sentence("rehearsal_page.finished", {"of": answer.of})
                self.workspace.notify(Notice("info", told, "Show", self.come_to_front))
            self._look()

    def come_to_front(self) -> None:
        """Ask for the section, wherever the person is."""
        self.workspace.show_page("plan")
        self.front_wanted.emit()

    # -- showing -----------------------------------------------------------------------------------

    def refresh(self, *_unused: object) -> None:
        """Show what is known now."""
        new = self._built()
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _built(self) -> RehearsalState:
        from stirfall.desktop.plan.rehearsal_building import order_choices, shown_of

        if self.workspace.document is None:
            return RehearsalState()
        asked, shown, results = self._asked, self.workspace.shown, self._results
        rehearsed = None if results is None else results.rehearsed
        plan = self.workspace.document.state.settings.plan
        is_stale, why = self._stale()
        base = RehearsalState(
            message=self._message(),
            is_open=self._is_open,
            target=round(100 * (plan.target if asked.target is None else asked.target)),
            is_usual_target=asked.target is None,
            campaigns=asked.campaigns,
            most=asked.most,
            seed=asked.seed,
            orders=order_choices(asked.orders),
            source=self._source,
            best=self._best,
            guess=guess_lines(self._factors(), self._typed, shown) if self._source == GUESS else (),
            measure=self._measure,
            is_running=self.is_running,
            is_stopping=self._stop is not None and self._stop.is_cancelled,
            done=0 if self._now is None else self._now.done,
            of=asked.of,
            may_ask=self._analysis is not None and self._wanted() is not None,
            results=None if rehearsed is None else shown_of(rehearsed, self._measure, shown.decimal),
            is_stale=is_stale,
            stale=why,
        )
        return replace(base, progress=self._progress(base))

    def _message(self) -> str:
        if self._problem:
            return self._problem
        if not self._asked.orders:
            return sentence("rehearsal_page.no_orders")
        if self._source == GUESS and self._wanted() is None:
            return sentence("rehearsal_page.guess_unready")
        is_early = self._analysis is None and self._results is None
        return sentence("rehearsal_page.waits") if is_early else ""

    def _stale(self) -> tuple[bool, str]:
        """Return whether the results are of something else than what is asked for now, and why."""
        analysis, results, of = self._analysis, self._results, self._results_of
        if results is None or of is None:
            return False, ""
        if analysis is None:
            return True, ""
        if self.is_running:
            is_old = of[0].analysis is not analysis
        else:
            is_old = self._now is None or self._now.key != results.key
        if not is_old:
            return False, ""
        if of[1] != self._wanted():
            return True, sentence("rehearsal_page.stale_asked")
        return True, sentence("rehearsal_page.stale_changed") if self._now is not None else ""

    def _progress(self, state: RehearsalState) -> str:
        from stirfall.desktop.plan.rehearsal_building import time_left

        params: dict[str, object] = {"done": state.done, "of": state.of}
        if state.is_stopping:
            return sentence("rehearsal_page.stopping", params)
        if state.is_running:
            if self._began is None:
                return sentence("rehearsal_page.starting", params)
            since, before = self._clock() - self._began[0], state.done - self._began[1]
            if before < 1 or since < _LEAST_TOLD_S:
                return sentence("rehearsal_page.running", params)
            left = time_left((state.of - state.done) * since / before)
            return sentence("rehearsal_page.running_left", {**params, "left": left})
        if not state.done:
            return ""
        return sentence("rehearsal_page.whole" if state.done == state.of else "rehearsal_page.kept", params)

    # -- what is asked -----------------------------------------------------------------------------

    def _want(self, asked: Asked) -> None:
        if not self.is_running:
            self._asked, self._problem = asked, ""
            self._look()
            self.refresh()

    def toggle_choices(self) -> None:
        """Show what may be chosen, or hide it."""
        self._is_open = not self._is_open
        self.refresh()

    def step_target(self, step: int) -> None:
        """Want so many per cent more or less; the plan's own target is the usual one."""
        document = self.workspace.document
        if document is not None:
            wanted = min(max(self.state.target + step, _TARGETS[0]), _TARGETS[1])
            usual = round(100 * document.state.settings.plan.target)
            self._want(replace(self._asked, target=None if wanted == usual else wanted / 100))

    def step_campaigns(self, step: int) -> None:
        """Play more or fewer campaigns of each order."""
        self._want(replace(self._asked, campaigns=_next(CAMPAIGN_STEPS, self._asked.campaigns, step)))

    def step_most(self, step: int) -> None:
        """Play each campaign longer or shorter."""
        self._want(replace(self._asked, most=_next(MOST_STEPS, self._asked.most, step)))

    def step_seed(self, step: int) -> None:
        """Play other campaigns of the same kind."""
        self._want(replace(self._asked, seed=max(self._asked.seed + step, 0)))

    def want_order(self, order: str, wanted: bool) -> None:
        """Rehearse an order, or leave it."""
        from stirfall.desktop.plan.rehearsal_building import in_order

        orders = {*self._asked.orders, order} if wanted else {*self._asked.orders} - {order}
        self._want(replace(self._asked, orders=in_order(orders)))

    def choose_source(self, source: str) -> None:
        """Rehearse from the attempts, or from a stated guess."""
        if not self.is_running:
            self._source = source
            self._want(self._asked)

    def step_best(self, step: int) -> None:
        """Guess a best probability of so many per cent more or less."""
        if not self.is_running:
            self._best = min(max(self._best + step, _BESTS[0]), _BESTS[1])
            self._want(self._asked)

    def guess(self, factor: str, **typed: object) -> None:
        """Say that a factor ``matters``, at which ``place`` it is best, or how wide that is (``width``)."""
        if not self.is_running:
            self._typed[factor] = replace(self._typed.get(factor, Typed()), **typed)  # type: ignore[arg-type]
            self._want(self._asked)

    def choose_measure(self, measure: str) -> None:
        """Count attempts or weeks."""
        if measure in (ATTEMPTS, WEEKS):
            self._measure = measure
            self.refresh()


def _next(steps: tuple[int, ...], now: int, step: int) -> int:
    place = min(range(len(steps)), key=lambda at: abs(steps[at] - now))
    return steps[min(max(place + step, 0), len(steps) - 1)]
