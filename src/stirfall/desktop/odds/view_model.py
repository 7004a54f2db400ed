"""The odds pane without its widgets: what is shown, and what a person can want from it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.desktop.odds.answers import completed, headline, stepped_value, suggestion_rows, title_of, value_at
from stirfall.desktop.odds.pictures import attempt_text, axis_place, curve_picture, map_picture
from stirfall.desktop.odds.state import CurvePicture, GoalChoice, MapPicture, OddsState, View
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.planning.next_attempts import Suggestion
    from stirfall.session.analysis import Analysis

_LATE_AFTER_MS = 150
_PICTURE_SLOT, _NEXT_SLOT = "odds picture", "odds next attempts"
_SUGGESTIONS = 3


class OddsViewModel(QObject):
    """Holds one OddsState and turns wishes into changes of the workspace.

    Signals:
        changed(OddsState): something that is shown has changed.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._state = OddsState(message=sentence("odds.closed"))
        self._wanted_picture: tuple[object, ...] | None = None
        self._shown_picture: tuple[object, ...] | None = None
        self._suggested_for: tuple[object, ...] | None = None
        self._serial = 0
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(_LATE_AFTER_MS)
        self._late.timeout.connect(self._mark_late)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self._on_analysis_started)
        workspace.analysis_finished.connect(self._on_analysis_finished)
        workspace.analysis_failed.connect(self._on_analysis_failed)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self._on_shown_differently)
        if workspace.document is not None:
            self._on_document_opened()
        if workspace.analysis is not None:
            self._on_analysis_finished(workspace.analysis)

    @property
    def state(self) -> OddsState:
        """What is shown now."""
        return self._state

    @property
    def _analysis(self) -> Analysis | None:
        return self._workspace.analysis

    # -- what a person can want ------------------------------------------------------------------------

    def choose_view(self, view: View) -> None:
        """Show the curve or the map."""
        self._set(view=view, pointed="")
        self._request_picture()

    def choose_axis(self, name: str) -> None:
        """Draw the curve along another factor."""
        if name in self._state.axis_choices:
            self._set(axis=name, pointed="")
            self._place_mark()
            self._request_picture()

    def choose_map_axes(self, across: str, upward: str) -> None:
        """Draw the map over two factors; the same factor twice swaps them."""
        old_across, old_upward = self._state.map_axes
        if across == upward:
            across, upward = (across, old_across) if across != old_across else (old_upward, upward)
        if {across, upward} <= set(self._state.map_choices):
            self._set(map_axes=(across, upward), pointed="")
            self._place_mark()
            self._request_picture()

    def move_to(self, position: object) -> None:
        """Put the mark in hand at an axis position (curve) or a pair of them (map)."""
        places = position if isinstance(position, tuple) else (position,)
        names = self._axes_in_use()
        self._move({name: value_at(self._factor(name), float(at)) for name, at in zip(names, places, strict=True)})

    def step(self, sideways: int, upwards: int) -> None:
        """Move the mark in hand by key presses, along the factors' own steps."""
        names = self._axes_in_use()
        whole = self._whole()
        if whole is None:
            return
        wanted = dict(zip(names, (sideways, upwards), strict=False))
        self._move(
            {name: stepped_value(self._factor(name), whole[name], count) for name, count in wanted.items() if count}
        )

    def point_at(self, attempt_id: str) -> None:
        """Tell about the attempt under the pointer, or about none."""
        text = ""
        if attempt_id and self._analysis is not None:
            state = self._analysis.state
            text = attempt_text(state.factors, state.attempt(attempt_id), decimal=self._workspace.decimal)
        self._set(pointed=text)

    def choose_attempt(self, attempt_id: str) -> None:
        """Take a recorded attempt in hand."""
        if self._analysis is not None:
            attempt = self._analysis.state.attempt(attempt_id)
            self._workspace.set_in_hand(InHand(attempt.conditions, "attempt", f"attempt {attempt.number}"), self)

    def toggle_gates(self, shown: bool) -> None:
        """Show or hide the two gates in the curve."""
        self._set(show_gates=shown)

    def toggle_details(self, shown: bool) -> None:
        """Show or hide the details under the headline."""
        self._set(show_details=shown)

    def choose_goal(self, goal: GoalChoice) -> None:
        """Ask for next attempts with another goal."""
        if goal != self._state.goal:
            self._set(goal=goal)
            self._request_suggestions()

    def look_at_suggestion(self, index: int) -> None:
        """Take a suggestion in hand, without touching the form."""
        row = self._state.suggestions[index]
        label = sentence("odds.suggested", {"number": index + 1})
        self._workspace.set_in_hand(InHand(row.conditions, "suggestion", label), self)

    def take_suggestion(self, index: int) -> None:
        """Put a suggestion into the bench form."""
        row = self._state.suggestions[index]
        origin = sentence("odds.suggested", {"number": index + 1})
        self._workspace.request_form(FormRequest(row.conditions, row.jar_id, origin))

    def take_in_hand(self) -> None:
        """Put the conditions in hand into the bench form."""
        if self._state.headline.can_take:
            origin = sentence("odds.from_odds", {"label": self._state.headline.title})
            self._workspace.request_form(FormRequest(self._workspace.in_hand.conditions, None, origin))

    # -- what happens in the workspace -----------------------------------------------------------------

    def _on_document_opened(self) -> None:
        self._wanted_picture = self._shown_picture = self._suggested_for = None
        opened = self._workspace.document is not None
        kept = self._state
        self._emit(
            OddsState(
                phase="waiting" if opened else "closed",
                message=sentence("odds.waiting" if opened else "odds.closed"),
                view=kept.view,
                show_gates=kept.show_gates,
                show_details=kept.show_details,
                goal=kept.goal,
                decimal=self._workspace.decimal,
            )
        )

    def _on_analysis_started(self) -> None:
        if self._state.phase == "ready":
            self._set(is_stale=True, suggestions_are_stale=True)

    def _on_analysis_failed(self, error: BaseException) -> None:
        reason = error_sentence(error) if isinstance(error, StirfallError) else ""
        self._set(phase="failed", message=sentence("odds.failed", {"reason": reason}).strip())

    def _on_analysis_finished(self, analysis: Analysis) -> None:
        self._serial += 1
        self._show_analysis(analysis)

    def _show_analysis(self, analysis: Analysis) -> None:
        factors = analysis.model.design.factors
        names = tuple(factor.name for factor in factors)
        numbers = tuple(factor.name for factor in factors if not factor.is_choice)
        if not names:
            self._set(phase="failed", message=sentence("odds.no_factors"))
            return
        axis = self._state.axis if self._state.axis in names else _first_axis(factors)
        pair = self._state.map_axes
        if not set(pair) <= set(numbers) or len(set(pair)) < 2:
            pair = _first_pair(factors, axis)
        self._set(
            phase="ready",
            message="",
            is_stale=False,
            axis=axis,
            axis_choices=names,
            map_axes=pair,
            map_choices=numbers if len(numbers) > 1 else (),
            view=self._state.view if len(numbers) > 1 else "curve",
            can_show_gates=len(analysis.model.gates) > 1,
            headline=headline(analysis, self._workspace.in_hand, decimal=self._workspace.decimal),
            notice=_notice(analysis),
        )
        self._place_mark()
        self._request_picture()
        self._request_suggestions()

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        del origin
        analysis = self._analysis
        if analysis is None or self._state.phase != "ready":
            return
        self._set(headline=headline(analysis, in_hand, decimal=self._workspace.decimal))
        self._place_mark()
        self._request_picture()

    def _on_shown_differently(self, theme: object) -> None:
        del theme
        if self._workspace.decimal != self._state.decimal:
            self._set(decimal=self._workspace.decimal)
            if self._analysis is not None and self._state.phase == "ready":
                self._show_analysis(self._analysis)

    # -- the mark in hand ------------------------------------------------------------------------------

    def _axes_in_use(self) -> tuple[str, ...]:
        return (self._state.axis,) if self._state.view == "curve" else self._state.map_axes

    def _factor(self, name: str) -> Factor:
        if self._analysis is None:
            raise LookupError(name)
        return self._analysis.model.design.factor(name)

    def _whole(self) -> Conditions | None:
        if self._analysis is None or self._state.phase != "ready":
            return None
        return completed(self._analysis, self._workspace.in_hand.conditions)[0]

    def _move(self, values: dict[str, Value]) -> None:
        in_hand = self._workspace.in_hand
        conditions = in_hand.conditions
        for name, value in values.items():
            conditions = conditions.with_value(name, value)
        if conditions == in_hand.conditions:
            return
        moved = replace(in_hand, conditions=conditions, label=_moved_label(in_hand))
        if moved.source == "form" and self._lengthens(values):
            # A look, no more: the form must not take a longer exposure from here.
            moved = InHand(conditions, "suggestion", _moved_label(in_hand, always=True))
        self._workspace.set_in_hand(moved, self)

    def _lengthens(self, values: dict[str, Value]) -> bool:
        """Whether a value is a longer exposure than any recorded, of a metal that must not age longer."""
        ceilings = self._analysis.limits.ceilings if self._analysis is not None else {}
        return any(
            name in ceilings and not isinstance(value, str) and value > ceilings[name]
            for name, value in values.items()
        )

    def _place_mark(self) -> None:
        whole = self._whole()
        if whole is None:
            return
        at = axis_place(self._factor(self._state.axis), whole.get(self._state.axis))
        across, upward = self._state.map_axes
        pair: tuple[float, float] | None = None
        if across and upward:
            x = axis_place(self._factor(across), whole.get(across))
            y = axis_place(self._factor(upward), whole.get(upward))
            pair = (x, y) if x is not None and y is not None else None
        self._set(at=at, map_at=pair)

    # -- the picture -----------------------------------------------------------------------------------

    def _request_picture(self) -> None:
        """Ask for the picture of the conditions in hand, unless it is shown or under way already."""
        analysis = self._analysis
        if analysis is None or self._state.phase != "ready":
            return
        names = self._axes_in_use()
        rest = self._workspace.in_hand.conditions
        for name in names:
            rest = rest.with_value(name, None)
        rest = completed(analysis, rest, skip=names)[0]
        key = (self._serial, names, rest, self._workspace.decimal)
        if key == self._shown_picture:
            self._wanted_picture = key
            self._late.stop()
            self._set(picture_is_late=False)
            return
        if key == self._wanted_picture:
            return
        self._wanted_picture = key
        self._late.start()
        self._submit_picture(analysis, names, rest, key)

    def _submit_picture(
        self, analysis: Analysis, names: tuple[str, ...], rest: Conditions, key: tuple[object, ...]
    ) -> None:
        decimal = self._workspace.decimal
        factors = [self._factor(name) for name in names]

        def job(token: CancelToken) -> CurvePicture | MapPicture:
            if len(factors) == 1:
                return curve_picture(analysis, factors[0], rest, decimal=decimal, token=token)
            return map_picture(analysis, factors[0], factors[1], rest, decimal=decimal, token=token)

        def done(picture: CurvePicture | MapPicture) -> None:
            if key == self._wanted_picture:
                self._shown_picture = key
                self._late.stop()
                shown = {"curve": picture} if isinstance(picture, CurvePicture) else {"surface": picture}
                self._set(picture_is_late=False, **shown)

        def failed(error: BaseException) -> None:
            self._wanted_picture = None
            self._workspace.notifier.fail(error)

        self._workspace.submit(job, done, failed, slot=_PICTURE_SLOT)

    def _mark_late(self) -> None:
        self._set(picture_is_late=self._wanted_picture != self._shown_picture)

    # -- next attempts ---------------------------------------------------------------------------------

    def _request_suggestions(self) -> None:
        analysis, document = self._analysis, self._workspace.document
        if analysis is None or document is None:
            return
        goal, now = self._state.goal, document.now()
        key = (self._serial, goal, self._workspace.decimal)
        if key == self._suggested_for:
            return
        self._suggested_for = key
        note = self._state.suggestions_note if self._state.suggestions else sentence("odds.next_waiting")
        self._set(suggestions_are_stale=True, suggestions_note=note)

        def job(token: CancelToken) -> tuple[Suggestion, ...]:
            return analysis.suggest(count=_SUGGESTIONS, goal=goal, now=now, token=token)

        self._workspace.submit(
            job,
            lambda found: self._show_suggestions(analysis, found),
            self._show_no_suggestions,
            slot=_NEXT_SLOT,
        )

    def _show_suggestions(self, analysis: Analysis, found: tuple[Suggestion, ...]) -> None:
        note = "" if found else _why_none(analysis, self._workspace.decimal)
        if found and found[0].goal == "first design":
            note = sentence("odds.next_first")
        rows = suggestion_rows(found, analysis.state, decimal=self._workspace.decimal)
        self._set(suggestions=rows, suggestions_note=note, suggestions_are_stale=False)

    def _show_no_suggestions(self, error: BaseException) -> None:
        self._suggested_for = None
        if isinstance(error, StirfallError):
            note = error_sentence(error, decimal=self._workspace.decimal)
            self._set(suggestions=(), suggestions_note=note, suggestions_are_stale=False)
        else:
            self._workspace.notifier.fail(error)

    # -- the state -------------------------------------------------------------------------------------

    def _set(self, **changes: object) -> None:
        self._emit(replace(self._state, **changes))  # type: ignore[arg-type]

    def _emit(self, state: OddsState) -> None:
        if state != self._state:
            self._state = state
            self.changed.emit(state)


def _first_axis(factors: tuple[Factor, ...]) -> str:
    """Return the sample age, else any exposure, else the first number, else the first factor."""
    for role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME):
        for factor in factors:
            if factor.role is role and not factor.is_choice:
                return factor.name
    numbers = [factor.name for factor in factors if not factor.is_choice]
    return numbers[0] if numbers else factors[0].name


def _first_pair(factors: tuple[Factor, ...], axis: str) -> tuple[str, str]:
    """Return the axis and the temperature, else another number; empty names when there are not two."""
    others = [factor for factor in factors if not factor.is_choice and factor.name != axis]
    others.sort(key=lambda factor: factor.role is not Role.TEMPERATURE)
    is_number = any(factor.name == axis and not factor.is_choice for factor in factors)
    return (axis, others[0].name) if others and is_number else ("", "")


def _moved_label(in_hand: InHand, *, always: bool = False) -> str:
    if in_hand.source == "form" and not in_hand.label and not always:
        return ""
    start = sentence("odds.moved", {"label": ""})
    if in_hand.label.startswith(start):
        return in_hand.label
    title = title_of(in_hand)
    return sentence("odds.moved", {"label": title[:1].lower() + title[1:]})


def _why_none(analysis: Analysis, decimal: str) -> str:
    """Say why nothing is suggested: the first limit that blocks, with what to do, else that nothing fits."""
    for found in analysis.limits.findings:
        if found.level == "block":
            return sentence(found.code, found.params, decimal=decimal)
    return sentence("odds.next_none")


def _notice(analysis: Analysis) -> str:
    from stirfall.bench.records import INVENTED_NOTICE

    return INVENTED_NOTICE if analysis.state.settings.invented else ""
