"""What the three invented campaigns share: seeded dice, a bench calendar, jars, weighings and corrections.

Nothing here was measured. Everything is drawn from a seed, so that the same files come out on every machine:
only ``random.Random.random`` is used, and the normal distribution by its inverse.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from statistics import NormalDist

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.factors import Conditions, Factor, Value
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses, computed_ages


def logistic(z: float) -> float:
    return 1.0 / (1.0 + math.exp(-z))


@dataclass
class Dice:
    """Seeded chance."""

    seed: int
    source: random.Random = field(init=False)

    def __post_init__(self) -> None:
        self.source = random.Random(self.seed)

    def chance(self, probability: float) -> bool:
        return self.source.random() < probability

    def normal(self, mean: float, sd: float) -> float:
        return NormalDist(mean, sd).inv_cdf(min(max(self.source.random(), 1e-12), 1 - 1e-12))

    def between(self, low: float, high: float, step: float, *, log: bool = False) -> float:
        share = self.source.random()
        value = math.exp(math.log(low) + share * math.log(high / low)) if log else low + share * (high - low)
        return round(min(max(round(value / step) * step, low), high), 6)

    def near(self, value: float, sd: float, factor: Factor) -> float:
        low, high = factor.bounds
        step = factor.step or 0.01
        drawn = value * math.exp(self.normal(0, sd)) if factor.scale == "log" else self.normal(value, sd)
        return round(min(max(round(drawn / step) * step, low), high), 6)

    def pick(self, items: Sequence[object]) -> object:
        return items[int(self.source.random() * len(items))]


@dataclass(frozen=True)
class Session:
    """Some hours at the bench: when it begins (UTC), how many attempts, and the room humidity in per cent."""

    start: str
    attempts: int
    humidity: float = 50.0
    minutes_apart: int = 45

    def times(self) -> list[datetime]:
        first = moment(self.start)
        return [first + timedelta(minutes=self.minutes_apart * index) for index in range(self.attempts)]


def moment(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@dataclass(frozen=True)
class Truth:
    """What really holds in the invented world, for the conditions of one attempt and its lot."""

    parted: Callable[[Mapping[str, float], str], float]
    pooled: Callable[[Mapping[str, float], str], float]


@dataclass(frozen=True)
class Metal:
    """What the weighings need: densities in g/cm³, and the additive in mg per g of charge if there is one."""

    density: float
    oil_density: float = 0.85
    dose: str | None = None


@dataclass(frozen=True)
class Plan:
    """One invented campaign before the dice are thrown."""

    settings: CampaignSettings
    factors: tuple[Factor, ...]
    lots: tuple[Lot, ...]
    sessions: tuple[Session, ...]
    truth: Truth
    metal: Metal
    good: Mapping[str, tuple[float, float]]
    batch_g: tuple[float, float]
    lids: tuple[str, ...]
    shelf_lot: str
    shelf: tuple[tuple[str, float], ...]
    jar_word: str = "J"


AGES = ("sample age", "oil exposure time", "time in air")
RECOVERY = {"clean": (0.88, 0.05), "beads": (0.72, 0.10), "partly": (0.45, 0.12), "no": (0.15, 0.08)}


def run_campaign(plan: Plan, dice: Dice) -> CampaignState:
    """Throw the dice: one jar and one attempt per slot of the calendar, later ones nearer to the good place."""
    slots = [(time, session) for session in plan.sessions for time in session.times()]
    jars: list[Jar] = []
    attempts: list[Attempt] = []
    for index, (time, session) in enumerate(slots):
        lot = _lot_for(plan, dice, time)
        focus = index / len(slots)
        conditions = _drawn(plan, dice, focus, session)
        jar = _jar(plan, dice, lot, time, len(jars) + 1, conditions)
        ages = computed_ages(plan.factors, lot=lot, jar=jar, started_at=time)
        values = Conditions({**conditions, **ages})
        jars.append(replace(jar, emptied_at=time))
        attempts.append(_attempt(plan, dice, values, lot, jar, time, index + 1))
    shelf = _shelf(plan, len(jars))
    return CampaignState(plan.settings, plan.factors, plan.lots, (*jars, *shelf), tuple(attempts))


def _lot_for(plan: Plan, dice: Dice, time: datetime) -> Lot:
    low, high = plan.factors[0].bounds
    used = [lot for lot in plan.lots if lot.id != plan.shelf_lot and lot.made_at]
    fits = [lot for lot in used if lot.made_at and low <= (time - lot.made_at) / timedelta(hours=1) <= high]
    assert fits, f"no lot of a fitting age at {time}"
    lot = dice.pick(fits)
    assert isinstance(lot, Lot)
    return lot


def _drawn(plan: Plan, dice: Dice, focus: float, session: Session) -> dict[str, Value]:
    values: dict[str, Value] = {}
    for factor in plan.factors:
        if factor.name in AGES:
            continue
        if factor.is_choice:
            values[factor.name] = str(dice.pick(factor.levels))
            continue
        low, high = factor.bounds
        if factor.name == "room humidity":
            values[factor.name] = round(session.humidity + dice.normal(0, 1.5))
        elif factor.name in plan.good and dice.chance(0.75 * focus):
            values[factor.name] = dice.near(*plan.good[factor.name], factor)
        else:
            values[factor.name] = dice.between(low, high, factor.step or 0.01, log=factor.scale == "log")
    return values


def _jar(plan: Plan, dice: Dice, lot: Lot, time: datetime, number: int, conditions: Mapping[str, Value]) -> Jar:
    assert lot.made_at is not None
    quarters = int((time - lot.made_at) / timedelta(minutes=15))
    waited = int(dice.source.random() * 0.95 * max(quarters - 1, 0))
    depth = conditions.get("oil depth")
    return Jar(
        id=f"{plan.jar_word}{number:02d}",
        lot_id=lot.id,
        started_at=lot.made_at + timedelta(minutes=15 * waited),
        oil=plan.settings.oil,
        oil_depth_mm=depth if isinstance(depth, float) else None,
        lid=str(dice.pick(plan.lids)),
        charge_g=round(dice.between(*plan.batch_g, 0.5) + dice.normal(0, 0.1), 2),
    )


def _shelf(plan: Plan, used: int) -> tuple[Jar, ...]:
    return tuple(
        Jar(
            id=f"{plan.jar_word}{used + index:02d}",
            lot_id=plan.shelf_lot,
            started_at=moment(start),
            oil=plan.settings.oil,
            oil_depth_mm=depth or None,
            lid=plan.lids[0],
            charge_g=plan.batch_g[0] + 5.0,
        )
        for index, (start, depth) in enumerate(plan.shelf, 1)
    )


def _attempt(
    plan: Plan, dice: Dice, values: Conditions, lot: Lot, jar: Jar, time: datetime, number: int
) -> Attempt:
    numbers = {name: value for name, value in values.items() if isinstance(value, float)}
    parted, pooled, word = _grades(plan.truth, dice, numbers, lot.id)
    return Attempt(
        id=f"{plan.jar_word.lower()}-attempt-{number:02d}",
        number=number,
        conditions=values,
        started_at=time,
        recorded_at=time + timedelta(minutes=25),
        lot_id=lot.id,
        jar_id=jar.id,
        parted=parted,
        pooled=pooled,
        masses=_masses(plan, dice, numbers, jar, lot, word),
        invented=True,
    )


def _grades(truth: Truth, dice: Dice, numbers: Mapping[str, float], lot: str) -> tuple[Parted, Pooled, str]:
    if not dice.chance(truth.parted(numbers, lot)):
        if dice.chance(0.35):
            return Parted.PARTLY, Pooled.NOT_OBSERVED, "partly"
        return Parted.NO, Pooled.NOT_OBSERVED, "no"
    if dice.chance(truth.pooled(numbers, lot)):
        return Parted.YES, Pooled.ONE_POOL, "clean"
    return Parted.YES, Pooled.BEADS if dice.chance(0.6) else Pooled.FEW_PIECES, "beads"


def _masses(plan: Plan, dice: Dice, numbers: Mapping[str, float], jar: Jar, lot: Lot, word: str) -> Masses:
    """Draw recovery by class, add the oil that clings to beads (a film of 0.03 mm), and weigh with 0.02 g noise."""
    charge = jar.charge_g or 0.0
    metal = charge * (1 - (lot.solids_percent or 0.0) / 100)
    recovered = metal * min(max(dice.normal(*RECOVERY[word]), 0.05), 0.99)
    in_beads = {"clean": 0.02, "beads": 0.70, "partly": 0.5, "no": 0.3}[word] * recovered
    piece = ((recovered - in_beads) * 6 / (math.pi * plan.metal.density)) ** (1 / 3)
    oil_on_piece = math.pi * piece**2 * 0.003 * plan.metal.oil_density
    oil_on_beads = 6 * in_beads / (plan.metal.density * 0.2) * 0.003 * plan.metal.oil_density
    additive = numbers.get(plan.metal.dose, 0.0) * charge / 1000 if plan.metal.dose else 0.0

    def weighed(mass: float) -> float:
        return round(max(mass + dice.normal(0, 0.02), 0.0), 2)

    return Masses(
        charge_g=charge,
        product_g=weighed(recovered - in_beads + oil_on_piece),
        beads_g=weighed(in_beads + oil_on_beads),
        residue_g=weighed(charge - recovered + 0.1 * additive),
        additive_g=round(additive, 2) if plan.metal.dose else None,
    )


# ----------------------------------------------------------------------------------- what people do afterwards


def edited(state: CampaignState, changes: Mapping[int, Mapping[str, object]]) -> CampaignState:
    """Return the campaign with fields of some attempts replaced, by attempt number."""
    return replace(
        state,
        attempts=tuple(
            replace(attempt, **changes.get(attempt.number, {}))  # type: ignore[arg-type]
            for attempt in state.attempts
        ),
    )


def aborted(reason: str, note: str = "") -> dict[str, object]:
    return {
        "aborted": True,
        "abort_reason": reason,
        "parted": None,
        "pooled": None,
        "note": note,
        "masses": Masses(),
    }


def without(attempt: Attempt, factor: str, note: str) -> dict[str, object]:
    return {"conditions": attempt.conditions.with_value(factor, None), "note": note}


def typed_age(attempt: Attempt, factor: str, hours: float, reason: str) -> dict[str, object]:
    computed = attempt.conditions.number(factor)
    return {
        "conditions": attempt.conditions.with_value(factor, hours),
        "overrides": (AgeOverride(factor, computed, reason),),
    }


def correction(
    attempt: Attempt,
    name: str,
    old: object,
    new: object,
    reason: str,
    hours: float,
    verb: str = "Correct",
) -> Correction:
    assert attempt.recorded_at is not None
    return Correction(
        at=attempt.recorded_at + timedelta(hours=hours),
        kind="attempt",
        record_id=attempt.id,
        field=name,
        old=json.dumps(old),
        new=json.dumps(new),
        reason=reason,
        command=f"{verb} attempt {attempt.number}",
    )
