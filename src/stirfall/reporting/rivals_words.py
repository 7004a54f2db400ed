"""The rival explanations in words: for window, command line and scripts alike."""

from __future__ import annotations

import math
from collections.abc import Sequence

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.records import find_factor
from stirfall.bench.units import Difference, format_number
from stirfall.reporting.effect_words import odds_factor
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, in_full, percent
from stirfall.reporting.why_words import gate_title, value_words
from stirfall.session.rivals_found import Confounded, Evidence, Pair, PairSide, Rival

# From this share of a term's scatter on it is said how much it went along with other conditions.
_SHARED_SAID = 0.5
_FARTHEST = 60.0


def title(rival: Rival) -> str:
    """Name an explanation: "A film on the metal"."""
    return sentence(f"rivals.title_{rival.key}")


def title_of(key: str) -> str:
    """Name an explanation by its key."""
    return sentence(f"rivals.title_{key}")


def foretells_line(rival: Rival) -> str:
    """Say what an explanation foretells."""
    return sentence(rival.foretells.code)


def verdict_line(rival: Rival, *, decimal: str = ".") -> str:
    """Say what the attempts say of it so far, with the Bayes factor in words."""
    code = f"rivals.verdict_{rival.verdict}"
    if rival.factor is None:
        return sentence(code)
    if rival.verdict == "cannot_tell":
        if rival.entangled is not None or all(each.is_inseparable for each in rival.evidence):
            return sentence(code)
        code = "rivals.verdict_cannot_tell_factor"
    return sentence(code, {"factor": factor_words(rival.factor, decimal=decimal)})


def factor_words(factor: float, *, decimal: str = ".") -> str:
    """Write a Bayes factor: "what was seen is 7 times as likely with it as without it"."""
    size = max(factor, 1.0 / factor)
    if size < 1.15:
        return sentence("rivals.no_odds")
    times = odds_factor(min(size, 1000.0), decimal=decimal) if size < 1000.0 else "1000"
    return sentence("rivals.times_likelier" if factor > 1.0 else "rivals.times_less", {"times": times})


def evidence_line(evidence: Evidence, *, decimal: str = ".") -> str:
    """Write one number with its interval, what was foretold, and what it rests on."""
    gate = gate_title(evidence.gate)
    if evidence.step.kind == "level" and not evidence.level:
        return sentence(
            "rivals.evidence_lots",
            {
                "gate": gate,
                "what": evidence.term,
                "factor": _span(evidence, decimal),
                "times": sentence("rivals.as_likely", {"times": odds_factor(evidence.factor, decimal=decimal)}),
                "n": counted(evidence.n),
            },
        )
    said = {
        "gate": gate,
        "step": step_words(evidence, decimal=decimal),
        "factor": _span(evidence, decimal),
        "foretold": sentence(f"rivals.foretold_{evidence.foretold}"),
        "probability": sentence(
            f"rivals.prob_{evidence.foretold}", {"probability": percent(evidence.prob_foretold)}
        ),
        "n": counted(evidence.n),
    }
    return sentence("rivals.evidence", said)


def _span(evidence: Evidence, decimal: str) -> str:
    middle, low, high = (
        odds_factor(math.exp(min(max(value, -_FARTHEST), _FARTHEST)), decimal=decimal)
        for value in (evidence.mean, evidence.lower, evidence.upper)
    )
    return f"{middle} ({low} to {high})"


def step_words(evidence: Evidence, *, decimal: str = ".") -> str:
    """Name the step that an effect is told for: "each doubling of film index"."""
    step, term = evidence.step, evidence.term
    if step.kind == "level":
        return sentence("rivals.step_level", {"term": term, "level": evidence.level})
    if step.kind == "ratio":
        if step.size == 2.0:
            return sentence("rivals.step_doubling", {"term": term})
        return sentence("rivals.step_ratio", {"term": term, "ratio": step.size}, decimal=decimal)
    if not evidence.unit:
        return sentence("rivals.step_count", {"term": term, "count": step.size}, decimal=decimal)
    amount = Difference(step.size, evidence.unit)
    return sentence("rivals.step_amount", {"term": term, "amount": amount}, decimal=decimal)


def shared_line(evidence: Evidence) -> str:
    """Say how far a term went along with the other conditions; "" where that is little."""
    if not evidence.followed or evidence.shared < _SHARED_SAID:
        return ""
    said = {"term": evidence.term, "followed": evidence.followed, "share": percent(evidence.shared)}
    return sentence("rivals.inseparable" if evidence.is_inseparable else "rivals.shared", said)


def confounded_line(confounded: Confounded, *, decimal: str = ".") -> str:
    """Say how far time under oil moved with the calendar or with practice."""
    most = confounded.correlation.strongest
    if most is None or most.lower is None or most.upper is None:
        return ""
    ends = (most.value, most.lower, most.upper)
    written = [format_number(round(value, 2), digits=2, decimal=decimal) for value in ends]
    said = {
        "value": written[0],
        "low": written[1],
        "high": written[2],
        "n": counted(confounded.correlation.n),
    }
    return sentence(f"rivals.confounded_{confounded.against}", said)


def doubt_lines(rival: Rival, *, decimal: str = ".") -> list[str]:
    """Return what the numbers lean on, what is shared, what moved with what, and what is not recorded."""
    lines = [_said(reason) for reason in (rival.entangled, *rival.cautions) if reason is not None]
    for term in dict.fromkeys(each.term for each in rival.evidence):
        most = max((each for each in rival.evidence if each.term == term), key=lambda each: each.shared)
        lines += [line] if (line := shared_line(most)) else []
    lines += [line for each in rival.confounded if (line := confounded_line(each, decimal=decimal))]
    return lines + [_said(reason) for reason in rival.unknown]


def _said(reason: Reason, decimal: str = ".") -> str:
    return sentence(reason.code, reason.params, decimal=decimal)


def pair_title(rival: Rival) -> str:
    """Say what the pair is for."""
    return sentence("rivals.pair_title", {"rival": title_of(rival.nearest)})


def values_of_side(side: PairSide, state: CampaignState, *, decimal: str = ".") -> tuple[tuple[str, str], ...]:
    """Return all conditions of one side as pairs of name and value."""
    return conditions_words(side.conditions, state, decimal=decimal)


def conditions_words(
    conditions: Conditions, state: CampaignState, *, decimal: str = "."
) -> tuple[tuple[str, str], ...]:
    """Return conditions as pairs of name and value, in the order of the form."""
    names = [factor.name for factor in state.factors if factor.name in conditions]
    return tuple(
        (name, value_words(conditions[name], find_factor(state.factors, name).unit, decimal=decimal))
        for name in names
    )


def jar_line(side: PairSide, *, decimal: str = ".") -> str:
    """Say which jar, or how it has to be started, and how likely a clean separation is there."""
    if side.jar_id is not None:
        parts = [sentence("rivals.side_jar", {"jar": side.jar_id, "lot": side.lot_id})]
        parts += [_said(reason, decimal) for reason in side.jar_words]
    else:
        parts = [_said(reason, decimal) for reason in side.jar_words]
        any_lot = side.lot_id is None
        parts.append(sentence("rivals.side_any_lot" if any_lot else "rivals.side_lot", {"lot": side.lot_id}))
    if side.estimate is not None:
        parts.append(sentence("rivals.side_odds", {"probability": in_full(side.estimate)}))
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."


def pair_lines(pair: Pair, state: CampaignState, *, decimal: str = ".") -> list[str]:
    """Return the pair as lines of text: both sides in full, how it is done, and what each explanation foretells."""
    lines = []
    for place, side in (("rivals.first", pair.first), ("rivals.second", pair.second)):
        values = ", ".join(f"{name} {text}" for name, text in values_of_side(side, state, decimal=decimal))
        lines.append(sentence("rivals.side", {"place": sentence(place), "values": values}))
        lines.append(jar_line(side, decimal=decimal))
    return [*lines, *rule_lines(pair), *told_lines(pair, decimal=decimal)]


def rule_lines(pair: Pair) -> list[str]:
    """Return how a pair is done."""
    return [_said(reason) for reason in pair.rules]


def told_lines(pair: Pair, *, decimal: str = ".") -> list[str]:
    """Return what each explanation foretells of a pair, and how far the films of its jars differ."""
    lines = [_said(reason) for reason in pair.told]
    if pair.film_ratio is not None:
        times = format_number(pair.film_ratio, digits=2, decimal=decimal)
        lines.append(sentence("rivals.film_ratio", {"times": times}))
    return lines


def rival_lines(rival: Rival, state: CampaignState, *, decimal: str = ".") -> list[str]:
    """Return one explanation as lines of text."""
    lines = [title(rival), foretells_line(rival), verdict_line(rival, decimal=decimal)]
    lines += [evidence_line(each, decimal=decimal) for each in rival.evidence]
    lines += doubt_lines(rival, decimal=decimal)
    if rival.pair is not None:
        lines += [f"{pair_title(rival)}:", *pair_lines(rival.pair, state, decimal=decimal)]
    elif rival.no_pair is not None:
        lines.append(_said(rival.no_pair))
    return [lines[0], *(f"  {line}" for line in lines[1:])]


def rivals_lines(rivals: Sequence[Rival], state: CampaignState, *, decimal: str = ".") -> list[str]:
    """Return all explanations as lines of text, with what holds for all of them first."""
    lines = [sentence("rivals.hypothesis")]
    for rival in rivals:
        lines += ["", *rival_lines(rival, state, decimal=decimal)]
    return lines
