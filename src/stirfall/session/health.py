"""Can the answer be trusted: how its predictions fared, what pulls it, what it rests on, and what it cannot tell.

Made from an analysis, off the window's thread; it changes nothing and reads no clock.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from stirfall.bench.cancel import CancelToken
from stirfall.bench.estimates import Reason, whole_percent
from stirfall.bench.factors import Conditions
from stirfall.inference.calibration import calibration
from stirfall.inference.confounding import FEWEST
from stirfall.inference.scores import Auc, Scores, auc, compare_scores
from stirfall.session.health_parts import gate_influences, gate_loads, sensitivity_points
from stirfall.session.health_records import (
    PARTS,
    AttemptInfluence,
    Confounding,
    GateInfluence,
    GateLoad,
    HealthReport,
    Inseparable,
    SensitivityPoint,
    TimeCorrelation,
)
from stirfall.session.together import confounding_of

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis

__all__ = [
    "PARTS",
    "AttemptInfluence",
    "Confounding",
    "GateInfluence",
    "GateLoad",
    "HealthReport",
    "Inseparable",
    "SensitivityPoint",
    "TimeCorrelation",
    "health_report",
]

# Leave-one-out is rough where the tail of its weights is this heavy (Vehtari et al. 2024, JMLR 25:72).
_ROUGH_K = 0.7
_SIZES = ("small", "moderate", "large", "prior_only")


def health_report(
    analysis: Analysis, token: CancelToken | None = None, *, conditions: Conditions | None = None
) -> HealthReport:
    """Return the health of an analysis; ``conditions`` are looked at for the prior beside the best ones.

    Scores, calibration and the area under the curve need the leave-one-out table, which the refined answer has.
    The attempts of a calibration bin are ``calibration_ids[row]`` for its ``rows``. Raises Cancelled.
    """
    loo, level = analysis.loo, analysis.base.level
    scores = calibrated = area = None
    if loo is not None:
        scores = compare_scores(loo.probability, loo.k, loo.n)
        calibrated = calibration(loo.probability, loo.k, loo.n, level=level)
        area = auc(loo.probability, loo.k, loo.n, level=level)
    influences = gate_influences(analysis)
    points = sensitivity_points(analysis, token, conditions)
    confounding = confounding_of(analysis.state, analysis.table, level=level)
    loads = gate_loads(analysis)
    fullest = min(loads, key=_results_per_effect)
    statements: dict[str, Reason] = {
        "scores": _unknown_or(analysis, _scores_verdict(scores)),
        "auc": _unknown_or(analysis, _auc_verdict(area)),
        "calibration": _unknown_or(analysis, None if calibrated is None else calibrated.verdict),
        "influence": _influence_verdict(influences),
        "sensitivity": _worst(points),
        "confounding": _confounding_verdict(confounding),
        "too_many": fullest.verdict,
    }
    return HealthReport(
        attempts=analysis.counts.used,
        trials=analysis.base.n,
        scores=scores,
        auc=area,
        calibration=calibrated,
        calibration_ids=() if loo is None else loo.ids,
        influence=influences,
        sensitivity=points,
        confounding=confounding,
        too_many=loads,
        statements=statements,
        warnings=(
            *_said_badly(statements),
            *_pulls(influences),
            *(reason for reason in (statements["sensitivity"],) if reason.code == "sensitivity.large"),
            *_with_time(confounding),
            *(pair.warning for pair in confounding.pairs),
            *([fullest.verdict] if fullest.severity == "severe" else []),
            *_rough(analysis),
        ),
    )


def _unknown_or(analysis: Analysis, verdict: Reason | None) -> Reason:
    """Return the verdict, or why there is none."""
    if verdict is not None:
        return verdict
    if not analysis.base.n:
        return Reason("health.no_attempts")
    if analysis.loo is None:
        return Reason("health.not_refined")
    if not len(analysis.loo.k):
        return Reason("health.none_judged")
    return Reason("health.one_outcome", {"trials": round(float(analysis.loo.n.sum()))})


def _scores_verdict(scores: Scores | None) -> Reason | None:
    if scores is None:
        return None
    params = {"score": round(scores.brier.score, 2), "mean_rate": round(scores.brier.mean_rate, 2)}
    verdict = scores.log.verdict or scores.brier.verdict
    kind = {1: "better", 0: "no_different", -1: "worse"}[verdict]
    return Reason(f"scores.{kind}", {**params, "trials": scores.trials})


def _auc_verdict(area: Auc | None) -> Reason | None:
    if area is None:
        return None
    kind = "tells_apart" if area.lower > 0.5 else "does_not" if area.upper < 0.5 else "unsure"
    shares = {"value": area.value, "lower": area.lower, "upper": area.upper}
    counts = {"clean": area.clean, "not_clean": area.not_clean}
    return Reason(f"auc.{kind}", {**{name: whole_percent(share) for name, share in shares.items()}, **counts})


def _influence_verdict(influences: tuple[GateInfluence, ...]) -> Reason:
    if not any(gate.of for gate in influences):
        return Reason("health.no_attempts")
    ids = {attempt.attempt_id for gate in influences for attempt in gate.flagged}
    return Reason("influence.some", {"count": len(ids)}) if ids else Reason("influence.none")


def _worst(points: tuple[SensitivityPoint, ...]) -> Reason:
    """Return the verdict of the point that moves most; without attempts all points say the same."""
    verdicts = [point.move.verdict for point in points]
    if not verdicts:
        return Reason("health.no_conditions")
    return max(verdicts, key=lambda verdict: [f"sensitivity.{size}" for size in _SIZES].index(verdict.code))


def _confounding_verdict(confounding: Confounding) -> Reason:
    warned = [each.warning for each in confounding.with_time if each.warning is not None]
    warned += [pair.warning for pair in confounding.pairs]
    if warned:
        return warned[0]
    if not confounding.with_time:
        return Reason("confounding.no_exposure")
    enough = [each.correlation for each in confounding.with_time if each.correlation.n >= FEWEST]
    return Reason("confounding.none" if any(each.strongest for each in enough) else "confounding.unknown")


def _results_per_effect(load: GateLoad) -> float:
    return math.inf if load.per_coefficient is None else load.per_coefficient


def _said_badly(statements: dict[str, Reason]) -> list[Reason]:
    bad = ("calibration.too_hopeful", "calibration.too_gloomy", "calibration.off_in_places", "scores.worse")
    return [statements[part] for part in ("calibration", "scores") if statements[part].code in bad]


def _with_time(confounding: Confounding) -> list[Reason]:
    """Return the warnings of time; date and number go together, so the stronger of the two stands for both."""
    found: dict[tuple[str, bool], TimeCorrelation] = {}
    for each in confounding.with_time:
        if each.warning is not None:
            key = (each.factor, each.against == "place_in_day")
            if key not in found or _strength(each) > _strength(found[key]):
                found[key] = each
    return [each.warning for each in found.values() if each.warning is not None]


def _strength(each: TimeCorrelation) -> float:
    most = each.correlation.strongest
    return 0.0 if most is None else abs(most.value)


def _rough(analysis: Analysis) -> list[Reason]:
    """Return the warning that leave-one-out is only roughly known for some attempts."""
    count = 0 if analysis.loo is None else int((analysis.loo.pareto_k > _ROUGH_K).sum())
    return [Reason("health.rough", {"count": count})] if count else []


def _pulls(influences: tuple[GateInfluence, ...]) -> list[Reason]:
    flagged = [attempt for gate in influences for attempt in gate.flagged]
    flagged.sort(key=lambda attempt: -abs(attempt.pull))
    return [
        Reason(
            f"influence.{attempt.gate}_pulls",
            {
                "attempt_id": attempt.attempt_id,
                "number": attempt.number,
                "fitted": whole_percent(attempt.fitted),
                "without": whole_percent(attempt.without),
            },
        )
        for attempt in flagged
    ]
