"""Effects in words: "Each doubling of sample age multiplies the odds of parting by 2.3 (1.2 to 5.1); ...".

Odds factors are always multiplications, below one too ("by 0.43"), so that one interval reads from smaller to
larger whether or not it holds one; the words after it say which way is better.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.units import Amount, Difference, unit_kind
from stirfall.inference.effects import Effect, Hump, Multiplier
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent

# From these probabilities of the sign on the wording is sure, or likely; our own choice.
SURE = 0.95
LIKELY = 0.8
# A hump is spoken of from this probability of a peak inside the range on.
_TOLD = 0.2
_MOST, _LEAST = 1000.0, 0.001


def odds_factor(value: float, *, decimal: str = ".") -> str:
    """Write an odds factor with two significant digits: "2.3", "0.50", "12", "120"; "above 1000" at the ends."""
    if not value < _MOST:
        return f"above {_MOST:.0f}"
    if value < _LEAST:
        return f"below {_LEAST}".replace(".", decimal)
    rounded = float(f"{value:.2g}")
    places = max(0, 1 - math.floor(math.log10(rounded)))
    return f"{rounded:.{places}f}".replace(".", decimal)


def factor_span(multiplier: Multiplier, *, decimal: str = ".") -> str:
    """Write an odds factor with its interval: "2.3 (1.2 to 5.1)"."""
    middle, low, high = (
        odds_factor(value, decimal=decimal) for value in (multiplier.median, multiplier.lower, multiplier.upper)
    )
    return f"{middle} ({low} to {high})"


def step_words(effect: Effect, *, decimal: str = ".") -> str:
    """Name the step, as a sentence begins: "Each doubling of sample age"."""
    name, step = effect.factor.name, effect.step
    if step.kind == "amount":
        amount = Difference(step.size, effect.factor.unit)
        return sentence("effect.amount", {"factor": name, "amount": amount}, decimal=decimal)
    if step.kind == "ratio":
        if step.size in (2.0, 10.0):
            return sentence("effect.doubling" if step.size == 2.0 else "effect.tenfold", {"factor": name})
        return sentence("effect.ratio", {"factor": name, "ratio": step.size}, decimal=decimal)
    if effect.against is None:
        return sentence("effect.level", {"factor": name, "level": effect.level})
    return sentence("effect.level_pair", {"factor": name, "level": effect.level, "other": effect.against})


def effect_sentence(effect: Effect, *, may_wait: bool, decimal: str = ".") -> str:
    """Return one effect in words, with the probability of its sign.

    ``may_wait`` is that of the operating limits: where it is False no exposure is called better when longer.
    An effect that the attempts say nothing about says so, without a number.
    """
    if effect.multiplier is None:
        return _unknown(effect)
    said = {
        "step": step_words(effect, decimal=decimal),
        "gate": sentence(f"effect.gate_{effect.gate}"),
        "factor": factor_span(effect.multiplier, decimal=decimal),
    }
    text = sentence("effect.multiplies", said)
    if effect.is_exposure and not may_wait:
        return f"{text}. " + sentence("effect.no_waiting")
    parts = [f"{text}; {_which_way(effect, effect.multiplier)}"]
    if effect.hump is not None and effect.hump.inside >= _TOLD:
        parts.append(hump_sentence(effect.factor, effect.hump, decimal=decimal))
    return " ".join(parts)


def effect_notes(effect: Effect) -> tuple[str, ...]:
    """Return what has to be known beside the number: averages over the range, and factors held in their middle."""
    notes = []
    if _is_averaged(effect):
        notes.append(sentence("effect.averaged", {"factors": effect.factor.name}))
    if effect.beside and effect.multiplier is not None:
        others = " and ".join(effect.beside)
        notes.append(sentence("effect.beside", {"factor": effect.factor.name, "others": others}))
    return tuple(notes)


def _is_averaged(effect: Effect) -> bool:
    return effect.is_known and effect.hump is not None and effect.hump.square_weight > 0


def hump_sentence(factor: Factor, hump: Hump, *, decimal: str = ".") -> str:
    """Say how likely a best value inside the range is, and where it lies; for an outer peak, that there is none."""
    said: dict[str, object] = {"probability": percent(hump.inside)}
    if hump.peak is None or hump.lower is None or hump.upper is None:
        return sentence("effect.hump_unlikely", said)
    peak, low, high = (
        Amount(float(f"{value:.2g}"), factor.unit).text(decimal=decimal)
        for value in (hump.peak, hump.lower, hump.upper)
    )
    said["peak"] = peak
    said["low"] = sentence("effect.or_less", {"value": low}) if hump.below_range else low
    said["high"] = sentence("effect.or_more", {"value": high}) if hump.above_range else high
    return sentence("effect.hump", said, decimal=decimal)


def effect_lines(effects: Sequence[Effect], *, may_wait: bool, decimal: str = ".") -> list[str]:
    """Return all effects as lines of text, a heading for each gate; untried levels stand together in one line."""
    lines: list[str] = []
    for gate in dict.fromkeys(effect.gate for effect in effects):
        lines.append(sentence(f"effect.heading_{gate}"))
        here = [effect for effect in effects if effect.gate == gate]
        told = [effect for effect in here if effect.is_known or effect.level is None]
        lines += [f"  {effect_sentence(effect, may_wait=may_wait, decimal=decimal)}" for effect in told]
        lines += [f"  {line}" for line in untried_lines(here)]
    return lines + note_lines(effects)


def note_lines(effects: Sequence[Effect]) -> list[str]:
    """Return the notes of all effects, each once, the averages over humps together."""
    averaged = dict.fromkeys(effect.factor.name for effect in effects if _is_averaged(effect))
    lines = [sentence("effect.averaged", {"factors": ", ".join(averaged)})] if averaged else []
    beside = {effect.factor.name: effect.beside for effect in effects if effect.beside and effect.is_known}
    lines += [
        sentence("effect.beside", {"factor": name, "others": " and ".join(others)})
        for name, others in beside.items()
    ]
    return lines


def untried_lines(effects: Sequence[Effect]) -> list[str]:
    """Return one line per choice that names the levels which the attempts of a gate never tried."""
    untried: dict[str, list[str]] = {}
    for effect in effects:
        if not effect.is_known and effect.level is not None:
            untried.setdefault(effect.factor.name, []).append(effect.level)
    return [
        sentence("effect.levels_untried", {"factor": name, "levels": ", ".join(levels)})
        for name, levels in untried.items()
    ]


def outcome_words(partly: str) -> dict[str, str]:
    """Name the three outcomes; ``partly`` is the setting that says where partly parted attempts count."""
    low = "outcomes.not_parted_at_all" if partly == "success" else "outcomes.not_parted"
    codes = {"not_parted": low, "beads": "outcomes.beads", "clean": "outcomes.clean"}
    return {name: sentence(code) for name, code in codes.items()}


def sign_certainty(multiplier: Multiplier) -> str:
    """Return how sure the sign is: "sure" from 95 %, "likely" from 80 %, else "unsure"."""
    if multiplier.prob_sign >= SURE:
        return "sure"
    return "likely" if multiplier.prob_sign >= LIKELY else "unsure"


def _which_way(effect: Effect, multiplier: Multiplier) -> str:
    better = sentence(_way(effect, multiplier.sign).code, _way(effect, multiplier.sign).params)
    said = {"probability": percent(multiplier.prob_sign), "better": better}
    return sentence(f"effect.certainty_{sign_certainty(multiplier)}", said)


def _way(effect: Effect, sign: int) -> Reason:
    """Return which way is better: a code and its parameters."""
    up = sign > 0
    if effect.step.kind == "level":
        if effect.against is None:
            return Reason("effect.above_average" if up else "effect.below_average", {"level": effect.level})
        best, worst = (effect.level, effect.against) if up else (effect.against, effect.level)
        return Reason("effect.better_than", {"level": best, "other": worst})
    kind = unit_kind(effect.factor.unit)
    if effect.is_exposure or kind == "time":
        return Reason("effect.longer" if up else "effect.shorter")
    if kind == "temperature":
        return Reason("effect.hotter" if up else "effect.cooler")
    if effect.factor.role is Role.DOSE:
        return Reason("effect.more" if up else "effect.less")
    return Reason("effect.higher" if up else "effect.lower")


def _unknown(effect: Effect) -> str:
    if effect.level is not None:
        return sentence("effect.level_untried", {"factor": effect.factor.name, "level": effect.level})
    code = "effect.no_attempts" if effect.n == 0 else "effect.never_varied"
    return sentence(code, {"factor": effect.factor.name, "gate": sentence(f"effect.gate_{effect.gate}")})
