"""What a chart over time says, as codes with parameters: the verdict first, then what it rests on; pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, tzinfo

import numpy as np

from stirfall.bench.estimates import Reason, whole_percent
from stirfall.bench.units import Amount
from stirfall.inference.charts_change import ChangePoint, change_beyond, change_of_mean, change_of_share
from stirfall.inference.proportions import wilson
from stirfall.session.drift_marks import mark_near
from stirfall.session.drift_records import ControlLine, Drift, DriftMeasure, DriftPoint
from stirfall.session.forecast_evenings import MONTHS, local

# Our proposals: from which probability a change is told as one, and as one that may be.
SURE, PERHAPS = 0.8, 0.6
_LEVEL = 0.95
_FEWEST_CONTROLS = 8
_MOST_MARKS = 4


def sentences_of(found: Drift, *, fewest: int, is_refined: bool, tz: tzinfo | None = None) -> tuple[Reason, ...]:
    """Return the sentences of a drift: the verdict, the conditions, signals, controls, what is left out."""
    if not found.points:
        unknown = found.measure is DriftMeasure.RESIDUAL and not is_refined
        code = "drift.not_refined" if unknown else f"drift.none_{_word(found.measure)}"
        return (Reason(code), *_left_out(found))
    if found.chart is None:
        return (Reason("drift.too_few", {"n": found.n, "fewest": fewest}), *_left_out(found))
    parts = (
        _verdict(found, tz),
        _moment(found),
        _several_marks(found),
        _conditions(found, tz, is_refined=is_refined),
        _signals(found),
        _sums(found),
        found.controls.reason if found.controls is not None else None,
    )
    told = tuple(part for part in parts if part is not None)
    grouping = (found.grouping,) if found.grouping is not None else ()
    return (*told, *grouping, *_left_out(found), Reason("drift.looks"))


def _word(measure: DriftMeasure) -> str:
    return measure.value.replace(" ", "_")


def chance_of(change: ChangePoint | None) -> str:
    """Write the probability of a change in whole per cent, 1 to 99; what cannot change at all is below one."""
    return f"{1 if change is None else whole_percent(change.probability)}"


def _verdict(found: Drift, tz: tzinfo | None) -> Reason:
    change = found.change
    if change is None or change.probability < PERHAPS:
        return Reason("drift.unchanged", {"n": found.n, "chance": chance_of(change)})
    told = changed(found, change, tz)
    if change.probability >= SURE:
        return told
    return Reason("drift.perhaps", {"change": told})


def changed(found: Drift, change: ChangePoint, tz: tzinfo | None = None) -> Reason:
    """Return the sentence of a change: since which attempt, when, beside which mark, what before and after."""
    before, after = found.points[: change.at], found.points[change.at :]
    what = f"drift.what_{_word(found.measure)}"
    params: dict[str, object] = {
        "number": after[0].number,
        "when": _when(found, change, tz),
        "what": Reason(what),
        "chance": chance_of(change),
        "after": _summary(found.measure, after),
        "before": _summary(found.measure, before),
    }
    is_up = _level(found.measure, after) > _level(found.measure, before)
    if found.measure is DriftMeasure.RESIDUAL:
        return Reason("drift.beyond_up" if is_up else "drift.beyond_down", params)
    if found.measure.is_share:
        return Reason("drift.more_often" if is_up else "drift.rarer", params)
    return Reason("drift.higher" if is_up else "drift.lower", params)


def _level(measure: DriftMeasure, points: Sequence[DriftPoint]) -> float:
    if measure is DriftMeasure.RESIDUAL:
        return sum(p.k - p.n * (p.foretold or 0.0) for p in points) / sum(p.n for p in points)
    if measure.is_share:
        return sum(p.k for p in points) / sum(p.n for p in points)
    return sum(p.value for p in points) / len(points)


def _when(found: Drift, change: ChangePoint, tz: tzinfo | None) -> Reason:
    at, latest = found.points[change.at].at, found.points[-1].at
    day = "" if at is None else said_day(at, latest, tz)
    mark = mark_near(found.marks, change.first, change.last, change.at)
    params = {"day": day, "mark": mark.words if mark is not None else ""}
    if mark is None:
        return Reason("drift.when_day" if day else "drift.when_unknown", params)
    return Reason("drift.when_day_mark" if day else "drift.when_mark", params)


def said_day(at: datetime, latest: datetime | None, tz: tzinfo | None = None) -> str:
    """Write a local day as a person would say it, with the year where it is not that of the latest attempt."""
    there = local(at, tz)
    same_year = latest is not None and local(latest, tz).year == there.year
    return f"{there.day} {MONTHS[there.month - 1]}{'' if same_year else f' {there.year}'}"


def _summary(measure: DriftMeasure, points: Sequence[DriftPoint]) -> Reason:
    k, n = round(sum(p.k for p in points)), round(sum(p.n for p in points))
    if measure is DriftMeasure.RESIDUAL:
        told = sum(p.n * (p.foretold or 0.0) for p in points)
        return Reason("drift.against_foretold", {"k": k, "n": n, "told": f"{round(told)}"})
    if measure.is_share:
        return _share(k, n)
    return _mean(measure, [point.value for point in points])


def _share(k: int, n: int) -> Reason:
    span = wilson(k, n, _LEVEL)
    bounds = {"lower": whole_percent(span.lower), "upper": whole_percent(span.upper)}
    return Reason("drift.share", {"k": k, "n": n, **bounds})


def _mean(measure: DriftMeasure, values: Sequence[float]) -> Reason:
    from scipy.special import stdtrit

    from stirfall.session.drift_values import UNITS

    unit, n = UNITS[measure], len(values)
    mean = float(np.mean(values))
    params: dict[str, object] = {"mean": _amount(mean, unit), "n": n}
    if n < 2:
        return Reason("drift.one_value", params)
    half = float(stdtrit(n - 1, 0.5 + _LEVEL / 2.0)) * float(np.std(values, ddof=1)) / n**0.5
    return Reason(
        "drift.mean", {**params, "lower": _amount(mean - half, unit), "upper": _amount(mean + half, unit)}
    )


def _amount(value: float, unit: str) -> Amount:
    return Amount(float(f"{value:.3g}"), unit)


def _moment(found: Drift) -> Reason | None:
    change = found.change
    if change is None or change.probability < PERHAPS or change.first == change.last:
        return None
    numbers = {"first": found.points[change.first].number, "last": found.points[change.last].number}
    return Reason("drift.moment", {**numbers, "level": f"{round(100 * change.level)}"})


def _several_marks(found: Drift) -> Reason | None:
    """Name the changes at the bench within the interval of the moment, where they are several."""
    change = found.change
    if change is None or change.probability < PERHAPS:
        return None
    within = [mark.words for mark in found.marks if change.first <= mark.place <= change.last]
    if len(within) < 2:
        return None
    joined = within[min(len(within), _MOST_MARKS) - 1]
    for words in reversed(within[: _MOST_MARKS - 1] if len(within) > _MOST_MARKS else within[:-1]):
        joined = Reason("drift.mark_and", {"first": words, "rest": joined})
    return Reason("drift.several_marks" if len(within) <= _MOST_MARKS else "drift.many_marks", {"marks": joined})


def _conditions(found: Drift, tz: tzinfo | None, *, is_refined: bool) -> Reason | None:
    """Say whether the conditions explain the change of clean separations, or hide one."""
    if found.measure is not DriftMeasure.CLEAN or found.change is None:
        return None
    seen, beyond = found.change.probability, found.beyond
    if beyond is None:
        if seen < PERHAPS:
            return None
        return Reason("drift.conditions_partly_known" if is_refined else "drift.conditions_not_known")
    if beyond.probability >= SURE:
        residual = replace(found, measure=DriftMeasure.RESIDUAL)
        told = changed(residual, beyond, tz)
        return Reason(
            "drift.conditions_do_not_explain" if seen >= PERHAPS else "drift.conditions_hide", {"change": told}
        )
    params = {"chance": chance_of(beyond)}
    if seen < PERHAPS:
        return Reason("drift.nothing_beyond", params)
    return Reason(
        "drift.conditions_explain" if beyond.probability < PERHAPS else "drift.conditions_unclear", params
    )


def _signals(found: Drift) -> Reason:
    rules = [each for each in found.signals if each.chart in ("values", "ranges")]
    params: dict[str, object] = {"count": len(rules), "points": len(found.groups)}
    if found.false_share is not None:
        rounded = round(100 * found.false_share)
        params["false"] = f"{rounded}" if rounded else "below 1"
    if rules:
        params["number"] = rules[0].number
    codes = ("drift.no_signals", "drift.one_signal", "drift.signals")
    if found.false_share is None:
        codes = ("drift.no_signals_long", "drift.one_signal_long", "drift.signals_long")
    code = codes[min(len(rules), 2)]
    return Reason(code, params)


def _sums(found: Drift) -> Reason | None:
    sums = [each for each in found.signals if each.chart in ("cusum", "ewma")]
    if not sums:
        return (
            Reason("drift.sums_quiet", {"base": found.base}) if found.base else Reason("drift.sums_quiet_foretold")
        )
    first = sums[0]
    words = {"cusum": Reason("drift.the_sum"), "ewma": Reason("drift.the_average")}
    params = {"which": words[first.chart], "number": first.number, "base": found.base}
    way = "up" if first.way > 0 else "down"
    code = f"drift.sums_{way}" if found.base else f"drift.sums_{way}_foretold"
    told = Reason(code, params)
    if found.false_sums is None:
        return Reason("drift.sums_long", {"told": told})
    rounded = round(100 * found.false_sums)
    return Reason("drift.sums_false", {"told": told, "false": f"{rounded}" if rounded else "below 1"})


def control_line(found: Drift, places: tuple[int, ...], *, planned: bool) -> ControlLine:
    """Return the line of control attempts with what they say by themselves."""
    points = [found.points[place] for place in places]
    summary = _summary(found.measure, points)
    code = "drift.controls_planned" if planned else "drift.controls_repeated"
    params: dict[str, object] = {"count": len(points), "summary": summary}
    change = None if len(points) < _FEWEST_CONTROLS else _change(found.measure, points)
    if change is None:
        code = "drift.controls_planned_few" if planned else "drift.controls_repeated_few"
    else:
        params["chance"] = chance_of(change)
    return ControlLine(places, planned, Reason(code, params), change)


def _change(measure: DriftMeasure, points: Sequence[DriftPoint]) -> ChangePoint | None:
    k, n = [p.k for p in points], [p.n for p in points]
    if measure is DriftMeasure.RESIDUAL:
        return change_beyond(k, n, [p.foretold or 0.5 for p in points])
    return change_of_share(k, n) if measure.is_share else change_of_mean([p.value for p in points])


def _left_out(found: Drift) -> tuple[Reason, ...]:
    left, told = found.left_out, []
    for name in ("struck", "aborted", "no_value", "untimed"):
        count = getattr(left, name)
        if count:
            code = f"drift.left_{name}"
            told.append(Reason(code, {"count": count}))
    return tuple(told)
