"""The recipes that were issued: their list, one of them shown again, and how it differs from another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.issued import IssuedRecipe
from stirfall.desktop.recipe_page.sheets import SheetKind, bench_pictures
from stirfall.desktop.recipe_page.view_model import export_comparison, export_recipe

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.workspace import Workspace
    from stirfall.reporting.recipe_compare import ComparedRecipes
    from stirfall.reporting.recipe_issue import IssuedRow
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.session.commands import Changes

_SLOT = "issued recipes"
PRESENT = 0
"""Stands for the present recipe where a number of an issued one could stand."""


@dataclass(frozen=True)
class IssuedState:
    """The list and what is chosen of it; ``compared`` where the chosen one is laid beside ``other``.

    ``other`` is the number of an issued recipe, ``PRESENT``, or None: no comparison.
    """

    rows: tuple[IssuedRow, ...] = ()
    chosen: int | None = None
    other: int | None = None
    sheet: SheetKind = SheetKind.READER
    recipe: Recipe | None = None
    pages: tuple[QImage, ...] = ()
    compared: ComparedRecipes | None = None
    problem: Reason | None = None
    decimal: str = "."

    @property
    def can_export(self) -> bool:
        """Whether an issued recipe is shown."""
        return self.recipe is not None


@dataclass(frozen=True)
class _Order:
    recipes: tuple[IssuedRecipe, ...]
    chosen: int | None
    other: int | None
    sheet: SheetKind
    decimal: str
    present: Recipe | None = field(default=None, repr=False)


@dataclass(frozen=True)
class _Found:
    rows: tuple[IssuedRow, ...]
    recipe: Recipe | None
    pages: tuple[QImage, ...]
    compared: ComparedRecipes | None
    problem: Reason | None


def look_up(order: _Order, token: CancelToken) -> _Found:
    """Read the list, the chosen recipe and the comparison; what cannot be read is said, and the list stays."""
    from stirfall.reporting.recipe_issue import issued_recipe, issued_rows, shown_again

    rows = issued_rows(order.recipes)
    token.raise_if_cancelled()
    if order.chosen is None:
        return _Found(rows, None, (), None, None)
    try:
        recipe = shown_again(issued_recipe(order.recipes, order.chosen))
        compared = _compared(order, recipe)
    except StirfallError as error:
        return _Found(rows, None, (), None, Reason(error.code, error.params))
    pages = bench_pictures(recipe, order.decimal, token) if order.sheet is SheetKind.BENCH else ()
    return _Found(rows, recipe, pages, compared, None)


def _compared(order: _Order, recipe: Recipe) -> ComparedRecipes | None:
    """Return how the two differ, the older one first."""
    from stirfall.reporting.recipe_compare import compare_recipes
    from stirfall.reporting.recipe_issue import issued_recipe, shown_again

    if order.other is None:
        return None
    other = order.present if order.other == PRESENT else shown_again(issued_recipe(order.recipes, order.other))
    if other is None:
        return None
    is_older = other.number is not None and recipe.number is not None and other.number < recipe.number
    first, second = (other, recipe) if is_older else (recipe, other)
    return compare_recipes(first, second, decimal=order.decimal)


class IssuedModel(QObject):
    """Reads what was issued, off the window's thread; it works only while its part is in front.

    Signals:
        changed(IssuedState)
    """

    changed = Signal(object)

    def __init__(
        self, workspace: Workspace, present: Callable[[], Recipe | None], parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = IssuedState()
        self._present = present
        self._is_shown = False
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.theme_changed.connect(self._on_look_changed)

    def set_shown(self, shown: bool) -> None:
        """Say whether the list is in front."""
        self._is_shown = shown
        if shown:
            self._look()

    def choose(self, number: int | None) -> None:
        """Show this issued recipe again."""
        if number != self.state.chosen:
            other = None if self.state.other == number else self.state.other
            self._take(replace(self.state, chosen=number, other=other))
            self._look()

    def compare_with(self, other: int | None) -> None:
        """Lay the chosen recipe beside another one; None shows it alone."""
        if other != self.state.other:
            self._take(replace(self.state, other=other))
            self._look()

    def look_again(self, *_unused: object) -> None:
        """The present recipe is another one: what is laid beside it is compared anew."""
        if self.state.other == PRESENT and self._present() is not None:
            self._look()

    def choose_sheet(self, sheet: SheetKind) -> None:
        """Show it as this sheet."""
        if sheet is not self.state.sheet:
            self._take(replace(self.state, sheet=sheet))
            self._look()

    def export(self, path: str, kind: str) -> bool:
        """Write the issued recipe, as it was issued, or the comparison that is shown, to a file."""
        recipe, compared = self.state.recipe, self.state.compared
        if compared is not None:
            return export_comparison(self.workspace, compared, path, kind)
        return recipe is not None and export_recipe(self.workspace, recipe, path, kind, self.state.sheet)

    def _recipes(self) -> tuple[IssuedRecipe, ...]:
        document = self.workspace.document
        return document.state.recipes if document is not None else ()

    def _on_document_opened(self) -> None:
        self._take(IssuedState(decimal=self.workspace.decimal))
        self._look()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.recipes:
            numbers = {each.number for each in self._recipes()}
            chosen = self.state.chosen if self.state.chosen in numbers else None
            other = self.state.other if self.state.other in (PRESENT, *numbers) else None
            self._take(replace(self.state, chosen=chosen, other=other))
            self._look()

    def _on_look_changed(self, *_unused: object) -> None:
        if self.state.decimal != self.workspace.decimal:
            self._take(replace(self.state, decimal=self.workspace.decimal))
            self._look()
        else:
            self.changed.emit(self.state)

    def _look(self) -> None:
        if not self._is_shown:
            return
        from stirfall.bench.number_style import without_units

        state, recipes = self.state, self._recipes()
        chosen = state.chosen
        if chosen is None and recipes:
            chosen = max(each.number for each in recipes)
            self._take(replace(state, chosen=chosen))
        present = self._present() if state.other == PRESENT else None
        order = _Order(recipes, chosen, state.other, state.sheet, without_units(self.workspace.decimal), present)
        self.workspace.submit(partial(look_up, order), self._found, slot=_SLOT)

    def _found(self, found: _Found) -> None:
        self._take(
            replace(
                self.state,
                rows=found.rows,
                recipe=found.recipe,
                pages=found.pages,
                compared=found.compared,
                problem=found.problem,
            )
        )

    def _take(self, state: IssuedState) -> None:
        if state != self.state:
            self.state = state
            self.changed.emit(state)
