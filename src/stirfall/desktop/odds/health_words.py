"""The health of an answer in words: one line per check with its standing, and the numbers behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.units import MINUS, format_number
from stirfall.desktop.odds.phrases import counted, joined
from stirfall.desktop.odds.trust_state import (
    STANDING_MARKS,
    CalibrationPoint,
    CalibrationShown,
    CheckLine,
    PullLine,
    Standing,
)
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span

if TYPE_CHECKING:
    from stirfall.bench.estimates import Reason
    from stirfall.inference.calibration import CalibrationBin
    from stirfall.inference.confounding import Interval
    from stirfall.inference.scores import Comparison
    from stirfall.session.health_records import AttemptInfluence, HealthReport, SensitivityPoint

_ORDER: tuple[Standing, ...] = tuple(STANDING_MARKS)
_DETAILS_AT_MOST = 8
_ROUGH = "health.rough"
_FINE = frozenset(
    (
        "calibration.fits",
        "scores.better",
        "auc.tells_apart",
        "sensitivity.small",
        "confounding.none",
        "confounding.no_exposure",
        "influence.none",
        "too_many.fine",
    )
)
_TOO_FEW = frozenset(
    (
        "calibration.too_few",
        "scores.no_different",
        "auc.unsure",
        "sensitivity.moderate",
        "confounding.unknown",
        "too_many.few",
        "too_many.nothing",
    )
)
_GATE_EVENT = {"clean": "a clean separation", "parted": "parting", "pooled": "one pool"}


@dataclass(frozen=True)
class HealthParts:
    """What the Trust view shows of a health report."""

    first_look: str
    checks: tuple[CheckLine, ...]
    calibration: CalibrationShown
    pulls: tuple[PullLine, ...]
    pulls_note: str


def health_parts(report: HealthReport, decimal: str) -> HealthParts:
    """Put a report into words, what needs a look first."""
    lines = (
        _line("calibration", report, decimal, _bins(report)),
        _line("scores", report, decimal, _scores(report, decimal)),
        _line("auc", report, decimal, _auc(report, decimal)),
        _line("sensitivity", report, decimal, _sensitivity(report)),
        _line("confounding", report, decimal, _confounding(report, decimal)),
        _line("too_many", report, decimal, _loads(report, decimal)),
    )
    rough = tuple(CheckLine("rough", "look", _said(one, decimal)) for one in report.warnings if one.code == _ROUGH)
    pulls = _pulls(report)
    return HealthParts(
        first_look=_first_look(report, decimal),
        checks=tuple(sorted((*lines, *rough), key=lambda line: _ORDER.index(line.standing))),
        calibration=_picture(report, decimal),
        pulls=pulls,
        pulls_note=sentence("trust_view.pulls" if pulls else "trust_view.no_pulls"),
    )


def _line(part: str, report: HealthReport, decimal: str, details: list[str]) -> CheckLine:
    verdict = report.statements[part]
    text = _said(verdict, decimal)
    more = [detail for detail in details if detail != text]
    return CheckLine(part, standing_of(verdict), text, tuple(more[:_DETAILS_AT_MOST]))


def _said(reason: Reason, decimal: str) -> str:
    return sentence(reason.code, reason.params, decimal=decimal)


def _first_look(report: HealthReport, decimal: str) -> str:
    grave = [one for one in report.warnings if one.code != _ROUGH] or list(report.warnings)
    if not grave:
        return ""
    first, others = _said(grave[0], decimal), len(report.warnings) - 1
    more = sentence("trust_view.more_warnings", {"count": others}) if others else ""
    return f"{first} {more}".strip()


def standing_of(verdict: Reason) -> Standing:
    """Return how a check stands by the code of its verdict; what is not known as fine or too few needs a look."""
    part, _, kind = verdict.code.partition(".")
    if part == "health":  # why it could not be judged
        return "few"
    severity = kind.rpartition("_")[2] if part == "too_many" else kind
    if f"{part}.{severity}" in _FINE:
        return "fine"
    return "few" if f"{part}.{severity}" in _TOO_FEW else "look"


# -- the numbers behind them ----------------------------------------------------------------------------------


def _scores(report: HealthReport, decimal: str) -> list[str]:
    if report.scores is None:
        return []
    return [
        _compared("trust_view.detail_brier", report.scores.brier, decimal),
        _compared("trust_view.detail_log", report.scores.log, decimal),
    ]


def _compared(code: str, found: Comparison, decimal: str) -> str:
    noise = "" if found.gain_se is None else sentence("trust_view.noise", {"se": _fixed(found.gain_se, 3, decimal)})
    params = {
        "score": _fixed(found.score, 3, decimal),
        "mean_rate": _fixed(found.mean_rate, 3, decimal),
        "gain": _fixed(found.gain, 3, decimal, plus=True),
        "noise": noise,
    }
    return sentence(code, params)


def _auc(report: HealthReport, decimal: str) -> list[str]:
    found = report.auc
    if found is None:
        return []
    params = {
        "value": _fixed(found.value, 2, decimal),
        "lower": _fixed(found.lower, 2, decimal),
        "upper": _fixed(found.upper, 2, decimal),
        "clean": found.clean,
        "other": found.not_clean,
    }
    return [sentence("trust_view.detail_auc", params)]


def _bins(report: HealthReport) -> list[str]:
    if report.calibration is None:
        return []
    return [_bin_text(one) for one in report.calibration.bins]


def _bin_text(one: CalibrationBin) -> str:
    params = {
        "said": percent(one.predicted),
        "clean": round(one.observed * one.trials),
        "trials": one.trials,
        "share": percent(one.observed),
        "bounds": span(one.lower, one.upper),
    }
    return sentence("trust_view.detail_bin", params)


def _sensitivity(report: HealthReport) -> list[str]:
    return [_moved(point) for point in report.sensitivity]


def _moved(point: SensitivityPoint) -> str:
    move = point.move
    params = {
        "place": sentence(f"trust_view.place.{point.source.replace(' ', '_')}"),
        "now": percent(move.now.mean),
        "half": percent(move.half.mean),
        "double": percent(move.double.mean),
        "share": percent(move.prior_share),
    }
    return sentence("trust_view.detail_prior", params)


def _confounding(report: HealthReport, decimal: str) -> list[str]:
    found = report.confounding
    lines = [_said(one.warning, decimal) for one in found.with_time if one.warning is not None]
    lines += [_said(pair.warning, decimal) for pair in found.pairs]
    for one in found.with_time:
        most = one.correlation.strongest
        if most is not None:
            params = {
                "factor": one.factor,
                "against": sentence(f"trust_view.against.{one.against}"),
                "value": _correlated(most, decimal),
                "attempts": counted(one.correlation.n),
            }
            lines.append(sentence("trust_view.detail_correlation", params))
    if found.never_varied:
        lines.append(sentence("trust_view.detail_never", {"factors": joined(list(found.never_varied))}))
    return lines


def _correlated(found: Interval, decimal: str) -> str:
    value = _fixed(found.value, 2, decimal, plus=True)
    if found.lower is None or found.upper is None:
        return value
    ends = (_fixed(end, 2, decimal, plus=True) for end in (found.lower, found.upper))
    return f"{value} ({' to '.join(ends)})"


def _loads(report: HealthReport, decimal: str) -> list[str]:
    return [_said(load.verdict, decimal) for load in report.too_many]


# -- pictures and attempts ------------------------------------------------------------------------------------


def _picture(report: HealthReport, decimal: str) -> CalibrationShown:
    found = report.calibration
    if found is None:
        return CalibrationShown()
    points = tuple(
        CalibrationPoint(one.predicted, one.observed, one.lower, one.upper, one.trials) for one in found.bins
    )
    caption = sentence("trust_view.calibration_caption", {"level": format_number(100.0 * found.level)})
    return CalibrationShown(points, _said(found.verdict, decimal), caption)


def _pulls(report: HealthReport) -> tuple[PullLine, ...]:
    flagged = [one for gate in report.influence for one in gate.flagged]
    flagged.sort(key=lambda one: -abs(one.pull))
    return tuple(PullLine(one.attempt_id, one.number, _pull_text(one)) for one in flagged)


def _pull_text(one: AttemptInfluence) -> str:
    params = {
        "number": one.number,
        "event": _GATE_EVENT[one.gate],
        "fitted": percent(one.fitted),
        "without": percent(one.without),
    }
    way = "up" if one.fitted > one.without else "down"
    return sentence(f"trust_view.pull.{way}", params)


def _fixed(value: float, places: int, decimal: str, *, plus: bool = False) -> str:
    shown = round(value, places) + 0.0  # no minus before a zero
    text = f"{shown:+.{places}f}" if plus and shown else f"{shown:.{places}f}"
    return text.replace("-", MINUS).replace(".", decimal)
