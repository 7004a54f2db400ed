"""Where suggestions may lie: the ranges, levels and rules between factors that the limits leave, settled once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.planning.findings import CloseAmount, Finding, amount, finding, from_celsius, is_temperature_unit
from stirfall.planning.limits_additive import (
    Used,
    batch_factor,
    class_problem,
    dose_cap_mg_g,
    forbidden_levels,
    grams_per,
    hydrogen_cap_ml,
    is_additive_choice,
    means_none,
    mg_g_per,
    most_mg_g,
    per_gram_ml,
)
from stirfall.planning.limits_exposure import age_top
from stirfall.planning.limits_temperature import suggested_floor_c, suggested_top_c
from stirfall.planning.limits_work import humidity_limit, is_humidity

Range = tuple[float, float]


@dataclass(frozen=True)
class Coupling:
    """One plain rule between two factors: where the choice is ``level``, the dose is ``most`` at most.

    For a level that means none ``most`` is zero, and the dose is then just that.
    """

    choice: str
    level: str
    dose: str
    most: float = 0.0


@dataclass
class Settled:
    """What was settled, filled in step by step: see ``OperatingLimits`` for the meaning of each."""

    ranges: dict[str, Range] = field(default_factory=dict)
    levels: dict[str, tuple[str, ...]] = field(default_factory=dict)
    pinned: dict[str, float] = field(default_factory=dict)
    couplings: list[Coupling] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def settle(state: CampaignState, ceilings: Mapping[str, float]) -> Settled:
    """Return the ranges, levels and rules within which a campaign's suggestions must stay."""
    made = Settled()
    superoxide = state.settings.material is MaterialClass.SUPEROXIDE_FORMER
    for factor in state.visible_factors:
        if factor.role is Role.TEMPERATURE:
            _limit_temperature(factor, state, made)
        elif superoxide and factor.role is not None and factor.role.is_exposure:
            _pin_exposure(factor, state, ceilings, made)
        elif not factor.is_choice:
            made.ranges[factor.name] = factor.bounds
            _limit_age(factor, state, made)
            _limit_humidity(factor, state, made)
        if factor.is_choice:
            _limit_levels(factor, state, made)
    for factor in state.visible_factors:
        if factor.role is Role.DOSE and not factor.is_choice:
            _limit_dose(factor, state, made)
    for factor in state.visible_factors:
        if factor.is_choice and not made.levels[factor.name]:
            made.findings.append(finding("block", "limits.no_level_left", factor, rule="additive_class"))
    return made


# ------------------------------------------------------------------------------------- temperature and exposure


def _limit_temperature(factor: Factor, state: CampaignState, made: Settled) -> None:
    settings = state.settings
    if factor.is_choice or not is_temperature_unit(factor.unit):
        made.findings.append(finding("block", "limits.temperature_unit", factor, rule="flash_unknown"))
        made.ranges.update({} if factor.is_choice else {factor.name: factor.bounds})
        return
    low, high = factor.bounds
    top, floor = suggested_top_c(settings), suggested_floor_c(settings)
    if top is None:
        made.findings.append(finding("block", "limits.flash_unknown", factor, rule="flash_unknown"))
    else:
        high = min(high, from_celsius(top, factor.unit))
    if floor is None:
        made.findings.append(finding("note", "limits.melting_unknown", factor, rule="melting_margin"))
    else:
        low = max(low, from_celsius(floor, factor.unit))
    if not low <= high:
        made.findings.append(_empty_window(factor, state))
    made.ranges[factor.name] = (low, high)


def _empty_window(factor: Factor, state: CampaignState) -> Finding:
    settings = state.settings
    floor_c, top_c = suggested_floor_c(settings), suggested_top_c(settings)
    if floor_c is not None and top_c is not None and not floor_c <= top_c:
        return finding(
            "block",
            "limits.window_empty",
            factor,
            rule="oil_margin",
            melting=_celsius(settings.melting_point_c),
            flash=_celsius(settings.oil_flash_c),
            top=_celsius(top_c),
        )
    low, high = factor.bounds
    return finding(
        "block",
        "limits.window_outside_range",
        factor,
        rule="oil_margin",
        low=amount(low, factor),
        high=amount(high, factor),
        floor=amount(low if floor_c is None else from_celsius(floor_c, factor.unit), factor),
        ceiling=amount(high if top_c is None else from_celsius(top_c, factor.unit), factor),
    )


def _pin_exposure(factor: Factor, state: CampaignState, ceilings: Mapping[str, float], made: Settled) -> None:
    rule = "superoxide_age"
    if factor.is_choice:
        made.findings.append(finding("block", "limits.exposure_unordered", factor, rule=rule))
        return
    low, _ = factor.bounds
    made.ranges[factor.name] = (low, low)
    made.pinned[factor.name] = low
    ceiling, shown = ceilings.get(factor.name), amount(low, factor)
    if ceiling is not None and low > ceiling:
        shortest = amount(ceiling, factor)
        made.findings.append(
            finding("block", "limits.exposure_above_shortest", factor, rule=rule, low=shown, shortest=shortest)
        )
    elif not _begins_too_old(factor, state, made):
        made.findings.append(finding("note", "limits.exposure_pinned", factor, rule=rule, value=shown))


def _begins_too_old(factor: Factor, state: CampaignState, made: Settled) -> bool:
    """Block where a range begins beyond the age limit of the class; return whether it does."""
    top, (low, _) = age_top(factor, state.settings), factor.bounds
    if top is None or low <= top:
        return False
    superoxide = state.settings.material is MaterialClass.SUPEROXIDE_FORMER
    made.findings.append(
        finding(
            "block",
            "limits.age_range_too_old",
            factor,
            rule="superoxide_age" if superoxide else "jar_age",
            low=amount(low, factor),
            most=amount(top, factor),
        )
    )
    return True


def _limit_age(factor: Factor, state: CampaignState, made: Settled) -> None:
    top = age_top(factor, state.settings)
    if top is not None and not _begins_too_old(factor, state, made):
        low, high = factor.bounds
        made.ranges[factor.name] = (low, min(high, top))


def _limit_humidity(factor: Factor, state: CampaignState, made: Settled) -> None:
    """Suggest no humid room where a range leaves the choice; a campaign in a humid place is warned each time."""
    most = humidity_limit(state.settings)
    if most is None or not is_humidity(factor):
        return
    low, high = factor.bounds
    if low <= most:
        made.ranges[factor.name] = (low, min(high, most))


# ------------------------------------------------------------------------------------------ additives and dose


def _limit_levels(factor: Factor, state: CampaignState, made: Settled) -> None:
    forbidden = forbidden_levels(state.settings, factor)
    made.levels[factor.name] = tuple(level for level in factor.levels if level not in forbidden)
    for level, problem in forbidden.items():
        why = Reason(problem.code, problem.params)
        made.findings.append(
            finding("note", "limits.level_left_out", factor, rule=problem.rule, additive=level, why=why)
        )


def _limit_dose(factor: Factor, state: CampaignState, made: Settled) -> None:
    choices = [each for each in state.visible_factors if is_additive_choice(each)]
    low, high = made.ranges[factor.name]
    if not choices:
        only = Used.named(None, state.settings)
        problem = class_problem(state.settings, only, factor)
        top = 0.0 if problem is not None else _top(factor, only, state, high)
        if problem is not None and low <= 0.0:
            why = Reason(problem.code, problem.params)
            made.findings.append(finding("note", "limits.dose_left_out", factor, rule=problem.rule, why=why))
        _narrow(factor, top, problem, made)
        return
    tops = [0.0]
    for choice in choices:
        tops += _couple(factor, choice, state, made)
    _narrow(factor, max(tops), None, made)
    high = made.ranges[factor.name][1]
    made.couplings[:] = [each for each in made.couplings if each.dose != factor.name or each.most < high]


def _narrow(factor: Factor, top: float, problem: Finding | None, made: Settled) -> None:
    low, high = made.ranges[factor.name]
    if low <= top:
        made.ranges[factor.name] = (low, min(high, top))
    elif problem is not None:
        made.findings.append(problem)
    else:
        made.findings.append(
            finding(
                "block",
                "limits.dose_range_above_cap",
                factor,
                rule="dose_cap",
                low=amount(low, factor),
                cap=amount(top, factor),
            )
        )


def _couple(dose: Factor, choice: Factor, state: CampaignState, made: Settled) -> list[float]:
    """Couple the levels of an additive choice with a dose; return the largest dose of each level that is left."""
    low, high = dose.bounds
    tops = []
    for level in made.levels[choice.name]:
        if not means_none(level):
            top = _top(dose, Used.named(level, state.settings), state, high)
        elif low <= 0.0 <= high:
            top = 0.0
        else:
            top = _top(dose, None, state, high)
        if top < low:
            made.levels[choice.name] = tuple(each for each in made.levels[choice.name] if each != level)
            why = Reason("limits.dose_too_small", {"dose": dose.name, "cap": amount(top, dose)})
            made.findings.append(
                finding("note", "limits.level_left_out", choice, rule="dose_cap", additive=level, why=why)
            )
            continue
        made.couplings.append(Coupling(choice.name, level, dose.name, top))
        tops.append(top)
    return tops


def _top(dose: Factor, used: Used | None, state: CampaignState, high: float) -> float:
    """Return the largest dose of one additive in the factor's unit that is on its steps, ``high`` at most."""
    share, per = mg_g_per(dose.unit), grams_per(dose.unit)
    top = math.inf
    if share is not None:
        top = most_mg_g(state.settings, used, _charge_range(state)[1]) / share
    elif per is not None:
        least = _charge_range(state)[0]
        if least is not None:
            top = dose_cap_mg_g(used) * least / 1000.0 / per
        per_gram = per_gram_ml(state.settings, used) if used is not None else None
        if per_gram:
            top = min(top, hydrogen_cap_ml(state.settings) / per_gram / per)
    if top >= high:
        return high
    return round(math.floor(round(top / dose.step, 9)) * dose.step, 10) if dose.step else top


def _charge_range(state: CampaignState) -> tuple[float | None, float | None]:
    """Return the smallest and the largest charge in g that a suggestion may meet; None where nothing says it."""
    batch = batch_factor(state)
    if batch is not None and not batch.hidden:
        per = grams_per(batch.unit) or 0.0
        low, high = batch.bounds
        return low * per, high * per
    charges = [jar.charge_g for jar in state.jars if jar.charge_g and not jar.is_residue]
    return min(charges, default=None), max(charges, default=None)


def _celsius(value: float | None) -> CloseAmount | str:
    return "unknown" if value is None else CloseAmount(value, "C")
