"""Proofs in words: the rule, the chance, how it stands, and what may be said at its end.

Whole per cent only: lower bounds are rounded down, upper ones up, so that no word promises more than was shown.
"""

from __future__ import annotations

import math

from stirfall.bench.estimates import whole_percent
from stirfall.planning.proof import CountPlan, ProofPlan, SequentialPlan, Verdict
from stirfall.planning.proof_outlook import Outlook
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, counted, interval, level_percent, percent
from stirfall.session.proving import ProofInterval, ProofStanding, has_failed

# A bound that rounding alone keeps below a whole per cent is that per cent.
_ROUNDING = 1e-6
_ALL = 100


def floor_percent(share: float) -> int:
    """Return a lower bound in whole per cent, rounded down, from 0 to 99."""
    return min(max(math.floor(100.0 * share + _ROUNDING), 0), 99)


def ceiling_percent(share: float) -> int:
    """Return an upper bound in whole per cent, rounded up, from 1 to 100."""
    return min(max(math.ceil(100.0 * share - _ROUNDING), 1), 100)


def rule_line(plan: ProofPlan, *, decimal: str = ".") -> str:
    """Say what a plan asks for, in one sentence."""
    asked = {
        "claim": 100.0 * plan.claim,
        "confidence": 100.0 * plan.confidence,
        "attempts": counted(plan.attempts),
    }
    if isinstance(plan, CountPlan):
        if plan.failures_allowed == 0:
            return sentence("proof.rule_clean", asked, decimal=decimal)
        allowed = {**asked, "failures": plan.failures_allowed}
        return sentence("proof.rule_count", allowed, decimal=decimal)
    return sentence("proof.rule_sequence", {**asked, "fewest": plan.fewest or plan.attempts}, decimal=decimal)


def risk_lines(plan: ProofPlan, *, decimal: str = ".") -> tuple[str, ...]:
    """Say what a plan risks: exact chances, and where they are not what was asked for."""
    lines = [sentence("proof.false_pass", {"claim": 100.0 * plan.claim, "risk": percent(plan.false_pass)})]
    if isinstance(plan, SequentialPlan):
        params = {
            "good": 100.0 * plan.good,
            "risk": percent(plan.missing),
            "at_good": round(float(plan.expected_attempts(plan.good))),
            "at_claim": round(float(plan.expected_attempts(plan.claim))),
        }
        lines.append(sentence("proof.missing", params, decimal=decimal))
        if whole_percent(plan.missing) > whole_percent(plan.risk_of_missing):
            lines.append(sentence("proof.missing_more", {"asked": percent(plan.risk_of_missing)}, decimal=decimal))
        if plan.moved:
            lines.append(sentence("proof.line_moved", {}, decimal=decimal))
    return tuple(lines)


def chance_lines(outlook: Outlook, *, decimal: str = ".") -> tuple[str, ...]:
    """Say how likely a proof succeeds, from its start or from where it stands, and when to improve first."""
    code = "proof.chance_now" if outlook.made == 0 else "proof.chance_from_here"
    params = {
        "chance": percent(outlook.chance.mean),
        "spread": interval(outlook.chance),
        "basis": basis(outlook.chance),
        "attempts": counted(max(round(outlook.attempts), 1)),
    }
    lines = [sentence(code, params, decimal=decimal)]
    if outlook.improve_first:
        lines.append(sentence("proof.improve_first" if outlook.made == 0 else "proof.likely_fails", {}))
    return tuple(lines)


def verdict_line(standing: ProofStanding, *, decimal: str = ".") -> str:
    """Say how a proof stands, or how it ended, with its interval."""
    words = {
        Verdict.OPEN: _open,
        Verdict.SHOWN: _shown,
        Verdict.NOT_SHOWN: _not_shown,
        Verdict.GIVEN_UP: _given_up,
    }
    return words[standing.verdict](standing, decimal)


def interval_line(found: ProofInterval | None, *, decimal: str = ".") -> str:
    """Write the interval from both sides, and say where it is not the result of a proof; empty without attempts."""
    if found is None:
        return ""
    code = "proof.interval" if found.is_result else "proof.interval_open"
    return sentence(code, _interval_params(found), decimal=decimal)


def remark_lines(standing: ProofStanding, *, decimal: str = ".") -> tuple[str, ...]:
    """Name the attempts that do not count, and those that were corrected or aborted, with the reason.

    What came after the end, or waits, is told in one line each, with the failures in it.
    """
    lines, told = [], set()
    for code, of_many in (("proof.after_the_end", "proof.many_after"), ("proof.waits", "proof.many_wait")):
        alike = [each for each in standing.marked if each.left_out is not None and each.left_out.code == code]
        if len(alike) > 1:
            failed = sum(each.failed for each in alike)
            params = {
                "first": alike[0].attempt.number,
                "last": alike[-1].attempt.number,
                "failed": failed or "none",
            }
            lines.append(sentence(of_many, {"count": len(alike), **params}, decimal=decimal))
            told.add(code)
    reasons = [each.left_out or each.remark for each in standing.marked]
    apart = [each for each in reasons if each is not None and each.code not in told]
    if standing.withdrawn:
        lines.append(sentence("proof.taken_back", {"attempts": counted(standing.withdrawn)}, decimal=decimal))
    if standing.unmarked:
        failed = sum(has_failed(each) for each in standing.unmarked)
        params = {"attempts": counted(len(standing.unmarked)), "failed": failed or "none"}
        lines.append(sentence("proof.unmarked", params, decimal=decimal))
    return (*(sentence(each.code, each.params, decimal=decimal) for each in apart), *lines)


def standing_lines(standing: ProofStanding, *, decimal: str = ".") -> tuple[str, ...]:
    """Say all of it: how it stands, the interval where it was not told yet, and what attempts need a word."""
    told = standing.verdict is Verdict.NOT_SHOWN
    both_sides = "" if told else interval_line(standing.interval, decimal=decimal)
    lines = (verdict_line(standing, decimal=decimal), both_sides)
    return (*(line for line in lines if line), *remark_lines(standing, decimal=decimal))


def _open(standing: ProofStanding, decimal: str) -> str:
    params = {**_counts(standing), "attempts": standing.plan.attempts, "left": standing.remaining}
    if isinstance(standing.plan, CountPlan):
        return sentence("proof.open_count", {**params, "spare": standing.spare or "none"}, decimal=decimal)
    ahead = standing.shown_after
    if ahead is None:
        return sentence("proof.open_hopeless", params, decimal=decimal)
    return sentence("proof.open_sequence", {**params, "ahead": counted(ahead, "further attempt")}, decimal=decimal)


def _shown(standing: ProofStanding, decimal: str) -> str:
    return sentence("proof.shown", {**_counts(standing), **_bounds(standing)}, decimal=decimal)


def _not_shown(standing: ProofStanding, decimal: str) -> str:
    params = {**_counts(standing), **_bounds(standing)}
    if isinstance(standing.plan, CountPlan):
        allowed = standing.plan.failures_allowed or "none"
        return sentence("proof.not_shown_count", {**params, "allowed": allowed}, decimal=decimal)
    crossed = standing.failures >= standing.plan.refused_at[standing.made]
    return sentence("proof.not_shown_line" if crossed else "proof.not_shown_cut", params, decimal=decimal)


def _given_up(standing: ProofStanding, decimal: str) -> str:
    params = {**_counts(standing), "reason": standing.proof.end_reason}
    code = "proof.given_up" if standing.made else "proof.given_up_unused"
    return sentence(code, params, decimal=decimal)


def _counts(standing: ProofStanding) -> dict[str, object]:
    return {
        "claim": 100.0 * standing.plan.claim,
        "confidence": 100.0 * standing.plan.confidence,
        "made": counted(standing.made),
        "n": standing.made,
        "clean": standing.clean,
        "failures": standing.failures,
    }


def _bounds(standing: ProofStanding) -> dict[str, object]:
    assert standing.interval is not None, "a proof that ended has attempts"
    return {"lower": floor_percent(standing.interval.lower), **_interval_params(standing.interval)}


def _interval_params(found: ProofInterval) -> dict[str, object]:
    low, high = floor_percent(found.low), ceiling_percent(found.high)
    top = "above 99" if high == _ALL else str(high)
    return {
        "span": f"{low} to {top}" if low else f"at most {top}",
        "level": level_percent(found.confidence),
        "n": found.n,
    }
