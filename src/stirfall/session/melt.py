"""What is physically to be expected of the melt: what falls, what floats, how fast, and what stirring does.

Everything follows from what the campaign says of its metal, solids, oil and vessel, and from the shipped tables;
what is unknown stays unknown, and the report says what to enter.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.units import convert, unit_label
from stirfall.planning.findings import is_temperature_unit, to_celsius
from stirfall.planning.limits_temperature import suggested_floor_c, suggested_top_c
from stirfall.session.melt_facts import At, facts_of, missing_of
from stirfall.session.melt_liquids import Metal, metal_of, oil_at, oil_density, oil_viscosity, solid_of
from stirfall.session.melt_parts import (
    FACT_KEYS,
    FactLevel,
    LiquidAtHand,
    MeltCurves,
    MeltFact,
    MeltReport,
    Property,
)
from stirfall.storage.limit_table import limit_table

__all__ = [
    "FACT_KEYS",
    "FactLevel",
    "LiquidAtHand",
    "MeltCurves",
    "MeltFact",
    "MeltReport",
    "Property",
    "melt_report",
]

_POINTS = 81
_BELOW_K, _ABOVE_K = 15.0, 60.0


def melt_report(state: CampaignState, conditions: Conditions | None = None) -> MeltReport:
    """Return what is to be expected at these conditions; a factor that they leave open takes its usual value.

    Raises InputError ``oil.one_temperature`` or ``oil.viscosity_rises`` where the two viscosities of the bottle
    contradict each other.
    """
    given = conditions or Conditions()
    settings = state.settings
    metal = metal_of(settings)
    assumed: list[str] = []
    at_c = _temperature(state, given, assumed)
    speed = _turns_per_min(state, given, assumed)
    if at_c is None and metal.melting_c is not None:
        at_c = metal.melting_c + 20.0  # no temperature factor: a melt that is plainly molten
    window = _window(state, metal)
    hand = (
        metal.at(at_c) if _is_molten(metal, at_c) else LiquidAtHand(metal.name, metal.row.key if metal.row else "")
    )
    oil = oil_at(settings, at_c)
    _, solid_density = solid_of(settings)
    at = At(settings, metal, hand, oil, at_c, solid_density, speed, _usual_charge(state))
    return MeltReport(
        metal=hand,
        oil=oil,
        at_c=at_c,
        melting_c=metal.melting_c,
        window=window,
        curves=_curves(state, metal, at_c, window),
        facts=facts_of(at),
        missing=missing_of(at),
        assumed=tuple(assumed),
    )


def _is_molten(metal: Metal, at_c: float | None) -> bool:
    return at_c is not None and (metal.melting_c is None or at_c >= metal.melting_c)


def _value(factors: Iterable[Factor], given: Conditions, assumed: list[str]) -> tuple[Factor, float] | None:
    for factor in factors:
        value = given.number(factor.name)
        if value is None and isinstance(factor.middle, (int, float)):
            assumed.append(factor.name)
            value = float(factor.middle)
        if value is not None:
            return factor, value
    return None


def _temperature(state: CampaignState, given: Conditions, assumed: list[str]) -> float | None:
    factors = [
        factor
        for factor in state.factors
        if factor.role is Role.TEMPERATURE and not factor.is_choice and is_temperature_unit(factor.unit)
    ]
    found = _value(factors, given, assumed)
    return None if found is None else to_celsius(found[1], found[0].unit)


def _turns_per_min(state: CampaignState, given: Conditions, assumed: list[str]) -> float | None:
    factors = [factor for factor in state.factors if not factor.is_choice and unit_label(factor.unit) == "1/min"]
    found = _value(factors, given, assumed)
    return None if found is None else convert(found[1], found[0].unit, "1/min")


def _usual_charge(state: CampaignState) -> float | None:
    charges = [a.masses.charge_g for a in state.attempts if a.masses.charge_g]
    charges = charges or [jar.charge_g for jar in state.jars if jar.charge_g]
    return float(np.median(charges)) if charges else None


def _window(state: CampaignState, metal: Metal) -> tuple[float, float] | None:
    floor, top = suggested_floor_c(state.settings), suggested_top_c(state.settings)
    if floor is None and metal.melting_c is not None:
        floor = metal.melting_c + limit_table()["melting_margin"].number("least")
    return None if floor is None or top is None or floor > top else (floor, top)


def _curves(
    state: CampaignState, metal: Metal, at_c: float | None, window: tuple[float, float] | None
) -> MeltCurves | None:
    places = [each for each in (metal.melting_c, at_c, *(window or ())) if each is not None]
    if not places:
        return None
    low, high = min(places) - _BELOW_K, max(places) + _BELOW_K
    t_c = np.linspace(low, max(high, low + _ABOVE_K), _POINTS)
    oil = state.settings.substances.oil
    return MeltCurves(
        t_c,
        metal_density=metal.values("density", t_c),
        oil_density=oil_density(oil, t_c),
        metal_viscosity=metal.values("viscosity", t_c),
        oil_viscosity=oil_viscosity(oil, t_c),
    )
