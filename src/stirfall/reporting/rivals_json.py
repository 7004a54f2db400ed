"""The rival explanations as JSON has them; effects on the log odds, shares and probabilities from 0 to 1."""

from __future__ import annotations

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.inference.confounding import Interval
from stirfall.reporting.rivals_words import (
    doubt_lines,
    evidence_line,
    foretells_line,
    jar_line,
    pair_lines,
    title,
    verdict_line,
)
from stirfall.reporting.sentences import sentence
from stirfall.session.rivals_found import Confounded, Evidence, Pair, PairSide, Rival


def rival_json(rival: Rival, state: CampaignState) -> dict[str, object]:
    """Return one explanation."""
    return {
        "key": rival.key,
        "title": title(rival),
        "foretells": foretells_line(rival),
        "verdict": {"code": rival.verdict, "text": verdict_line(rival)},
        "bayes_factor": rival.factor,
        "n": rival.n,
        "evidence": [_evidence(each) for each in rival.evidence],
        "confounded": [_confounded(each) for each in rival.confounded],
        "doubts": doubt_lines(rival),
        "nearest_rival": rival.nearest,
        "pair": None if rival.pair is None else _pair(rival.pair, state),
        "no_pair": None if rival.no_pair is None else _reason(rival.no_pair),
    }


def _evidence(evidence: Evidence) -> dict[str, object]:
    return {
        "gate": evidence.gate,
        "term": evidence.term,
        "unit": evidence.unit,
        "step": {"kind": evidence.step.kind, "size": evidence.step.size},
        "level_of_choice": evidence.level,
        "mean": evidence.mean,
        "lower": evidence.lower,
        "upper": evidence.upper,
        "level": evidence.interval,
        "foretold": evidence.foretold,
        "prob_foretold": evidence.prob_foretold,
        "bayes_factor": evidence.factor,
        "n": evidence.n,
        "shared": evidence.shared,
        "followed": evidence.followed,
        "text": evidence_line(evidence),
    }


def _confounded(confounded: Confounded) -> dict[str, object]:
    most = confounded.correlation.strongest
    return {
        "term": confounded.term,
        "against": confounded.against,
        "correlation": None if most is None else _interval(most),
        "n": confounded.correlation.n,
    }


def _interval(interval: Interval) -> dict[str, object]:
    return {"value": interval.value, "lower": interval.lower, "upper": interval.upper}


def _pair(pair: Pair, state: CampaignState) -> dict[str, object]:
    return {
        "kind": pair.kind,
        "against": pair.against,
        "first": _side(pair.first),
        "second": _side(pair.second),
        "film_ratio": pair.film_ratio,
        "text": pair_lines(pair, state),
    }


def _side(side: PairSide) -> dict[str, object]:
    estimate = side.estimate
    return {
        "conditions": dict(side.conditions),
        "jar": side.jar_id,
        "lot": side.lot_id,
        "jar_words": jar_line(side),
        "probability": None
        if estimate is None
        else {
            "mean": estimate.mean,
            "lower": estimate.lower,
            "upper": estimate.upper,
            "level": estimate.level,
            "n": estimate.n,
        },
    }


def _reason(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": sentence(reason.code, reason.params)}
