"""Comparisons as JSON: shares from 0 to 1, numbers in their unit, differences first less second, texts finished."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.ages import stamp
from stirfall.bench.comparisons import Comparison, Group
from stirfall.bench.estimates import Reason
from stirfall.inference.proportions import Chances, Span, Stratified
from stirfall.inference.two_means import Permuted
from stirfall.reporting import compare_words as words
from stirfall.reporting.sentences import sentence
from stirfall.session.comparing_records import (
    Adjusted,
    BlockedMeans,
    Compared,
    Kept,
    Many,
    Needed,
    Side,
    Subject,
)


def compared_json(found: Compared) -> dict[str, object]:
    """Return a comparison with everything that was worked out; null is unknown or not possible."""
    return {
        "measure": found.measure.value,
        "unit": found.unit,
        "basis": found.basis,
        "level": found.level,
        "verdict": found.verdict,
        "headline": words.headline(found),
        "about_waiting": found.no_wait,
        "warnings": [_reason(each) for each in found.warnings],
        "first": _side(found.first),
        "second": _side(found.second),
        "difference": _difference(found),
        "tests": _tests(found),
        "probability_first_higher": found.probability,
        "within_lots": _blocked(found),
        "all_else_alike": _adjusted(found),
        "cannot_tell": _cannot_tell(found),
        "comparisons": None if found.many is None else _many(found.many),
        "notes": [_reason(each) for each in found.notes],
        "text": list(words.all_lines(found)),
    }


def subjects_json(subjects: Sequence[Subject]) -> list[dict[str, object]]:
    """Return what groups can be about."""
    return [
        {
            "what": each.what,
            "kind": each.kind,
            "name": each.name,
            "attempts": each.attempts,
            "levels": [{"level": level.value, "attempts": level.attempts} for level in each.levels],
            "low": each.low,
            "high": each.high,
            "unit": each.unit,
        }
        for each in subjects
    ]


def group_json(group: Group) -> dict[str, object]:
    """Return who belongs to a group; what does not apply is null or empty."""
    return {
        "what": group.what,
        "level": group.level,
        "low": group.low,
        "high": group.high,
        "since": None if group.since is None else stamp(group.since),
        "until": None if group.until is None else stamp(group.until),
        "attempts": list(group.attempts),
    }


def _side(side: Side) -> dict[str, object]:
    return {
        "name": words.name_of(side),
        "group": group_json(side.group),
        "k": side.k if side.share is not None else None,
        "n": side.n,
        "share": _span(side.share),
        "mean": _span(side.mean),
        "sd": side.sd,
        "attempts": [
            {"id": dot.attempt_id, "number": dot.number, "value": dot.value, "trials": dot.trials}
            for dot in side.dots
        ],
        "left_out": {name: getattr(side.left_out, name) for name in ("struck", "aborted", "unknown", "shared")},
    }


def _difference(found: Compared) -> dict[str, object] | None:
    if found.shares is not None:
        return {
            "hybrid": _span(found.shares.hybrid),
            "score": _span(found.shares.score),
            "posterior": _span(found.shares.better.difference),
        }
    if found.means is None:
        return None
    larger = found.means.larger
    return {"welch": _span(found.means.welch), "posterior": None if larger is None else _span(larger.difference)}


def _tests(found: Compared) -> dict[str, object] | None:
    if found.shares is not None:
        return {name: _chances(getattr(found.shares, name)) for name in ("boschloo", "barnard", "fisher")}
    return None if found.means is None else {"permutation": _permuted(found.means.permuted)}


def _chances(chances: Chances) -> dict[str, object]:
    return {
        "two_sided": chances.two_sided,
        "first_higher": chances.greater,
        "second_higher": chances.less,
        "statistic": chances.statistic,
        "method": chances.method,
    }


def _permuted(found: Permuted) -> dict[str, object]:
    return {
        "two_sided": found.p,
        "first_higher": found.greater,
        "second_higher": found.less,
        "standard_error": found.p_se,
        "exact": found.exact,
        "arrangements": found.arrangements,
    }


def _blocked(found: Compared) -> dict[str, object]:
    made = found.blocked
    if isinstance(made, Reason):
        return {"difference": None, "why_not": _reason(made)}
    text = list(words.blocked_lines(found))
    if isinstance(made, BlockedMeans):
        return {
            "difference": {"value": made.permuted.value, "n": made.attempts},
            "test": _permuted(made.permuted),
            "lots": list(made.permuted.used),
            "left_out": made.permuted.left_out,
            "text": text,
        }
    return {"difference": _common(made), **_within(made), "text": text}


def _common(made: Stratified) -> dict[str, object]:
    return {
        "value": made.value,
        "lower": made.lower,
        "upper": made.upper,
        "level": made.level,
        "n": made.attempts,
        "standard_error": made.se,
    }


def _within(made: Stratified) -> dict[str, object]:
    return {
        "test": {
            "two_sided": made.p,
            "first_higher": made.greater,
            "second_higher": made.less,
            "exact": made.exact,
        },
        "lots": [{name: getattr(lot, name) for name in ("name", "k1", "n1", "k2", "n2")} for lot in made.used],
        "left_out": made.left_out,
    }


def _adjusted(found: Compared) -> dict[str, object]:
    made = found.adjusted
    if not isinstance(made, Adjusted):
        return {"how": None, "why_not": _reason(made)}
    return {
        "how": made.how,
        "probability_first_higher": made.probability,
        "first": _span(made.first),
        "second": _span(made.second),
        "difference": _span(made.difference),
        "rows": made.rows,
        "first_at": None if made.first_at is None else _text(made.first_at),
        "second_at": None if made.second_at is None else _text(made.second_at),
        "text": list(words.adjusted_lines(found)),
    }


def _cannot_tell(found: Compared) -> dict[str, object] | None:
    told = found.cannot_tell
    if told is None:
        return None
    return {
        "smallest": told.smallest,
        "needed_for_what_matters": _needed(told.matters),
        "needed_for_what_was_seen": _needed(told.observed),
        "text": [*words.cannot_tell_lines(found), *words.needed_lines(found)],
    }


def _needed(needed: Needed | None) -> dict[str, object] | None:
    if needed is None:
        return None
    return {name: getattr(needed, name) for name in ("difference", "per_group", "more_first", "more_second")}


def _many(many: Many) -> dict[str, object]:
    return {
        "made": many.made,
        "p": many.p,
        "adjusted": many.adjusted,
        "method": many.method,
        "by_chance": many.by_chance,
        "all": [_kept(each) for each in many.kept],
    }


def _kept(kept: Kept) -> dict[str, object]:
    comparison: Comparison = kept.comparison
    return {
        "made_at": stamp(comparison.made_at),
        "measure": comparison.measure.value,
        "first": _text(kept.first),
        "second": _text(kept.second),
        "p": kept.p,
        "adjusted": kept.adjusted,
    }


def _span(span: Span | None) -> dict[str, object] | None:
    return (
        None if span is None else {name: getattr(span, name) for name in ("value", "lower", "upper", "level", "n")}
    )


def _reason(reason: Reason) -> dict[str, object]:
    return {"code": reason.code, "text": _text(reason)}


def _text(reason: Reason) -> str:
    return sentence(reason.code, reason.params)
