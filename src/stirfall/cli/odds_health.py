"""Whether the odds can be trusted, as JSON and as text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from stirfall.cli.output import estimate_json
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.estimates import Reason
    from stirfall.inference.calibration import Calibration, CalibrationBin
    from stirfall.inference.confounding import Correlation, Interval
    from stirfall.inference.scores import Auc, Comparison, Scores
    from stirfall.session.health import Confounding, GateInfluence, GateLoad, HealthReport, SensitivityPoint


def health_json(report: HealthReport) -> dict[str, object]:
    """Return every part with its numbers; what is unknown is null, and its statement says why."""
    return {
        "attempts": report.attempts,
        "trials": report.trials,
        "warnings": [_reason(warning) for warning in report.warnings],
        "statements": {part: _reason(statement) for part, statement in report.statements.items()},
        "scores": None if report.scores is None else _scores(report.scores),
        "auc": None if report.auc is None else _auc(report.auc),
        "calibration": None if report.calibration is None else _calibration(report.calibration, report),
        "influence": [_influence(gate) for gate in report.influence],
        "sensitivity": [_sensitivity(point) for point in report.sensitivity],
        "confounding": _confounding(report.confounding),
        "too_many": [_load(load) for load in report.too_many],
    }


def health_lines(report: HealthReport) -> list[str]:
    """Return what should be acted on, then in one line each what the checks showed."""
    lines = [f"  Note: {sentence(warning.code, warning.params)}" for warning in report.warnings]
    said = {"influence.some", *(warning.code for warning in report.warnings)}  # each such attempt has its warning
    lines += [
        f"  {sentence(statement.code, statement.params)}"
        for statement in _without_repeats(report.statements)
        if statement.code not in said
    ]
    return ["How far to trust this:", *lines]


def _without_repeats(statements: Mapping[str, Reason]) -> list[Reason]:
    """Return the statements, those of one code once: three parts may be unknown for one reason."""
    return list({statement.code: statement for statement in statements.values()}.values())


def _reason(reason: Reason) -> dict[str, object]:
    links = {key: reason.params[key] for key in ("attempt_id", "number", "factor", "other") if key in reason.params}
    return {"code": reason.code, "text": sentence(reason.code, reason.params), **links}


def _scores(scores: Scores) -> dict[str, object]:
    return {
        "attempts": scores.attempts,
        "trials": scores.trials,
        "brier": _comparison(scores.brier),
        "log": _comparison(scores.log),
    }


def _comparison(part: Comparison) -> dict[str, object]:
    return {"score": part.score, "mean_rate": part.mean_rate, "gain": part.gain, "gain_se": part.gain_se}


def _auc(area: Auc) -> dict[str, object]:
    return {
        "value": area.value,
        "lower": area.lower,
        "upper": area.upper,
        "level": area.level,
        "clean": area.clean,
        "not_clean": area.not_clean,
    }


def _calibration(found: Calibration, report: HealthReport) -> dict[str, object]:
    return {
        "level": found.level,
        "overall": _bin(found.overall),
        "bins": [
            {**_bin(part), "attempt_ids": [report.calibration_ids[row] for row in part.rows]} for part in found.bins
        ],
    }


def _bin(part: CalibrationBin) -> dict[str, object]:
    return {
        "predicted": part.predicted,
        "low": part.low,
        "high": part.high,
        "observed": part.observed,
        "lower": part.lower,
        "upper": part.upper,
        "attempts": part.attempts,
        "trials": part.trials,
        "is_off": part.is_off,
    }


def _influence(gate: GateInfluence) -> dict[str, object]:
    return {
        "gate": gate.gate,
        "of": gate.of,
        "attempts": [
            {name: value for name, value in vars(attempt).items() if name != "gate"} for attempt in gate.attempts
        ],
    }


def _sensitivity(point: SensitivityPoint) -> dict[str, object]:
    move = point.move
    return {
        "source": point.source,
        "conditions": dict(point.conditions),
        "size": move.size,
        "now": estimate_json(move.now),
        "half_prior": estimate_json(move.half),
        "double_prior": estimate_json(move.double),
        "move": move.move,
        "end_move": move.end_move,
        "prior_share": move.prior_share,
    }


def _confounding(found: Confounding) -> dict[str, object]:
    return {
        "with_time": [
            {"factor": each.factor, "scale": each.scale, "against": each.against, **_correlation(each.correlation)}
            for each in found.with_time
        ],
        "inseparable": [
            {"first": pair.first, "second": pair.second, "strength": pair.strength, "n": pair.n}
            for pair in found.pairs
        ],
        "never_varied": list(found.never_varied),
    }


def _correlation(found: Correlation) -> dict[str, object]:
    return {
        "n": found.n,
        "level": found.level,
        "pearson": _interval(found.pearson),
        "spearman": _interval(found.spearman),
        "is_strong": found.is_strong,
    }


def _interval(part: Interval | None) -> dict[str, object] | None:
    return None if part is None else {"value": part.value, "lower": part.lower, "upper": part.upper}


def _load(load: GateLoad) -> dict[str, object]:
    return {
        "gate": load.gate,
        "coefficients": load.coefficients,
        "successes": load.successes,
        "trials": load.trials,
        "rarer": load.rarer,
        "per_coefficient": load.per_coefficient,
        "severity": load.severity,
    }
