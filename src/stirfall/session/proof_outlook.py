"""What to expect of proofs at a recipe, from an analysis: of the usual rules, and of one that runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.planning.proof import ProofPlan, count_plan, plan_of, sequential_plan, suggested_tolerances
from stirfall.planning.proof_outlook import Outlook, outlook

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis
    from stirfall.session.proving import ProofStanding

FloatArray = NDArray[np.float64]

USUAL_CLAIM, USUAL_CONFIDENCE, USUAL_RISK = 0.90, 0.95, 0.10
USUAL_FAILURES = (0, 1, 2)
# Our proposal: good is where a failure is five times rarer than the claim allows.
_TIMES_RARER = 5.0


@dataclass(frozen=True)
class ProofChoices:
    """The plans that a person may choose from for one recipe and claim, each with its chance, in ``outlooks``.

    ``recipe`` names every factor that an attempt must meet, within ``tolerances`` (suggested ones); ``filled``
    those that were not given and take the campaign's usual value. ``lots`` is where the attempts are to come from,
    None among them: a lot not seen yet. ``held``: averaged over how well the person holds the conditions.
    """

    recipe: Conditions
    filled: tuple[str, ...]
    tolerances: Mapping[str, float]
    lots: tuple[str | None, ...]
    held: bool
    outlooks: tuple[Outlook, ...]


def usual_good(claim: float) -> float:
    """Return the reliability at which a proof in sequence should pass, where the person named none."""
    return 1.0 - (1.0 - claim) / _TIMES_RARER


def proof_choices(
    analysis: Analysis,
    recipe: Conditions,
    *,
    claim: float = USUAL_CLAIM,
    confidence: float = USUAL_CONFIDENCE,
    failures: Sequence[int] = USUAL_FAILURES,
    good: float | None = None,
    risk: float = USUAL_RISK,
    attempts: int | None = None,
    rules: Sequence[ProofRule] = tuple(ProofRule),
    lots: Sequence[str | None] = (None,),
    held: bool = True,
) -> ProofChoices:
    """Return the plans by count for each number of failures allowed, and the one in sequence, with their chances.

    ``attempts`` takes so many (in sequence: at most so many) instead of the fewest that do. Raises InputError
    ``proof.*`` for a claim that no plan shows, and what ``proof_outlook`` raises.
    """
    asked = [(rule, each) for rule in rules for each in (failures if rule is ProofRule.COUNT else (0,))]
    plans = [
        make_plan(rule, claim, confidence, failures=each, good=good, risk=risk, attempts=attempts)
        for rule, each in asked
    ]
    whole, filled = whole_recipe(analysis, recipe)
    draws = reliability_draws(analysis, whole, lots=lots, held=held)
    outlooks = tuple(_outlook(analysis, plan, draws) for plan in plans)
    return ProofChoices(whole, filled, widths(analysis, whole), tuple(lots), held, outlooks)


def make_plan(
    rule: ProofRule,
    claim: float,
    confidence: float,
    *,
    failures: int = 0,
    good: float | None = None,
    risk: float = USUAL_RISK,
    attempts: int | None = None,
) -> ProofPlan:
    """Return the plan of one rule; None takes what is usual. Raises InputError ``proof.*``."""
    if rule is ProofRule.COUNT:
        return count_plan(claim, confidence, failures, attempts)
    return sequential_plan(claim, confidence, usual_good(claim) if good is None else good, risk, attempts)


def widths(analysis: Analysis, recipe: Conditions) -> dict[str, float]:
    """Return how far attempts may usually lie from a recipe, per number of it, in the factor's unit."""
    settings = analysis.state.settings
    return suggested_tolerances(recipe, analysis.state.visible_factors, settings.plan, settings.material)


def proof_outlook(
    analysis: Analysis,
    recipe: Conditions,
    plan: ProofPlan | Proof,
    *,
    lots: Sequence[str | None] = (None,),
    made: int = 0,
    failures: int = 0,
    held: bool = True,
) -> Outlook:
    """Return what to expect of one plan at a recipe, after ``made`` attempts with ``failures``.

    With one lot in ``lots`` all attempts come from it, None: from one that was not seen yet; with several each
    attempt comes from any of them alike. ``held``: averaged over how well the person holds the conditions. Raises
    InputError ``odds.value_missing`` where the recipe leaves a factor of the model open.
    """
    chosen = plan_of(plan) if isinstance(plan, Proof) else plan
    draws = reliability_draws(analysis, recipe, lots=lots, held=held)
    return _outlook(analysis, chosen, draws, made=made, failures=failures)


def outlook_from_here(
    analysis: Analysis, standing: ProofStanding, *, lots: Sequence[str | None] = (None,), held: bool = True
) -> Outlook:
    """Return what to expect of a proof that runs, from where it stands."""
    return proof_outlook(
        analysis,
        standing.proof.recipe,
        standing.plan,
        lots=lots,
        made=standing.made,
        failures=standing.failures,
        held=held,
    )


def whole_recipe(analysis: Analysis, recipe: Conditions) -> tuple[Conditions, tuple[str, ...]]:
    """Return a recipe that names every visible factor, and which of them were filled in.

    A film index that follows from ages is left out: no hand sets it.
    """
    complete = analysis.complete(analysis.usual(recipe))
    followed = {*complete.followed, *(() if analysis.follows is None else (analysis.follows,))}
    visible = {factor.name for factor in analysis.state.visible_factors} - followed
    return Conditions({name: complete[name] for name in complete if name in visible}), complete.filled


def reliability_draws(
    analysis: Analysis, recipe: Conditions, *, lots: Sequence[str | None] = (None,), held: bool = True
) -> FloatArray:
    """Return (m,) draws of the probability of a clean separation of an attempt at a recipe.

    Draws stay paired: where several lots are named, each draw is the mean over them. A lot without attempts is a
    new one; raises InputError ``proof.lot_unknown`` for a name that nothing has.
    """
    from stirfall.planning.candidates import known_columns
    from stirfall.planning.control import control_of, held_draws
    from stirfall.planning.goals import Goal
    from stirfall.planning.next_attempts import box_for

    answering = analysis.for_level_in(recipe)
    known = {*answering.model.lot_names, *(lot.id for lot in analysis.state.lots)}
    for lot in lots:
        if lot is not None and lot not in known:
            raise InputError("proof.lot_unknown", lot=lot, known=", ".join(sorted(known)) or "none")
    box = box_for(answering.model, analysis.limits, Goal.RELIABLE)
    columns = known_columns(box, [recipe])
    found = []
    for lot in lots or (None,):
        model = answering.model if lot is None else answering.model.for_lot(lot)
        each = (
            held_draws(model, control_of(box, model.design), columns) if held else model.probability_draws(columns)
        )
        found.append(each[:, 0])
    return np.asarray(np.mean(found, axis=0), dtype=float)


def _outlook(
    analysis: Analysis, plan: ProofPlan, draws: FloatArray, *, made: int = 0, failures: int = 0
) -> Outlook:
    model = analysis.model
    return outlook(
        plan,
        draws,
        model.weights,
        level=model.level,
        n=model.n,
        of_trials=model.of_trials,
        made=made,
        failures=failures,
    )
