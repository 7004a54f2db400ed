"""Effects, outcomes and recovery in the answer of ``stirfall odds``, as JSON and as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.cli.output import estimate_json
from stirfall.reporting.direction_words import direction_sentence
from stirfall.reporting.effect_words import effect_lines, effect_sentence, outcome_words
from stirfall.reporting.recovery_words import recovery_lines
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span
from stirfall.session.outcome_shares import outcome_shares, shares_at, why_no_shares
from stirfall.session.recovery import ExpectedGrams, Recovery, RecoveryAt

if TYPE_CHECKING:
    from stirfall.inference.effects import Effect
    from stirfall.inference.odds import Bands
    from stirfall.session.analysis import Analysis

_EXPOSURES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.HOT_TIME)
_POINTS = 25
_SHARES = ("not_parted", "beads", "clean")


def effects_json(analysis: Analysis) -> list[dict[str, object]]:
    """Return the effects of all factors, the surest sign of each gate first."""
    may_wait = analysis.limits.may_wait
    return [_effect_json(effect, may_wait=may_wait) for effect in analysis.effects()]


def outcomes_json(analysis: Analysis, conditions: Conditions) -> dict[str, object]:
    """Return the shares of the three outcomes at the conditions and along the first exposure, and the advice."""
    reason = why_no_shares(analysis)
    return {
        "here": None if reason else _shares_here(analysis, conditions),
        "along": None if reason else _shares_along(analysis, conditions),
        "reason": reason and reason.code,
        "direction": _direction_json(analysis, conditions),
    }


def recovery_json(analysis: Analysis, conditions: Conditions) -> dict[str, object] | None:
    """Return the recovery of clean attempts and the grams to be expected; None where no clean one was weighed."""
    recovery, at, grams = _recovery(analysis, conditions)
    if recovery is None or at is None:
        return None
    numbers = {attempt.id: attempt.number for attempt in analysis.state.attempts}
    return {
        "n": recovery.n,
        "basis": recovery.basis,
        "effects": list(recovery.effects),
        "new_attempt": estimate_json(at.new_attempt),
        "mean": estimate_json(at.mean),
        "over_one": [numbers[each] for each in recovery.over_one],
        "held": recovery.held,
        "unweighed": recovery.unweighed,
        "without_solids": recovery.without_solids,
        "expected_grams": None if grams is None else _grams_json(grams),
    }


def effects_text(analysis: Analysis) -> list[str]:
    """Return the effects as lines of text."""
    return effect_lines(analysis.effects(), may_wait=analysis.limits.may_wait)


def outcomes_text(analysis: Analysis, conditions: Conditions) -> list[str]:
    """Return the shares of the three outcomes at the conditions as lines of text; none with one gate."""
    if why_no_shares(analysis) is not None:
        return []
    shares = shares_at(analysis.model, analysis.model.design.columns([conditions]))
    words = outcome_words(analysis.state.settings.partly)
    lines = []
    for name in _SHARES:
        bands: Bands = getattr(shares, name)
        said = f"{percent(float(bands.mean[0]))}, {span(float(bands.lower[0]), float(bands.upper[0]))}"
        lines.append(f"  {words[name]}: {said}")
    return [sentence("outcomes.heading"), *lines]


def recovery_text(analysis: Analysis, conditions: Conditions) -> list[str]:
    """Return recovery and expected grams as lines of text."""
    return recovery_lines(*_recovery(analysis, conditions))


def _recovery(
    analysis: Analysis, conditions: Conditions
) -> tuple[Recovery | None, RecoveryAt | None, ExpectedGrams | None]:
    recovery = analysis.recovery
    if recovery is None:
        return None, None, None
    return recovery, recovery.at(conditions), recovery.expected_grams(conditions)


def _effect_json(effect: Effect, *, may_wait: bool) -> dict[str, object]:
    size, hump = effect.multiplier, effect.hump
    return {
        "gate": effect.gate,
        "factor": effect.factor.name,
        "level": effect.level,
        "against": effect.against,
        "step": {"kind": effect.step.kind, "size": effect.step.size, "unit": effect.factor.unit},
        "is_known": effect.is_known,
        "odds_factor": None
        if size is None
        else {
            "median": size.median,
            "mean": size.mean,
            "lower": size.lower,
            "upper": size.upper,
            "level": size.level,
        },
        "sign": None if size is None else size.sign,
        "sign_probability": None if size is None else size.prob_sign,
        "hump": None if hump is None else vars(hump),
        "beside": list(effect.beside),
        "text": effect_sentence(effect, may_wait=may_wait),
    }


def _shares_here(analysis: Analysis, conditions: Conditions) -> dict[str, object]:
    shares = shares_at(analysis.model, analysis.model.design.columns([conditions]))
    model = analysis.model
    here: dict[str, object] = {"forms_share": shares.forms_share}
    for name in _SHARES:
        bands: Bands = getattr(shares, name)
        here[name] = estimate_json(bands.first(model.level, model.n, of_trials=model.of_trials))
    return here


def _shares_along(analysis: Analysis, conditions: Conditions) -> dict[str, object] | None:
    factor = _exposure(analysis)
    shares = outcome_shares(analysis, factor.name, conditions, _POINTS) if factor else None
    if factor is None or shares is None:
        return None
    parts = {name: getattr(shares, name) for name in _SHARES}
    return {
        "factor": factor.name,
        "unit": factor.unit,
        "x": shares.x.tolist(),
        "tried": [bool(inside) for inside in shares.tried],
        **{
            name: {"mean": bands.mean.tolist(), "lower": bands.lower.tolist(), "upper": bands.upper.tolist()}
            for name, bands in parts.items()
        },
    }


def _exposure(analysis: Analysis) -> Factor | None:
    """Return the exposure that the advice is about: sample age before time under oil before hot time."""
    for role in _EXPOSURES:
        for factor in analysis.model.design.factors:
            if factor.role is role and not factor.is_choice:
                return factor
    return None


def _direction_json(analysis: Analysis, conditions: Conditions) -> dict[str, object] | None:
    direction = analysis.direction(conditions)
    if direction is None:
        return None
    return {
        "factor": direction.factor,
        "longer_helps": direction.prob_longer,
        "shorter_helps": direction.prob_shorter,
        "neither_helps": direction.prob_neither,
        "leans_to": direction.leans_to,
        "certainty": direction.certainty,
        "text": direction_sentence(direction),
    }


def _grams_json(grams: ExpectedGrams) -> dict[str, object]:
    return {
        "mean": grams.mean,
        "lower": grams.lower,
        "upper": grams.upper,
        "level": grams.level,
        "if_clean": grams.if_clean,
        "charge_g": grams.charge_g,
        "metal_share": grams.metal_share,
    }
