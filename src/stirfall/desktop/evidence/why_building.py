"""From an answer to the state of the section "Why"; pure."""

from __future__ import annotations

from stirfall.desktop.evidence.why_asking import Answer
from stirfall.desktop.evidence.why_state import CompareLine, GateLine, WhyState
from stirfall.desktop.odds.marks import LANE_WORDS
from stirfall.desktop.plan.tonight_rows import chance_of
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent
from stirfall.reporting.why_words import (
    difference_rows,
    direction_line,
    finding_line,
    gate_title,
    in_model_line,
    known_already_line,
    near_lines,
    seen_words,
    surprise_count_line,
    surprise_line,
    unknown_line,
    verdict_line,
    waits_line,
    whole_line,
)
from stirfall.session.surprises_found import Compared, Surprise, Why

_SEEN = {True: "✔", False: "✘", None: "—"}
_MOST_LISTED = 12


def build_state(answer: Answer, *, decimal: str) -> WhyState:
    """Return what the section shows of an answer."""
    found, why = answer.surprises, answer.why
    surprising = found.surprising[:_MOST_LISTED]
    base = WhyState(
        count=surprise_count_line(found, decimal=decimal),
        listed=tuple((each.attempt_id, listed_words(each)) for each in surprising),
        waits=waits_line(found),
    )
    return base if why is None else _answered(base, answer, why, decimal)


def listed_words(surprise: Surprise) -> str:
    """Name a surprise on its button: its number, what came out, and how likely the others held that."""
    word = LANE_WORDS.get(surprise.outcome, surprise.outcome.value)
    return f"{surprise.number} {word}, {percent(surprise.share)}"


def _answered(base: WhyState, answer: Answer, why: Why, decimal: str) -> WhyState:
    state, may_wait = answer.analysis.state, answer.analysis.limits.may_wait
    compared = why.compared
    return WhyState(
        count=base.count,
        listed=base.listed,
        waits=base.waits,
        chosen=why.attempt_id,
        number=str(why.number),
        title=f"Attempt {why.number}, {why.outcome.value}",
        verdict=verdict_line(why),
        gates=tuple(
            GateLine(gate_title(each.gate), _SEEN[each.seen], seen_words(each.seen), chance_of(each.foretold))
            for each in why.gates
        ),
        surprise=surprise_line(why),
        direction=direction_line(why),
        finding=finding_line(why),
        known_already=known_already_line(why),
        here=f"Attempt {why.number}",
        there="" if compared is None else f"Attempt {compared.other.number}",
        lines=() if compared is None else _lines(compared, decimal, may_wait=may_wait),
        whole=whole_line(why, decimal=decimal),
        unknown=unknown_line(why, state),
        near=tuple(near_lines(why, decimal=decimal)),
    )


def _lines(compared: Compared, decimal: str, *, may_wait: bool) -> tuple[CompareLine, ...]:
    """Return the differences, those that the model knows first, each part under its heading."""
    rows = difference_rows(compared, may_wait=may_wait, decimal=decimal)
    known = [CompareLine(row.name, row.here, row.there, row.thought) for row in rows if row.is_known]
    others = [CompareLine(row.name, row.here, row.there, row.thought) for row in rows if not row.is_known]
    lines = [CompareLine(in_model_line(compared), is_heading=True), *known] if known else []
    if others:
        lines += [CompareLine(sentence("why.not_in_model"), is_heading=True), *others]
    return tuple(lines)
