"""The facts of a melt report: one sentence each, with the number behind it, or what to enter to have it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite
from types import MappingProxyType

from stirfall.bench.estimates import Reason
from stirfall.bench.records import CampaignSettings
from stirfall.bench.units import Amount
from stirfall.physics.merging import drainage_time, skin_radius
from stirfall.physics.settling import pool_depth, settling_time, terminal_speed
from stirfall.physics.stirring import BREAKUP_WEBER, tip_speed, weber_number
from stirfall.session.melt_liquids import Metal
from stirfall.session.melt_parts import FactLevel, LiquidAtHand, MeltFact, Property

# Nearer than this to the density of the oil, nothing can be said of what floats (our proposal, no source).
_NEUTRAL_KG_M3 = 15.0
_BEAD_MM = 1.0
_BLOB_MM = 10.0
_SHALLOW_MM = 10.0
_SLOW_S = 600.0
_LIQUID_CODES = {
    "metal_density": ("melt.metal_density", "melt.metal_density_unknown"),
    "metal_viscosity": ("melt.metal_viscosity", "melt.metal_viscosity_unknown"),
    "tension": ("melt.tension", "melt.tension_unknown"),
    "oil_density": ("melt.oil_density", "melt.oil_density_unknown"),
    "oil_viscosity": ("melt.oil_viscosity", "melt.oil_viscosity_unknown"),
}


@dataclass(frozen=True)
class At:
    """What the facts are made from, at one temperature (°C); ``turns`` per minute, ``charge_g`` usual."""

    settings: CampaignSettings
    metal: Metal
    hand: LiquidAtHand
    oil: LiquidAtHand
    at_c: float | None
    solid_kg_m3: float | None
    turns: float | None
    charge_g: float | None


def facts_of(at: At) -> tuple[MeltFact, ...]:
    """Return the facts in the order of ``FACT_KEYS``."""
    return tuple(_facts(at))


def missing_of(at: At) -> tuple[Reason, ...]:
    """Return what to enter so that more can be said, most useful first."""
    substances = at.settings.substances
    wanted = (
        ("melt.enter_metal", at.metal.curves["density"] is None),
        ("melt.enter_melting", at.metal.melting_c is None),
        ("melt.enter_solids", at.solid_kg_m3 is None),
        ("melt.enter_sizes", substances.solids.size_low_um is None and substances.solids.size_high_um is None),
        ("melt.enter_oil_density", substances.oil.density_kg_m3 is None or substances.oil.density_at_c is None),
        ("melt.enter_oil_viscosity", at.oil.viscosity is None and at.at_c is not None),
        ("melt.enter_stirrer", substances.vessel.stirrer_mm is None),
    )
    return tuple(Reason(code) for code, is_missing in wanted if is_missing)


def _facts(at: At) -> Iterator[MeltFact]:
    yield from _melt(at)
    yield from _liquids(at)
    yield from _solids(at)
    yield from _beads(at)
    yield from _stirring(at)


@dataclass(frozen=True)
class _Number:
    """The number behind a fact, in its unit, with both ends where it is a range."""

    value: float
    unit: str = ""
    ends: tuple[float, float] | None = None


def _fact(key: str, level: FactLevel, code: str, number: _Number | None = None, **params: object) -> MeltFact:
    told: Mapping[str, object] = MappingProxyType({name: _rounded(each) for name, each in params.items()})
    if number is None:
        return MeltFact(key, level, None, None, None, "", code, told)
    low, high = number.ends or (None, None)
    return MeltFact(key, level, number.value, low, high, number.unit, code, told)


def _rounded(value: object) -> object:
    return float(f"{value:.3g}") if isinstance(value, float) else value


def _unknown(key: str, code: str) -> MeltFact:
    return _fact(key, "unknown", code)


def _melt(at: At) -> Iterator[MeltFact]:
    row, chosen = at.metal.row, at.settings.material
    if row is not None and row.hazard is not chosen:
        yield _fact(
            "class", "warn", "melt.class_differs", metal=row.name, hazard=str(row.hazard), chosen=str(chosen)
        )
    if at.metal.melting_c is None:
        yield _unknown("melt", "melt.melting_unknown")
    elif at.at_c is not None and at.at_c < at.metal.melting_c:
        yield _fact("melt", "warn", "melt.solid", at=Amount(at.at_c, "C"), melting=Amount(at.metal.melting_c, "C"))


def _liquids(at: At) -> Iterator[MeltFact]:
    for key, found, unit in (
        ("metal_density", at.hand.density, "kg/m³"),
        ("metal_viscosity", at.hand.viscosity, "mPa s"),
        ("tension", at.hand.tension, "mN/m"),
        ("oil_density", at.oil.density, "kg/m³"),
        ("oil_viscosity", at.oil.viscosity, "mPa s"),
    ):
        known, unknown = _LIQUID_CODES[key]
        if found is None:
            yield _unknown(key, unknown)
        else:
            number = _Number(found.value, unit)
            yield _fact(key, _level(found), known, number, value=found.value, kind=_kind(found))


def _level(found: Property) -> FactLevel:
    return "note" if found.estimated or found.extrapolated_k > 0 else "fact"


def _kind(found: Property) -> Reason | str:
    if found.extrapolated_k > 0:
        return Reason("melt.kind_extrapolated", {"kelvin": float(f"{found.extrapolated_k:.2g}")})
    if found.estimated:
        return Reason("melt.kind_estimate")
    return "" if found.percent is None else Reason("melt.kind_within", {"percent": found.percent})


def _solids(at: At) -> Iterator[MeltFact]:
    density, solid = at.hand.density, at.solid_kg_m3
    if density is None or solid is None:
        yield _unknown("solids_in_metal", "melt.solids_unknown")
    else:
        falls = solid > density.value
        code = "melt.solids_fall" if falls else "melt.solids_float"
        number = _Number(solid - density.value, "kg/m³")
        yield _fact("solids_in_metal", "fact", code, number, solid=solid, metal=density.value)
    yield _settling(at)
    if solid is None or at.oil.density is None:
        yield _unknown("solids_in_oil", "melt.solids_in_oil_unknown")
    else:
        code = "melt.solids_sink_in_oil" if solid > at.oil.density.value else "melt.solids_float_in_oil"
        number = _Number(solid - at.oil.density.value, "kg/m³")
        yield _fact("solids_in_oil", "fact", code, number, solid=solid)


def _settling(at: At) -> MeltFact:
    sizes = at.settings.substances.solids
    ends = [each for each in (sizes.size_low_um, sizes.size_high_um) if each is not None]
    if at.hand.density is None or at.hand.viscosity is None or at.solid_kg_m3 is None or not ends:
        return _unknown("settling", "melt.settling_unknown")
    depth_mm, is_pool = _depth_mm(at, at.hand.density.value)
    times = [
        float(settling_time(1e-3 * depth_mm, _speed(at, 1e-6 * size, at.hand.density, at.hand.viscosity)))
        for size in (min(ends), max(ends))
    ]
    slow, quick = times
    if not isfinite(slow):
        return _unknown("settling", "melt.settling_unknown")
    rises = at.solid_kg_m3 < at.hand.density.value
    code = f"melt.settling_{'rise' if rises else 'fall'}_{'pool' if is_pool else 'usual'}"
    level: FactLevel = "note" if slow > _SLOW_S else "fact"
    return _fact(
        "settling",
        level,
        code,
        _Number(slow, "s", (quick, slow)),
        depth=depth_mm,
        small=float(min(ends)),
        large=float(max(ends)),
        slow=_span(slow),
        quick=_span(quick),
    )


def _speed(at: At, size_m: float, density: Property, viscosity: Property) -> float:
    assert at.solid_kg_m3 is not None
    return float(terminal_speed(size_m, at.solid_kg_m3, density.value, 1e-3 * viscosity.value))


def _depth_mm(at: At, density: float) -> tuple[float, bool]:
    diameter = at.settings.substances.vessel.diameter_mm
    if at.charge_g is None or diameter is None:
        return _SHALLOW_MM, False
    return 1e3 * pool_depth(1e-3 * at.charge_g, density, 1e-3 * diameter), True


def _span(seconds: float) -> Amount:
    """Return a time in the unit in which a person would say it."""
    for unit, size in (("d", 86_400.0), ("h", 3_600.0), ("min", 60.0)):
        if seconds >= 2.0 * size:
            return Amount(float(f"{seconds / size:.2g}"), unit)
    return Amount(float(f"{seconds:.2g}"), "s")


def _beads(at: At) -> Iterator[MeltFact]:
    metal, oil = at.hand.density, at.oil.density
    if metal is None or oil is None:
        yield _unknown("beads_in_oil", "melt.beads_unknown")
        yield _unknown("drainage", "melt.drainage_unknown")
        yield _unknown("skin", "melt.skin_unknown")
        return
    drop = metal.value - oil.value
    if abs(drop) < _NEUTRAL_KG_M3:
        yield _fact("beads_in_oil", "warn", "melt.beads_neutral", _Number(drop, "kg/m³"), drop=abs(drop))
    elif drop > 0:
        yield _fact("beads_in_oil", "fact", "melt.beads_sink", _Number(drop, "kg/m³"), drop=drop)
    else:
        yield _fact("beads_in_oil", "warn", "melt.beads_float", _Number(drop, "kg/m³"), drop=-drop)
    yield _drainage(at, drop)
    radius_mm = 1e3 * float(skin_radius(drop))
    if isfinite(radius_mm):
        yield _fact("skin", "note", "melt.skin", _Number(2 * radius_mm, "mm"), diameter=2 * radius_mm)


def _drainage(at: At, drop: float) -> MeltFact:
    if at.oil.viscosity is None:
        return _unknown("drainage", "melt.drainage_unknown")
    if at.hand.tension is None:
        return _unknown("drainage", "melt.drainage_needs_tension")
    seconds = float(
        drainage_time(1e-3 * _BEAD_MM / 2, drop, 1e-3 * at.oil.viscosity.value, 1e-3 * at.hand.tension.value)
    )
    return _fact("drainage", "note", "melt.drainage", _Number(seconds, "s"), bead=_BEAD_MM, time=_span(seconds))


def _stirring(at: At) -> Iterator[MeltFact]:
    circle = at.settings.substances.vessel.stirrer_mm
    if circle is None or at.turns is None:
        yield _unknown("tip_speed", "melt.tip_unknown" if circle is None else "melt.no_stirring_speed")
        return
    speed = float(tip_speed(1e-3 * circle, at.turns / 60.0))
    told = {"speed": speed, "turns": at.turns, "circle": circle}
    yield _fact("tip_speed", "fact", "melt.tip_speed", _Number(speed, "m/s"), **told)
    if at.hand.density is None or at.hand.tension is None:
        yield _unknown("weber_blob", "melt.weber_unknown")
        return
    for key, size in (("weber_blob", _BLOB_MM), ("weber_bead", _BEAD_MM)):
        weber = float(weber_number(speed, 1e-3 * size, at.hand.density.value, 1e-3 * at.hand.tension.value))
        tears = weber > BREAKUP_WEBER
        code = "melt.weber_tears" if tears else "melt.weber_holds"
        told = {"size": size, "weber": weber, "limit": BREAKUP_WEBER}
        yield _fact(key, "note" if tears else "fact", code, _Number(weber), **told)
