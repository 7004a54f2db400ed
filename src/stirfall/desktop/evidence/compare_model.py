"""The view-model of "Is it chance?": two groups as typed, their comparison in the background, earlier questions."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.comparisons import Comparison, Measure
from stirfall.bench.errors import InputError, StirfallError
from stirfall.desktop.evidence.compare_asking import find_subjects, work_out
from stirfall.desktop.evidence.compare_fields import Typed, fields_of, group_of, usual_groups, usual_subject
from stirfall.desktop.evidence.compare_state import LEVEL, RANGE, CompareState, GroupState
from stirfall.desktop.shown import Shown, in_other_unit
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import Changes, NoteComparison

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.comparing_records import Compared, Subject

_SUBJECTS_SLOT, _COMPARE_SLOT = "compare subjects", "compare"
_POINTS = {Measure.CLEAN: 0.05, Measure.PARTED: 0.05, Measure.POOLED: 0.05, Measure.RECOVERY: 1.0}
_MOST = {Measure.RECOVERY: 100.0}


class CompareModel(QObject):
    """Holds what the section shows; looks for subjects and compares only while somebody looks.

    Signals:
        changed(CompareState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = CompareState()
        self._is_shown = False
        self._shown_as = workspace.shown
        self._forget()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.analysis_failed.connect(self._analysis_failed)
        workspace.theme_changed.connect(self._on_theme)
        self._on_document_opened()

    def _forget(self) -> None:
        self._subjects: tuple[Subject, ...] | None = None
        self._subject = ""
        self._typed: dict[str, Typed] = {}
        self._measure = Measure.CLEAN
        self._matters: dict[Measure, float] = {}
        self._comparison: Comparison | None = None
        self._found: Compared | None = None
        self._answered: tuple[Analysis, Comparison, float | None] | None = None
        self._is_asking = self._is_searching = False
        self._edition, self._known_edition = 0, -1
        self._note = self._problem = ""

    # -- what comes from outside -------------------------------------------------------------------

    def _on_document_opened(self) -> None:
        self._forget()
        self._search()
        self.refresh()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.attempts or changes.factors or changes.shelf or changes.settings:
            self._edition, self._is_searching = self._edition + 1, False
            self._search()
        self.refresh()

    def _on_theme(self, *_unused: object) -> None:
        """Write typed ends again as they are shown now: the amount stays."""
        old, new = self._shown_as, self.workspace.shown
        self._shown_as = new
        if old != new:
            for what, typed in tuple(self._typed.items()):
                self._typed[what] = Typed(*(self._rewritten(what, group, old, new) for group in typed.both))
        self.refresh()

    def _rewritten(self, what: str, group: GroupState, old: Shown, new: Shown) -> GroupState:
        subject = self._found_subject(what)
        if subject is None or subject.kind != RANGE:
            return group
        low, high = (
            in_other_unit(text, subject.unit, old, new) if text else "" for text in (group.low, group.high)
        )
        return replace(group, low=low, high=high)

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another section is in front."""
        self._is_shown = shown
        if shown:
            self._search()
            self._ask()
            self.refresh()

    # -- in the background -------------------------------------------------------------------------

    def _search(self) -> None:
        """Look for what can be compared, unless that is known."""
        document = self.workspace.document
        if document is None or not self._is_shown or self._is_searching or self._known_edition == self._edition:
            return
        self._is_searching = True
        job = partial(find_subjects, document.state)
        take = partial(self._take_subjects, self._edition)
        self.workspace.submit(job, take, self._failed, slot=_SUBJECTS_SLOT)

    def _take_subjects(self, edition: int, subjects: tuple[Subject, ...]) -> None:
        if edition != self._edition:  # of attempts that have changed since
            return
        self._is_searching, self._known_edition = False, edition
        self._subjects = subjects
        if self._found_subject(self._subject) is None:
            self._subject = usual_subject(subjects)
        self._fill_in()
        self._show_newest()
        self.refresh()

    def _show_newest(self) -> None:
        """Go on where the session was left: show the newest question that was asked, which is no new one."""
        document = self.workspace.document
        if self._comparison is not None or document is None or not document.state.comparisons:
            return
        newest = max(document.state.comparisons, key=lambda each: each.made_at)
        self._measure = newest.measure
        self._put_into_fields(newest)
        self._show(newest)

    def _ask(self, *_unused: object) -> None:
        """Compare by the answer that holds now, unless just this was answered."""
        document, analysis, comparison = self.workspace.document, self.workspace.analysis, self._comparison
        if document is None or analysis is None or comparison is None or not self._is_shown:
            return
        if self.workspace.is_stale or self.workspace.is_refining:
            return
        matters, known = self._matters.get(comparison.measure), self._answered
        if known is not None and known[0] is analysis and known[1:] == (comparison, matters):
            return
        self._answered = (analysis, comparison, matters)
        self._is_asking = True
        self.refresh()
        job = partial(work_out, analysis, comparison, matters, document.state.comparisons)
        self.workspace.submit(job, self._take, self._failed, slot=_COMPARE_SLOT)

    def _take(self, found: Compared) -> None:
        self._found, self._is_asking, self._problem = found, False, ""
        self.refresh()

    def _analysis_failed(self, *_unused: object) -> None:
        """Without an analysis there is no answer; the window has said why."""
        if self._comparison is not None:
            self._problem = sentence("compare_page.failed")
            self.refresh()

    def _failed(self, error: Exception) -> None:
        self._is_asking = self._is_searching = False
        self._answered = None
        if isinstance(error, StirfallError):
            self._problem = error_sentence(error, decimal=self.workspace.decimal)
        else:
            self._problem = sentence("compare_page.failed")
            self.workspace.notifier.fail(error)
        self.refresh()

    # -- what the person does ----------------------------------------------------------------------

    def choose_subject(self, what: str) -> None:
        """Compare groups that are about this."""
        if what != self._subject and self._found_subject(what) is not None:
            self._subject = what
            self._fill_in()
            self.refresh()

    def choose_measure(self, measure: str) -> None:
        """Compare this."""
        self._measure = Measure(measure)
        self.refresh()

    def choose_level(self, side: int, level: str) -> None:
        """Let a group be of this level."""
        self._type(side, level=level)

    def type_end(self, side: int, end: str, text: str) -> None:
        """Let a group's ``low`` or ``high`` end be what was typed; "" is without end."""
        self._type(side, **{end: text})

    def type_text(self, side: int, text: str) -> None:
        """Let a group be the attempts with these numbers."""
        self._type(side, text=text)

    def _type(self, side: int, **fields: str) -> None:
        typed = self._typed.get(self._subject, Typed())
        self._typed[self._subject] = typed.with_side(side, replace(typed.both[side], **fields))
        self.refresh()

    def swap(self) -> None:
        """Let the groups change places; what was compared is then shown so as well."""
        typed = self._typed.get(self._subject, Typed())
        self._typed[self._subject] = Typed(typed.second, typed.first)
        now = self._comparison
        if now is not None and self._found is not None:
            self._comparison = replace(now, first=now.second, second=now.first)
            self._ask()
        self.refresh()

    def step_matters(self, steps: int) -> None:
        """Let a larger or smaller difference matter."""
        now = self._matters_now
        step = _POINTS.get(self._measure, 0.1 * now)
        most = _MOST.get(self._measure, 1.0 if self._measure in _POINTS else float("inf"))
        self._matters[self._measure] = round(min(max(now + steps * step, step), most), 10)
        self._ask()
        self.refresh()

    def compare(self) -> bool:
        """Compare the groups as they are typed; the file notes that this was asked, where it may be written."""
        document = self.workspace.document
        made = self._typed_comparison()
        if document is None or not isinstance(made, Comparison):
            self.refresh()
            return False
        self._note = ""
        if document.read_only:
            self._note = sentence("compare.not_kept_read_only")
        elif self.workspace.execute(NoteComparison(made), origin=self) is None:
            return False
        self._show(made)
        return True

    def show_again(self, place: int) -> None:
        """Show a comparison that was asked before; that is no new question."""
        many = None if self._found is None else self._found.many
        if many is None or not 0 < place < len(many.kept):
            return
        again = many.kept[place].comparison
        self._measure = again.measure
        self._put_into_fields(again)
        self._note = ""
        self._show(again)

    def _show(self, comparison: Comparison) -> None:
        self._comparison, self._problem = comparison, ""
        self._ask()
        self.refresh()

    # -- between fields and groups -----------------------------------------------------------------

    def _found_subject(self, what: str) -> Subject | None:
        return next((each for each in self._subjects or () if each.what == what), None)

    @property
    def _matters_now(self) -> float:
        found = self._found
        if self._measure in self._matters:
            return self._matters[self._measure]
        if found is not None and found.measure is self._measure:
            return found.matters
        return {Measure.RECOVERY: 10.0}.get(self._measure, 0.2)

    def _fill_in(self) -> None:
        """Give the fields of a subject that was not looked at yet what is usual: two levels, two halves."""
        subject = self._found_subject(self._subject)
        if subject is None or (subject.what in self._typed and self._still_there(subject)):
            return
        self._typed[subject.what] = usual_groups(subject, self.workspace.shown)

    def _still_there(self, subject: Subject) -> bool:
        if subject.kind != LEVEL:
            return True
        known = {level.value for level in subject.levels}
        return all(group.level in known for group in self._typed[subject.what].both)

    def _typed_comparison(self) -> Comparison | GroupState | None:
        """Return what the fields ask for; None where that is nothing, or the first group that cannot be read."""
        document, subject = self.workspace.document, self._found_subject(self._subject)
        if document is None or subject is None:
            return None
        groups = []
        for typed in self._typed.get(subject.what, Typed()).both:
            try:
                groups.append(group_of(document.state, subject, typed, self.workspace.shown))
            except InputError as error:
                return replace(typed, problem=error_sentence(error, decimal=self.workspace.decimal))
        if groups[0] == groups[1]:
            return None
        return Comparison("", document.now(), groups[0], groups[1], self._measure)

    def _put_into_fields(self, comparison: Comparison) -> None:
        """Let the fields hold a comparison that was asked before, as far as they can."""
        what, document = comparison.first.what, self.workspace.document
        subject = self._found_subject(what)
        if document is None or subject is None or comparison.second.what != what:
            return
        self._subject = what
        fields = partial(fields_of, document.state, subject, shown=self.workspace.shown)
        self._typed[what] = Typed(fields(comparison.first), fields(comparison.second))

    # -- showing -----------------------------------------------------------------------------------

    def refresh(self, *_unused: object) -> None:
        """Show what is known now."""
        new = self._built()
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _built(self) -> CompareState:
        from stirfall.desktop.evidence import compare_building as build

        if self.workspace.document is None:
            return CompareState(message=sentence("compare_page.no_session"))
        if self._subjects is None:
            return CompareState(is_working=True)
        if not self._subjects:
            return CompareState(message=sentence("compare_page.empty"))
        decimal, shown = self.workspace.decimal, self.workspace.shown
        subject = self._found_subject(self._subject)
        made = self._typed_comparison()
        groups = list(self._typed.get(self._subject, Typed()).both)
        if isinstance(made, GroupState):
            place = next(at for at, group in enumerate(groups) if replace(made, problem="") == group)
            groups[place] = made
        unit = "" if self._found is None else self._found.unit
        asked = self._comparison
        is_other = asked is not None and not (isinstance(made, Comparison) and made.question == asked.question)
        state = CompareState(
            teaches=sentence("compare_page.teaches"),
            subjects=build.subject_choices(self._subjects),
            subject=self._subject,
            kind=LEVEL if subject is None else subject.kind,
            levels=build.level_choices(subject),
            unit=build.unit_of(subject, shown),
            measures=build.measure_choices(),
            measure=self._measure.value,
            matters=build.matters_text(self._measure, self._matters_now, decimal, unit)
            if self._knows_matters
            else sentence("compare_page.matters_usual"),
            groups=(groups[0], groups[1]),
            can_compare=isinstance(made, Comparison),
            is_working=self._is_asking,
            problem=self._problem,
            note=self._note or (sentence("compare_page.not_these") if is_other and self._found is not None else ""),
        )
        return self._with_answer(state)

    @property
    def _knows_matters(self) -> bool:
        """Whether the difference that matters can be told: of times only once some are known."""
        timed = self._measure in (Measure.PARTING_TIME, Measure.RUN_TIME)
        return not timed or (self._found is not None and self._found.measure is self._measure)

    def _with_answer(self, state: CompareState) -> CompareState:
        from stirfall.desktop.evidence import compare_building as build
        from stirfall.reporting.compare_words import short_headline

        found, decimal = self._found, self.workspace.decimal
        if found is None or self._comparison is None:
            waits = self._comparison is not None and not self._problem
            return replace(state, is_working=state.is_working or waits)
        dangers, warnings = build.warnings_of(found, decimal)
        workspace = self.workspace
        late = (
            workspace.is_stale or workspace.is_refining or self._is_asking or found.comparison != self._comparison
        )
        return replace(
            state,
            is_stale=late,
            verdict=found.verdict,
            headline=short_headline(found, decimal=decimal),
            dangers=dangers,
            warnings=warnings,
            picture=build.picture_of(found, decimal),
            cards=build.cards_of(found, decimal),
            kept=build.kept_lines(found, decimal),
        )
