"""What the odds pane asks of an analysis in the background: the picture in view, and the next attempts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor
from stirfall.desktop.odds.answers import suggestion_row, suggestion_rows
from stirfall.desktop.odds.outcomes import outcome_picture
from stirfall.desktop.odds.pictures import curve_picture, map_picture
from stirfall.desktop.odds.separated import separation_text
from stirfall.desktop.odds.state import CurvePicture, GoalChoice, MapPicture, OutcomePicture, TimePicture, View
from stirfall.desktop.odds.time_picture import time_picture
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import error_sentence, sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.planning.next_attempts import Suggestion
    from stirfall.session.analysis import Analysis

Picture = CurvePicture | OutcomePicture | MapPicture | TimePicture
Show = Callable[..., None]
"""Takes changes of an OddsState by name."""

_LATE_AFTER_MS = 150
_PICTURE_SLOT, _NEXT_SLOT = "odds picture", "odds next attempts"
_SEPARATION_SLOT = "odds separation"
_SUGGESTIONS = 3
_FIELDS: dict[View, str] = {"curve": "curve", "outcomes": "outcomes", "map": "surface", "time": "time"}


class PictureAsker:
    """Asks for one picture at a time; a picture that keeps people waiting is greyed after a moment."""

    def __init__(self, workspace: Workspace, show: Show, parent: QObject) -> None:
        self._workspace, self._show = workspace, show
        self._wanted: tuple[object, ...] | None = None
        self._shown: tuple[object, ...] | None = None
        self._late = QTimer(parent)
        self._late.setSingleShot(True)
        self._late.setInterval(_LATE_AFTER_MS)
        self._late.timeout.connect(self._mark_late)

    def forget(self) -> None:
        """Another document: nothing is shown and nothing wanted."""
        self._wanted = self._shown = None
        self._late.stop()

    def ask(
        self,
        analysis: Analysis,
        view: View,
        factors: list[Factor],
        rest: Conditions,
        *,
        serial: int,
        in_place: bool = False,
    ) -> None:
        """Ask for a picture unless it is shown or under way already; ``in_place`` never greys the one shown."""
        decimal = self._workspace.decimal
        key = (serial, analysis.model, view, *(factor.name for factor in factors), rest, decimal)
        if _same(key, self._shown):
            self._wanted = key
            self._late.stop()
            self._show(picture_is_late=False)
            return
        if _same(key, self._wanted):
            return
        self._wanted = key
        if not in_place:
            self._late.start()

        document = self._workspace.document
        now = document.now() if document is not None else None

        def job(token: CancelToken) -> Picture | None:
            if view == "time":
                return time_picture(analysis, factors[0], rest, now=now, decimal=decimal, token=token)
            return _picture(analysis, view, factors, rest, decimal=decimal, token=token)

        def done(picture: Picture | None) -> None:
            if self._wanted is key:
                self._shown = key
                self._late.stop()
                self._show(picture_is_late=False, **{_FIELDS[view]: picture})

        self._workspace.submit(job, done, self._failed, slot=_PICTURE_SLOT)

    def _failed(self, error: BaseException) -> None:
        self._wanted = None
        self._workspace.notifier.fail(error)

    def _mark_late(self) -> None:
        self._show(picture_is_late=not _same(self._wanted, self._shown))


class SeparationAsker:
    """Asks whether outcomes are parted without exception; only for people who read the details."""

    def __init__(self, workspace: Workspace, show: Show) -> None:
        self._workspace, self._show = workspace, show
        self._asked: tuple[object, str] | None = None

    def forget(self) -> None:
        """Another document: nothing was asked."""
        self._asked = None

    def ask(self, analysis: Analysis) -> None:
        """Ask for the attempts of an analysis, once for its first and its refined answer."""
        decimal = self._workspace.decimal
        key = (analysis.table, decimal)
        if self._asked is not None and self._asked[0] is key[0] and self._asked[1] == decimal:
            return
        self._asked = key
        self._workspace.submit(
            lambda token: separation_text(analysis, decimal=decimal, token=token),
            lambda lines: self._show(separation=lines),
            self._failed,
            slot=_SEPARATION_SLOT,
        )

    def _failed(self, error: BaseException) -> None:
        self._asked = None
        self._show(separation=())
        self._workspace.notifier.fail(error)


@dataclass(frozen=True)
class Plans:
    """The next attempts and the recommended recipe for one goal.

    ``problem`` is why there is no recipe, ``no_grams`` why the goal promises none though it counts them.
    """

    suggestions: tuple[Suggestion, ...]
    recipe: Suggestion | None
    problem: StirfallError | None
    no_grams: Reason | None


class NextAsker:
    """Asks for the next attempts; the list that is shown stays until the new one comes."""

    def __init__(self, workspace: Workspace, show: Show) -> None:
        self._workspace, self._show = workspace, show
        self._asked: tuple[object, ...] | None = None

    def forget(self) -> None:
        """Another document: nothing was asked."""
        self._asked = None

    def ask(
        self, analysis: Analysis, goal: GoalChoice, *, serial: int, has_list: bool, in_place: bool = False
    ) -> None:
        """Ask for the next attempts, unless just that was asked; ``in_place`` does not grey the list."""
        document = self._workspace.document
        key = (serial, analysis.model, goal, self._workspace.decimal)
        if document is None or _same(key, self._asked):
            return
        self._asked = key
        now = document.now()
        if not (in_place and has_list):
            waiting = {} if has_list else {"suggestions_note": sentence("odds.next_waiting")}
            self._show(suggestions_are_stale=True, **waiting)

        def job(token: CancelToken) -> Plans:
            made = analysis.suggest(count=_SUGGESTIONS, goal=goal, now=now, token=token)
            token.raise_if_cancelled()
            return Plans(made, *_recommended(analysis, goal, now), _why_no_grams(analysis, goal))

        self._workspace.submit(job, lambda found: self._take(analysis, found), self._failed, slot=_NEXT_SLOT)

    def _take(self, analysis: Analysis, plans: Plans) -> None:
        decimal, found = self._workspace.decimal, plans.suggestions
        note = "" if found else _why_none(analysis, decimal)
        if found and found[0].goal == "first design":
            note = sentence("odds.next_first")
        why = _no_figure(plans, decimal)
        rows = suggestion_rows(found, analysis.state, no_figure=why, decimal=decimal)
        self._show(
            suggestions=rows,
            suggestions_note=note,
            suggestions_are_stale=False,
            **_recipe_of(plans, analysis, decimal),
        )

    def _failed(self, error: BaseException) -> None:
        self._asked = None
        if isinstance(error, StirfallError):
            note = error_sentence(error, decimal=self._workspace.decimal)
            self._show(
                suggestions=(), suggestions_note=note, suggestions_are_stale=False, recipe=None, recipe_note=note
            )
        else:
            self._workspace.notifier.fail(error)


def _same(one: tuple[object, ...] | None, other: tuple[object, ...] | None) -> bool:
    """Whether two keys ask for the same; models hold arrays, so they are compared by being one object."""
    if one is None or other is None:
        return one is other
    return one[1] is other[1] and (one[0], *one[2:]) == (other[0], *other[2:])


def _picture(
    analysis: Analysis,
    view: View,
    factors: list[Factor],
    rest: Conditions,
    *,
    decimal: str,
    token: CancelToken,
) -> Picture | None:
    if view == "map":
        return map_picture(analysis, factors[0], factors[1], rest, decimal=decimal, token=token)
    make = outcome_picture if view == "outcomes" else curve_picture
    return make(analysis, factors[0], rest, decimal=decimal, token=token)


def _recommended(
    analysis: Analysis, goal: GoalChoice, now: datetime
) -> tuple[Suggestion | None, StirfallError | None]:
    try:
        return analysis.best(goal=goal, now=now), None
    except StirfallError as error:
        return None, error


def _why_no_grams(analysis: Analysis, goal: GoalChoice) -> Reason | None:
    grams = analysis.grams if goal == "most" else None
    return grams if isinstance(grams, Reason) else None


def _no_figure(plans: Plans, decimal: str) -> str:
    why = plans.no_grams
    return "" if why is None else sentence(why.code, why.params, decimal=decimal)


def _recipe_of(plans: Plans, analysis: Analysis, decimal: str) -> dict[str, object]:
    if plans.recipe is None:
        note = error_sentence(plans.problem, decimal=decimal) if plans.problem is not None else ""
        return {"recipe": None, "recipe_note": note}
    why = _no_figure(plans, decimal)
    row = suggestion_row(plans.recipe, analysis.state, no_figure=why, is_recipe=True, decimal=decimal)
    return {"recipe": row, "recipe_note": ""}


def _why_none(analysis: Analysis, decimal: str) -> str:
    """Say why nothing is suggested: the first limit that blocks, with what to do, else that nothing fits."""
    for found in analysis.limits.findings:
        if found.level == "block":
            return sentence(found.code, found.params, decimal=decimal)
    return sentence("odds.next_none")
