"""The recipe page without its widgets: which conditions, made in the background, exported as asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.number_style import without_units
from stirfall.desktop.notifier import Notice
from stirfall.desktop.recipe_page.export import write_comparison, write_recipe
from stirfall.desktop.recipe_page.sheets import SheetKind
from stirfall.desktop.recipe_page.state import DROPS, MadeRecipe, RecipeOrder, RecipeState, Source, make_both
from stirfall.desktop.workspace import InHand, Workspace

if TYPE_CHECKING:
    from collections.abc import Callable

    from stirfall.reporting.recipe_compare import ComparedRecipes
    from stirfall.reporting.recipe_parts import Recipe

DELAY_MS = 150
_SLOT = "recipe"


class RecipeModel(QObject):
    """Holds the recipe that is shown. It works only while its page is shown.

    Signals:
        changed(RecipeState or None): what to show; None without a session.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state: RecipeState | None = None
        self._is_shown = False
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(DELAY_MS)
        self._timer.timeout.connect(self._order)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self.outdate)
        workspace.analysis_started.connect(self.outdate)
        workspace.analysis_finished.connect(self.outdate)
        workspace.analysis_failed.connect(self._stop_waiting)
        workspace.refinement_failed.connect(self.outdate)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self._on_look_changed)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        document = self.workspace.document
        if document is None:
            self.state = None
            self.changed.emit(None)
            return
        last = self._last_number()
        self.state = RecipeState(
            Source.IN_HAND, last, last, DROPS[1], None, None, True, True, self.workspace.decimal
        )
        self.changed.emit(self.state)
        self.outdate()

    def _last_number(self) -> int:
        document = self.workspace.document
        return document.state.last_number if document else 0

    def _set(self, **changes: object) -> None:
        if self.state is None:
            return
        new = replace(self.state, **changes)  # type: ignore[arg-type]  # names and kinds are those of RecipeState
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    # -- intents -----------------------------------------------------------------------------------

    def set_shown(self, shown: bool) -> None:
        """Say whether the page is in front; a hidden page does no work."""
        self._is_shown = shown
        if not shown or self.state is None:
            return
        if self.state.is_stale:
            self.outdate()
        elif self.state.recipe is not None:
            self._put_in_hand(self.state.recipe)

    def choose_source(self, source: Source) -> None:
        """Take the conditions from elsewhere."""
        if self.state is not None and source != self.state.source:
            self._set(source=source)
            self.outdate()

    def choose_attempt(self, number: int) -> None:
        """Take the conditions of this attempt."""
        if self.state is not None and number != self.state.attempt_number:
            self._set(attempt_number=number)
            if self.state.source is Source.ATTEMPT:
                self.outdate()

    def choose_drop(self, drop: float) -> None:
        """Choose how far the lower end of the interval may fall inside the tolerances."""
        if self.state is not None and drop != self.state.drop:
            self._set(drop=drop)
            self.outdate()

    def choose_sheet(self, sheet: SheetKind) -> None:
        """Show the sheet for readers, or that for the bench."""
        if self.state is not None and sheet != self.state.sheet:
            self._set(sheet=sheet)
            self.outdate()

    def choose_batch(self, name: str, value: float | None) -> None:
        """Take another value of the batch: its size, or what it is made in; None: as usual."""
        if self.state is None:
            return
        batch = replace(self.state.batch, **{name: value})
        if batch != self.state.batch:
            self._set(batch=batch)
            self.outdate()

    def outdate(self, *_unused: object) -> None:
        """What is shown is no longer what was asked for: make it anew soon."""
        self._set(is_stale=True, is_waiting=True, last_number=self._last_number())
        if self._is_shown:
            self._timer.start()

    def _on_in_hand_changed(self, _in_hand: InHand, origin: object) -> None:
        if origin is not self and self.state is not None and self.state.source is Source.IN_HAND:
            self.outdate()

    def _on_look_changed(self, *_unused: object) -> None:
        if self.state is not None and self.state.decimal != self.workspace.decimal:
            self._set(decimal=self.workspace.decimal)
            self.outdate()
        else:
            self.changed.emit(self.state)

    # -- making ------------------------------------------------------------------------------------

    def _conditions(self, state: RecipeState) -> Conditions | None:
        if state.source is Source.BEST:
            return None
        if state.source is Source.IN_HAND:
            return self._known(self.workspace.in_hand.conditions)
        document = self.workspace.document
        attempts = document.state.attempts if document else ()
        for attempt in attempts:
            if attempt.number == state.attempt_number:
                return self._known(attempt.conditions)
        return Conditions()

    def _known(self, conditions: Conditions) -> Conditions:
        document = self.workspace.document
        names = {factor.name for factor in document.state.visible_factors} if document else set()
        return Conditions({name: value for name, value in conditions.items() if name in names})

    def _order(self) -> None:
        state, analysis, document = self.state, self.workspace.analysis, self.workspace.document
        if state is None or document is None or analysis is None:
            return
        if self.workspace.is_stale or self.workspace.is_refining:
            return  # the answer that is on its way will ask again: a recipe rests on the refined one
        if state.source is Source.ATTEMPT and not self._attempt_exists(state.attempt_number):
            self._fail(Reason("recipe_page.no_attempt", {"number": state.attempt_number}))
            return
        order = RecipeOrder(
            analysis=analysis,
            conditions=self._conditions(state),
            session_name=document.path.stem,
            drop=state.drop,
            created_at=document.now(),
            decimal=self.workspace.decimal,
            proofs=document.state.proofs,
            corrections=document.corrections() if document.state.proofs else (),
            batch=state.batch,
            sheet=state.sheet,
        )
        self.workspace.submit(lambda token: make_both(order, token), self._take, self._failed, slot=_SLOT)

    def _attempt_exists(self, number: int) -> bool:
        document = self.workspace.document
        return document is not None and any(attempt.number == number for attempt in document.state.attempts)

    def _take(self, made: MadeRecipe) -> None:
        self._set(
            recipe=made.recipe,
            for_files=made.for_files,
            pages=made.pages,
            problem=None,
            is_stale=False,
            is_waiting=False,
        )
        self._put_in_hand(made.recipe)

    def _failed(self, error: BaseException) -> None:
        if isinstance(error, StirfallError):
            self._fail(Reason(error.code, error.params))
        else:
            self._stop_waiting()
            self.workspace.notifier.fail(error)

    def _fail(self, problem: Reason) -> None:
        self._set(recipe=None, for_files=None, pages=(), problem=problem, is_stale=True, is_waiting=False)

    def _stop_waiting(self, *_unused: object) -> None:
        self._set(is_waiting=False)

    def _put_in_hand(self, recipe: Recipe) -> None:
        """The odds pane answers for the recipe, unless the recipe follows what is in hand."""
        if self.state is None or self.state.source is Source.IN_HAND or not self._is_shown:
            return
        conditions = Conditions({value.name: value.value for value in recipe.values})
        self.workspace.set_in_hand(InHand(conditions, "recipe", "The recipe"), origin=self)

    # -- out of the program ------------------------------------------------------------------------

    def issue(self, note: str) -> int | None:
        """Keep the recipe as issued and return its number; None where that was not possible."""
        from stirfall.reporting.recipe_issue import issued_of
        from stirfall.session.commands import IssueRecipe

        state = self.state
        if state is None or not state.can_issue or state.for_files is None:
            return None
        if self.workspace.execute(IssueRecipe(issued_of(state.for_files, note=note)), origin=self) is None:
            return None
        document = self.workspace.document
        number = max((each.number for each in document.state.recipes), default=0) if document else 0
        self.workspace.notify(Notice("info", f"Issued as recipe no. {number}."))
        return number

    def export(self, path: str, kind: str) -> bool:
        """Write the sheet that is shown to a file, all or nothing."""
        recipe = self.state.for_files or self.state.recipe if self.state is not None else None
        if self.state is None or recipe is None or not self.state.can_export:
            return False
        return export_recipe(self.workspace, recipe, path, kind, self.state.sheet)


def export_recipe(workspace: Workspace, recipe: Recipe, path: str, kind: str, sheet: SheetKind) -> bool:
    """Write a recipe to a file and say so, or say why not."""
    decimal = without_units(workspace.decimal)
    return _written(
        workspace,
        lambda: write_recipe(recipe, Path(path), kind, decimal=decimal, sheet=sheet),
        f"The recipe is written to {path}.",
    )


def export_comparison(workspace: Workspace, compared: ComparedRecipes, path: str, kind: str) -> bool:
    """Write how two recipes differ to a file and say so, or say why not."""
    done = f"The comparison is written to {path}."
    return _written(workspace, lambda: write_comparison(compared, Path(path), kind), done)


def _written(workspace: Workspace, write: Callable[[], None], done: str) -> bool:
    try:
        write()
    except (StirfallError, OSError) as error:
        workspace.notifier.fail(error)
        return False
    workspace.notify(Notice("info", done))
    return True
