"""Which rules are met along a chart, and at which attempts; pure."""

from __future__ import annotations

from stirfall.bench.estimates import Reason
from stirfall.inference.charts import run_signals
from stirfall.session.drift_records import SHARE_WEIGHT, Drift, DriftSignal

LEAST_SPREAD = 0.5**0.5


def signals_of(found: Drift) -> tuple[DriftSignal, ...]:
    """Return the signals of the chart, its ranges, the sums and the average, in time."""
    made = [*_of_chart(found), *_of_ranges(found), *_of_sums(found), *_of_average(found)]
    return tuple(sorted(made, key=lambda each: (each.place, each.chart, each.rule)))


def _of_chart(found: Drift) -> list[DriftSignal]:
    if found.chart is None:
        return []
    return [
        _signal(
            found, ("values", each.rule), (found.groups[each.since].first, found.groups[each.at].last), each.way
        )
        for each in run_signals(found.chart.scores)
    ]


def _of_ranges(found: Drift) -> list[DriftSignal]:
    if found.ranges is None:
        return []
    return [_signal(found, ("ranges", "range"), (int(at) - 1, int(at)), 1) for at in found.ranges.beyond]


def _of_sums(found: Drift) -> list[DriftSignal]:
    if found.cusum is None:
        return []
    pairs = zip(found.cusum.alarms, found.cusum.since, strict=True)
    return [_signal(found, ("cusum", "sum"), (since, at), way) for (at, way), since in pairs]


def _of_average(found: Drift) -> list[DriftSignal]:
    if found.ewma is None:
        return []
    alarms = found.ewma.alarms
    if found.measure.is_share:
        # A single rare pass must not alarm: limits of this kind hold where several attempts share the weight.
        enough = found.ewma.sd > LEAST_SPREAD * SHARE_WEIGHT
        alarms = tuple((at, way) for at, way in alarms if enough[at])
    return [_signal(found, ("ewma", "average"), (at, at), way) for at, way in alarms]


def _signal(found: Drift, met: tuple[str, str], places: tuple[int, int], way: int) -> DriftSignal:
    (chart, rule), (first, place) = met, places
    point = found.points[place]
    code = f"drift.rule_{rule}" if rule == "range" else f"drift.rule_{rule}_{'above' if way > 0 else 'below'}"
    params = {"number": point.number, "first": found.points[first].number}
    return DriftSignal(
        chart, rule, place, first, way, point.attempt_id, point.number, point.at, Reason(code, params)
    )
