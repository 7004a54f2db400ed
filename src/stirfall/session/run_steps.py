"""What is to be done in each step of a run, and which shipped cautions matter for it; pure.

Only the physical step is told: melting under oil, stirring, lifting, weighing. Nothing here makes or destroys a
reactive metal, and a superoxide former is never told to wait.
"""

from __future__ import annotations

from collections.abc import Iterator

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.running import Run, Step
from stirfall.bench.units import Amount
from stirfall.planning.findings import CloseAmount
from stirfall.planning.findings import amount as shown_amount
from stirfall.session.run_plan import planned_additive, set_up_values, stirring_factors

# Keys of the shipped cautions by step: those of every class first, then those of a class that may be reactive, then
# those of a base metal. A key that the table does not have for a class is left out where they are shown.
_EVERY: dict[Step, tuple[str, ...]] = {
    Step.CHECKS: ("not_alone",),
    Step.HEAT: ("watch_hot_oil", "closed_jars"),
    Step.HOLD: ("watch_hot_oil",),
    Step.ADDITIVE: ("hydrogen", "rosin_fume"),
    Step.STIR: (),
    Step.SETTLE: ("watch_hot_oil",),
    Step.COOL: ("watch_hot_oil",),
    Step.LIFT: (),
    Step.GRADE: (),
    Step.WEIGH: (),
    Step.CLOSE: ("watch_hot_oil",),
}
_IF_REACTIVE: dict[Step, tuple[str, ...]] = {
    Step.CHECKS: ("look_first", "fire_wrong_agents"),
    Step.HEAT: ("fire_wrong_agents",),
    Step.HOLD: ("stay_under_oil",),
    Step.ADDITIVE: ("no_halogenated",),
    Step.STIR: ("stay_under_oil", "fire_wrong_agents"),
    Step.SETTLE: ("stay_under_oil",),
    Step.COOL: ("stay_under_oil",),
    Step.LIFT: ("lift_cool_only", "stay_under_oil"),
    Step.GRADE: ("look_first",),
    Step.WEIGH: ("weigh_covered",),
    Step.CLOSE: ("residue_reactive",),
}
_IF_BASE: dict[Step, tuple[str, ...]] = {
    Step.CHECKS: ("fire_agent_oil",),
    Step.HEAT: ("no_flame",),
    Step.HOLD: ("fire_agent_oil",),
    Step.ADDITIVE: ("dry_warm_tools",),
    Step.STIR: ("watch_hot_oil",),
    Step.LIFT: ("lift_solid_only",),
    Step.WEIGH: ("residue_base",),
    Step.CLOSE: ("residue_base",),
}


def caution_keys(step: Step, material: MaterialClass) -> tuple[str, ...]:
    """Return the keys of the shipped cautions that matter for a step with this class of metal, gravest first."""
    own = (_IF_BASE if material is MaterialClass.BASE_METAL else _IF_REACTIVE).get(step, ())
    return tuple(dict.fromkeys((*own, *_EVERY[step])))


def instructions(state: CampaignState, run: Run, step: Step) -> tuple[Reason, ...]:
    """Return what is to be done in a step, in short sentences, the act itself first."""
    match step:
        case Step.CHECKS:
            return tuple(_checks(state, run))
        case Step.HEAT:
            return (_with_target(("run.do.heat", "run.do.heat_open"), run, step), Reason("run.do.read"))
        case Step.HOLD:
            return (_hold(state, run),)
        case Step.ADDITIVE:
            return (_additive(("run.do.additive", "run.do.additive_open"), run), Reason("run.do.additive_slowly"))
        case Step.STIR:
            return (_stir(state, run), Reason("run.do.keep_covered"))
        case Step.SETTLE:
            return (Reason("run.do.settle", {"time": _time_part(run, step)}), Reason("run.do.settle_look"))
        case Step.COOL:
            return (Reason("run.do.cool"), _with_target(("run.do.cool_until", "run.do.cool_until_open"), run, step))
        case _:
            return tuple(_after_cooling(step))


def _checks(state: CampaignState, run: Run) -> Iterator[Reason]:
    if run.jar_id is not None:
        yield Reason("run.do.take_jar", {"jar": run.jar_id, "lot": run.lot_id or "not known"})
    else:
        yield Reason("run.do.take_charge")
    if not state.settings.material.may_lengthen_age:
        yield Reason("run.do.no_waiting")
    yield from _plan(state, run)
    for factor, value in set_up_values(state, run.conditions):
        yield Reason("run.do.set_up", {"name": factor.name, "value": _shown(factor, value)})
    if planned_additive(run)[0]:
        yield _additive(("run.do.weigh_additive", "run.do.weigh_additive_open"), run)
    yield Reason("run.do.tools")


def _shown(factor: Factor, value: Value) -> object:
    return value if isinstance(value, str) else shown_amount(value, factor)


def _with_target(codes: tuple[str, str], run: Run, step: Step) -> Reason:
    """Return the first code with the step's temperature, the second where none is planned."""
    planned = run.planned(step)
    if planned is None or planned.target_c is None:
        return Reason(codes[1])
    return Reason(codes[0], {"target": CloseAmount(planned.target_c, "C")})


def _hold(state: CampaignState, run: Run) -> Reason:
    planned = run.planned(Step.HOLD)
    if planned is None or planned.seconds is None:
        return Reason("run.do.hold_open")
    code = "run.do.hold" if state.settings.material.may_lengthen_age else "run.do.hold_at_most"
    return Reason(code, {"time": Amount(planned.seconds, "s")})


def _additive(codes: tuple[str, str], run: Run) -> Reason:
    """Return the first code with the mass of the additive, the second where that is not known."""
    name, grams = planned_additive(run)
    if grams is None:
        return Reason(codes[1], {"name": name})
    return Reason(codes[0], {"name": name, "grams": CloseAmount(float(f"{grams:.3g}"), "g")})


def _plan(state: CampaignState, run: Run) -> Iterator[Reason]:
    """Return the plan in one sentence, for a last look before the heat is on; nothing where nothing is planned."""
    heat, hold, stir_parts = run.planned(Step.HEAT), run.planned(Step.HOLD), _stir_parts(state, run)
    target = heat.target_c if heat is not None else None
    held = hold.seconds if hold is not None else None
    parts = {
        "heat": "" if target is None else Reason("run.part.heat", {"target": CloseAmount(target, "C")}),
        "hold": "" if held is None else Reason("run.part.hold", {"time": Amount(held, "s")}),
        "stir": Reason("run.part.stir", stir_parts) if any(stir_parts.values()) else "",
    }
    if any(parts.values()):
        yield Reason("run.do.plan", parts)


def _stir(state: CampaignState, run: Run) -> Reason:
    return Reason("run.do.stir", _stir_parts(state, run))


def _stir_parts(state: CampaignState, run: Run) -> dict[str, object]:
    speed, action = stirring_factors(state)
    turns = run.conditions.number(speed.name) if speed is not None else None
    how = run.conditions.get(action.name) if action is not None else None
    return {
        "action": Reason("run.part.action", {"action": how}) if how is not None else "",
        "speed": Reason("run.part.speed", {"turns": turns}) if turns is not None else "",
        "time": _time_part(run, Step.STIR),
    }


def _time_part(run: Run, step: Step) -> object:
    planned = run.planned(step)
    if planned is None or planned.seconds is None:
        return ""
    return Reason("run.part.time", {"time": Amount(planned.seconds, "s")})


def _after_cooling(step: Step) -> Iterator[Reason]:
    if step is Step.LIFT:
        yield Reason("run.do.lift")
        yield Reason("run.do.lift_drain")
    elif step is Step.GRADE:
        yield Reason("run.do.grade")
        yield Reason("run.do.photo")
    elif step is Step.WEIGH:
        yield Reason("run.do.weigh")
        yield Reason("run.do.confirm")
    else:
        yield Reason("run.do.close")
