"""The odds pane without its widgets: what is shown, and what a person can want from it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions, Factor, Value
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.odds.answers import (
    completed,
    conditions_of,
    headline,
    stepped_value,
    title_of,
    value_at,
)
from stirfall.desktop.odds.asking import NextAsker, PictureAsker, SeparationAsker
from stirfall.desktop.odds.goal_choice import recipe_goal
from stirfall.desktop.odds.lots import (
    AS_IN_HAND,
    NEW_LOT,
    answer_for,
    answered_lot,
    lot_choices,
    lot_text,
    stage_text,
)
from stirfall.desktop.odds.outcomes import why_no_outcomes
from stirfall.desktop.odds.pictures import attempt_text, axis_place
from stirfall.desktop.odds.start_axes import first_axis, first_pair
from stirfall.desktop.odds.state import ALONG, PICTURES, GoalChoice, Headline, OddsState, SuggestionRow, View, Why
from stirfall.desktop.odds.time_picture import time_axes, why_no_time
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis


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
        self._pictures = PictureAsker(workspace, self._set, self)
        self._next = NextAsker(workspace, self._set)
        self._separation = SeparationAsker(workspace, self._set)
        self._answer: Analysis | None = None
        self._answers: dict[str | None, Analysis] = {}
        self._serial = 0
        workspace.document_opened.connect(self._on_document_opened)
        workspace.analysis_started.connect(self._on_analysis_started)
        workspace.analysis_finished.connect(self._on_analysis_finished)
        workspace.analysis_failed.connect(self._on_analysis_failed)
        workspace.refinement_failed.connect(self._on_refinement_failed)
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
        """The answer for the lot that is asked for."""
        return self._answer if self._workspace.analysis is not None else None

    def _answer_anew(self) -> None:
        """Find the answer for the lot in hand or chosen."""
        self._answer = self._answer_for(self._state.lot_choice)

    def _answer_for(self, choice: str) -> Analysis | None:
        """Return the answer for a choice of lot, the same one each time, so that pictures are drawn once."""
        whole = self._workspace.analysis
        if whole is None:
            return None
        lot = answered_lot(whole, self._workspace.in_hand, choice)
        if lot not in self._answers:
            self._answers[lot] = answer_for(whole, lot)
        return self._answers[lot]

    # -- what a person can want ------------------------------------------------------------------------

    def choose_view(self, view: View) -> None:
        """Show one of the pictures, or one of the lists; a view that has nothing to show is not chosen."""
        if (view == "map" and not self._state.map_choices) or (view == "outcomes" and self._state.no_outcomes):
            return
        self._set(view=view, pointed="", why="")
        self._place_mark()
        self._request_picture()

    def explain(self, why: Why) -> None:
        """Tell about a suggestion or the recipe in the place of the picture; the same again brings the picture."""
        self._set(why="" if why == self._state.why else why, pointed="")

    def choose_lot(self, key: str) -> None:
        """Answer for another lot: that of the conditions in hand, a new one, or one by name."""
        if key != self._state.lot_choice and key in [choice.key for choice in self._state.lot_choices]:
            self._set(lot_choice=key)
            self._answer_in_place()
            self._request_suggestions()

    def choose_axis(self, name: str) -> None:
        """Draw the view in front along another factor."""
        if name in self._state.along_choices:
            self._set(**{"time_axis" if self._state.view == "time" else "axis": name}, pointed="")
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
        if not all(names):
            return
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
            label = f"attempt {attempt.number}"
            in_hand = replace(InHand.of_attempt(attempt), label=label)
            self._workspace.set_in_hand(in_hand, self)

    def toggle_gates(self, shown: bool) -> None:
        """Show or hide the two gates in the curve."""
        self._set(show_gates=shown)

    def toggle_details(self, shown: bool) -> None:
        """Show or hide the details under the headline."""
        self._set(show_details=shown)
        if shown and self._analysis is not None and self._state.phase == "ready":
            self._set(headline=self._headline(self._analysis))
        self._request_separation()

    def choose_goal(self, goal: GoalChoice) -> None:
        """Ask for next attempts with another goal."""
        if goal != self._state.goal:
            self._set(goal=goal)
            self._request_suggestions()

    def look_at_suggestion(self, index: int) -> None:
        """Take a suggestion in hand, without touching the form."""
        if index >= len(self._state.suggestions):
            return
        row = self._state.suggestions[index]
        label = sentence("odds.suggested", {"number": index + 1})
        self._workspace.set_in_hand(InHand(row.conditions, "suggestion", label), self)

    def take_suggestion(self, index: int) -> None:
        """Put a suggestion into the bench form."""
        if index >= len(self._state.suggestions):
            return  # a key may come a moment after the list became shorter
        origin = sentence("odds.suggested", {"number": index + 1})
        self._take_row(self._state.suggestions[index], origin)

    def take_explained(self) -> None:
        """Put what is explained into the bench form: a suggestion, or the recommended recipe."""
        row, why = self._state.explained, self._state.why
        if row is not None and why == "recipe":
            self._take_row(row, sentence("next.from_recipe", {"goal": recipe_goal(self._state.goal)}))
        elif row is not None:
            self.take_suggestion(int(why))

    def _take_row(self, row: SuggestionRow, origin: str) -> None:
        conditions = self._without_follower(row.conditions)
        self._workspace.request_form(FormRequest(conditions, row.jar_id, origin, planned=True))

    def take_in_hand(self) -> None:
        """Put the conditions in hand into the bench form."""
        if self._state.headline.can_take:
            origin = sentence("odds.from_odds", {"label": self._state.headline.title})
            conditions = self._without_follower(self._workspace.in_hand.conditions)
            self._workspace.request_form(FormRequest(conditions, None, origin))

    # -- what happens in the workspace -----------------------------------------------------------------

    def _on_document_opened(self) -> None:
        self._pictures.forget()
        self._next.forget()
        self._separation.forget()
        self._answer = None
        self._answers.clear()
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

    def _on_refinement_failed(self, error: BaseException) -> None:
        del error  # the workspace has told about it
        if self._analysis is not None and self._state.phase == "ready":
            self._set(stage=stage_text(self._analysis, is_refining=False))

    def _on_analysis_finished(self, analysis: Analysis) -> None:
        self._serial += 1
        self._answers.clear()
        self._show_analysis(analysis, in_place=analysis.stage == "refined")

    def _show_analysis(self, analysis: Analysis, *, in_place: bool = False) -> None:
        """Show an analysis; ``in_place`` exchanges the numbers without greying what stands there."""
        factors = analysis.model.design.factors
        names = tuple(factor.name for factor in factors)
        if not names:
            self._set(phase="failed", message=sentence("odds.no_factors"))
            return
        numbers = tuple(factor.name for factor in factors if not factor.is_choice)
        axis = self._state.axis if self._state.axis in names else first_axis(factors)
        pair = self._state.map_axes
        if not set(pair) <= set(numbers) or len(set(pair)) < 2:
            pair = first_pair(factors, axis)
        no_outcomes, view = why_no_outcomes(analysis), self._state.view
        if (view == "map" and len(numbers) < 2) or (view == "outcomes" and no_outcomes):
            view = "curve"
        self._set(
            phase="ready",
            message="",
            is_stale=False,
            axis=axis,
            axis_choices=names,
            map_axes=pair,
            map_choices=numbers if len(numbers) > 1 else (),
            view=view,
            no_outcomes=no_outcomes,
            can_show_gates=len(analysis.model.gates) > 1,
            **self._times_of(analysis),
            notice=INVENTED_NOTICE if analysis.state.settings.invented else "",
            **self._lots_of(analysis),
        )
        self._answer_in_place(in_place=in_place)
        self._request_suggestions(in_place=in_place)
        self._request_separation()

    def _times_of(self, analysis: Analysis) -> dict[str, Any]:
        """Return along which ages the time to a clean batch can be drawn, or why it cannot."""
        names, kept = time_axes(analysis), self._state.time_axis
        axis = kept if kept in names else next(iter(names), "")
        return {
            "time_choices": names,
            "time_axis": axis,
            "no_time": why_no_time(analysis, decimal=self._workspace.decimal),
        }

    def _lots_of(self, analysis: Analysis) -> dict[str, Any]:
        """Return what can be chosen among; a chosen lot that is gone gives way to the one in hand."""
        choices = lot_choices(analysis, self._workspace.in_hand)
        chosen = self._state.lot_choice
        known = not choices or chosen in [choice.key for choice in choices]
        return {"lot_choices": choices, "lot_choice": chosen if known else AS_IN_HAND}

    def _answer_in_place(self, *, in_place: bool = False) -> None:
        """Answer for the conditions in hand and the lot, and ask for their picture."""
        self._answer_anew()
        analysis = self._analysis
        if analysis is None:
            return
        self._set(
            headline=self._headline(analysis), stage=stage_text(analysis, is_refining=self._workspace.is_refining)
        )
        self._place_mark()
        self._request_picture(in_place=in_place)

    def _headline(self, analysis: Analysis) -> Headline:
        """Return the answer in words; the metal to be expected costs a moment, and is told in the details only."""
        in_hand, decimal = self._workspace.in_hand, self._workspace.decimal
        return headline(analysis, in_hand, decimal=decimal, with_yield=self._state.show_details)

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        del origin, in_hand
        whole = self._workspace.analysis
        if whole is None or self._state.phase != "ready":
            return
        self._set(**self._lots_of(whole))
        self._answer_in_place()

    def _on_shown_differently(self, theme: object) -> None:
        del theme
        if self._workspace.decimal != self._state.decimal:
            self._set(decimal=self._workspace.decimal)
            if self._workspace.analysis is not None and self._state.phase == "ready":
                self._show_analysis(self._workspace.analysis)

    # -- the mark in hand ------------------------------------------------------------------------------

    def _axes_in_use(self) -> tuple[str, ...]:
        return (self._state.along,) if self._state.view in ALONG else self._state.map_axes

    def _factor(self, name: str) -> Factor:
        if self._analysis is None:
            raise LookupError(name)
        return self._analysis.model.design.factor(name)

    def _whole(self) -> Conditions | None:
        if self._analysis is None or self._state.phase != "ready":
            return None
        return completed(self._analysis, conditions_of(self._analysis, self._workspace.in_hand))[0]

    def _move(self, values: dict[str, Value]) -> None:
        in_hand = self._workspace.in_hand
        conditions = in_hand.conditions
        if self._analysis is not None and self._analysis.follows not in values:
            conditions = self._without_follower(conditions)
        for name, value in values.items():
            conditions = conditions.with_value(name, value)
        if conditions == in_hand.conditions:
            return
        moved = replace(in_hand, conditions=conditions, label=_moved_label(in_hand))
        if moved.source == "form" and self._lengthens(values):
            # A look, no more: the form must not take a longer exposure from here.
            moved = replace(moved, source="suggestion", label=_moved_label(in_hand, always=True))
        self._workspace.set_in_hand(moved, self)

    def _without_follower(self, conditions: Conditions) -> Conditions:
        """Return conditions without a film index that follows: the jar or the ages tell it anew."""
        return conditions if self._analysis is None else self._analysis.usual(conditions)

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
        along = self._state.along or self._state.axis
        at = axis_place(self._factor(along), whole.get(along))
        across, upward = self._state.map_axes
        pair: tuple[float, float] | None = None
        if across and upward:
            x = axis_place(self._factor(across), whole.get(across))
            y = axis_place(self._factor(upward), whole.get(upward))
            pair = (x, y) if x is not None and y is not None else None
        self._set(at=at, map_at=pair)

    # -- the picture -----------------------------------------------------------------------------------

    def _request_picture(self, *, in_place: bool = False) -> None:
        """Ask for the picture of the conditions in hand, where the view has one."""
        analysis, view = self._analysis, self._state.view
        if analysis is None or self._state.phase != "ready" or view not in PICTURES:
            return
        if view == "time" and self._state.no_time:
            self._set(time=None, picture_is_late=False)
            return
        names = self._axes_in_use()
        rest = self._workspace.in_hand.conditions
        if analysis.follows not in names:
            rest = analysis.usual(rest)
        for name in names:
            rest = rest.with_value(name, None)
        rest = completed(analysis, rest, skip=names)[0]
        factors = [self._factor(name) for name in names]
        self._pictures.ask(analysis, view, factors, rest, serial=self._serial, in_place=in_place)

    # -- next attempts ---------------------------------------------------------------------------------

    def _request_suggestions(self, *, in_place: bool = False) -> None:
        """Ask for the next attempts: for the lot that was chosen by name, else for a new one."""
        analysis = self._answer_for(self._state.lot_choice or NEW_LOT)
        if analysis is None or self._state.phase != "ready":
            return
        self._set(suggestions_for=lot_text(analysis))
        has_list = bool(self._state.suggestions)
        self._next.ask(analysis, self._state.goal, serial=self._serial, has_list=has_list, in_place=in_place)

    def _request_separation(self) -> None:
        """Ask what the details say of separated outcomes, while they are shown."""
        analysis = self._workspace.analysis
        if analysis is not None and self._state.phase == "ready" and self._state.show_details:
            self._separation.ask(analysis)

    # -- the state -------------------------------------------------------------------------------------

    def _set(self, **changes: object) -> None:
        self._emit(replace(self._state, **changes))  # type: ignore[arg-type]

    def _emit(self, state: OddsState) -> None:
        if state != self._state:
            self._state = state
            self.changed.emit(state)


def _moved_label(in_hand: InHand, *, always: bool = False) -> str:
    if in_hand.source == "form" and not in_hand.label and not always:
        return ""
    start = sentence("odds.moved", {"label": ""})
    if in_hand.label.startswith(start):
        return in_hand.label
    title = title_of(in_hand)
    return sentence("odds.moved", {"label": title[:1].lower() + title[1:]})
