"""Which attempts surprised, and why one attempt came out as it did: numbers and codes, no sentences.

An attempt is judged by what all the others foretold of it (leave-one-out). A surprise is not an error: of many
attempts some surprise by chance alone, and ``Surprises.expected`` says how many.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import tzinfo

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.inference.gate_rows import GateName
from stirfall.session.analysis import Analysis
from stirfall.session.surprises_compare import compare, finding_of
from stirfall.session.surprises_foretold import Foretold, foretell, seen_at
from stirfall.session.surprises_found import (
    CLEAR,
    Compared,
    Difference,
    GateForetold,
    Near,
    Shift,
    Surprise,
    Surprises,
    Why,
    band_of,
)
from stirfall.session.surprises_near import came_out, likeness, nearest

__all__ = [
    "Compared",
    "Difference",
    "GateForetold",
    "Near",
    "Shift",
    "Surprise",
    "Surprises",
    "Why",
    "band_of",
    "surprises",
    "why",
]

IntArray = NDArray[np.intp]

# Beyond this many attempts the newest are judged, and the least foretold of the rest.
_MOST = 1000
_LEAST_FORETOLD = 200
_FILM_CODES = {
    ("too_little_film", "parted", "sure"): "why.under_filmed_sure",
    ("too_little_film", "parted", "likely"): "why.under_filmed_likely",
    ("too_much_film", "pooled", "sure"): "why.over_filmed_sure",
    ("too_much_film", "pooled", "likely"): "why.over_filmed_likely",
}


def surprises(analysis: Analysis, *, token: CancelToken | None = None) -> Surprises:
    """Return the attempts against what the others foretold of them, the most surprising first. Raises Cancelled."""
    table = analysis.table
    could = np.flatnonzero(table.clean_n > 0) if table.gates == 1 else np.flatnonzero(_is_judged(analysis))
    rows = _chosen(analysis, could)
    attempts = {attempt.id: attempt for attempt in analysis.state.attempts}
    found: list[Surprise] = []
    expected = spread = 0.0
    for start in range(0, len(rows), 256):
        if token is not None:
            token.raise_if_cancelled()
        for row, foretold in foretell(analysis, rows[start : start + 256]).items():
            made = _surprise(analysis, attempts[table.ids[row]], row, foretold)
            if made is not None:
                found.append(made)
            chance = _chance_of_surprise(foretold, by_gates=bool(_is_graded(analysis, row)))
            expected, spread = expected + chance, spread + chance * (1.0 - chance)
    found.sort(key=lambda each: (each.share, -each.number))
    count = sum(each.share <= CLEAR for each in found)
    return Surprises(
        tuple(found), len(found), len(could), CLEAR, count, expected, float(np.sqrt(spread)), analysis.stage
    )


def _is_judged(analysis: Analysis) -> NDArray[np.bool_]:
    """Return which rows came to an end: gate 1 failed, or gate 2 was seen, or a clean separation was counted."""
    table = analysis.table
    ended = (table.parted == 0) | ((table.parted == 1) & np.isfinite(table.pooled))
    return np.asarray(ended | (table.clean_n > 0))


def _chosen(analysis: Analysis, could: IntArray) -> IntArray:
    if len(could) <= _MOST:
        return could
    newest, rest = could[-_MOST:], could[:-_MOST]
    if analysis.loo is None:
        return newest
    least = analysis.loo.rows[np.argsort(analysis.loo.log_score, kind="stable")]
    return np.sort(np.concatenate([least[np.isin(least, rest)][:_LEAST_FORETOLD], newest]))


def _surprise(analysis: Analysis, attempt: Attempt, row: int, foretold: Foretold) -> Surprise | None:
    """Return an attempt against what was foretold: at the gate that failed, or of the whole where none did."""
    at = np.array([row])
    for gate, estimate in foretold.gates.items():
        k, n = (float(each[0]) for each in seen_at(analysis.table, gate, at))
        if gate != "clean" and n and not k:
            share = 1.0 - estimate.mean
            return Surprise(attempt.id, attempt.number, attempt.outcome, gate, False, estimate, share)
    k, n = float(analysis.table.clean_k[row]), float(analysis.table.clean_n[row])
    if not n:
        return None
    mean = foretold.clean.mean
    passed = k / n > mean if n > 1 else k > 0
    share = _tail(int(k), foretold.counts) if n > 1 else mean if k else 1.0 - mean
    return Surprise(attempt.id, attempt.number, attempt.outcome, "clean", passed, foretold.clean, share)


def _tail(k: int, counts: Sequence[float]) -> float:
    """Return the probability of a count at least so far on its side of what is expected, of a law of counts."""
    expected = sum(place * each for place, each in enumerate(counts))
    return float(min(1.0, sum(counts[k:]) if k > expected else sum(counts[: k + 1])))


def _is_graded(analysis: Analysis, row: int) -> bool:
    """Whether the gates of a row were graded, so that it is judged at the one that failed."""
    return bool(np.isfinite(analysis.table.parted[row]))


def _chance_of_surprise(foretold: Foretold, *, by_gates: bool) -> float:
    """Return the chance that an attempt surprises where what was foretold is true."""
    if foretold.counts:
        return sum(each for k, each in enumerate(foretold.counts) if _tail(k, foretold.counts) <= CLEAR)
    clean = foretold.clean.mean
    if "parted" not in foretold.gates or not by_gates:
        return clean * (clean <= CLEAR) + (1.0 - clean) * (1.0 - clean <= CLEAR)
    part, pool = foretold.gates["parted"].mean, foretold.gates["pooled"].mean
    chance = (1.0 - part) * (1.0 - part <= CLEAR) + part * (1.0 - pool) * (1.0 - pool <= CLEAR)
    return chance + clean * (clean <= CLEAR)


def why(analysis: Analysis, attempt_id: str, *, tz: tzinfo | None = None) -> Why:
    """Return what the records say about why one attempt came out as it did; raises InputError ``attempt.unknown``.

    Works for any attempt, also one without a result. Days are local, in ``tz`` or that of the computer.
    """
    state = analysis.state
    attempt = state.attempt(attempt_id)
    gate, verdict = _verdict(attempt, state.settings.partly)
    row, foretold = _foretold(analysis, attempt)
    surprise = None if foretold is None else _surprise(analysis, attempt, row, foretold)
    asked = gate or "clean"
    passed = came_out(attempt, asked, state.settings.partly)
    other_way, same_way, compared = _neighbours(analysis, attempt, asked, passed, tz)
    return Why(
        attempt.id,
        attempt.number,
        attempt.outcome,
        verdict,
        gate,
        None if foretold is None else foretold.clean,
        () if foretold is None else _gates(analysis, row, foretold),
        surprise,
        None if foretold is not None else _not_foretold(analysis, attempt),
        other_way,
        same_way,
        compared,
        finding_of(compared, passed=passed),
        _film_word(analysis, attempt, gate),
        Reason("why.waits_refined") if analysis.stage == "first" else None,
        analysis.stage,
        dict(attempt.conditions),
    )


def _verdict(attempt: Attempt, partly: str) -> tuple[GateName | None, Reason]:
    """Return the gate that failed and the code that says so, or why it cannot be said."""
    if attempt.is_struck:
        return None, Reason("why.struck")
    if attempt.aborted:
        return None, Reason("why.aborted")
    if came_out(attempt, "parted", partly) is False:
        code = "why.failed_partly" if attempt.outcome is Outcome.PARTLY_PARTED else "why.failed_parted"
        return "parted", Reason(code)
    if came_out(attempt, "pooled", partly) is False:
        return "pooled", Reason("why.failed_pooled")
    if attempt.outcome is Outcome.CLEAN or came_out(attempt, "pooled", partly):
        return None, Reason("why.nothing_failed")
    if attempt.outcome is Outcome.NOT_CLEAN:
        return None, Reason("why.gate_not_graded")
    if attempt.outcome is Outcome.COUNTED:
        return None, Reason("why.counted", {"clean": attempt.successes, "trials": attempt.trials})
    return None, Reason("why.parted_only" if attempt.parted is not None else "why.not_graded")


def _foretold(analysis: Analysis, attempt: Attempt) -> tuple[int, Foretold | None]:
    if attempt.id not in analysis.table.ids:
        return -1, None
    row = analysis.table.ids.index(attempt.id)
    return row, foretell(analysis, np.array([row], dtype=np.intp))[row]


def _not_foretold(analysis: Analysis, attempt: Attempt) -> Reason:
    if attempt.is_struck or attempt.aborted or attempt.outcome is Outcome.NOT_GRADED:
        return Reason("why.no_result")
    missing = [f.name for f in analysis.model.design.factors if f.name not in attempt.conditions]
    return Reason("why.values_missing", {"factors": ", ".join(missing)}) if missing else Reason("why.left_out")


def _gates(analysis: Analysis, row: int, foretold: Foretold) -> tuple[GateForetold, ...]:
    found = []
    for gate, estimate in foretold.gates.items():
        k, n = (float(each[0]) for each in seen_at(analysis.table, gate, np.array([row])))
        found.append(GateForetold(gate, estimate, None if n != 1 else bool(k)))
    return tuple(found)


def _neighbours(
    analysis: Analysis, attempt: Attempt, gate: GateName, passed: bool | None, tz: tzinfo | None
) -> tuple[tuple[Near, ...], tuple[Near, ...], Compared | None]:
    """Return the nearest that went the other way, the nearest that went the same way, and the comparison.

    Of an attempt without a result the nearest clean ones stand in for the other way.
    """
    partly = analysis.state.settings.partly
    like = likeness(analysis.state, attempt)
    results = [came_out(each, gate, partly) for each in like.attempts]
    other_way, places = nearest(like, [each is (not passed) for each in results])
    if not passed and gate != "pooled":  # what went further than the gate is what one would like to know of
        clean = [came_out(each, "clean", partly) is True for each in like.attempts]
        other_way, places = nearest(like, [a and b is True for a, b in zip(clean, results, strict=True)])
        if not len(places):
            other_way, places = nearest(like, [each is True for each in results])
    same = [passed is not None and each is passed for each in results]
    same_way, _ = nearest(like, same)
    if not len(places):
        return other_way, same_way, None
    place = int(places[0])
    decided = _decided(attempt, like.attempts[place], gate, partly)
    compared = compare(analysis, like, (place, other_way[0]), decided, tz)
    return other_way, same_way, compared


def _decided(attempt: Attempt, other: Attempt, gate: GateName, partly: str) -> GateName:
    """Return the gate at which two attempts went apart: that of the one that failed."""
    if gate != "clean":
        return gate
    asked: Sequence[GateName] = ("parted", "pooled")
    for each in asked:
        results = came_out(attempt, each, partly), came_out(other, each, partly)
        if None not in results and results[0] != results[1]:
            return each
    return "clean"


def _film_word(analysis: Analysis, attempt: Attempt, gate: GateName | None) -> Reason | None:
    """Return under-filmed or over-filmed where the answer says so; for a superoxide former why nothing is said."""
    if gate is None:
        return None
    if not analysis.limits.may_wait:
        return Reason("why.no_film_word")
    found = analysis.for_level_in(attempt.conditions).direction(attempt.conditions)
    code = None if found is None else _FILM_CODES.get((found.leans_to, gate, found.certainty))
    if found is None or code is None:
        return None
    return Reason(code, {"probability": found.prob_lean})
