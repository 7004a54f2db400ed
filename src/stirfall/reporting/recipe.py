"""A recipe from any conditions: what to do, how far it may stray, what it rests on, and what can go wrong."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TypedDict

from stirfall.bench.campaign import Correction
from stirfall.bench.estimates import Estimate, whole_percent
from stirfall.bench.factors import Conditions, Role
from stirfall.bench.materials import Cautions
from stirfall.bench.records import CampaignSettings, find_factor
from stirfall.bench.substances import Substances
from stirfall.bench.units import Amount
from stirfall.planning.findings import Finding
from stirfall.reporting.batch_size import batch_size, charge_conditions
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.limit_words import limit_texts
from stirfall.reporting.recipe_batch import USUAL_BATCH, BatchOrder, BatchSize
from stirfall.reporting.recipe_curve import make_curve
from stirfall.reporting.recipe_evidence import gather_evidence
from stirfall.reporting.recipe_handbook import make_handbook
from stirfall.reporting.recipe_materials import material_lines
from stirfall.reporting.recipe_method import partly_rule
from stirfall.reporting.recipe_parts import (
    Evidence,
    Recipe,
    RecipeCurve,
    RecipeValue,
    Remark,
    RemarkLevel,
    Step,
    shown_span,
)
from stirfall.reporting.recipe_proofs import proofs_of
from stirfall.reporting.recipe_scaled import batch_remarks, scaled_values, with_amounts
from stirfall.reporting.recipe_steps import additive_name, forbids, write_steps
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import level_percent, span
from stirfall.reporting.tolerances import Tolerance, find_tolerances
from stirfall.session.analysis import Analysis

__all__ = ["Evidence", "Recipe", "RecipeCurve", "RecipeValue", "Remark", "Step", "make_recipe"]

FEW_ATTEMPTS = 10
WIDE_INTERVAL = 0.5


def make_recipe(
    analysis: Analysis,
    conditions: Conditions,
    *,
    fingerprint: str,
    session_name: str,
    drop: float = 0.10,
    created_at: datetime,
    decimal: str = ".",
    corrections: Iterable[Correction] = (),
    batch: BatchOrder = USUAL_BATCH,
) -> Recipe:
    """Return the recipe for conditions; factors that they leave open take the campaign's usual values, and say so.

    Where attempts share a factor as they share a lot, the answer is for the level that the recipe names.
    Where the operating limits forbid the conditions, or where a superoxide former would be exposed for longer than
    was ever recorded, the recipe is blocked: it says why and gives no steps, ranges or curve. Its proofs
    name attempts that ``corrections`` changed. The steps are written for the ``batch``, scaled from a proven one;
    chance and ranges stay those of the attempts. Raises InputError ``factor.unknown``, ``recipe.drop`` and what the
    analysis raises.
    """
    for name in conditions:
        find_factor(analysis.state.factors, name)
    complete = analysis.complete(charge_conditions(analysis, conditions, batch))
    analysis = analysis.for_level_in(complete)
    size = batch_size(analysis, complete, batch, decimal=decimal)
    probability = analysis.estimate(complete)
    remarks = _in_order((*batch_remarks(size), *_remarks(analysis, complete, probability, decimal)))
    blocked = any(remark.level == "block" for remark in remarks)
    values = _values(analysis, complete, drop, blocked=blocked)
    followed = [value for value in values if value.name != analysis.follows]
    proofs = proofs_of(analysis.state, complete, corrections=corrections, decimal=decimal)
    book = make_handbook(
        analysis,
        followed,
        session_name=session_name,
        fingerprint=fingerprint,
        proofs=len(proofs),
        decimal=decimal,
    )
    return Recipe(
        **_facts(analysis.state.settings, decimal),
        session_name=session_name,
        fingerprint=fingerprint,
        created_at=created_at,
        blocked=blocked,
        probability=probability,
        gates=tuple(analysis.gate_estimates(complete).items()) if len(analysis.model.gates) > 1 else (),
        drop=drop,
        values=values,
        steps=() if blocked else _steps(analysis, values, size, decimal),
        evidence=gather_evidence(analysis, followed, decimal=decimal),
        remarks=remarks,
        limits=_limits(analysis, decimal),
        curve=None if blocked else make_curve(analysis, complete),
        proofs=proofs,
        batch=size,
        handbook=book,
    )


class _Facts(TypedDict):
    """What a recipe takes from the settings of its campaign."""

    title: str
    program_version: str
    invented: bool
    metal: str
    melting_point_c: float | None
    oil: str
    oil_flash_c: float | None
    materials: tuple[str, ...]
    substances: Substances
    cautions: Cautions


def _facts(settings: CampaignSettings, decimal: str) -> _Facts:
    from stirfall import __version__

    return {
        "title": settings.title,
        "program_version": __version__,
        "invented": settings.invented,
        "metal": settings.metal,
        "melting_point_c": settings.melting_point_c,
        "oil": settings.oil,
        "oil_flash_c": settings.oil_flash_c,
        "materials": material_lines(settings, decimal=decimal),
        "substances": settings.substances,
        "cautions": load_cautions(settings.material),
    }


def _steps(analysis: Analysis, values: tuple[RecipeValue, ...], size: BatchSize, decimal: str) -> tuple[Step, ...]:
    """Return the steps, written for the batch, with what goes into it."""
    settings = analysis.state.settings
    factors = [find_factor(analysis.state.factors, value.name) for value in values]
    steps = write_steps(settings, factors, scaled_values(values, size), decimal=decimal)
    return with_amounts(steps, size, additive=additive_name(factors, values))


# ----------------------------------------------------------------------------------------------------------- values


def _values(analysis: Analysis, complete: Conditions, drop: float, *, blocked: bool) -> tuple[RecipeValue, ...]:
    """Return each condition with its range; a blocked recipe has no ranges."""
    unsaid = {*getattr(complete, "filled", ()), *getattr(complete, "followed", ())}
    tolerances = find_tolerances(analysis, complete, drop=drop)
    values = tuple(_value(analysis, each, each.factor.name in unsaid, drop) for each in tolerances)
    if not blocked:
        return values
    return tuple(replace(value, low=None, high=None, levels=(), note="") for value in values)


def _value(analysis: Analysis, tolerance: Tolerance, filled: bool, drop: float) -> RecipeValue:
    factor = tolerance.factor
    return RecipeValue(
        name=factor.name,
        unit=factor.unit,
        value=tolerance.value,
        low=tolerance.low,
        high=tolerance.high,
        levels=tolerance.levels,
        note=_why_range(tolerance, drop, shared=factor.name == analysis.table.grouping),
        filled=filled,
        tried=analysis.limits.tried.holds(factor, tolerance.value),
    )


def _why_range(tolerance: Tolerance, drop: float, *, shared: bool) -> str:
    """Return in a few words what ends the range; ``shared``: attempts share this factor as they share a lot."""
    if shared:
        return "shared by attempts, see the method"
    if not tolerance.in_model:
        return "not in the model: too few values recorded"
    if tolerance.is_ceiling:
        return "never longer; shorter is always allowed"
    if tolerance.follows:
        return "follows from the ages; their ranges are for the usual jar"
    if tolerance.levels:
        return ""
    if tolerance.low is None:
        return "untested here, so no range" if not tolerance.tried else "outside the operating limits"
    points = f"drops by {whole_percent(drop)} points"
    words = {"drop": points, "limit": "operating limit", "untested": "untested beyond"}
    below, above = tolerance.ends
    return words[below] if below == above else f"below: {words[below]}; above: {words[above]}"


# ------------------------------------------------------------------------------------------- remarks and limits


def _remarks(analysis: Analysis, complete: Conditions, probability: Estimate, decimal: str) -> tuple[Remark, ...]:
    """Return everything that must be said against the recipe, its size apart."""
    limits = analysis.limits
    remarks = [_of_finding(found, decimal) for found in limits.findings if found.level == "block"]
    if not limits.may_wait:
        remarks += [
            _remark("block", "recipe.longer_exposure", decimal, factor=name)
            for name in forbids(complete, limits.ceilings, limits.pinned)
        ]
    remarks += [_of_finding(found, decimal) for found in limits.check(complete)]
    filled = getattr(complete, "filled", ())
    if filled:
        remarks.append(_remark("note", "recipe.filled", decimal, names=", ".join(filled)))
    lowered = getattr(complete, "lowered", ())
    if lowered:
        remarks.append(_remark("note", "recipe.lowered", decimal, names=", ".join(lowered)))
    if analysis.state.settings.partly == "success":
        remarks += [Remark("note", "recipe.partly.success", text) for text in partly_rule(analysis)]
    used = analysis.counts.used
    if used < FEW_ATTEMPTS:
        remarks.append(_remark("warn", "recipe.few_attempts", decimal, count=used))
    if probability.upper - probability.lower > WIDE_INTERVAL:
        remarks.append(
            _remark(
                "warn",
                "recipe.wide",
                decimal,
                interval=span(probability.lower, probability.upper),
            )
        )
    if not analysis.model.health.is_sound:
        remarks.append(_remark("warn", "recipe.unsound", decimal))
    return tuple(remarks)


def _in_order(remarks: Iterable[Remark]) -> tuple[Remark, ...]:
    order = {"block": 0, "warn": 1, "note": 2}
    return tuple(sorted(dict.fromkeys(remarks), key=lambda remark: order[remark.level]))


def _of_finding(found: Finding, decimal: str) -> Remark:
    return Remark(found.level, found.code, sentence(found.code, found.params, decimal=decimal))


def _remark(level: RemarkLevel, code: str, decimal: str, **params: object) -> Remark:
    return Remark(level, code, sentence(code, params, decimal=decimal))


def _limits(analysis: Analysis, decimal: str) -> tuple[str, ...]:
    """Return the operating limits in sentences: they belong to the recipe and cannot be taken out of it."""
    limits, settings = analysis.limits, analysis.state.settings

    def say(code: str, **params: object) -> str:
        return sentence(code, params, decimal=decimal)

    known = {"melting": settings.melting_point_c, "flash": settings.oil_flash_c}
    lines = [
        say(f"recipe.{name}_unknown") if value is None else say(f"recipe.{name}_known", value=Amount(value, "C"))
        for name, value in known.items()
    ]
    for factor in limits.factors:
        if factor.role is Role.TEMPERATURE and factor.name in limits.ranges and not limits.blocked:
            low, high = limits.ranges[factor.name]
            span = shown_span(low, high, factor.unit, decimal=decimal)
            lines.append(say("recipe.temperature_window", factor=factor.name, span=span))
    said = [_of_finding(found, decimal).text for found in limits.findings]
    said += [f"{each.text} ({each.source})" for each in limit_texts(analysis.state, decimal=decimal)]
    ranges = [
        f"{factor.name} {shown_span(*factor.bounds, factor.unit, decimal=decimal)}"
        for factor in limits.factors
        if not factor.is_choice and factor.role is not Role.TEMPERATURE and factor.name not in limits.pinned
    ]
    if ranges:
        lines.append(say("recipe.campaign_ranges", ranges=_joined(ranges)))
    lines.append(say("recipe.local_rules", level=level_percent(settings.level)))
    return tuple(dict.fromkeys([*lines[:-1], *said, lines[-1]]))


def _joined(parts: Sequence[str]) -> str:
    return "; ".join(parts)
