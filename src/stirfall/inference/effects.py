"""Effects: by how much one natural step of each factor multiplies the odds of each gate, and how sure its sign is.

The effect of a number is that of its linear internal coefficient. The internal scale runs from -1 to 1 over the
campaign's range, where a square is equal at both ends: so with a hump the linear coefficient is the average slope
over the range, and the effect is the average effect over the range. In a product the other factor counts at
internal zero: in the middle of its range, or averaged over its levels. Where a factor of the model follows from
others (a film index from ages), the effect of such another holds what it does through the follower, on average over
the attempts; the effect of the follower itself is that at equal others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.factors import Factor
from stirfall.inference.blocks import times, weighted_sum
from stirfall.inference.design import Design, contrasts
from stirfall.inference.effect_steps import LEVEL_STEP, Step, natural_step, step_length
from stirfall.inference.gate_rows import GateName
from stirfall.inference.probability import weighted_interval
from stirfall.inference.table import AttemptTable
from stirfall.inference.terms import square_term

FloatArray = NDArray[np.float64]

# exp of more than this says nothing that a person could use, and never becomes infinite.
_LARGEST_LOG = 300.0
_FARTHEST_PEAK = 1e6
_LEAST_HUMP = 0.1


class Coefficients(Protocol):
    """Draws (m, p) over ``design.terms`` with their weights (m,), as ``model.coefficients`` gives them."""

    @property
    def design(self) -> Design:
        """The terms that the columns of the draws belong to."""
        ...

    @property
    def draws(self) -> FloatArray:
        """The (m, p) internal coefficients."""
        ...

    @property
    def weights(self) -> FloatArray:
        """The (m,) weights of the draws, which sum to one."""
        ...


class NamedGate(Protocol):
    """A gate, as far as its name goes."""

    @property
    def name(self) -> GateName:
        """The name: clean, parted or pooled."""
        ...


class EffectModel(Protocol):
    """What effects are read from: a model of one form, or a weighted one of several."""

    @property
    def gates(self) -> Sequence[NamedGate]:
        """The gates of the model."""
        ...

    @property
    def level(self) -> float:
        """The level of the intervals."""
        ...

    def coefficients(self, gate_name: GateName, /) -> Coefficients:
        """Return the draws of one gate."""
        ...


@dataclass(frozen=True)
class Multiplier:
    """By what the odds are multiplied per step.

    ``median`` with its equal-tailed interval at ``level``, and ``mean``, that of the logarithms taken back
    (a geometric mean). ``prob_above`` is the posterior probability that it is above one, never 0 or 1; a draw of
    exactly one speaks half for either sign.
    """

    median: float
    mean: float
    lower: float
    upper: float
    level: float
    prob_above: float

    @property
    def sign(self) -> int:
        """The likelier sign: 1 where the step raises the odds, -1 where it lowers them."""
        return 1 if self.prob_above >= 0.5 else -1

    @property
    def prob_sign(self) -> float:
        """The posterior probability of the likelier sign, 0.5 to 1."""
        return max(self.prob_above, 1.0 - self.prob_above)


@dataclass(frozen=True)
class Hump:
    """How far a hump carries weight in the effect of a number.

    ``square_weight`` is the share of the draws whose form has a square of the factor, ``weight`` of those whose
    square opens downwards, ``inside`` of those whose peak lies inside the campaign's range. ``peak`` is the median
    peak of the draws that open downwards with its interval ``lower`` to ``upper``, in the factor's unit and held
    inside the range: ``below_range`` and ``above_range`` say that an end of the interval lies beyond it. All three
    are None where less than a tenth of the weight opens downwards.
    """

    square_weight: float
    weight: float
    inside: float
    peak: float | None = None
    lower: float | None = None
    upper: float | None = None
    below_range: bool = False
    above_range: bool = False


@dataclass(frozen=True)
class Effect:
    """What one step of one factor does to the odds of one gate.

    For a number ``step`` is "ratio" or "amount". For a choice it is "level": ``level`` against ``against``, the
    other level where two were tried, or the average of the levels tried where ``against`` is None. ``multiplier``
    is None where the attempts of this gate never varied the factor (``level`` is None then), or never tried the
    level: the posterior would only repeat the prior. ``beside`` names the factors that share a product with this
    one and count in their middle. ``n`` is the number of attempts of the gate that hold a value.
    """

    gate: GateName
    factor: Factor
    step: Step
    multiplier: Multiplier | None
    level: str | None = None
    against: str | None = None
    hump: Hump | None = None
    beside: tuple[str, ...] = ()
    n: int | None = None

    @property
    def is_known(self) -> bool:
        """Whether attempts say anything about it."""
        return self.multiplier is not None

    @property
    def is_exposure(self) -> bool:
        """Whether more of the factor means that the metal met air and water for longer."""
        return self.factor.role is not None and self.factor.role.is_exposure


def effects_of(model: EffectModel, table: AttemptTable | None = None) -> tuple[Effect, ...]:
    """Return the effects of all factors, gate by gate, inside a gate the surest sign first and the unknown last.

    ``table`` are the attempts behind the model: without it every factor and level counts as varied. Multipliers
    are per natural step (``effect_steps.natural_step``), medians and intervals quantiles of the weighted draws.
    Raises nothing of its own.
    """
    found: list[Effect] = []
    for gate in model.gates:
        coefficients = model.coefficients(gate.name)
        plans = _plans(coefficients.design, gate.name, table)
        found += sorted(_measure(plans, coefficients, model.level), key=_by_certainty)
    return tuple(found)


def _by_certainty(effect: Effect) -> tuple[bool, float, float]:
    if effect.multiplier is None:
        return True, 0.0, 0.0
    return False, -effect.multiplier.prob_sign, -abs(math.log(effect.multiplier.median))


@dataclass(frozen=True)
class _Plan:
    """One effect to be measured: the weights (p,) of the coefficients in its logarithm, None where unknown."""

    effect: Effect
    direction: FloatArray | None


def _plans(design: Design, gate: GateName, table: AttemptTable | None) -> list[_Plan]:
    plans: list[_Plan] = []
    for factor in design.factors:
        seen = None if table is None else _seen(table, gate, factor.name)
        beside = tuple(_partners(design, factor.name))
        make = _choice_plans if factor.is_choice else _number_plans
        made = make(design, gate, factor, seen, beside)
        plans += made if table is None else [_with_follower(plan, design, table) for plan in made]
    return plans


def _seen(table: AttemptTable, gate: GateName, name: str) -> FloatArray:
    """Return the values of a factor in the rows of one gate."""
    if gate == "clean":
        rows = table.clean_n > 0
    elif gate == "parted":
        rows = np.isfinite(table.parted)
    else:
        rows = (table.parted == 1) & np.isfinite(table.pooled)
    values = table.columns.get(name)
    return np.empty(0) if values is None else values[rows & np.isfinite(values)]


def _partners(design: Design, name: str) -> list[str]:
    return [second if first == name else first for first, second in design.products if name in (first, second)]


def _number_plans(
    design: Design, gate: GateName, factor: Factor, seen: FloatArray | None, beside: tuple[str, ...]
) -> list[_Plan]:
    step = natural_step(factor)
    effect = Effect(gate, factor, step, None, beside=beside, n=None if seen is None else len(seen))
    if seen is not None and len(np.unique(seen)) < 2:
        return [_Plan(effect, None)]
    direction = np.zeros(len(design.terms))
    direction[_main(design, factor.name)[0]] = step_length(factor, step)
    return [_Plan(effect, direction)]


def _with_follower(plan: _Plan, design: Design, table: AttemptTable) -> _Plan:
    """Return the plan of a number with what its step does through the factor that follows from it."""
    factor = plan.effect.factor
    if design.follows in (None, factor.name) or factor.is_choice or plan.direction is None:
        return plan
    direction = plan.direction.copy()
    direction[_main(design, str(design.follows))[0]] += _through_follower(design, factor, plan.effect.step, table)
    return replace(plan, direction=direction)


def _through_follower(design: Design, factor: Factor, step: Step, table: AttemptTable) -> float:
    """Return how far one step of ``factor`` moves the follower on its internal scale, on average over attempts.

    Half a step either way, so that it is the slope around what was tried.
    """
    filler = design.filler
    if filler is None or not table.rows:
        return 0.0
    follower = Design((design.factor(filler.name),))
    here = table.columns[factor.name]
    others = {name: column for name, column in table.columns.items() if name != filler.name}
    ends = []
    for way in (0.5, -0.5):
        moved = here * step.size**way if step.kind == "ratio" else here + way * step.size
        ends.append(follower.matrix({filler.name: filler({**others, factor.name: moved})})[:, 1])
    change = np.asarray(ends[0] - ends[1])
    known = np.isfinite(change)
    return float(change[known].mean()) if known.any() else 0.0


def _choice_plans(
    design: Design, gate: GateName, factor: Factor, seen: FloatArray | None, beside: tuple[str, ...]
) -> list[_Plan]:
    levels = range(len(factor.levels))
    tried = [at for at in levels if seen is None or (seen == at).any()]

    def effect(level: str | None, against: str | None = None) -> Effect:
        count = None if seen is None else len(seen)
        return Effect(gate, factor, LEVEL_STEP, None, level, against, beside=beside, n=count)

    if len(tried) < 2:
        return [_Plan(effect(None), None)]
    rows = np.zeros((len(levels), len(design.terms)))
    rows[:, _main(design, factor.name)] = contrasts(len(levels))
    plans = [_Plan(effect(factor.levels[at]), None) for at in levels if at not in tried]
    if len(tried) == 2:
        first, second = tried
        return [_Plan(effect(factor.levels[second], factor.levels[first]), rows[second] - rows[first]), *plans]
    average = rows[tried].mean(axis=0)
    return [_Plan(effect(factor.levels[at]), rows[at] - average) for at in tried] + plans


def _main(design: Design, name: str) -> list[int]:
    """Return the places of a factor's main terms."""
    kinds = ("number", "level")
    return [at for at, term in enumerate(design.terms) if term.kind in kinds and term.factors == (name,)]


def _measure(plans: Sequence[_Plan], coefficients: Coefficients, level: float) -> list[Effect]:
    known = [plan for plan in plans if plan.direction is not None]
    effects = [plan.effect for plan in plans if plan.direction is None]
    if not known:
        return effects
    directions = np.array([plan.direction for plan in known]).T
    logs = np.clip(times(coefficients.draws, directions), -_LARGEST_LOG, _LARGEST_LOG)
    multipliers = _multipliers(logs, coefficients.weights, level)
    for plan, multiplier in zip(known, multipliers, strict=True):
        hump = _hump(plan.effect.factor, coefficients, level)
        effects.append(replace(plan.effect, multiplier=multiplier, hump=hump))
    return effects


def _multipliers(logs: FloatArray, weights: FloatArray, level: float) -> list[Multiplier]:
    """Return the multipliers of (m, k) draws of their logarithms."""
    mean = weighted_sum(weights, logs)
    above = weighted_sum(weights, np.where(logs == 0, 0.5, (logs > 0).astype(float))) / weights.sum()
    lower, upper = weighted_quantiles(logs, weights, level)
    median = weighted_median(logs, weights)
    # No finite number of draws makes a sign certain.
    least = 0.5 / len(logs)
    above = np.clip(above, least, 1.0 - least)
    taken_back = np.exp(np.array([median, mean, lower, upper])).T
    return [
        Multiplier(float(middle), float(geometric), float(low), float(high), level, float(over))
        for (middle, geometric, low, high), over in zip(taken_back, above, strict=True)
    ]


def _hump(factor: Factor, coefficients: Coefficients, level: float) -> Hump | None:
    """Return how far a square of the factor carries weight, None where the design has none."""
    design, weights = coefficients.design, coefficients.weights
    squares = [at for at, term in enumerate(design.terms) if term == square_term(factor.name)]
    if not squares:
        return None
    slope = coefficients.draws[:, _main(design, factor.name)[0]]
    square = coefficients.draws[:, squares[0]]
    down = square < 0
    with np.errstate(over="ignore"):
        peaks = np.divide(slope, -2.0 * square, out=np.zeros_like(slope), where=down)
    np.clip(peaks, -_FARTHEST_PEAK, _FARTHEST_PEAK, out=peaks)
    total = weights.sum()
    present, weight = (_share(float(weights[rows].sum() / total)) for rows in (square != 0, down))
    inside = _share(float(weights[down & (np.abs(peaks) <= 1.0)].sum() / total))
    if weight < _LEAST_HUMP:
        return Hump(present, weight, inside)
    low, high = (float(bound[0]) for bound in weighted_quantiles(peaks[down, None], weights[down], level))
    middle = float(weighted_median(peaks[down, None], weights[down])[0])
    peak, lower, upper = (factor.from_unit_interval(min(max(at, -1.0), 1.0)) for at in (middle, low, high))
    return Hump(present, weight, inside, peak, lower, upper, below_range=low < -1.0, above_range=high > 1.0)


def weighted_quantiles(draws: FloatArray, weights: FloatArray, level: float) -> tuple[FloatArray, FloatArray]:
    """Return the (k,) equal-tailed bounds of weighted draws (m, k), which stay as they are."""
    return weighted_interval(draws.copy(), weights, level)


def weighted_median(draws: FloatArray, weights: FloatArray) -> FloatArray:
    """Return the (k,) medians of weighted draws (m, k), which stay as they are."""
    low, high = weighted_interval(draws.copy(), weights, 0.0)
    return (low + high) / 2.0


def _share(value: float) -> float:
    return min(max(float(value), 0.0), 1.0)
