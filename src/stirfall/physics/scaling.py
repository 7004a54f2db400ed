"""From one batch to another: what stays the same, and what follows for the other size.

Kept are the film per area of metal, the dose per gram, the speed at the edge of the stirring circle and the depth
of oil. Units stand in the names; None means unknown, and whatever rests on it is then unknown too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

OIL_EXPANSION_PER_K = 0.0007
"""Thermal expansion of mineral oil per kelvin (order of magnitude; from memory, not checked)."""

POOL, PIECES = "pool", "pieces"


@dataclass(frozen=True)
class Batch:
    """One batch and what it is made in.

    ``charge_g`` of crude with density ``metal_kg_m3``; ``dose_mg_g`` of additive per gram of charge; the vessel's
    inner diameter and volume to the brim, diameter of the stirring circle and its turns; ``oil_ml`` of hot oil in
    the vessel, at ``hot_c``; how long it settled and took to heat up. While it aged: inner diameter of the jar,
    area of the metal, oil over it. ``surface`` says whether that metal lay in ``PIECES`` or as a ``POOL`` that
    covers the floor of its jar.
    """

    charge_g: float
    metal_kg_m3: float | None = None
    dose_mg_g: float | None = None
    vessel_mm: float | None = None
    vessel_ml: float | None = None
    stirrer_mm: float | None = None
    turns_per_min: float | None = None
    oil_ml: float | None = None
    hot_c: float | None = None
    settle_s: float | None = None
    heat_up_s: float | None = None
    jar_mm: float | None = None
    jar_oil_mm: float | None = None
    metal_area_cm2: float | None = None
    surface: str = PIECES


# ------------------------------------------------------------------------------------------------- single rules


def additive_g(charge_g: float, dose_mg_g: float) -> float:
    """Return the mass of additive in g: dose per gram times charge."""
    return charge_g * dose_mg_g / 1000.0


def same_tip_speed(turns_per_min: float, stirrer_mm: float, other_mm: float) -> float:
    """Return the turns per minute that give a stirring circle of ``other_mm`` the same speed at its edge.

    π D N is kept, so N2 = N1 D1/D2.
    """
    return turns_per_min * stirrer_mm / other_mm


def floor_cm2(diameter_mm: float) -> float:
    """Return the area in cm² of the round floor of a vessel, π D²/4."""
    return math.pi * (diameter_mm / 20.0) ** 2


def pieces_cm2(count: float, piece_mm: float) -> float:
    """Return the area in cm² of ``count`` pieces taken as balls of this diameter, n π d²."""
    return count * math.pi * (piece_mm / 10.0) ** 2


def same_pieces_cm2(area_cm2: float, charge_g: float, other_g: float) -> float:
    """Return the area in cm² of another charge in pieces of the same size: it grows with the mass."""
    return area_cm2 * other_g / charge_g


def same_film_jar_mm(jar_mm: float, area_cm2: float, other_cm2: float) -> float:
    """Return the inner diameter in mm of the jar that gives another area of metal the same film.

    What a quiet jar lets through grows with its floor, early (oil that holds air, 2 C sqrt(D t/π) per floor area)
    as well as later (steady diffusion through the oil); so the floor per area of metal is kept, at the same depth
    of oil and the same age.
    """
    return jar_mm * math.sqrt(other_cm2 / area_cm2)


def film_ratio(jar_mm: float, area_cm2: float, other_jar_mm: float, other_area_cm2: float) -> float:
    """Return how many times the film per area of metal becomes, at the same depth of oil and age."""
    return (other_jar_mm / jar_mm) ** 2 * area_cm2 / other_area_cm2


def oil_depth_mm(oil_ml: float, diameter_mm: float) -> float:
    """Return the depth in mm of oil over a pool that covers the floor."""
    return oil_ml / floor_cm2(diameter_mm) * 10.0


def oil_for_depth_ml(depth_mm: float, diameter_mm: float) -> float:
    """Return the oil in mL that stands ``depth_mm`` over a pool that covers the floor."""
    return depth_mm / 10.0 * floor_cm2(diameter_mm)


def cold_ml(hot_ml: float, hot_c: float, cold_c: float = 20.0) -> float:
    """Return the volume in mL that this much hot oil has when it is measured cold; it never grows by that."""
    return hot_ml / (1.0 + OIL_EXPANSION_PER_K * max(hot_c - cold_c, 0.0))


def metal_ml(charge_g: float, metal_kg_m3: float) -> float:
    """Return the volume of a charge in mL, taken as metal alone."""
    return charge_g / metal_kg_m3 * 1000.0


def pool_mm(charge_g: float, metal_kg_m3: float, diameter_mm: float) -> float:
    """Return the depth in mm of a pool that covers the floor."""
    return metal_ml(charge_g, metal_kg_m3) / floor_cm2(diameter_mm) * 10.0


def pool_ratio(charge_g: float, vessel_mm: float, other_g: float, other_mm: float) -> float:
    """Return how many times as deep the pool becomes: with the mass, and against the square of the diameter."""
    return other_g / charge_g * (vessel_mm / other_mm) ** 2


def same_settling_s(settle_s: float, ratio: float) -> float:
    """Return the seconds to settle through a pool ``ratio`` times as deep; Stokes' speed knows no depth."""
    return settle_s * ratio


def heat_up_ratio(volume: float, other: float) -> float:
    """Return how many times as long heating up takes, for two volumes (or masses) of the same shape.

    Heat spreads by conduction in a time that grows with length squared (Fourier number L²/a), so with
    volume^(2/3). An estimate: stirring and the heater's power change it.
    """
    return float((other / volume) ** (2.0 / 3.0))


def sizes_between(charge_g: float, other_g: float, *, most: float = 2.0) -> tuple[float, ...]:
    """Return the sizes of equal steps, each at most ``most`` times the one before, that end at ``other_g``."""
    if other_g <= charge_g:
        return (other_g,)
    count = max(1, math.ceil(round(math.log(other_g / charge_g) / math.log(most), 9)))
    step = (other_g / charge_g) ** (1.0 / count)
    return (*(charge_g * step**place for place in range(1, count)), other_g)


# ----------------------------------------------------------------------------------------------- a whole batch


@dataclass(frozen=True)
class Scaled:
    """One quantity before and after: None where it is unknown; ``needs`` then names the fields that are missing.

    ``rule`` is the key of how it was got; ``is_estimate`` says that the rule is rough.
    """

    key: str
    unit: str
    before: float | None
    after: float | None
    rule: str
    needs: tuple[str, ...] = ()
    is_estimate: bool = False


def scale(old: Batch, new: Batch, *, aged: Batch | None = None) -> tuple[Scaled, ...]:
    """Return every quantity of the new batch that follows from the old one, in the order of the bench.

    Of ``new``, charge, vessel, stirrer, density, jar and temperature count; everything else is found here.
    ``aged`` is the charge of the jar whose film is kept, where it is not the old batch itself.
    """
    return (
        Scaled("charge", "g", old.charge_g, new.charge_g, "given"),
        *_ageing(aged or old, new),
        _additive(old, new),
        _turns(old, new),
        *_oil(old, new),
        _settling(old, new),
        _heating(old, new),
    )


def _missing(*pairs: tuple[str, object]) -> tuple[str, ...]:
    return tuple(name for name, value in pairs if value is None)


def _ageing(old: Batch, new: Batch) -> tuple[Scaled, ...]:
    if old.surface == POOL:
        return (Scaled("film", "times", 1.0, 1.0, "film_pool"),)
    area = None
    if old.metal_area_cm2 is not None:
        area = same_pieces_cm2(old.metal_area_cm2, old.charge_g, new.charge_g)
    metal = Scaled(
        "metal_area",
        "cm²",
        old.metal_area_cm2,
        area,
        "same_pieces",
        _missing(("metal_area_cm2", old.metal_area_cm2)),
    )
    needs = _missing(("metal_area_cm2", old.metal_area_cm2), ("jar_mm", old.jar_mm))
    if old.metal_area_cm2 is None or area is None or old.jar_mm is None:
        return metal, Scaled("jar", "mm", old.jar_mm, None, "same_film", needs)
    jar = Scaled("jar", "mm", old.jar_mm, same_film_jar_mm(old.jar_mm, old.metal_area_cm2, area), "same_film")
    depth = Scaled(
        "jar_oil", "mm", old.jar_oil_mm, old.jar_oil_mm, "kept", _missing(("jar_oil_mm", old.jar_oil_mm))
    )
    if new.jar_mm is None:
        return metal, jar, depth
    times = film_ratio(old.jar_mm, old.metal_area_cm2, new.jar_mm, area)
    return metal, jar, depth, Scaled("film", "times", 1.0, times, "film_in_jar", is_estimate=True)


def _additive(old: Batch, new: Batch) -> Scaled:
    if old.dose_mg_g is None:
        return Scaled("additive", "g", None, None, "same_dose", ("dose_mg_g",))
    before, after = (additive_g(each.charge_g, old.dose_mg_g) for each in (old, new))
    return Scaled("additive", "g", before, after, "same_dose")


def _turns(old: Batch, new: Batch) -> Scaled:
    needs = _missing(
        ("turns_per_min", old.turns_per_min), ("stirrer_mm", old.stirrer_mm), ("new_stirrer_mm", new.stirrer_mm)
    )
    if old.turns_per_min is None or old.stirrer_mm is None or new.stirrer_mm is None:
        return Scaled("turns", "1/min", old.turns_per_min, None, "same_tip_speed", needs)
    turns = same_tip_speed(old.turns_per_min, old.stirrer_mm, new.stirrer_mm)
    return Scaled("turns", "1/min", old.turns_per_min, turns, "same_tip_speed")


def _oil(old: Batch, new: Batch) -> tuple[Scaled, ...]:
    needs = _missing(("oil_ml", old.oil_ml), ("vessel_mm", old.vessel_mm), ("new_vessel_mm", new.vessel_mm))
    if old.oil_ml is None or old.vessel_mm is None or new.vessel_mm is None:
        unknown = Scaled("oil", "mL", old.oil_ml, None, "same_oil_depth", needs)
        return unknown, Scaled("fill", "%", None, None, "fill", needs)
    depth = oil_depth_mm(old.oil_ml, old.vessel_mm)
    oil = oil_for_depth_ml(depth, new.vessel_mm)
    hot_c = new.hot_c
    before, after = (None if hot_c is None else cold_ml(volume, hot_c) for volume in (old.oil_ml, oil))
    return (
        Scaled("oil_depth", "mm", depth, depth, "kept_oil_depth"),
        Scaled("oil", "mL", old.oil_ml, oil, "same_oil_depth"),
        Scaled("oil_cold", "mL", before, after, "oil_cold", _missing(("hot_c", hot_c)), is_estimate=True),
        _fill(old, new, old.oil_ml, oil),
    )


def _fill(old: Batch, new: Batch, old_oil: float, oil: float) -> Scaled:
    needs = _missing(("new_vessel_ml", new.vessel_ml), ("metal_kg_m3", new.metal_kg_m3))
    return Scaled("fill", "%", fill_percent(old, old_oil), fill_percent(new, oil), "fill", needs)


def fill_percent(batch: Batch, hot_oil_ml: float) -> float | None:
    """Return how much of the vessel hot oil and metal fill together, in %; None where something is unknown."""
    if batch.vessel_ml is None or batch.metal_kg_m3 is None:
        return None
    return 100.0 * (hot_oil_ml + metal_ml(batch.charge_g, batch.metal_kg_m3)) / batch.vessel_ml


def _settling(old: Batch, new: Batch) -> Scaled:
    needs = _missing(("settle_s", old.settle_s), ("vessel_mm", old.vessel_mm), ("new_vessel_mm", new.vessel_mm))
    if old.settle_s is None or old.vessel_mm is None or new.vessel_mm is None:
        return Scaled("settle", "s", old.settle_s, None, "same_settling", needs)
    ratio = pool_ratio(old.charge_g, old.vessel_mm, new.charge_g, new.vessel_mm)
    return Scaled("settle", "s", old.settle_s, same_settling_s(old.settle_s, ratio), "same_settling")


def _heating(old: Batch, new: Batch) -> Scaled:
    ratio = heat_up_ratio(old.charge_g, new.charge_g)
    if old.heat_up_s is None:
        return Scaled("heat_up", "times", 1.0, ratio, "heat_up_ratio", ("heat_up_s",), is_estimate=True)
    return Scaled("heat_up", "s", old.heat_up_s, old.heat_up_s * ratio, "heat_up", is_estimate=True)
