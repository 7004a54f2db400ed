"""Surprises and answers to "why" as JSON has them; values in the units of the factors, shares from 0 to 1."""

from __future__ import annotations

from stirfall.bench.estimates import Estimate, Reason
from stirfall.reporting.sentences import sentence
from stirfall.reporting.why_words import direction_line, finding_line, listed_words, surprise_line, verdict_line
from stirfall.session.surprises_found import Compared, Difference, Near, Shift, Surprise, Surprises, Why


def surprises_json(found: Surprises) -> dict[str, object]:
    """Return the surprises; ``within`` is the share up to which an attempt counts as one."""
    return {
        "stage": found.stage,
        "judged": found.judged,
        "of": found.of,
        "within": found.within,
        "found": found.found,
        "expected_by_chance": found.expected,
        "expected_sd": found.expected_sd,
        "surprises": [surprise_json(each) for each in found.surprising],
    }


def surprise_json(surprise: Surprise) -> dict[str, object]:
    """Return one surprise."""
    return {
        "attempt": surprise.attempt_id,
        "number": surprise.number,
        "outcome": surprise.outcome.value,
        "gate": surprise.gate,
        "passed": surprise.passed,
        "foretold": _estimate(surprise.foretold),
        "share": surprise.share,
        "band": surprise.band,
        "text": listed_words(surprise),
    }


def why_json(why: Why) -> dict[str, object]:
    """Return the whole answer about one attempt."""
    return {
        "attempt": why.attempt_id,
        "number": why.number,
        "outcome": why.outcome.value,
        "stage": why.stage,
        "gate": why.gate,
        "verdict": {"code": why.verdict.code, "text": verdict_line(why)},
        "clean": None if why.clean is None else _estimate(why.clean),
        "gates": [
            {"gate": each.gate, "foretold": _estimate(each.foretold), "seen": each.seen} for each in why.gates
        ],
        "surprise": None
        if why.surprise is None
        else {"share": why.surprise.share, "band": why.surprise.band, "text": surprise_line(why)},
        "not_foretold": None if why.not_foretold is None else _reason(why.not_foretold),
        "other_way": [_near(each) for each in why.other_way],
        "same_way": [_near(each) for each in why.same_way],
        "compared": None if why.compared is None else _compared(why.compared),
        "finding": {"code": why.finding.code, "text": finding_line(why)},
        "direction": None if why.direction is None else {"code": why.direction.code, "text": direction_line(why)},
    }


def _reason(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": sentence(reason.code, reason.params)}


def _near(near: Near) -> dict[str, object]:
    return {
        "attempt": near.attempt_id,
        "number": near.number,
        "outcome": near.outcome.value,
        "distance": near.distance,
        "known": near.known,
    }


def _compared(compared: Compared) -> dict[str, object]:
    return {
        "attempt": compared.other.attempt_id,
        "number": compared.other.number,
        "gate": compared.gate,
        "differences": [_difference(each) for each in compared.differences],
        "whole": None if compared.whole is None else _shift(compared.whole),
        "unknown": list(compared.unknown),
    }


def _difference(difference: Difference) -> dict[str, object]:
    return {
        "name": difference.name,
        "is_fact": difference.is_fact,
        "unit": difference.unit,
        "here": difference.here,
        "there": difference.there,
        "difference": difference.difference,
        "share": difference.share,
        "log_odds": None if difference.shift is None else _shift(difference.shift),
    }


def _shift(shift: Shift) -> dict[str, object]:
    return {
        "gate": shift.gate,
        "mean": shift.mean,
        "lower": shift.lower,
        "upper": shift.upper,
        "level": shift.level,
        "prob_below": shift.prob_below,
        "n": shift.n,
    }


def _estimate(estimate: Estimate) -> dict[str, object]:
    return {
        "mean": estimate.mean,
        "lower": estimate.lower,
        "upper": estimate.upper,
        "level": estimate.level,
        "n": estimate.n,
    }
