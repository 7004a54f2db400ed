"""Families of invented truths on which orders of attempts are compared; each seed draws another member.

Places and strengths are drawn anew for every seed, so that no order is tuned to one truth. Numbers on the internal
scale of the program (each factor's range is -1 to 1). Nothing here is measured; strengths are of the size that the
demonstration campaign has.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import CampaignSettings, Lot
from stirfall.planning.box import make_box
from stirfall.planning.candidates import spread_points
from stirfall.planning.limits import operating_limits

Array = NDArray[np.float64]
# Linear predictors of both gates at points (n, d) of the internal scale.
Predictors = Callable[[Array], tuple[Array, Array]]

AGE = Factor("age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE)
DEPTH = Factor("oil depth", "mm", 8.0, 30.0, step=1.0)
TIME = Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0)
SPEED = Factor("stirring speed", "1/min", 20.0, 180.0, step=5.0)
DOSE = Factor("dose", "mg/g", 0.0, 20.0, step=0.5)
HEAT = Factor("temperature", "C", 143.0, 167.0, step=1.0)

LOTS = 4
LOT_SD = 0.8


def expit(eta: Array) -> Array:
    return np.asarray(1.0 / (1.0 + np.exp(-eta)))


@dataclass(frozen=True)
class Member:
    """One invented truth: the process behind a simulated campaign. ``lots`` are the lots' moves of both gates."""

    family: str
    seed: int
    factors: tuple[Factor, ...]
    predictors: Predictors
    lots: tuple[tuple[float, float], ...] = ()

    def gates(self, conditions: Conditions, lot: int | None = None) -> tuple[float, float]:
        """Return P(parted) and P(pooled | parted) in a typical lot, or in one of the lots."""
        point = np.array([[factor.to_unit_interval(float(conditions[factor.name])) for factor in self.factors]])
        first, second = self.predictors(point)
        moves = (0.0, 0.0) if lot is None else self.lots[lot]
        return float(expit(first + moves[0])[0]), float(expit(second + moves[1])[0])

    def clean(self, conditions: Conditions) -> float:
        """Return the true P(clean) in a typical lot."""
        first, second = self.gates(conditions)
        return first * second

    def new_campaign(self) -> CampaignState:
        """Return the campaign before its first attempt; every condition is held exactly."""
        held = PlanSettings(control=(("age", 0.0),))
        settings = CampaignSettings(invented=True, melting_point_c=138.0, oil_flash_c=220.0, plan=held)
        return CampaignState(settings, self.factors, lots=tuple(Lot(f"L{n}") for n in range(len(self.lots))))

    def clean_over_the_box(self) -> Array:
        """Return the true P(clean) at many conditions of the box, its corners included."""
        box = make_box(operating_limits(self.new_campaign()), [factor.name for factor in self.factors])
        points = spread_points(len(self.factors), 16_384, 1)
        columns = box.decode(np.vstack([points, np.unique(np.round(points[:1024]), axis=0)]))
        x = np.column_stack([2.0 * column - 1.0 for column in box.encode(columns).T])
        first, second = self.predictors(x)
        return expit(first) * expit(second)


@cache
def highest(family: str, seed: int) -> float:
    """Return the best true P(clean) of a member."""
    return float(member(family, seed).clean_over_the_box().max())


def member(family: str, seed: int) -> Member:
    """Return the member of a family that a seed draws."""
    return FAMILIES[family](seed)


def _rng(family: str, seed: int) -> np.random.Generator:
    return np.random.default_rng([seed, sum(map(ord, family)), 6])


def _hump_predictors(rng: np.random.Generator, d: int) -> Predictors:
    """Age opens gate 1 and closes gate 2 around a drawn place; the rest helps, hinders or has its own spot.

    Order of the factors: age, stirring time, stirring speed, dose, then temperature and oil depth. Over-stirring
    and over-dosing are parabolas in gate 2 that the fitted model does not contain.
    """
    place, up, down = rng.uniform(-0.5, 0.5), rng.uniform(2.5, 4.5), rng.uniform(2.5, 4.5)
    level = rng.uniform(1.0, 2.2, 2)
    stir, speed, dose = rng.uniform(0.4, 1.2, 2), rng.uniform(0.3, 1.0, 2), rng.uniform(0.3, 1.5, 2)
    spot = rng.uniform(-0.4, 0.4, 2)
    rest = rng.uniform(-0.8, 0.8, (2, max(d - 4, 0)))

    def predictors(x: Array) -> tuple[Array, Array]:
        age, w, q, r = x[:, 0] - place, x[:, 1], x[:, 2], x[:, 3]
        over, much = np.maximum(q - spot[0], 0.0) ** 2, np.maximum(r - spot[1], 0.0) ** 2
        first = level[0] + up * age + stir[0] * w + speed[0] * q + dose[0] * 0.5 * r + x[:, 4:] @ rest[0]
        second = level[1] - down * age + stir[1] * 0.5 * w - 2.0 * speed[1] * over
        second = second + dose[1] * (r - 2.0 * much) + x[:, 4:] @ rest[1]
        return first, second

    return predictors


def hump(seed: int) -> Member:
    """A hump in age at a drawn place, six factors, over-stirring and over-dosing."""
    factors = (AGE, TIME, SPEED, DOSE, HEAT, DEPTH)
    return Member("hump", seed, factors, _hump_predictors(_rng("hump", seed), len(factors)))


def two_gates(seed: int) -> Member:
    """Five factors; age and two others pull the gates in opposite ways, the other two help or hinder both."""
    rng = _rng("two gates", seed)
    level, age = rng.uniform(0.5, 2.0, 2), rng.uniform(1.5, 3.5, 2)
    order = rng.permutation(4)
    pull, both = rng.uniform(0.8, 2.0, (2, 2)), rng.uniform(0.6, 1.6, (2, 2))
    signs = rng.choice([-1.0, 1.0], 4)
    first, second = np.zeros(5), np.zeros(5)
    first[0], second[0] = age[0], -age[1]
    for n, at in enumerate(order + 1):
        if n < 2:
            first[at], second[at] = signs[n] * pull[0, n], -signs[n] * pull[1, n]
        else:
            first[at], second[at] = signs[n] * both[0, n - 2], signs[n] * both[1, n - 2]

    def predictors(x: Array) -> tuple[Array, Array]:
        return level[0] + x @ first, level[1] + x @ second

    return Member("two gates", seed, (AGE, TIME, SPEED, DOSE, HEAT), predictors)


def interaction(seed: int) -> Member:
    """Five factors; whether more of one is better depends on another: two products that the model lacks."""
    rng = _rng("interaction", seed)
    level, main = rng.uniform(0.2, 1.5, 2), rng.normal(0.0, 0.8, (2, 5))
    main[0, 0], main[1, 0] = rng.uniform(1.0, 2.5), -rng.uniform(1.0, 2.5)
    strength = rng.uniform(1.2, 2.5, 2) * rng.choice([-1.0, 1.0], 2)

    def predictors(x: Array) -> tuple[Array, Array]:
        first = level[0] + x @ main[0] + strength[0] * x[:, 1] * x[:, 4]
        return first, level[1] + x @ main[1] + strength[1] * x[:, 2] * x[:, 3]

    return Member("interaction", seed, (AGE, TIME, SPEED, DOSE, HEAT), predictors)


def lots(seed: int) -> Member:
    """A hump in age, five factors, in lots that differ; what counts is a typical lot."""
    rng = _rng("lots", seed)
    predictors = _hump_predictors(rng, 5)
    moves = tuple((float(a), float(b)) for a, b in rng.normal(0.0, LOT_SD, (LOTS, 2)))
    return Member("lots", seed, (AGE, TIME, SPEED, DOSE, HEAT), predictors, moves)


def flat(seed: int) -> Member:
    """Nothing matters to speak of: no order can win, and none may do harm."""
    rng = _rng("flat", seed)
    level, main = rng.uniform(0.3, 2.0, 2), rng.uniform(-0.1, 0.1, (2, 4))

    def predictors(x: Array) -> tuple[Array, Array]:
        return level[0] + x @ main[0], level[1] + x @ main[1]

    return Member("flat", seed, (AGE, TIME, SPEED, DOSE), predictors)


def dross(seed: int) -> Member:
    """The truth of the demonstration campaign at 50 % humidity in a typical lot; only chance differs by seed."""

    def predictors(x: Array) -> tuple[Array, Array]:
        age, time, speed, dose, heat, depth = (
            _own(factor, column) for factor, column in zip(factors, x.T, strict=True)
        )
        z = 0.5 * np.log(age / 12.0) + 0.5 * np.log(15.0 / depth)
        w, q, t, r = np.log(time / 120.0), (speed - 90.0) / 50.0, (heat - 158.0) / 7.0, dose - 6.0
        first = 1.6 + 2.4 * z + 0.8 * w + 0.5 * q + 0.4 * t + 0.06 * r
        second = 1.9 - 2.6 * z - 0.5 * np.maximum(q, 0.0) ** 2 + 0.3 * w + 0.4 * t + 0.16 * r
        return first, second - 0.02 * np.maximum(dose - 12.0, 0.0) ** 2

    factors = (AGE, TIME, SPEED, DOSE, HEAT, DEPTH)
    return Member("dross", seed, factors, predictors)


def grit(seed: int) -> Member:
    """Heavy grit under oil, six factors: weak levels, so that most of the box fails; the best age is drawn."""
    rng = _rng("grit", seed)
    shift, strength = rng.uniform(-0.7, 0.7), rng.uniform(0.8, 1.3)

    def predictors(x: Array) -> tuple[Array, Array]:
        age, time, speed, dose, heat, depth = (
            _own(factor, column) for factor, column in zip(factors, x.T, strict=True)
        )
        film = 0.5 * np.log(age / 12.0 * 12.0 / depth) - shift
        w, q, t, r = np.log(time / 120.0), (speed - 70.0) / 40.0, heat - 158.0, dose - 6.0
        first = 0.7 + strength * (2.2 * film + 0.9 * w + 0.05 * t + 0.08 * r + 0.4 * q)
        over = np.maximum((speed - 90.0) / 40.0, 0.0) ** 2
        return first, 1.2 + strength * (-2.4 * film + 0.14 * r + 0.06 * t - 0.45 * over)

    factors = (AGE, TIME, SPEED, DOSE, HEAT, DEPTH)
    return Member("grit", seed, factors, predictors)


def _own(factor: Factor, column: Array) -> Array:
    low, high = factor.bounds
    share = (column + 1.0) / 2.0
    if factor.scale is Scale.LOG:
        return np.asarray(low * (high / low) ** share)
    return np.asarray(low + share * (high - low))


FAMILIES: dict[str, Callable[[int], Member]] = {
    "hump": hump,
    "two gates": two_gates,
    "interaction": interaction,
    "lots": lots,
    "flat": flat,
    "dross": dross,
    "grit": grit,
}
