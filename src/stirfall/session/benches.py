"""Does it hold for others? What a pooled session says bench by bench, and of a bench that was not seen yet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, sqrt

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason, whole_percent
from stirfall.bench.factors import Conditions
from stirfall.bench.records import LOT_EFFECT_BENCH, bench_of
from stirfall.inference.gate_rows import GateName
from stirfall.inference.group_left_out import GroupForetold, foretell_group
from stirfall.inference.proportions import Span, wilson
from stirfall.inference.table import clean_count_of
from stirfall.planning.goals import Goal
from stirfall.session.analysis import Analysis, analyse, refine
from stirfall.session.benches_nested import NestedAnswer, nested_answer

_QUARTILE = 0.6744897501960817  # of the standard normal law at 0.75
# Fewer clean-or-not attempts than this are inside nearly any interval; our own choice.
_FEW = 5


@dataclass(frozen=True)
class BenchSpread:
    """How much benches differ at one gate: the sd of their effects on the log odds, with its interval.

    ``ratio`` is the median odds ratio of two benches picked at random, e^(sqrt(2) 0.6745 sd), with its bounds
    (Larsen & Merlo 2005, American Journal of Epidemiology 161:81).
    """

    gate: GateName
    sd: float
    lower: float
    upper: float

    @property
    def ratio(self) -> tuple[float, float, float]:
        """The median odds ratio and its bounds."""
        sd, lower, upper = (exp(sqrt(2.0) * _QUARTILE * value) for value in (self.sd, self.lower, self.upper))
        return sd, lower, upper


@dataclass(frozen=True)
class BenchResult:
    """One bench: its attempts and lots, what was clean, the chance at the recipe there, what others foretold of it.

    ``clean`` is None without an attempt that tells; ``at_recipe`` is None where the model does not know the bench
    or there is no recipe; ``foretold`` is None where the other benches tell nothing.
    """

    name: str
    attempts: int
    lots: int
    clean: Span | None
    at_recipe: Estimate | None
    foretold: GroupForetold | None


@dataclass(frozen=True)
class HoldsElsewhere:
    """The answer: the benches in the order of their first attempts, a bench not seen yet, and one sentence.

    ``why_no_recipe`` says why there is none. ``verdict`` is the plain sentence, ``notes`` what to know beside it.
    ``nested`` allows for lots within benches as well, None where the attempts do not tell the two apart.
    """

    benches: tuple[BenchResult, ...]
    recipe: Conditions | None
    why_no_recipe: Reason | None
    new_bench: Estimate | None
    spreads: tuple[BenchSpread, ...]
    verdict: Reason
    notes: tuple[Reason, ...]
    level: float
    used: int
    nested: NestedAnswer | None = None

    @property
    def outside(self) -> tuple[BenchResult, ...]:
        """The benches that got another number of clean attempts than the others foretold."""
        return tuple(each for each in self.benches if each.foretold is not None and not each.foretold.is_inside)


def benches_of(state: CampaignState) -> tuple[str, ...]:
    """Return the benches of a session in the order of their first attempts."""
    return tuple(dict.fromkeys(bench_of(attempt, state.settings) for attempt in state.attempts))


def holds_elsewhere(
    analysis: Analysis, *, conditions: Conditions | None = None, token: CancelToken | None = None
) -> HoldsElsewhere:
    """Say bench by bench what was clean, what the model says, and what the other benches foretold.

    The chances are those of the refined answer with the bench as what attempts share; where the analysis is another
    one it is made here. ``conditions`` stand in for the recommended recipe and must name every factor of the model.
    Takes as long as one fit per bench, so not for the window's thread. Raises Cancelled.
    """
    whole = by_bench(analysis, token)
    recipe, why = (conditions, None) if conditions is not None else _recipe(whole)
    new_bench = None if recipe is None else whole.for_lot(None).estimate(recipe)
    names = benches_of(whole.state)
    results = tuple(_results(whole, names, recipe, token)) if len(names) > 1 else _alone(whole, names)
    spreads = tuple(BenchSpread(gate, each.mean, each.lower, each.upper) for gate, each in whole.lot_spread.items())
    found = HoldsElsewhere(
        results,
        recipe,
        why,
        new_bench,
        spreads,
        Reason("benches.one"),
        (),
        whole.state.settings.level,
        whole.counts.used,
    )
    found = replace(found, nested=nested_answer(whole, recipe, token))
    return replace(found, verdict=_verdict(found), notes=tuple(_notes(found, whole)))


def by_bench(analysis: Analysis, token: CancelToken | None = None) -> Analysis:
    """Return the refined analysis of the same session in which attempts share their bench."""
    if analysis.table.grouping == LOT_EFFECT_BENCH and analysis.state.settings.lot_effect == LOT_EFFECT_BENCH:
        return analysis if analysis.stage == "refined" else refine(analysis, token)
    settings = replace(analysis.state.settings, lot_effect=LOT_EFFECT_BENCH)
    return analyse(replace(analysis.state, settings=settings), seed=analysis.seed, token=token, refined=True)


def _recipe(analysis: Analysis) -> tuple[Conditions | None, Reason | None]:
    try:
        return analysis.best(Goal.RELIABLE).conditions, None
    except InputError as error:
        return None, Reason(error.code, error.params)


def _counts(state: CampaignState) -> Mapping[str, tuple[int, int, int, int]]:
    """Return per bench its attempts, its lots, its clean trials and all trials that tell."""
    attempts: dict[str, int] = {}
    lots: dict[str, set[str]] = {}
    clean: dict[str, int] = {}
    trials: dict[str, int] = {}
    for attempt in state.attempts:
        bench = bench_of(attempt, state.settings)
        attempts[bench] = attempts.get(bench, 0) + 1
        if attempt.lot_id is not None:
            lots.setdefault(bench, set()).add(attempt.lot_id)
        told = clean_count_of(attempt, state.settings)
        if told is not None:
            clean[bench] = clean.get(bench, 0) + told[0]
            trials[bench] = trials.get(bench, 0) + told[1]
    return {
        bench: (count, len(lots.get(bench, ())), clean.get(bench, 0), trials.get(bench, 0))
        for bench, count in attempts.items()
    }


def _alone(analysis: Analysis, names: Sequence[str]) -> tuple[BenchResult, ...]:
    counts, level = _counts(analysis.state), analysis.state.settings.level
    return tuple(_result(name, counts[name], level, None, None) for name in names)


def _results(
    analysis: Analysis, names: Sequence[str], recipe: Conditions | None, token: CancelToken | None
) -> Sequence[BenchResult]:
    state, table = analysis.state, analysis.table
    counts = _counts(state)
    places = {name: place for place, name in enumerate(table.group_names)}
    found = []
    for name in names:
        if token is not None:
            token.raise_if_cancelled()
        foretold = None
        if name in places:
            foretold = foretell_group(
                table, analysis.base.design, state.settings, places[name], seed=analysis.seed, token=token
            )
        at_recipe = None
        if recipe is not None and name in analysis.model.lot_names:
            at_recipe = analysis.for_lot(name).estimate(recipe)
        found.append(_result(name, counts[name], state.settings.level, at_recipe, foretold))
    return found


def _result(
    name: str,
    counts: tuple[int, int, int, int],
    level: float,
    at_recipe: Estimate | None,
    foretold: GroupForetold | None,
) -> BenchResult:
    attempts, lots, clean, trials = counts
    share = wilson(clean, trials, level) if trials else None
    return BenchResult(name, attempts, lots, share, at_recipe, foretold)


def _verdict(found: HoldsElsewhere) -> Reason:
    if len(found.benches) < 2:
        return Reason("benches.one" if found.benches else "benches.none")
    judged = [each for each in found.benches if each.foretold is not None]
    outside = found.outside
    telling = [each for each in judged if each.foretold is not None and not each.foretold.is_wide]
    about = {
        "benches": len(judged),
        "telling": len(telling),
        "inside": len(judged) - len(outside),
        "outside": ", ".join(each.name for each in outside),
    }
    if len(judged) < 2:
        return Reason("benches.not_told", about)
    if outside and about["inside"] and not any(_is_apart(each, len(judged), found.level) for each in outside):
        by_chance = whole_percent(1.0 - found.level ** len(judged))
        return Reason("benches.hold_in_doubt", {**about, "chance": by_chance})
    if outside:
        return Reason("benches.hold_in_part" if about["inside"] else "benches.hold_nowhere", about)
    if not telling:
        return Reason("benches.too_wide", about)
    return Reason("benches.hold_two" if len(judged) == 2 else "benches.hold", about)


def _is_apart(bench: BenchResult, judged: int, level: float) -> bool:
    """Whether a bench lies outside although so many benches were judged: by Bonferroni's bound."""
    told = bench.foretold
    return told is not None and 2.0 * min(told.tail, 1.0 - told.tail) * judged <= 1.0 - level


def _notes(found: HoldsElsewhere, analysis: Analysis) -> Sequence[Reason]:
    notes = []
    if len(found.benches) == 2:
        notes.append(Reason("benches.two_only"))
    few = [each.name for each in found.benches if each.foretold is not None and each.foretold.trials < _FEW]
    if few and len(found.benches) > 1:
        notes.append(Reason("benches.few", {"benches": ", ".join(few), "count": _FEW}))
    if found.nested is None and len(found.benches) > 1 and any(each.lots > 1 for each in found.benches):
        notes.append(Reason("benches.lots_alike"))
    left_out = analysis.counts.missing
    if left_out:
        notes.append(Reason("benches.left_out", {"left_out": left_out}))
    if not analysis.limits.may_wait:
        notes.append(Reason("benches.never_wait"))
    return notes
