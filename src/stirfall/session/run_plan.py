"""A run as planned: its steps with their times, temperatures and the additive; pure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.records import Jar, Lot, Masses
from stirfall.bench.running import PlannedStep, Run, Step
from stirfall.bench.units import convert, unit_kind, unit_label
from stirfall.planning.findings import Finding
from stirfall.planning.limits import break_findings
from stirfall.planning.limits_additive import (
    UNNAMED,
    charge_of,
    grams_per,
    is_additive_choice,
    means_none,
    mg_g_per,
)
from stirfall.planning.limits_temperature import lift_top_c, set_point_c
from stirfall.planning.situation import Situation
from stirfall.session.run_timing import TrueTimes, path_of

_STIR = re.compile(r"stir|swirl|knead|fold|rock|shak", re.IGNORECASE)
_SETTLE = re.compile(r"settl", re.IGNORECASE)
_COOL = re.compile(r"cool", re.IGNORECASE)
_SURROUNDINGS = re.compile(r"humidity|room|ambient", re.IGNORECASE)
_GRAMS = re.compile(r"^(\S+) g of (.*)$")


def plan_run(
    state: CampaignState,
    conditions: Conditions,
    *,
    jar: Jar | None,
    lot: Lot | None,
    masses: Masses | None = None,
    started_at: datetime,
) -> Run:
    """Return the run of these conditions, with the steps that they ask for.

    ``masses`` may hold a charge that was weighed already. Times that no factor gives are those of the last finished
    run, None where there is none.
    """
    situation = Situation(conditions, jar, lot, masses=masses or Masses(), at=started_at)
    return Run(
        id="",
        started_at=started_at,
        conditions=conditions,
        steps=tuple(_planned(state, situation)),
        jar_id=jar.id if jar is not None else None,
        lot_id=lot.id if lot is not None else None,
    )


def refusal_to_begin(state: CampaignState) -> Reason | None:
    """Return why no run may begin in this campaign whatever the conditions: nobody knows what the oil bears."""
    return Reason("run.flash_unknown") if state.settings.oil_flash_c is None else None


def notes_at_start(state: CampaignState, now: datetime) -> tuple[Finding, ...]:
    """Return what the limits say about many hot runs and long work before a run begins; they only note it."""
    return break_findings(state, now)


def _planned(state: CampaignState, situation: Situation) -> Iterator[PlannedStep]:
    conditions, hot_c = situation.conditions, set_point_c(state, situation)
    yield PlannedStep(Step.CHECKS)
    yield PlannedStep(Step.HEAT, target_c=hot_c)
    yield PlannedStep(Step.HOLD, seconds_of(hot_time_factor(state), conditions), hot_c)
    if (name := additive_name(state, conditions)) is not None:
        grams = additive_grams(state, situation)
        told = name if grams is None else f"{grams:.6g} g of {name}"
        yield PlannedStep(Step.ADDITIVE, target_c=hot_c, text=told)
    yield PlannedStep(Step.STIR, seconds_of(time_factor(state, Step.STIR), conditions), hot_c)
    yield PlannedStep(Step.SETTLE, _usual_seconds(state, conditions, Step.SETTLE), hot_c)
    yield PlannedStep(Step.COOL, _usual_seconds(state, conditions, Step.COOL), lift_top_c(state.settings))
    for step in (Step.LIFT, Step.GRADE, Step.WEIGH, Step.CLOSE):
        yield PlannedStep(step)


# ------------------------------------------------------------------------------------------- which factor is which


def place_of(factor: Factor) -> Step | None:
    """Return the step that a factor of no special role belongs to, None where its name says nothing."""
    if factor.role is not Role.GENERAL or is_additive_choice(factor):
        return None
    if _SETTLE.search(factor.name):
        return Step.SETTLE
    if _COOL.search(factor.name):
        return Step.COOL
    return Step.STIR if _STIR.search(factor.name) else None


def time_factor(state: CampaignState, step: Step) -> Factor | None:
    """Return the factor that says how long a step takes: a time that is called after it."""
    return next((f for f in state.visible_factors if place_of(f) is step and _is_time(f)), None)


def hot_time_factor(state: CampaignState) -> Factor | None:
    """Return the factor that says how long the metal is hot before it is stirred."""
    return next((f for f in state.visible_factors if f.role is Role.HOT_TIME and _is_time(f)), None)


def stirring_factors(state: CampaignState) -> tuple[Factor | None, Factor | None]:
    """Return the factors of the speed of stirring and of its action, None where there is none."""
    here = [factor for factor in state.visible_factors if place_of(factor) is Step.STIR]
    speed = next((f for f in here if not f.is_choice and unit_label(f.unit) == "1/min"), None)
    return speed, next((f for f in here if f.is_choice), None)


def set_up_values(state: CampaignState, conditions: Conditions) -> tuple[tuple[Factor, Value], ...]:
    """Return the conditions that are set up before the heat is on: those that belong to no step of their own.

    What the room is like cannot be set up.
    """
    return tuple(
        (factor, conditions[factor.name])
        for factor in state.visible_factors
        if factor.name in conditions
        and factor.role is Role.GENERAL
        and not is_additive_choice(factor)
        and place_of(factor) is None
        and not _SURROUNDINGS.search(factor.name)
    )


def seconds_of(factor: Factor | None, conditions: Conditions) -> float | None:
    """Return a time of the conditions in seconds, None where it is not known."""
    value = conditions.number(factor.name) if factor is not None else None
    return None if factor is None or value is None else convert(value, factor.unit, "s")


def _is_time(factor: Factor) -> bool:
    return not factor.is_choice and unit_kind(factor.unit) == "time"


def _usual_seconds(state: CampaignState, conditions: Conditions, step: Step) -> float | None:
    planned = seconds_of(time_factor(state, step), conditions)
    return planned if planned is not None else _last_seconds(state, step)


def _last_seconds(state: CampaignState, step: Step) -> float | None:
    """Return how long a step took in the last run that was finished and not given up."""
    for run in reversed(state.runs):
        if run.is_open or run.end_reason:
            continue
        path, times = path_of(run), TrueTimes(run)
        for stretch, after in pairwise(path):
            if stretch.step is step:
                return float(round(times.of(after.began) - times.of(stretch.began)))
    return None


# --------------------------------------------------------------------------------------------------- the additive


def additive_name(state: CampaignState, conditions: Conditions) -> str | None:
    """Return the additive that the conditions name, None where there is none."""
    choices = [factor for factor in state.visible_factors if is_additive_choice(factor)]
    named = [str(conditions[f.name]) for f in choices if f.name in conditions]
    for name in named:
        if not means_none(name):
            return name
    if named or not any(conditions.number(f.name) for f in dose_factors(state)):
        return None
    only = state.settings.substances.additive(None)
    return only.name if only is not None and only.name else UNNAMED


def dose_factors(state: CampaignState) -> tuple[Factor, ...]:
    """Return the factors that say how much additive is added."""
    return tuple(f for f in state.visible_factors if f.role is Role.DOSE and not f.is_choice)


def additive_grams(state: CampaignState, situation: Situation) -> float | None:
    """Return the mass of additive to weigh in g: dose times charge; None where one of them is not known."""
    charge = charge_of(state, situation)
    doses = [(situation.conditions.number(f.name), f.unit) for f in dose_factors(state)]
    if not charge or not any(value for value, _ in doses):
        return None
    return sum(_grams(value, unit, charge) for value, unit in doses if value) or None


def _grams(dose: float, unit: str, charge_g: float) -> float:
    share, per = mg_g_per(unit), grams_per(unit)
    return dose * share * charge_g / 1000.0 if share is not None else dose * (per or 0.0)


def planned_additive(run: Run) -> tuple[str, float | None]:
    """Return the additive of a run and the mass in g that was to be weighed; "" where the run has none."""
    step = run.planned(Step.ADDITIVE)
    if step is None:
        return "", None
    told = _GRAMS.match(step.text)
    return (told.group(2), float(told.group(1))) if told is not None else (step.text, None)
