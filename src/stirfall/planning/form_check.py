"""What the limits say about a situation in hand: for the bench form, scripts, the command line and the recipe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role, Scale, Value
from stirfall.planning.findings import Finding, amount, finding, most_severe_first
from stirfall.planning.limits_additive import additive_findings
from stirfall.planning.limits_exposure import age_findings, check_exposure, look_findings, residue_jar_findings
from stirfall.planning.limits_temperature import check_temperature, lift_findings, peak_findings
from stirfall.planning.limits_work import (
    batch_findings,
    break_findings,
    humidity_findings,
    vessel_findings,
)
from stirfall.planning.situation import Situation
from stirfall.planning.tried import Tried
from stirfall.storage.limit_table import limit_table

# Where nothing but a value that was never entered blocks, what was done is still recorded.
UNKNOWN_CODES = frozenset({"limits.flash_unknown", "limits.temperature_unit"})
# A factor that was always the same has no span: then this share of half the campaign's range counts as its half.
_SPAN_OF_NOTHING = 0.1


def judge_situation(
    state: CampaignState,
    situation: Situation,
    *,
    seen: Tried,
    ceilings: Mapping[str, float],
    proven_g: float | None,
) -> tuple[Finding, ...]:
    """Return the findings for a situation in hand, most severe first.

    Hidden factors are checked as well where they have a value: a hidden temperature can still start a fire.
    """
    found = [*_what_can_block(state, situation, ceilings)]
    for factor in state.visible_factors:
        value = situation.conditions.get(factor.name)
        if value is not None:
            found += _check_ranges(factor, value, seen, planned=situation.planned)
    found += peak_findings(state, situation)
    found += vessel_findings(state, situation)
    found += batch_findings(state, situation, proven_g)
    found += humidity_findings(state, situation)
    if situation.at is not None:
        found += break_findings(state, situation.at)
    return most_severe_first(found)


def refusals(state: CampaignState, situation: Situation) -> tuple[Finding, ...]:
    """Return the blocks for which a situation is not recorded, unless it was aborted.

    Those of values that nobody entered are left out: what was done at an unknown flash point is still recorded.
    """
    found = _what_can_block(state, situation, {})
    return tuple(each for each in found if each.level == "block" and each.code not in UNKNOWN_CODES)


def _what_can_block(state: CampaignState, situation: Situation, ceilings: Mapping[str, float]) -> Iterator[Finding]:
    told: set[str] = set()
    for factor in state.factors:
        value = situation.conditions.get(factor.name)
        if value is None:
            continue
        if factor.role is Role.TEMPERATURE and not isinstance(value, str):
            yield from check_temperature(factor, value, state)
        for each in check_exposure(factor, value, state.settings, ceilings):
            told.add(each.code)
            yield each
    # The age of the jar says nothing new where the conditions tell it already.
    yield from (each for each in age_findings(state, situation) if each.code not in told)
    yield from look_findings(state, situation)
    yield from residue_jar_findings(situation)
    yield from additive_findings(state, situation)
    if situation.facts.lifted_at_c is not None:
        yield from lift_findings(state, situation.facts.lifted_at_c)


# ----------------------------------------------------------------------------------------- ranges, and the tried


def _check_ranges(factor: Factor, value: Value, seen: Tried, *, planned: bool) -> Iterator[Finding]:
    if _is_far_outside(factor, value):
        yield finding("warn", "limits.far_outside", factor, rule="campaign_range", value=_shown(value, factor))
    elif not factor.holds(value):
        yield finding("note", "limits.outside_range", factor, rule="campaign_range", value=_shown(value, factor))
    if not seen.any_graded or seen.holds(factor, value):
        return
    if not planned and _is_far_untried(factor, value, seen) and not _is_far_outside(factor, value):
        low, high = (amount(end, factor) for end in seen.ranges[factor.name])
        yield finding(
            "warn",
            "limits.far_untried",
            factor,
            rule="extrapolation",
            value=_shown(value, factor),
            low=low,
            high=high,
        )
    else:
        yield finding("note", "limits.outside_tried", factor, rule="extrapolation", value=_shown(value, factor))


def _is_far_outside(factor: Factor, value: Value) -> bool:
    """Return whether a number lies more than the width of the range beyond it: most often a slip of the hand.

    One such attempt would bend the odds of a whole campaign.
    """
    if factor.is_choice or isinstance(value, str):
        return False
    if factor.scale is Scale.LOG and value <= 0:
        return True
    return abs(factor.to_unit_interval(value)) > 1.0 + 2.0 * limit_table()["campaign_range"].number("warn")


def _is_far_untried(factor: Factor, value: Value, seen: Tried) -> bool:
    """Return whether a number leaves the tried range by more than a share of its span, on the factor's scale."""
    rule, tried = limit_table()["extrapolation"], seen.ranges.get(factor.name)
    if tried is None or factor.is_choice or isinstance(value, str) or seen.graded < rule.number("from"):
        return False
    if factor.scale is Scale.LOG and min(value, *tried) <= 0:
        return True
    low, high, here = (factor.to_unit_interval(each) for each in (*tried, value))
    reach = rule.number("share") * (high - low) if high > low else _SPAN_OF_NOTHING
    # Twelve digits: half of a span must not be left by the last bit of a logarithm.
    return max(low - here, here - high) > reach * (1.0 + 1e-12) + 1e-12


def _shown(value: Value, factor: Factor) -> object:
    return value if isinstance(value, str) else amount(value, factor)
