"""What a suggestion says for itself: what it would settle, what its outcomes do to the plan, what it is near to.

All of it is worked out from the posterior draws and the attempts; the words are codes with parameters.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from stirfall.bench.estimates import Estimate, Reason, whole_percent
from stirfall.bench.factors import Conditions, Value
from stirfall.bench.records import Attempt
from stirfall.bench.units import Amount, Difference
from stirfall.planning.box import Box, Columns
from stirfall.planning.candidates import take
from stirfall.planning.draws import ThinDraws
from stirfall.planning.gains import outcome_classes
from stirfall.planning.nearest import FactorGap, Nearest, TriedAttempts, nearest_tried, tried_attempts
from stirfall.planning.recipe_moves import (
    OUTCOMES,
    Afterwards,
    Pool,
    Utilities,
    after_outcome,
    chances,
    conditions_at,
    make_pool,
    outcome_likelihoods,
)
from stirfall.planning.settling import Profile, Settled, profiles_of, settled

# Our proposals. Less than this share of the doubt is little; a second factor is named where it is nearly as much
# told about; the level as a whole where it is told about far more than any one factor.
_LITTLE = 0.01
_SECOND = 2.0 / 3.0
_MOSTLY_LEVEL = 2.0
_GAPS_SAID = 3
_GATES = {"clean": "explain.gate_clean", "parted": "explain.gate_parted", "pooled": "explain.gate_pooled"}
_OUTCOMES = {
    "clean": "explain.if_clean",
    "not clean": "explain.if_not_clean",
    "beads": "explain.if_beads",
    "nothing": "explain.if_nothing",
}


@dataclass(frozen=True)
class FactorMove:
    """A factor of the recommended conditions that takes another value; None where it has none."""

    factor: str
    unit: str
    before: Value | None
    after: Value | None


@dataclass(frozen=True)
class AfterOutcome:
    """What one outcome does to the plan: the recommended conditions and the probability there, one attempt on.

    ``outcome`` is "clean", "beads" or "nothing", with one gate "clean" or "not clean"; ``chance`` its probability.
    ``present`` is the probability of the present recipe after it. ``moves`` is empty where the recipe stays.
    """

    outcome: str
    chance: float
    conditions: Conditions
    estimate: Estimate
    present: float
    moves: tuple[FactorMove, ...]
    reason: Reason


@dataclass(frozen=True)
class Explanation:
    """Why an attempt is worth making.

    ``settled`` holds the share of the doubt about the effect of each factor on each gate, and about the level,
    that the outcome is expected to take away, the most first; ``settles`` says the most of it. ``recipe`` are the
    recommended conditions now, with their ``estimate``; None while nothing is known, then ``after`` is empty.
    ``near`` says how it differs from ``nearest``, the nearest tried attempt.
    """

    settles: Reason
    settled: tuple[Settled, ...]
    recipe: Conditions | None
    estimate: Estimate | None
    after: tuple[AfterOutcome, ...]
    nearest: Nearest | None
    near: Reason


@dataclass(frozen=True, eq=False)
class Ground:
    """What all explanations of one batch share; ``lay_ground`` makes it once."""

    box: Box
    draws: ThinDraws
    profiles: tuple[Profile, ...]
    pool: Pool | None
    tried: TriedAttempts
    estimate: Estimate


def lay_ground(
    box: Box,
    draws: ThinDraws,
    attempts: Sequence[Attempt],
    *,
    best: Columns,
    estimate: Estimate,
    candidates: Columns,
    utilities: Utilities | None = None,
    as_good: Callable[[float], float] | None = None,
    has_recipe: bool = True,
    seed: int = 0,
) -> Ground:
    """Prepare the explanations of one batch.

    ``best`` is the one candidate recommended now for the goal, ``estimate`` the full model's probability there: it
    gives level and n, and the draws' probabilities are moved by the difference between the two. ``candidates`` are
    others that may become the recipe; ``utilities`` is what the goal makes of a probability, else that itself, and
    ``as_good`` the difference in it that counts as none, for the worth of the best. ``has_recipe`` False: so little
    is known that nothing is recommended, and no outcome is said to move it.
    """
    pool = None
    if has_recipe and box.limits.tried.any_graded:
        pool = make_pool(box, draws, best, candidates, utilities=utilities, as_good=as_good, seed=seed)
    profiles = profiles_of(box, draws, best, seed=seed)
    return Ground(box, draws, profiles, pool, tried_attempts(box, attempts), estimate)


def explain(ground: Ground, columns: Columns, probability: Estimate | None = None) -> Explanation:
    """Explain one candidate, given as columns of one row; ``probability`` is the full model's there.

    Where it is given, the chances of the outcomes are brought in line with it: one number stands everywhere.
    """
    classes = tuple(p[:, 0] for p in outcome_classes(ground.draws.gates(columns)))
    shares = settled(ground.profiles, classes)
    nearest = nearest_tried(ground.box, ground.tried, columns)
    after = () if ground.pool is None else _after(ground, ground.pool, columns, probability)
    recipe = None if ground.pool is None else conditions_at(ground.box, ground.pool, 0)
    return Explanation(
        settles=settles_reason(shares),
        settled=shares,
        recipe=recipe,
        estimate=None if recipe is None else ground.estimate,
        after=after,
        nearest=nearest,
        near=near_reason(nearest),
    )


# -- what it would settle ------------------------------------------------------------------------------------


def settles_reason(shares: Sequence[Settled]) -> Reason:
    """Say which one or two factors an outcome would tell most about, or the level, or that it tells little."""
    level = max((each.share for each in shares if each.factor is None), default=0.0)
    factors = _one_each(shares)
    most = factors[0].share if factors else 0.0
    if max(level, most) < _LITTLE:
        return Reason("explain.settles_little")
    if level > _MOSTLY_LEVEL * most:
        return Reason("explain.settles_level", {"share": whole_percent(level)})
    first = factors[0]
    params: dict[str, object] = {
        "first": first.factor,
        "gate": gate_reason(first.gate),
        "share": whole_percent(most),
    }
    if len(factors) == 1 or factors[1].share < _SECOND * most:
        return Reason("explain.settles_whether" if first.is_open else "explain.settles_how_much", params)
    second = factors[1]
    params |= {"second": second.factor, "other": whole_percent(second.share)}
    if second.gate != first.gate:
        params["second_gate"] = gate_reason(second.gate)
        return Reason("explain.settles_two_gates", params)
    are_open = first.is_open or second.is_open
    return Reason("explain.settles_whether_two" if are_open else "explain.settles_how_much_two", params)


def gate_reason(gate: str) -> Reason:
    """Return what a gate is called within a sentence."""
    return Reason(_GATES[gate])


def _one_each(shares: Sequence[Settled]) -> list[Settled]:
    """Return for each factor the gate that is told about most, the most first."""
    best: dict[str, Settled] = {}
    for each in sorted(shares, key=lambda one: -one.share):
        if each.factor is not None:
            best.setdefault(each.factor, each)
    return list(best.values())


# -- what its outcomes do to the plan ------------------------------------------------------------------------


def _after(ground: Ground, pool: Pool, columns: Columns, probability: Estimate | None) -> tuple[AfterOutcome, ...]:
    likelihoods = outcome_likelihoods(ground.draws, columns)
    told = list(chances(pool, likelihoods))
    if probability is not None:
        rest = (1.0 - probability.mean) / max(1.0 - told[0], 1e-12)
        told = [probability.mean, *(chance * rest for chance in told[1:])]
    shift = ground.estimate.mean - float(pool.weights @ pool.clean[:, 0])
    box = ground.box

    def allowed(row: Columns) -> bool:
        return box.limits.allows(box.conditions(row, 0))

    made = []
    for outcome, chance, likelihood in zip(OUTCOMES[len(ground.draws.betas)], told, likelihoods, strict=True):
        found = after_outcome(pool, likelihood, ground.estimate.level, allowed)
        made.append(_outcome(ground, pool, found, outcome=outcome, chance=chance, shift=shift))
    return tuple(made)


def _outcome(
    ground: Ground, pool: Pool, found: Afterwards, *, outcome: str, chance: float, shift: float
) -> AfterOutcome:
    mean, present = (_held(value + shift) for value in (found.mean, found.mean_of_present))
    lower, upper = min(_held(found.lower + shift), mean), max(_held(found.upper + shift), mean)
    estimate = replace(ground.estimate, mean=mean, lower=lower, upper=upper, n=ground.estimate.n + 1)
    moves = _moves(ground.box, pool, found.index)
    reason = _after_reason(outcome, chance, ground.estimate, estimate, present, moves=moves)
    return AfterOutcome(
        outcome, chance, conditions_at(ground.box, pool, found.index), estimate, present, moves, reason
    )


def _held(probability: float) -> float:
    return min(max(probability, 0.0), 1.0)


def _moves(box: Box, pool: Pool, index: int) -> tuple[FactorMove, ...]:
    if index == 0:
        return ()
    before, after = (box.conditions(take(pool.columns, place), 0) for place in (0, index))
    return tuple(
        FactorMove(factor.name, factor.unit, before.get(factor.name), after.get(factor.name))
        for factor in box.varied
        if before.get(factor.name) != after.get(factor.name)
    )


def _after_reason(
    outcome: str,
    chance: float,
    now: Estimate,
    then: Estimate,
    present: float,
    *,
    moves: tuple[FactorMove, ...],
) -> Reason:
    params: dict[str, object] = {
        "outcome": Reason(_OUTCOMES[outcome]),
        "chance": whole_percent(chance),
        "now": whole_percent(now.mean),
        "then": whole_percent(then.mean),
        "lower": whole_percent(then.lower),
        "upper": whole_percent(then.upper),
    }
    if not moves:
        same = whole_percent(now.mean) == whole_percent(then.mean)
        return Reason("explain.after_same" if same else "explain.after_stays", params)
    params |= {"moves": moves_reason(moves), "present": whole_percent(present)}
    return Reason("explain.after_moves", params)


def moves_reason(moves: Sequence[FactorMove]) -> Reason:
    """Say where the best values move to, joined into one phrase; ``moves`` is not empty."""
    phrase = Reason("explain.move", _move_params(moves[0]))
    for move in moves[1:]:
        phrase = Reason("explain.move_and", {"moves": phrase, **_move_params(move)})
    return phrase


def _move_params(move: FactorMove) -> dict[str, object]:
    return {"factor": move.factor, "value": _shown(move.unit, move.after)}


# -- what it is near to --------------------------------------------------------------------------------------


def near_reason(nearest: Nearest | None) -> Reason:
    """Say which tried attempt is nearest and in what it differs."""
    if nearest is None:
        return Reason("explain.near_none")
    params: dict[str, object] = {"number": nearest.number, "outcome": nearest.outcome.value}
    if not nearest.gaps:
        return Reason("explain.near_same", params)
    return Reason("explain.near", params | {"gaps": gaps_reason(nearest.gaps)})


def gaps_reason(gaps: Sequence[FactorGap]) -> Reason:
    """Say in what two conditions differ, joined into one phrase, the largest first; ``gaps`` is not empty."""
    phrase, shown = gap_reason(gaps[0]), gaps[1:_GAPS_SAID]
    for gap in shown:
        phrase = Reason("explain.gap_and", {"first": phrase, "rest": gap_reason(gap)})
    more = len(gaps) - 1 - len(shown)
    if not more:
        return phrase
    return Reason("explain.gap_other" if more == 1 else "explain.gap_others", {"first": phrase, "count": more})


def gap_reason(gap: FactorGap) -> Reason:
    """Say how one factor differs."""
    params: dict[str, object] = {"factor": gap.factor, "here": _shown(gap.unit, gap.here)}
    if gap.there is None:
        return Reason("explain.gap_unknown", params)
    params["there"] = _shown(gap.unit, gap.there)
    if gap.difference is None:
        return Reason("explain.gap_choice", params)
    params["difference"] = Difference(abs(gap.difference), gap.unit)
    return Reason("explain.gap_more" if gap.difference > 0 else "explain.gap_less", params)


def _shown(unit: str, value: Value | None) -> object:
    if value is None:
        return Reason("explain.no_value")
    return f"“{value}”" if isinstance(value, str) else Amount(value, unit)
