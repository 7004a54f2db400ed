"""What the recipe page shows, and the work that makes a recipe; pure, so that it runs on any thread."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.number_style import without_units
from stirfall.desktop.recipe_page.sheets import SheetKind, bench_pictures
from stirfall.reporting.recipe_batch import USUAL_BATCH, BatchOrder

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.bench.campaign import Correction
    from stirfall.bench.proofs import Proof
    from stirfall.reporting.recipe_parts import Recipe
    from stirfall.session.analysis import Analysis

DROPS = (0.05, 0.10, 0.20)
"""How far the lower end of the interval may fall inside the tolerances, as shares."""


class Source(StrEnum):
    """Where the conditions of the recipe come from."""

    IN_HAND = "conditions in hand"
    BEST = "best condition"
    ATTEMPT = "an attempt"


@dataclass(frozen=True)
class RecipeState:
    """Everything on the recipe page. ``recipe`` may be stale; then it is greyed, not removed.

    ``for_files`` is the same recipe in the units of the campaign, as files have it. ``batch`` is the size that was
    asked for, ``pages`` are those of the bench sheet where it is the one shown.
    """

    source: Source
    attempt_number: int
    last_number: int
    drop: float
    recipe: Recipe | None
    problem: Reason | None
    is_stale: bool
    is_waiting: bool
    decimal: str
    for_files: Recipe | None = None
    batch: BatchOrder = USUAL_BATCH
    sheet: SheetKind = SheetKind.READER
    pages: tuple[QImage, ...] = ()

    @property
    def can_export(self) -> bool:
        """Whether the recipe on the page is the one that was asked for."""
        return self.recipe is not None and not self.is_stale

    @property
    def can_issue(self) -> bool:
        """Whether it may be kept as issued: what the limits forbid is not."""
        return self.can_export and self.recipe is not None and not self.recipe.blocked


@dataclass(frozen=True)
class RecipeOrder:
    """Everything that the background needs to make a recipe; ``conditions`` None asks for the best.

    ``proofs`` are those of the session now, perhaps newer than the analysis.
    """

    analysis: Analysis
    conditions: Conditions | None
    session_name: str
    drop: float
    created_at: datetime
    decimal: str
    proofs: tuple[Proof, ...] = ()
    corrections: tuple[Correction, ...] = ()
    batch: BatchOrder = USUAL_BATCH
    sheet: SheetKind = SheetKind.READER


@dataclass(frozen=True)
class MadeRecipe:
    """A recipe as it is shown, and as files have it: in the units of the campaign."""

    recipe: Recipe
    for_files: Recipe
    pages: tuple[QImage, ...] = ()


def make_both(order: RecipeOrder, token: CancelToken) -> MadeRecipe:
    """Make the recipe for screen and files; raises as ``make``."""
    shown = make(order, token)
    plain = without_units(order.decimal)
    for_files = shown if plain == order.decimal else make(replace(order, decimal=plain), token)
    pages = bench_pictures(for_files, plain, token) if order.sheet is SheetKind.BENCH else ()
    return MadeRecipe(shown, for_files, pages)


def make(order: RecipeOrder, token: CancelToken) -> Recipe:
    """Make the recipe; raises InputError ``limits.*`` where nothing may be recommended."""
    from stirfall.reporting.recipe import make_recipe
    from stirfall.storage.fingerprint import fingerprint

    conditions = order.analysis.best().conditions if order.conditions is None else order.conditions
    token.raise_if_cancelled()
    analysis = order.analysis
    if analysis.state.proofs != order.proofs:
        analysis = replace(analysis, state=replace(analysis.state, proofs=order.proofs))
    return make_recipe(
        analysis,
        conditions,
        fingerprint=fingerprint(order.analysis.state),
        session_name=order.session_name,
        drop=order.drop,
        created_at=order.created_at,
        decimal=order.decimal,
        corrections=order.corrections,
        batch=order.batch,
    )
