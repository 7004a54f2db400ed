"""A suggestion: conditions to try or to recommend, with all that is said of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions, Role
from stirfall.inference.stack import FittedModel
from stirfall.planning.box import Box, make_box
from stirfall.planning.goals import Goal, GoalFigure
from stirfall.planning.limits import OperatingLimits

if TYPE_CHECKING:
    from stirfall.planning.explanation import Explanation


@dataclass(frozen=True)
class Suggestion:
    """Conditions to try, why, and with which jar.

    ``outside_tried`` names the factors whose value no graded attempt bracketed. ``wait_h`` is how long the jar
    ``jar_id`` still has to age; both are None where no jar fits. ``held`` is the probability where conditions are
    held as well as the person holds them, ``figure`` what the goal promises in hours or grams (None: the goal has
    none, or it is not known), ``lot_id`` the lot of a batch that was asked for by lots, ``explanation`` what the
    attempt would settle.
    """

    conditions: Conditions
    probability: Estimate
    reason: Reason
    goal: Goal
    outside_tried: tuple[str, ...]
    jar_id: str | None
    wait_h: float | None
    held: Estimate | None = None
    figure: GoalFigure | None = None
    lot_id: str | None = None
    explanation: Explanation | None = None


def box_for(model: FittedModel, limits: OperatingLimits, goal: Goal) -> Box:
    """Return the box to search: what the model knows about, or everything while a first design is laid out.

    A film index that the model leaves out is not known: nothing is suggested for it.
    """
    modelled = {factor.name for factor in model.design.factors}
    names = [factor.name for factor in (limits.factors if goal is Goal.FIRST_DESIGN else model.design.factors)]
    films = [factor.name for factor in limits.factors if factor.role is Role.FILM_INDEX and not factor.is_choice]
    unknown = [name for name in films if name not in modelled]
    return make_box(limits, names, filler=model.design.filler, unknown=unknown)
