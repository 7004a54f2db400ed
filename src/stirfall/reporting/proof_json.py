"""Proofs as JSON: plans with their chances, and how proofs stand; whole per cent stand in the texts only."""

from __future__ import annotations

from collections.abc import Iterable

from stirfall.bench.ages import stamp
from stirfall.bench.estimates import Estimate
from stirfall.planning.proof import CountPlan, ProofPlan, SequentialPlan
from stirfall.planning.proof_outlook import Outlook
from stirfall.reporting.proof_words import chance_lines, risk_lines, rule_line, standing_lines
from stirfall.reporting.sentences import sentence
from stirfall.session.proof_outlook import ProofChoices
from stirfall.session.proving import MarkedAttempt, ProofStanding

_RELIABILITIES = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.925, 0.95, 0.96, 0.97, 0.98, 0.99, 0.995)


def choices_json(choices: ProofChoices) -> dict[str, object]:
    """Return the plans for one recipe with their chances."""
    return {
        "recipe": dict(choices.recipe),
        "filled": list(choices.filled),
        "tolerances": dict(choices.tolerances),
        "lots": list(choices.lots),
        "averaged_over_control": choices.held,
        "plans": [outlook_json(each) for each in choices.outlooks],
    }


def outlook_json(outlook: Outlook) -> dict[str, object]:
    """Return a plan with what to expect of it."""
    return {**plan_json(outlook.plan), **expected_json(outlook)}


def expected_json(outlook: Outlook) -> dict[str, object]:
    """Return what to expect of a proof from a point on."""
    return {
        "chance": _estimate(outlook.chance),
        "reliability": _estimate(outlook.reliability),
        "expected_attempts": outlook.attempts,
        "claim_holds": outlook.true,
        "improve_first": outlook.improve_first,
        "chance_text": list(chance_lines(outlook)),
    }


def plan_json(plan: ProofPlan) -> dict[str, object]:
    """Return a rule with its exact risks."""
    common: dict[str, object] = {
        "rule": plan.rule.value,
        "claim": plan.claim,
        "confidence": plan.confidence,
        "attempts": plan.attempts,
        "failures_allowed": plan.failures_allowed if isinstance(plan, CountPlan) else None,
        "false_pass": plan.false_pass,
        "expected_at_claim": float(plan.expected_attempts(plan.claim)),
        "characteristic": _characteristic(plan),
        "text": [rule_line(plan), *risk_lines(plan)],
    }
    return common | (_sequence_json(plan) if isinstance(plan, SequentialPlan) else {"sequence": None})


def _characteristic(plan: ProofPlan) -> list[dict[str, object]]:
    """Return what the plan does at some true reliabilities: the chance to be shown, and the attempts to expect."""
    chances, expected = plan.chance_to_show(_RELIABILITIES), plan.expected_attempts(_RELIABILITIES)
    return [
        {"reliability": true, "chance": float(chance), "expected_attempts": float(attempts)}
        for true, chance, attempts in zip(_RELIABILITIES, chances, expected, strict=True)
    ]


def _sequence_json(plan: SequentialPlan) -> dict[str, object]:
    return {
        "sequence": {
            "good": plan.good,
            "risk_of_missing": plan.risk_of_missing,
            "missing": plan.missing,
            "fewest": plan.fewest,
            "expected_at_good": float(plan.expected_attempts(plan.good)),
            "slope": plan.lines.slope,
            "shown_line": plan.lines.shown,
            "not_shown_line": plan.lines.refused,
            "line_moved": plan.moved,
        }
    }


def standing_json(standing: ProofStanding) -> dict[str, object]:
    """Return how a proof stands, with each marked attempt."""
    proof, found = standing.proof, standing.interval
    return {
        "id": proof.id,
        "title": proof.title,
        "started_at": stamp(proof.started_at),
        "ended_at": None if proof.ended_at is None else stamp(proof.ended_at),
        "end_reason": proof.end_reason,
        "recipe": dict(proof.recipe),
        "tolerances": dict(proof.tolerances),
        "plan": plan_json(standing.plan),
        "verdict": standing.verdict.value,
        "made": standing.made,
        "clean": standing.clean,
        "failures": standing.failures,
        "remaining": standing.remaining,
        "shown_after": standing.shown_after,
        "path": [list(point) for point in standing.path],
        "interval": None
        if found is None
        else {
            "lower_bound": found.lower,
            "lower": found.low,
            "upper": found.high,
            "level": found.confidence,
            "n": found.n,
            "is_result": found.is_result,
        },
        "withdrawn": standing.withdrawn,
        "unmarked": [attempt.number for attempt in standing.unmarked],
        "marked": [_marked(each) for each in standing.marked],
        "text": list(standing_lines(standing)),
    }


def standings_json(standings: Iterable[ProofStanding]) -> list[dict[str, object]]:
    """Return how several proofs stand."""
    return [standing_json(each) for each in standings]


def _marked(marked: MarkedAttempt) -> dict[str, object]:
    reason = marked.left_out or marked.remark
    return {
        "id": marked.attempt.id,
        "number": marked.attempt.number,
        "place": marked.place,
        "failed": marked.failed,
        "code": None if reason is None else reason.code,
        "text": "" if reason is None else sentence(reason.code, reason.params),
    }


def _estimate(estimate: Estimate) -> dict[str, object]:
    return {
        "mean": estimate.mean,
        "lower": estimate.lower,
        "upper": estimate.upper,
        "level": estimate.level,
        "n": estimate.n,
    }
