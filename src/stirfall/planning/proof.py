"""A proof as it is kept: the plan that its rule stands for, and which attempts may belong to it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.plans import PlanSettings, control_errors
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import find_factor
from stirfall.bench.units import Amount, Difference
from stirfall.planning.proof_count import CountPlan, attempts_needed, count_plan
from stirfall.planning.proof_sequential import SequentialPlan, plan_within, sequential_plan
from stirfall.planning.proof_verdict import Verdict

__all__ = [
    "CountPlan",
    "ProofPlan",
    "SequentialPlan",
    "Verdict",
    "attempts_needed",
    "count_plan",
    "off_recipe",
    "plan_of",
    "proof_of",
    "refuse_broken_promise",
    "sequential_plan",
    "suggested_tolerances",
]

ProofPlan = CountPlan | SequentialPlan
_FILM_SHARE = 0.25  # our proposal: a film index is computed from a jar and never hits a number
_TYPED = 1e-9
_NOT_STARTED = datetime.fromtimestamp(0, UTC)


def plan_of(proof: Proof) -> ProofPlan:
    """Return the plan that a proof's rule stands for; always the same one for the same rule."""
    if proof.rule is ProofRule.COUNT or proof.good is None or proof.risk_of_missing is None:
        return CountPlan(proof.claim, proof.confidence, proof.attempts, proof.failures_allowed)
    return plan_within(proof.claim, proof.confidence, proof.good, proof.risk_of_missing, proof.attempts)


def proof_of(
    plan: ProofPlan, recipe: Mapping[str, Value], tolerances: Mapping[str, float], *, title: str = ""
) -> Proof:
    """Return the proof that a plan at a recipe makes, for the command that starts it: that gives id and time."""
    return Proof(
        id="",
        started_at=_NOT_STARTED,
        recipe=Conditions(recipe),
        rule=plan.rule,
        claim=plan.claim,
        confidence=plan.confidence,
        attempts=plan.attempts,
        failures_allowed=plan.failures_allowed if isinstance(plan, CountPlan) else 0,
        good=plan.good if isinstance(plan, SequentialPlan) else None,
        risk_of_missing=plan.risk_of_missing if isinstance(plan, SequentialPlan) else None,
        tolerances=dict(tolerances),
        title=title,
    )


def refuse_broken_promise(proof: Proof) -> None:
    """Raise InputError ``proof.too_few`` or ``proof.too_few_to_show`` for a rule that cannot show its claim."""
    plan = plan_of(proof)
    if isinstance(plan, CountPlan) and not plan.keeps_promise:
        needed = attempts_needed(plan.claim, plan.confidence, plan.failures_allowed)
        raise InputError("proof.too_few", attempts=plan.attempts, needed=needed, failures=plan.failures_allowed)
    if isinstance(plan, SequentialPlan):
        plan.refuse_too_short()


def off_recipe(
    proof: Proof, conditions: Conditions, factors: tuple[Factor, ...], material: MaterialClass = MaterialClass.OTHER
) -> Reason | None:
    """Return why an attempt at ``conditions`` does not belong to a proof: which factor, by how much; None: it does.

    Every factor of the recipe must be known and lie within its tolerance, a choice be the same; what the recipe
    does not name may be anything. Of a superoxide former an exposure is a ceiling: shorter always belongs.
    """
    for name, wanted in proof.recipe.items():
        reached = conditions.get(name)
        if reached is None:
            return Reason("proof.off_unknown", {"factor": name})
        if isinstance(wanted, str) or isinstance(reached, str):
            if reached != wanted:
                return Reason("proof.off_choice", {"factor": name, "value": reached, "recipe": wanted})
            continue
        factor, allowed = find_factor(factors, name), proof.tolerances.get(name, 0.0)
        away = reached - wanted if _is_ceiling(factor, material) else abs(reached - wanted)
        if away > allowed + _TYPED * max(abs(wanted), allowed):
            code = "proof.off_recipe" if allowed else "proof.off_exactly"
            return _off(
                "proof.off_ceiling" if _is_ceiling(factor, material) else code, factor, reached, wanted, allowed
            )
    return None


def _is_ceiling(factor: Factor, material: MaterialClass) -> bool:
    return not material.may_lengthen_age and factor.role is not None and factor.role.is_exposure


def _off(code: str, factor: Factor, reached: float, wanted: float, allowed: float) -> Reason:
    return Reason(
        code,
        {
            "factor": factor.name,
            "value": Amount(reached, factor.unit),
            "recipe": Amount(wanted, factor.unit),
            "by": Difference(abs(reached - wanted), factor.unit),
            "most": Difference(allowed, factor.unit),
        },
    )


def suggested_tolerances(
    recipe: Mapping[str, Value],
    factors: tuple[Factor, ...],
    plan: PlanSettings,
    material: MaterialClass = MaterialClass.OTHER,
) -> dict[str, float]:
    """Return how far an attempt may lie from the recipe, per number of it, in the factor's unit.

    It is the control error of the factor: what the person's hands and instruments hold 19 times of 20. Where
    that is none, it is one step of the factor, and without a step nothing: held exactly. A film index is computed
    from a jar, and may differ by a quarter (our proposal). An exposure of a superoxide former may never be longer.
    """
    errors = {error.factor: error for error in control_errors(factors, plan)}
    found = {}
    for factor in factors:
        value = recipe.get(factor.name)
        if factor.is_choice or value is None or isinstance(value, str):
            continue
        error = errors.get(factor.name)
        if _is_ceiling(factor, material):
            width = 0.0
        elif error is not None:
            width = abs(value) * error.half_width / 100.0 if error.is_share else error.half_width
        elif factor.role is Role.FILM_INDEX:
            width = abs(value) * _FILM_SHARE
        else:
            width = factor.step or 0.0
        found[factor.name] = float(f"{width:.3g}")
    return found
