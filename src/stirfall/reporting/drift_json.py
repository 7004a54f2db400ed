"""Drift as JSON, for programs."""

from __future__ import annotations

from stirfall.bench.ages import stamp
from stirfall.inference.charts import Chart
from stirfall.inference.charts_change import ChangePoint
from stirfall.reporting.drift_words import drift_lines, mark_line, signal_line
from stirfall.session.drift_records import Drift, DriftPoint


def drift_json(found: Drift) -> dict[str, object]:
    """Return a drift as JSON has it: moments as ISO 8601 in UTC, attempts by their numbers, shares from 0 to 1."""
    return {
        "measure": found.measure.value,
        "unit": found.unit,
        "n": found.n,
        "text": list(drift_lines(found)),
        "base": found.base,
        "points": [_point(point) for point in found.points],
        "chart": None if found.chart is None else _chart(found, found.chart),
        "ranges": None
        if found.ranges is None
        else {"mean": found.ranges.mean, "upper": found.ranges.upper, "values": found.ranges.values.tolist()},
        "cusum": None
        if found.cusum is None
        else {"high": found.cusum.high.tolist(), "low": found.cusum.low.tolist(), "limit": found.cusum.limit},
        "ewma": None if found.ewma is None else _ewma(found),
        "change": _change(found, found.change),
        "beyond_conditions": _change(found, found.beyond),
        "signals": [
            {
                "chart": each.chart,
                "rule": each.rule,
                "attempt": each.number,
                "first_attempt": found.points[each.first].number,
                "direction": each.way,
                "text": signal_line(each),
            }
            for each in found.signals
        ],
        "false_signal_share": found.false_share,
        "false_sum_share": found.false_sums,
        "marks": [
            {
                "at": None if mark.at is None else stamp(mark.at),
                "kind": mark.kind.value,
                "text": mark_line(mark),
                "before_attempt": None if mark.place >= found.n else found.points[mark.place].number,
                "id": mark.id,
            }
            for mark in found.marks
        ],
        "controls": None
        if found.controls is None
        else {
            "attempts": [found.points[place].number for place in found.controls.places],
            "planned": found.controls.planned,
            "change": _change(None, found.controls.change),
        },
        "left_out": dict(vars(found.left_out)),
    }


def _point(point: DriftPoint) -> dict[str, object]:
    return {
        "attempt": point.number,
        "at": None if point.at is None else stamp(point.at),
        "value": point.value,
        "successes": point.k,
        "trials": point.n,
        "foretold": point.foretold,
        "control": point.is_control,
    }


def _chart(found: Drift, chart: Chart) -> list[dict[str, object]]:
    return [
        {
            "first_attempt": found.points[group.first].number,
            "last_attempt": found.points[group.last].number,
            "value": float(chart.values[at]),
            "lower": float(chart.lower[at]),
            "centre": float(chart.centre[at]),
            "upper": float(chart.upper[at]),
            "trials": group.n,
        }
        for at, group in enumerate(found.groups)
    ]


def _ewma(found: Drift) -> dict[str, object]:
    assert found.ewma is not None
    parts = {"values": found.ewma.values, "lower": found.ewma.lower, "upper": found.ewma.upper}
    return {name: part.tolist() for name, part in parts.items()}


def _change(found: Drift | None, change: ChangePoint | None) -> dict[str, object] | None:
    if change is None:
        return None
    told: dict[str, object] = {"probability": change.probability, "log_bayes_factor": change.log_factor}
    if found is not None:
        places = {"first_after": change.at, "earliest": change.first, "latest": change.last}
        told |= {name: found.points[place].number for name, place in places.items()}
        told["level"] = change.level
    return told
