"""Surprises, and why one attempt came out as it did, in words: for window, command line and scripts alike."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Value
from stirfall.bench.units import Amount, format_number
from stirfall.bench.units import Difference as AmountApart
from stirfall.reporting.effect_words import odds_factor
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import in_full, percent
from stirfall.session.surprises_found import (
    Compared,
    Difference,
    GateForetold,
    Near,
    Shift,
    Surprise,
    Surprises,
    Why,
)

# Where more attempts surprised than expected by this many standard deviations, the model misses something.
_MANY = 2.0
_ODDS_UP_TO = 0.4  # from there on "about 1 in 2" says less than the per cent


@dataclass(frozen=True)
class DifferenceRow:
    """One difference as a line of a table: what, this attempt, the other one, and what the model thinks of it.

    ``is_known`` is whether the model knows such a thing at all.
    """

    name: str
    here: str
    there: str
    apart: str
    thought: str
    is_known: bool = True


def gate_words(gate: str) -> str:
    """Name a gate within a sentence: "parting"."""
    return sentence(f"effect.gate_{gate}")


def gate_title(gate: str) -> str:
    """Name a gate as a heading: "Gate 1, parted"."""
    return sentence(f"why.gate_title_{gate}")


def verdict_line(why: Why) -> str:
    """Say which gate failed, or why that cannot be said."""
    return sentence(why.verdict.code, {**why.verdict.params, "number": why.number})


def seen_words(seen: bool | None) -> str:
    """Say what was seen at a gate."""
    return sentence("why.seen_not" if seen is None else "why.seen_yes" if seen else "why.seen_no")


def foretold_lines(why: Why, *, decimal: str = ".") -> list[str]:
    """Return what the others foretold of each gate against what was seen."""
    del decimal  # probabilities are whole per cent
    return [_foretold_line(each) for each in why.gates]


def _foretold_line(gate: GateForetold) -> str:
    said = {
        "gate": gate_title(gate.gate),
        "probability": in_full(gate.foretold),
        "seen": seen_words(gate.seen),
    }
    return sentence("why.foretold", said)


def band_words(surprise: Surprise) -> str:
    """Say how surprising: "A great surprise"."""
    return sentence(f"why.band_{surprise.band}")


def surprise_line(why: Why) -> str:
    """Say how surprising it was in words and numbers, or why nothing was foretold."""
    if why.surprise is None:
        reason = why.not_foretold or Reason("why.no_result")
        return sentence(reason.code, reason.params)
    share = why.surprise.share
    said = {"band": band_words(why.surprise), "probability": percent(share)}
    if share > _ODDS_UP_TO:
        return sentence("why.foreseen", said)
    return sentence("why.surprise", {**said, "odds": _one_in(share)})


def _one_in(share: float) -> str:
    return sentence("why.one_in", {"count": max(2, round(1.0 / max(share, 0.001)))})


def finding_line(why: Why) -> str:
    """Say what the comparison comes to."""
    params = dict(why.finding.params)
    if "names" in params:
        params["names"] = ", ".join(named(name, is_fact=is_fact) for name, is_fact in _pairs(params["names"]))
    return sentence(why.finding.code, params)


def _pairs(names: object) -> Iterator[tuple[str, bool]]:
    assert isinstance(names, tuple), "a finding names its differences in a tuple"
    yield from names


def known_already_line(why: Why) -> str:
    """Say of a surprise that the model knew the conditions; "" where it was none."""
    surprised = why.surprise is not None and why.surprise.band in ("great", "clear")
    return sentence("why.known_already") if surprised and why.compared is not None else ""


def direction_line(why: Why) -> str:
    """Say under-filmed or over-filmed where that can be said, or why nothing is; "" where nothing can."""
    if why.direction is None:
        return ""
    share = why.direction.params.get("probability")
    return sentence(why.direction.code, {} if not isinstance(share, float) else {"probability": percent(share)})


def near_lines(why: Why, *, decimal: str = ".") -> list[str]:
    """Return the nearest attempts that went the other way and the same way, a line each."""
    code = "why.near_clean" if why.finding.code == "why.beside_clean" else "why.near_other"
    told = ((code, why.other_way), ("why.near_same", why.same_way))
    return [
        sentence(each, {"attempts": "; ".join(_near(near, decimal) for near in found)})
        for each, found in told
        if found
    ]


def _near(near: Near, decimal: str) -> str:
    distance = format_number(near.distance, digits=2, decimal=decimal)
    return sentence("why.near", {"number": near.number, "outcome": near.outcome.value, "distance": distance})


def named(name: str, *, is_fact: bool) -> str:
    """Name a factor or a fact as people know it."""
    return sentence(f"fact.{name}") if is_fact else name


def difference_rows(compared: Compared, *, may_wait: bool = True, decimal: str = ".") -> tuple[DifferenceRow, ...]:
    """Return every difference as a row; ``may_wait`` is that of the operating limits."""
    return tuple(_row(each, may_wait=may_wait, decimal=decimal) for each in compared.differences)


def _row(difference: Difference, *, may_wait: bool, decimal: str) -> DifferenceRow:
    apart = ""
    if difference.difference is not None:
        apart = AmountApart(difference.difference, difference.unit).text(decimal=decimal)
    is_known = difference.shift is not None
    if difference.shift is not None:
        thought = shift_words(difference.shift, decimal=decimal)
    else:
        is_known = not difference.is_fact and not may_wait
        thought = sentence("why.shift_not_told") if is_known else ""
    here, there = (
        value_words(value, difference.unit, decimal=decimal) for value in (difference.here, difference.there)
    )
    if here == there and apart:
        here = f"{here} ({'+' if difference.difference and difference.difference > 0 else ''}{apart})"
    return DifferenceRow(
        named(difference.name, is_fact=difference.is_fact),
        here,
        there,
        apart,
        thought,
        is_known,
    )


def in_model_line(compared: Compared) -> str:
    """Say which odds the model thinks of."""
    return sentence("why.in_model", {"gate": gate_words(compared.gate)})


def value_words(value: Value | None, unit: str, *, decimal: str = ".") -> str:
    """Write a value with its unit, as people say it."""
    if value is None:
        return sentence("why.seen_not")
    return value if isinstance(value, str) else Amount(value, unit).text(decimal=decimal)


def shift_words(shift: Shift, *, decimal: str = ".") -> str:
    """Say what a difference does to the odds: "odds × 0.62 (0.19 to 2.0), lower with 79 %"."""
    lower = shift.prob_below >= 0.5
    said = {
        "factor": shift_factor(shift, decimal=decimal),
        "way": sentence("why.shift_lower" if lower else "why.shift_higher"),
        "probability": percent(max(shift.prob_below, 1.0 - shift.prob_below)),
    }
    return sentence("why.shift", said)


def shift_factor(shift: Shift, *, decimal: str = ".") -> str:
    """Write the odds factor of a shift with its interval: "0.62 (0.19 to 2.0)"."""
    middle, low, high = (
        odds_factor(math.exp(min(max(value, -60.0), 60.0)), decimal=decimal)
        for value in (shift.mean, shift.lower, shift.upper)
    )
    return f"{middle} ({low} to {high})"


def whole_line(why: Why, *, decimal: str = ".") -> str:
    """Say what all differences together do to the odds; "" where the model cannot say."""
    if why.compared is None or why.compared.whole is None:
        return ""
    shift = why.compared.whole
    said = {"gate": gate_words(shift.gate), "factor": shift_factor(shift, decimal=decimal)}
    return sentence("why.whole", said)


def unknown_line(why: Why, state: CampaignState) -> str:
    """Say what only one of the two has on record; "" where that is nothing."""
    if why.compared is None or not why.compared.unknown:
        return ""
    factors = {factor.name for factor in state.factors}
    names = ", ".join(named(name, is_fact=name not in factors) for name in why.compared.unknown)
    return sentence("why.not_recorded", {"names": names})


def waits_line(why: Why | Surprises) -> str:
    """Say what the refined answer will add, "" where this is it."""
    return sentence("why.waits_refined") if why.stage == "first" else ""


def why_lines(why: Why, state: CampaignState, *, may_wait: bool = True, decimal: str = ".") -> list[str]:
    """Return the whole answer as lines of text."""
    lines = [verdict_line(why), *foretold_lines(why), surprise_line(why), direction_line(why)]
    lines += [finding_line(why), known_already_line(why)]
    if why.compared is not None:
        lines.append(f"{in_model_line(why.compared)}:")
        unknown = sentence("why.shift_unknown")
        lines += [
            f"  {row.name}: {row.here}, there {row.there}; {row.thought or unknown}"
            for row in difference_rows(why.compared, may_wait=may_wait, decimal=decimal)
        ]
    lines += [whole_line(why, decimal=decimal), unknown_line(why, state)]
    lines += [*near_lines(why, decimal=decimal), waits_line(why)]
    return [line for line in lines if line]


def surprise_count_line(found: Surprises, *, decimal: str = ".") -> str:
    """Say how many attempts surprised, and how many would by chance."""
    if not found.judged:
        return sentence("why.none_judged")
    said = {
        "found": found.found,
        "judged": found.judged,
        "within": percent(found.within),
        "expected": format_number(found.expected, digits=2, decimal=decimal),
        "spread": format_number(found.expected_sd, digits=2, decimal=decimal),
    }
    many = found.found > found.expected + _MANY * found.expected_sd
    parts = [sentence("why.count", said), sentence("why.count_many" if many else "why.count_usual")]
    if found.of > found.judged:
        parts.append(sentence("why.newest", {"of": found.of}))
    return " ".join(parts)


def listed_words(surprise: Surprise) -> str:
    """Say one surprise in a line."""
    said = {
        "number": surprise.number,
        "outcome": surprise.outcome.value,
        "gate": gate_words(surprise.gate),
        "probability": in_full(surprise.foretold),
        "band": band_words(surprise),
    }
    return sentence("why.listed", said)


def surprise_lines(found: Surprises, *, decimal: str = ".", most: int = 10) -> list[str]:
    """Return the surprising attempts as lines of text, the most surprising first."""
    lines = [surprise_count_line(found, decimal=decimal)]
    lines += [listed_words(each) for each in _told(found.surprising, most)]
    if found.judged and not found.found:
        lines.append(sentence("why.none_surprised"))
    lines.append(waits_line(found))
    return [line for line in lines if line]


def _told(surprises: Sequence[Surprise], most: int) -> Sequence[Surprise]:
    return surprises[:most]
