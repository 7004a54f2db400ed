"""What a campaign says, as one frozen answer: the fit, the limits, curves, and what to try next.

``analyse`` is made for a worker thread: it takes an immutable state, polls its token between steps, and returns a
value that never changes. Same state and seed, same answer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.records import find_factor
from stirfall.inference.direction import Direction, advise_direction
from stirfall.inference.effects import Effect, effects_of
from stirfall.inference.forms import FormScore
from stirfall.inference.gate_rows import GateName, GateRows, rows_of_gates
from stirfall.inference.loo import LooTable
from stirfall.inference.odds import OddsModel, fit_odds
from stirfall.inference.refined import LotEffect, LotSpread, Refined, fit_refined
from stirfall.inference.stack import FittedModel
from stirfall.inference.table import AttemptCounts, AttemptTable
from stirfall.planning.box import ordered_exposures
from stirfall.planning.control import control_of, held_estimate
from stirfall.planning.goals import Goal
from stirfall.planning.limits import OperatingLimits, operating_limits
from stirfall.planning.next_attempts import Suggestion, best, box_for, suggest
from stirfall.planning.objectives import objective_for
from stirfall.session.film_factor import Prepared, film_wait_of, prepare

if TYPE_CHECKING:
    from stirfall.bench.plans import PlanSettings
    from stirfall.planning.objectives import Yield
    from stirfall.session.health import HealthReport
    from stirfall.session.outcome_shares import OutcomeShares
    from stirfall.session.recovery import Recovery
    from stirfall.session.time_curve import TimeCurve

FloatArray = NDArray[np.float64]
Columns = dict[str, FloatArray]

_EXPOSURES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME, Role.FILM_INDEX)


@dataclass(frozen=True)
class Curve:
    """P(clean) along one factor: ``x`` in its unit (a choice: the index of the level), mean and interval bounds.

    ``tried_low`` and ``tried_high`` are the ends of what graded attempts reached, None where there are none or
    where the factor is a choice; ``tried`` says for each point whether it lies inside.
    """

    factor: Factor
    x: FloatArray
    mean: FloatArray
    lower: FloatArray
    upper: FloatArray
    tried_low: float | None
    tried_high: float | None
    tried: NDArray[np.bool_]


@dataclass(frozen=True)
class Surface:
    """Mean P(clean) over two factors: ``mean`` is (len(y), len(x))."""

    x_factor: Factor
    y_factor: Factor
    x: FloatArray
    y: FloatArray
    mean: FloatArray


class CompletedConditions(Conditions):
    """Conditions without gaps: ``filled`` names what was unknown, ``lowered`` the oil exposures above the age.

    ``followed`` names what was unknown and was worked out from the rest.
    """

    __slots__ = ("filled", "followed", "lowered")

    def __init__(
        self,
        values: Mapping[str, Value],
        filled: tuple[str, ...],
        lowered: tuple[str, ...] = (),
        followed: tuple[str, ...] = (),
    ) -> None:
        super().__init__(values)
        self.filled = filled
        self.lowered = lowered
        self.followed = followed


@dataclass(frozen=True, eq=False)
class Analysis:
    """One campaign, fitted: every method answers from the same posterior draws.

    ``base`` is the first answer, one form with all attempts as independent; ``model`` answers, and is that or, in
    a refined analysis, all forms weighed with lots allowed for. Conditions must name every factor of the model,
    otherwise InputError ``conditions.missing``; ``complete`` fills the gaps where a picture needs it. Where a film
    index follows from ages (``follows``) it need not be named: unnamed it is that of the campaign's usual jar.
    ``state`` is the campaign with the film index of every attempt whose jar tells it, which no file holds. Two
    are equal only where they are the same one.
    """

    state: CampaignState
    model: FittedModel
    table: AttemptTable
    limits: OperatingLimits
    base: OddsModel
    seed: int = 0
    refined: Refined | None = None

    @property
    def stage(self) -> Literal["first", "refined"]:
        """Which answer this is: the quick one, or the one with forms weighed and lots allowed for."""
        return "first" if self.refined is None else "refined"

    @property
    def forms(self) -> tuple[FormScore, ...]:
        """The forms of the model, best first; none in the first answer."""
        return () if self.refined is None else self.refined.forms

    @property
    def forms_differ(self) -> bool:
        """Whether some form is behind the best by more than its score's noise."""
        return any(score.is_distinguishable for score in self.forms)

    @property
    def loo(self) -> LooTable | None:
        """What the other attempts foretold of each attempt; None in the first answer."""
        return None if self.refined is None else self.refined.loo

    @property
    def lots(self) -> tuple[LotEffect, ...]:
        """The effect of each lot on each gate; none in the first answer, or where lots cannot be told apart."""
        return () if self.refined is None else self.refined.lots

    @property
    def lot_spread(self) -> Mapping[GateName, LotSpread]:
        """How much lots differ, per gate; empty where ``lots`` is."""
        return {} if self.refined is None else self.refined.lot_spread

    @property
    def lot(self) -> str | None:
        """The lot that the answers are for; None: a new lot, or any where lots are not in the model."""
        return self.model.lot

    def for_lot(self, lot: str | None) -> Analysis:
        """Return the analysis that answers for one lot; None, or a lot without attempts: for a new one."""
        return replace(self, model=self.model.for_lot(lot))

    def for_level_in(self, conditions: Conditions) -> Analysis:
        """Return the analysis that answers for the level that conditions name of a factor that attempts share.

        Where they share a lot, a jar or nothing, or where a lot was asked for already, it is this one.
        """
        level = conditions.get(self.table.grouping) if self.lot is None else None
        return self.for_lot(level) if isinstance(level, str) and level in self.model.lot_names else self

    @property
    def follows(self) -> str | None:
        """The film index that follows from other factors, None where there is none or where it is free."""
        return self.model.design.follows

    def usual(self, conditions: Conditions) -> Conditions:
        """Return the conditions without a film index of their own where it follows: those of the usual jar."""
        return conditions if self.follows is None else conditions.with_value(self.follows, None)

    @cached_property
    def rows(self) -> dict[GateName, GateRows]:
        """The rows of each gate of ``base``."""
        return rows_of_gates(self.table, self.base.design)

    @cached_property
    def _effects(self) -> tuple[Effect, ...]:
        return effects_of(self.model, self.table)

    def effects(self) -> tuple[Effect, ...]:
        """Return the effect of each factor on each gate, the surest sign first."""
        return self._effects

    def health(self, token: CancelToken | None = None, *, conditions: Conditions | None = None) -> HealthReport:
        """Return whether the answer can be trusted; takes a moment, so not for the window's thread."""
        from stirfall.session.health import health_report

        return health_report(self, token, conditions=conditions)

    def outcome_shares(self, factor_name: str, conditions: Conditions, points: int = 121) -> OutcomeShares | None:
        """Return the shares of the three outcomes along a factor, None with one gate."""
        from stirfall.session.outcome_shares import outcome_shares

        return outcome_shares(self, factor_name, conditions, points)

    @cached_property
    def recovery(self) -> Recovery | None:
        """How much metal clean attempts brought back, None where none was weighed."""
        from stirfall.session.recovery import recovery_of

        return recovery_of(self.state, self)

    @property
    def counts(self) -> AttemptCounts:
        """How many attempts are used, and how many are left out and why."""
        return self.model.counts

    def estimate(self, conditions: Conditions) -> Estimate:
        """Return the probability of a clean separation with its interval."""
        return self.model.estimate(self._columns(conditions))

    def gate_estimates(self, conditions: Conditions) -> dict[str, Estimate]:
        """Return the probability of each gate with its interval; gate 2 rests on the attempts that parted."""
        bands = self.model.gate_estimates(self._columns(conditions))
        grouped = self.model.of_trials
        return {g.name: bands[g.name].first(self.model.level, g.n, of_trials=grouped) for g in self.model.gates}

    def curve(self, factor_name: str, conditions: Conditions, points: int = 121) -> Curve:
        """Return P(clean) along a factor, everything else as in ``conditions``; its own value need not be there.

        A choice gives one point per level. A factor that the model does not use gives a level line.
        """
        factor = find_factor(self.state.factors, factor_name)
        axis = self.axis(factor, points)
        bands = self.model.estimates(self.columns_along({factor.name: axis}, conditions))
        low, high = self.limits.tried.ranges.get(factor.name, (None, None))
        values = [factor.levels[int(at)] for at in axis] if factor.is_choice else [float(at) for at in axis]
        tried = np.array([self.limits.tried.holds(factor, value) for value in values], dtype=bool)
        return Curve(factor, axis, bands.mean, bands.lower, bands.upper, low, high, tried)

    def surface(self, x_factor: str, y_factor: str, conditions: Conditions, points: int = 41) -> Surface:
        """Return mean P(clean) over two different factors; raises InputError ``surface.same_factor``."""
        first, second = find_factor(self.state.factors, x_factor), find_factor(self.state.factors, y_factor)
        if first.name == second.name:
            raise InputError("surface.same_factor", name=first.name)
        x, y = self.axis(first, points), self.axis(second, points)
        grid_x, grid_y = (grid.ravel() for grid in np.meshgrid(x, y))
        mean = self.model.means(self.columns_along({first.name: grid_x, second.name: grid_y}, conditions))
        return Surface(first, second, x, y, mean.reshape(len(y), len(x)))

    def direction(self, conditions: Conditions) -> Direction | None:
        """Return which way to move the exposure; None without one, and always for superoxide formers."""
        if not self.limits.may_wait:
            return None
        conditions = self.usual(conditions)
        for role in _EXPOSURES:
            for factor in self.model.design.factors:
                if factor.role is role and not factor.is_choice:
                    return advise_direction(self.model, conditions, factor)
        return None

    def suggest(
        self,
        count: int = 3,
        goal: Goal | str = Goal.LEARN,
        now: datetime | None = None,
        token: CancelToken | None = None,
        *,
        lots: Sequence[str] = (),
        explain: bool = True,
    ) -> tuple[Suggestion, ...]:
        """Return the next attempts, most useful first; none where the limits block (their findings say why).

        With ``lots`` each is for one of them, spread evenly. ``explain`` says what each would settle.
        """
        return suggest(
            self.model,
            self.limits,
            self.state,
            count=count,
            goal=goal,
            seed=self.seed,
            now=now,
            token=token,
            film_wait=film_wait_of(self.state),
            grams=self._grams(goal),
            lots=lots,
            explain=explain,
        )

    def best(self, goal: Goal | str = Goal.RELIABLE, now: datetime | None = None) -> Suggestion:
        """Return the conditions to recommend now for a goal, averaged over how well conditions are held.

        ``now`` lets the jars on the shelf count for the soonest batch. Raises InputError ``limits.*`` where the
        limits block.
        """
        return best(
            self.model, self.limits, self.state, goal=goal, seed=self.seed, now=now, grams=self._grams(goal)
        )

    def held(self, conditions: Conditions) -> Estimate:
        """Return the probability of a clean separation where conditions are held as well as the person does."""
        control = control_of(box_for(self.model, self.limits, Goal.RELIABLE), self.model.design)
        return held_estimate(self.model, control, self._columns(conditions))

    def time_curve(self, factor_name: str, conditions: Conditions, plan: PlanSettings | None = None) -> TimeCurve:
        """Return the expected time to a clean batch along an age; raises InputError ``time_curve.*``."""
        from stirfall.session.time_curve import time_curve

        return time_curve(self, factor_name, conditions, plan)

    @cached_property
    def grams(self) -> Yield | Reason:
        """What a clean attempt brings in grams, or why that is not known."""
        from stirfall.session.yields import yield_of

        return yield_of(self)

    def figure_unknown(self, goal: Goal | str) -> Reason | None:
        """Return why a goal cannot promise hours or grams, None where it can or where it counts none."""
        if goal not in (Goal.SOONEST, Goal.MOST):
            return None
        if not objective_for(Goal(goal), self.limits).wait_is_known:
            return Reason("plan.wait_unknown")
        grams = self.grams if goal == Goal.MOST else None
        return grams if isinstance(grams, Reason) else None

    def _grams(self, goal: Goal | str) -> Yield | None:
        return self.grams if goal == Goal.MOST and not isinstance(self.grams, Reason) else None

    def complete(self, conditions: Conditions, *, skip: tuple[str, ...] = ()) -> CompletedConditions:
        """Fill unknown visible factors, but not those in ``skip``, with the campaign's defaults.

        An oil exposure longer than the sample age cannot be: it is lowered to the age. A film index that follows is
        worked out; of a superoxide former it is left out, so that no advice names it.
        """
        held = {*skip, *self._films_not_filled}
        unknown = [f for f in self.state.visible_factors if f.name not in conditions and f.name not in held]
        values = {**conditions, **{factor.name: factor.middle for factor in unknown}}
        lowered = []
        for exposure, age, per_age in self._exposures_within_ages:
            exposed, longest = values.get(exposure), values.get(age)
            if isinstance(exposed, float) and isinstance(longest, float) and exposed > longest * per_age:
                values[exposure] = longest * per_age
                lowered.append(exposure)
        followed = self._followed(values, skip)
        filled = tuple(factor.name for factor in unknown)
        return CompletedConditions({**values, **followed}, filled, tuple(lowered), tuple(followed))

    @property
    def _films_not_filled(self) -> tuple[str, ...]:
        """The film indices without a usual value of their own: those that follow, or that nothing is known of."""
        modelled = [factor.name for factor in self.model.design.factors]
        films = [f.name for f in self.state.visible_factors if f.role is Role.FILM_INDEX and not f.is_choice]
        return tuple(name for name in films if name == self.follows or name not in modelled)

    def _followed(self, values: Mapping[str, Value], skip: tuple[str, ...]) -> dict[str, float]:
        name = self.follows
        if name is None or name in values or name in skip or not self.limits.may_wait:
            return {}
        value = float(self.model.design.columns([Conditions(values)])[name][0])
        return {name: value} if np.isfinite(value) else {}

    def columns_along(self, axes: Columns, conditions: Conditions) -> Columns:
        """Return the model's columns where ``axes`` (each (points,)) vary and the rest is as in ``conditions``.

        An oil exposure follows where the age on an axis is shorter, and the age where the exposure is longer, so
        that no picture shows a state of the jar that cannot be. A film index follows likewise, also where the
        conditions name one: that holds for its own point only. On an axis of its own it stands for other jars.
        """
        rows = max(len(axis) for axis in axes.values())
        follows = None if self.follows in axes else self.follows
        rest = conditions if follows is None else self.usual(conditions)
        held = tuple(axes) if follows is None else (*axes, follows)
        columns = self._of_model(self._columns(rest, except_for=held) | axes, rows)
        for exposure, age, per_age in self._exposures_within_ages:
            if exposure in columns and age in columns:
                if exposure not in axes:
                    columns[exposure] = np.minimum(columns[exposure], columns[age] * per_age)
                elif age not in axes:
                    columns[age] = np.maximum(columns[age], columns[exposure] / per_age)
        if follows is None:
            return columns
        return self._of_model(self.model.design.followed({**axes, **columns}, [rest]), rows)

    @cached_property
    def _exposures_within_ages(self) -> tuple[tuple[str, str, float], ...]:
        """Found once: it reads every attempt, and each move of the mark asks for it."""
        return ordered_exposures(self.limits)

    def _columns(self, conditions: Conditions, *, except_for: tuple[str, ...] = ()) -> Columns:
        """Return one-row columns of the model's factors; raises InputError ``conditions.missing``."""
        needed = [factor.name for factor in self.model.design.factors if factor.name not in except_for]
        columns = self.model.design.columns([conditions])
        missing = [name for name in needed if name not in conditions and not np.isfinite(columns[name]).all()]
        if missing:
            raise InputError("conditions.missing", names=", ".join(missing))
        return {name: columns[name] for name in needed}

    def _of_model(self, columns: Columns, rows: int) -> Columns:
        """Keep the model's factors and repeat single values."""
        names = [factor.name for factor in self.model.design.factors if factor.name in columns]
        return {name: np.broadcast_to(columns[name], rows).astype(float) for name in names}

    def axis(self, factor: Factor, points: int) -> FloatArray:
        """Return the x values of a picture: the campaign's range, widened to what was really tried."""
        if factor.is_choice:
            return np.arange(len(factor.levels), dtype=float)
        low, high = factor.bounds
        tried_low, tried_high = self.limits.tried.ranges.get(factor.name, (low, high))
        high = max(high, tried_high)
        if factor.scale is Scale.LOG:
            low = min(low, tried_low) if tried_low > 0 else low
            return np.geomspace(low, high, points)
        return np.linspace(min(low, tried_low), high, points)


def analyse(
    state: CampaignState,
    *,
    gates: int | None = None,
    seed: int = 0,
    token: CancelToken | None = None,
    refined: bool = False,
) -> Analysis:
    """Fit the attempts of a campaign and settle its limits; ``gates`` is 1 or 2 by decree, else as the records are.

    The first answer is quick; ``refined`` asks for the one that ``refine`` makes of it. Where the campaign has a
    film index, attempts whose jar tells it get it here; the session itself stays as it is. Raises Cancelled when
    the token says so.
    """
    first = first_answer(prepare(state), gates=gates, seed=seed, token=token)
    return refine(first, token) if refined else first


def first_answer(
    prepared: Prepared, *, gates: int | None = None, seed: int = 0, token: CancelToken | None = None
) -> Analysis:
    """Return the quick answer of a campaign whose film index is in its place; the rest is as in ``analyse``."""
    state = prepared.state
    limits = operating_limits(state)
    design, table = prepared.table(gates=gates)
    if token is not None:
        token.raise_if_cancelled()
    model = fit_odds(table, design, state.settings, seed=seed, token=token)
    if token is not None:
        token.raise_if_cancelled()
    return Analysis(state, model, table, limits, model, seed)


def refine(analysis: Analysis, token: CancelToken | None = None) -> Analysis:
    """Return the refined answer of the same attempts: all forms weighed, lots allowed for. Raises Cancelled."""
    refined = fit_refined(
        analysis.table, analysis.base.design, analysis.state.settings, seed=analysis.seed, token=token
    )
    return replace(analysis, model=refined.model, refined=refined)
