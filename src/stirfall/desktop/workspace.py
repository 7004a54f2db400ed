"""The open document and its analysis, as all views see them; the one object that views share."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Literal, TypeVar

from PySide6.QtCore import QObject, Signal
from shiboken6 import isValid

from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions
from stirfall.desktop.collector import set_aside, take_back
from stirfall.desktop.notifier import Notice, Notifier
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import LIGHT, Theme

if TYPE_CHECKING:
    from collections.abc import Callable

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.records import Attempt
    from stirfall.bench.running import Run
    from stirfall.session.analysis import Analysis
    from stirfall.session.commands import Changes, Command
    from stirfall.session.document import Document
    from stirfall.session.jobs import Executor, Job

T = TypeVar("T")
PAGES = ("shelf", "plan", "bench", "attempts", "evidence", "recipe")
SIDES = ("odds", "melt", "film")
_ANALYSIS_SLOT = "analysis"
_MANY = 5000  # attempts from which on a session is left out of collections of cycles


@dataclass(frozen=True)
class InHand:
    """The conditions that the odds pane answers for, and where they come from.

    ``lot_id`` and ``jar_id`` say what metal they are for, None where that is not known; ``bench`` is that of a
    pooled attempt, None for this session's own.
    """

    conditions: Conditions
    source: Literal["form", "attempt", "jar", "recipe", "suggestion"]
    label: str = ""
    lot_id: str | None = None
    jar_id: str | None = None
    bench: str | None = None

    @classmethod
    def of_attempt(cls, attempt: Attempt) -> InHand:
        """Return a recorded attempt in hand, with its metal; the ledger finds its row by the label."""
        bench = None if attempt.origin is None else attempt.origin.bench
        label = f"Attempt {attempt.number}"
        return cls(attempt.conditions, "attempt", label, attempt.lot_id, attempt.jar_id, bench)


@dataclass(frozen=True)
class FormRequest:
    """Please put these conditions into the bench form; ``note_origin`` says where they come from.

    ``planned`` says that this program suggested them, so that leaving what was tried needs no other reason.
    ``focus`` names the one factor that is to be changed, which the keyboard goes to. ``proof_id`` is the running
    proof that the attempt shall count for.
    """

    conditions: Conditions
    jar_id: str | None = None
    note_origin: str = ""
    planned: bool = False
    focus: str = ""
    proof_id: str | None = None


class Workspace(QObject):
    """Holds the document, keeps the analysis fresh, and passes requests between views.

    Attributes:
        document, analysis: what is open and what was last computed from it, or None.
        is_stale: whether the analysis is older than the document.
        is_refining: whether the analysis is a first answer whose refinement is still being computed.
        in_hand: the conditions the odds pane answers for.
        theme, decimal: how things are shown; ``decimal`` carries the temperature unit that is liked (``shown``).
        ledger_columns, shelf_columns: the columns of ledger and shelf as the program's settings keep them.
        keep_original_photos: whether the file of a photo is kept beside its smaller copy.

    Signals:
        document_opened(): another document, or none.
        document_changed(Changes): one command was done or undone.
        analysis_started(), analysis_finished(Analysis), analysis_failed(error): ``analysis_finished`` comes for the
            first answer and again for the refined one.
        refinement_failed(error): the first answer stays.
        in_hand_changed(InHand, origin): ``origin`` is the view that caused it, which ignores its echo.
        form_requested(FormRequest), page_requested(str), notified(Notice), theme_changed(Theme).
        side_requested(str): one of ``SIDES`` shall stand beside the pages.
        film_requested(str, str): the film of these two jars shall be compared; "" leaves the choice as it is.
        settings_requested(): the campaign settings shall be opened.
        setting_changed(str, object): a view wants this setting of the program kept.
        act_requested(str): an act of the guided run by its key (see ``bench/scan_codes.py``), from a scan or the
            foot switch.
        jar_scanned(str): the code of this jar was scanned while a run is open.
        residue_requested(int): residue of the attempt with this number shall be registered; 0: of the newest one.
        why_requested(str): why the attempt with this id came out as it did.
        run_requested(str): the guided run shall come to the front; with a jar's id it shall begin with that jar,
            "" begins with what the form holds, or shows the run that is open.
        document_closing(): the document is about to be closed; it can still be written to.
    """

    document_opened = Signal()
    document_changed = Signal(object)
    analysis_started = Signal()
    analysis_finished = Signal(object)
    analysis_failed = Signal(object)
    refinement_failed = Signal(object)
    in_hand_changed = Signal(object, object)
    form_requested = Signal(object)
    page_requested = Signal(str)
    side_requested = Signal(str)
    film_requested = Signal(str, str)
    settings_requested = Signal()
    setting_changed = Signal(str, object)
    act_requested = Signal(str)
    jar_scanned = Signal(str)
    residue_requested = Signal(int)
    why_requested = Signal(str)
    run_requested = Signal(str)
    document_closing = Signal()
    notified = Signal(object)
    theme_changed = Signal(object)

    def __init__(
        self, executor: Executor, *, theme: Theme = LIGHT, decimal: str = ".", parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.notifier = Notifier(self)
        self.notifier.decimal = decimal
        self.notifier.posted.connect(self.notified)
        self.document: Document | None = None
        self.analysis: Analysis | None = None
        self.is_stale = False
        self.is_refining = False
        self.in_hand = InHand(Conditions(), "form")
        self.theme = theme
        self.decimal = decimal
        self.ledger_columns = ""
        self.shelf_columns = ""
        self.keep_original_photos = False
        self._executor = executor
        self._generations: dict[str, int] = {}
        self._jobs: dict[str, Job] = {}
        self._unsubscribe: Callable[[], None] | None = None
        self._analysed: CampaignState | None = None

    # -- the document ------------------------------------------------------------------------------

    @property
    def open_run(self) -> Run | None:
        """The guided run that is not over yet, None when there is none."""
        return self.document.state.open_run if self.document is not None else None

    def open_document(self, document: Document) -> None:
        """Show another document; the one shown before is closed."""
        self._release()
        self.document = document
        self._unsubscribe = document.subscribe(self._on_changes)
        self.in_hand = InHand(Conditions(), "form")
        if len(document.state.attempts) > _MANY:
            set_aside()
        self.document_opened.emit()
        self.refresh()

    def close_document(self) -> None:
        """Close the document; views show their empty state. A draft stays in the file."""
        if self.document is None:
            return
        self._release()
        self.in_hand = InHand(Conditions(), "form")
        self.document_opened.emit()

    def execute(self, command: Command, origin: object = None) -> Changes | None:
        """Do a command; an error becomes a notice and None is returned."""
        document = self.document
        if document is None:
            return None
        return self._guarded(lambda: document.execute(command, origin=origin))

    def undo(self) -> Changes | None:
        """Take back the last command."""
        changes = self._guarded(self.document.undo) if self.document else None
        if changes is not None:
            self.notifier.info(f"Undone: {in_a_sentence(changes.name)}.", "Redo", self.redo)
        return changes

    def redo(self) -> Changes | None:
        """Do again what was taken back."""
        changes = self._guarded(self.document.redo) if self.document else None
        if changes is not None:
            self.notifier.info(f"Done again: {in_a_sentence(changes.name)}.", "Undo", self.undo)
        return changes

    def _guarded(self, act: Callable[[], Changes]) -> Changes | None:
        try:
            return act()
        except (StirfallError, OSError) as error:
            self.notifier.fail(error)
            return None

    def _release(self) -> None:
        if self.document is not None:
            self.document_closing.emit()
        self._drop_slots()
        if self._unsubscribe is not None:
            self._unsubscribe()
            self._unsubscribe = None
        if self.document is not None:
            if len(self.document.state.attempts) > _MANY:
                take_back()
            self.document.close()
        self.document = self._analysed = None
        self.analysis = None
        self.is_stale = self.is_refining = False

    def _on_changes(self, changes: Changes, origin: object) -> None:
        del origin  # views compare the changes with what they show; an echo renders the same
        # A photo or a log belongs to an attempt and leaves all that is fitted as it was: the state is the same one.
        is_new = _touches_analysis(changes) and self._analysed is not (self.document and self.document.state)
        self.is_stale = self.is_stale or is_new
        self.document_changed.emit(changes)
        if is_new:
            self.refresh()

    # -- the analysis ------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Start the analysis of the present state in the background; what is shown now is stale at once."""
        if self.document is None:
            return
        self._analysed = state = self.document.state
        self.is_stale, self.is_refining = True, False
        self.analysis_started.emit()
        self.submit(
            lambda token: _analyse(state, token), self._first_answer, self._analysis_failed, slot=_ANALYSIS_SLOT
        )

    def _first_answer(self, analysis: Analysis) -> None:
        """Show the first answer, then have it refined, unless a view has changed the document meanwhile."""
        self.is_refining = True
        self._take_analysis(analysis)
        if self.analysis is analysis and self.is_refining:
            self.submit(
                lambda token: _refine(analysis, token),
                self._refined_answer,
                self._refinement_failed,
                slot=_ANALYSIS_SLOT,
            )

    def _refined_answer(self, analysis: Analysis) -> None:
        self.is_refining = False
        self._take_analysis(analysis)

    def _take_analysis(self, analysis: Analysis) -> None:
        self.analysis = analysis
        self.is_stale = False
        self.analysis_finished.emit(analysis)

    def _analysis_failed(self, error: Exception) -> None:
        self.analysis_failed.emit(error)
        self.notifier.fail(error)

    def _refinement_failed(self, error: Exception) -> None:
        self.is_refining = False
        self.refinement_failed.emit(error)
        self.notifier.warn_of(error, "desktop.not_refined")

    def submit(
        self,
        job: Callable[[CancelToken], T],
        done: Callable[[T], None],
        failed: Callable[[Exception], None] | None = None,
        *,
        slot: str | None = None,
    ) -> Job:
        """Run ``job(token)`` off the window's thread and call ``done`` here with its result.

        A new job in the same ``slot`` cancels the older one, whose late result is dropped; without a slot the
        job stands alone. Without ``failed`` an error goes to the notifier. What comes for a method of an object
        that is gone, a dialog that was closed meanwhile, is dropped too.
        """
        done, on_failure = _unless_gone(done), _unless_gone(failed or self.notifier.fail)
        if slot is None:
            return self._executor.submit(job, done, on_failure)
        generation = self._generations.get(slot, 0) + 1
        self._generations[slot] = generation
        if (old := self._jobs.pop(slot, None)) is not None:
            old.cancel()

        def is_current() -> bool:
            return self._generations.get(slot) == generation

        def deliver(result: T) -> None:
            if is_current():
                done(result)

        def deliver_failure(error: Exception) -> None:
            if is_current():
                on_failure(error)

        handle = self._executor.submit(job, deliver, deliver_failure)
        if is_current():
            self._jobs[slot] = handle
        return handle

    def _drop_slots(self) -> None:
        for slot, handle in self._jobs.items():
            self._generations[slot] += 1
            handle.cancel()
        self._jobs.clear()

    # -- between views -----------------------------------------------------------------------------

    def set_in_hand(self, in_hand: InHand, origin: object = None) -> None:
        """Change the conditions that the odds pane answers for."""
        if in_hand != self.in_hand:
            self.in_hand = in_hand
            self.in_hand_changed.emit(in_hand, origin)

    def request_form(self, request: FormRequest) -> None:
        """Ask the bench form to take these conditions, and show it."""
        self.form_requested.emit(request)
        self.show_page("bench")

    def show_page(self, name: str) -> None:
        """Ask the window for one of ``PAGES``."""
        self.page_requested.emit(name)

    def show_side(self, name: str) -> None:
        """Ask the window for one of ``SIDES`` beside the pages."""
        self.side_requested.emit(name)

    def request_film(self, first: str, second: str = "") -> None:
        """Ask for the comparison of what sets the film of two jars, by their ids."""
        self.show_side("film")
        self.film_requested.emit(first, second)

    def request_residue(self, attempt: int = 0) -> None:
        """Ask the shelf to register residue of an attempt, by its number; 0: of the newest one."""
        self.show_page("shelf")
        self.residue_requested.emit(attempt)

    def request_why(self, attempt_id: str) -> None:
        """Ask why an attempt came out as it did."""
        self.show_page("evidence")
        self.why_requested.emit(attempt_id)

    def request_settings(self) -> None:
        """Ask for the campaign settings."""
        self.settings_requested.emit()

    def request_run(self, jar_id: str = "") -> None:
        """Ask for the guided run: with this jar, else with what the form holds; an open run is shown."""
        self.run_requested.emit(jar_id)

    def request_act(self, key: str) -> None:
        """Ask the guided run for an act by its key, as a scan of the card of acts or the foot switch does."""
        self.act_requested.emit(key)

    def notify(self, notice: Notice) -> None:
        """Say something in the window's message strip."""
        self.notifier.post(notice)

    def set_theme(self, theme: Theme) -> None:
        """Give all views another theme."""
        if theme != self.theme:
            self.theme = theme
            self.theme_changed.emit(theme)

    @property
    def shown(self) -> Shown:
        """How quantities are shown and how bare numbers are read."""
        return Shown.of(self.decimal)

    def set_decimal(self, decimal: str) -> None:
        """Change the decimal sign of shown numbers; views render anew on ``theme_changed``."""
        self._show_as(replace(self.shown, decimal=str(decimal)))

    def set_temperature_unit(self, unit: str) -> None:
        """Change the unit of shown temperatures: "campaign", "C", "F" or "K"; views render anew."""
        self._show_as(replace(self.shown, temperature=unit))

    def _show_as(self, shown: Shown) -> None:
        self.decimal = shown.style
        self.notifier.decimal = shown.style
        self.theme_changed.emit(self.theme)

    def keep_ledger_columns(self, text: str) -> None:
        """Remember the columns of the ledger for the next time."""
        self.ledger_columns = text
        self.setting_changed.emit("ledger_columns", text)

    def keep_shelf_columns(self, text: str) -> None:
        """Remember the columns of the shelf for the next time."""
        self.shelf_columns = text
        self.setting_changed.emit("shelf_columns", text)


def in_a_sentence(name: str) -> str:
    """Return the name of a step as it stands within a sentence: "Record attempt 12" is "record attempt 12"."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _touches_analysis(changes: Changes) -> bool:
    return bool(changes.settings or changes.factors or changes.shelf or changes.attempts)


def _analyse(state: CampaignState, token: CancelToken) -> Analysis:
    from stirfall.session.analysis import analyse

    return analyse(state, token=token)


def _refine(analysis: Analysis, token: CancelToken) -> Analysis:
    from stirfall.session.analysis import refine

    return refine(analysis, token=token)


def _unless_gone(answer: Callable[[T], None]) -> Callable[[T], None]:
    """Return ``answer``, which does nothing once the object whose method it is was deleted."""
    method = answer.func if isinstance(answer, partial) else answer
    owner = getattr(method, "__self__", None)
    if not isinstance(owner, QObject):
        return answer

    def deliver(result: T) -> None:
        if isValid(owner):
            answer(result)

    return deliver
