"""Drift in words: the sentences, the table of signals, the marks, and the points of a chart as lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import tzinfo

from stirfall.bench.ages import stamp
from stirfall.bench.estimates import whole_percent
from stirfall.bench.units import format_number
from stirfall.reporting.sentences import sentence
from stirfall.session.drift_records import Drift, DriftMark, DriftMeasure, DriftPoint, DriftSignal
from stirfall.session.drift_told import said_day

MEASURE_WORDS: dict[DriftMeasure, str] = {
    DriftMeasure.CLEAN: "Clean separation",
    DriftMeasure.PARTED: "Solids left",
    DriftMeasure.POOLED: "One pool",
    DriftMeasure.RECOVERY: "Recovery",
    DriftMeasure.PARTING_TIME: "Time until powder",
    DriftMeasure.RUN_TIME: "Time of the run",
    DriftMeasure.RESIDUAL: "Clean beyond foretold",
}
CHARTS = ("values", "cusum", "ewma")
KIND_WORDS = {"oil": "Oil", "tool": "Tool", "lot": "Lot", "operator": "Person", "other": "Other"}


def drift_lines(found: Drift, *, decimal: str = ".") -> tuple[str, ...]:
    """Return the finished sentences of a drift, the verdict first."""
    return tuple(sentence(each.code, each.params, decimal=decimal) for each in found.sentences)


def verdict_line(found: Drift, *, decimal: str = ".") -> str:
    """Return the first sentence, which says whether something has changed."""
    return drift_lines(found, decimal=decimal)[0]


def signal_line(signal: DriftSignal, *, decimal: str = ".") -> str:
    """Say which rule is met."""
    return sentence(signal.reason.code, signal.reason.params, decimal=decimal)


def mark_line(mark: DriftMark, *, decimal: str = ".") -> str:
    """Say what was changed."""
    return sentence(mark.words.code, mark.words.params, decimal=decimal)


def day_of(found: Drift, place: int, tz: tzinfo | None = None) -> str:
    """Return the local day of the attempt at a place, "" where it is not known."""
    at = found.points[place].at
    return "" if at is None else said_day(at, found.points[-1].at, tz)


def attempts_of(found: Drift, first: int, last: int) -> str:
    """Write which attempts a group holds: "Attempt 31", "Attempts 31 to 34"; in the order of time."""
    numbers = [point.number for point in found.points[first : last + 1]]
    if len(numbers) == 1:
        return f"Attempt {numbers[0]}"
    if numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"Attempts {numbers[0]} to {numbers[-1]}"
    return f"Attempts {', '.join(str(number) for number in numbers)}"


def value_words(found: Drift, value: float, *, decimal: str = ".") -> str:
    """Write a value of the chart: shares in per cent, numbers with their unit."""
    unit = "%" if found.measure.is_share else found.unit
    shown = 100.0 * value if found.measure.is_share else value
    return f"{format_number(shown, digits=3, decimal=decimal)}\u2009{unit}"


def point_words(found: Drift, point: DriftPoint, *, decimal: str = ".", tz: tzinfo | None = None) -> str:
    """Name one attempt: number, day, what it gave, and whether it is a control."""
    parts = [f"Attempt {point.number}", day_of(found, point.place, tz)]
    if not found.measure.is_share:
        parts.append(value_words(found, point.value, decimal=decimal))
    elif point.n > 1:
        parts.append(f"{point.k:.0f} of {point.n:.0f}")
    else:
        parts.append(_passed(found.measure, passed=point.k > 0))
    if point.foretold is not None:
        parts.append(f"foretold {whole_percent(point.foretold)}\u2009%")
    if point.is_control:
        parts.append("control")
    return ", ".join(part for part in parts if part)


def rail_words(measure: DriftMeasure) -> tuple[str, str]:
    """Return the short words for an attempt that passed and one that did not."""
    return {DriftMeasure.PARTED: ("left", "stayed"), DriftMeasure.POOLED: ("pool", "no pool")}.get(
        measure, ("clean", "not clean")
    )


def _passed(measure: DriftMeasure, *, passed: bool) -> str:
    words = {
        DriftMeasure.PARTED: ("solids left", "solids stayed"),
        DriftMeasure.POOLED: ("one pool", "no single pool"),
    }
    return words.get(measure, ("clean", "not clean"))[0 if passed else 1]


def chart_lines(
    found: Drift, chart: str = "values", *, decimal: str = ".", tz: tzinfo | None = None
) -> tuple[str, ...]:
    """Return the points of a chart as lines of a table, each with its limits and the signals there."""
    return _aligned(chart_rows(found, chart, decimal=decimal, tz=tz)) if found.chart is not None else ()


def chart_rows(
    found: Drift, chart: str = "values", *, decimal: str = ".", tz: tzinfo | None = None, bare: bool = False
) -> tuple[tuple[str, ...], ...]:
    """Return the points of a chart as rows of cells, the header first; ``bare`` numbers are for files."""
    if found.chart is None:
        return ()
    write = _Writer(found, decimal, tz, bare=bare)
    return {"cusum": _sum_rows, "ewma": _average_rows}.get(chart, _value_rows)(found, write)


@dataclass(frozen=True)
class _Writer:
    """Writes the cells of a table: as people read them, or as bare numbers with a decimal point."""

    found: Drift
    decimal: str
    tz: tzinfo | None
    bare: bool = field(kw_only=True, default=False)

    def value(self, value: float) -> str:
        if self.bare:
            return f"{value:.6g}"
        return value_words(self.found, value, decimal=self.decimal)

    def number(self, value: float) -> str:
        return f"{value:.6g}" if self.bare else format_number(value, digits=3, decimal=self.decimal)

    def day(self, place: int) -> str:
        at = self.found.points[place].at
        if self.bare:
            return "" if at is None else stamp(at)
        return day_of(self.found, place, self.tz)

    def signals(self, charts: tuple[str, ...]) -> dict[int, str]:
        told: dict[int, list[str]] = {}
        for each in self.found.signals:
            if each.chart in charts:
                told.setdefault(each.place, []).append(signal_line(each, decimal=self.decimal))
        return {place: "; ".join(words) for place, words in told.items()}


def _value_rows(found: Drift, write: _Writer) -> tuple[tuple[str, ...], ...]:
    assert found.chart is not None
    rows: list[tuple[str, ...]] = [("attempts", "day", "value", "lower", "centre", "upper", "signal")]
    told = write.signals(("values", "ranges"))
    for at, group in enumerate(found.groups):
        parts = (found.chart.values, found.chart.lower, found.chart.centre, found.chart.upper)
        name = attempts_of(found, group.first, group.last).split(" ", 1)[1]
        words = [write.value(float(each[at])) for each in parts]
        rows.append((name, write.day(group.first), *words, told.get(group.last, "")))
    return tuple(rows)


def _sum_rows(found: Drift, write: _Writer) -> tuple[tuple[str, ...], ...]:
    assert found.cusum is not None
    rows: list[tuple[str, ...]] = [("attempt", "day", "sum up", "sum down", "limit", "signal")]
    told = write.signals(("cusum",))
    for point in found.points:
        sums = (found.cusum.high[point.place], found.cusum.low[point.place], found.cusum.limit)
        words = [write.number(float(each)) for each in sums]
        rows.append((f"{point.number}", write.day(point.place), *words, told.get(point.place, "")))
    return tuple(rows)


def _average_rows(found: Drift, write: _Writer) -> tuple[tuple[str, ...], ...]:
    assert found.ewma is not None
    rows: list[tuple[str, ...]] = [("attempt", "day", "average", "lower", "centre", "upper", "signal")]
    told = write.signals(("ewma",))
    for point in found.points:
        parts = (found.ewma.values, found.ewma.lower, found.ewma.centre, found.ewma.upper)
        words = [write.value(float(each[point.place])) for each in parts]
        rows.append((f"{point.number}", write.day(point.place), *words, told.get(point.place, "")))
    return tuple(rows)


def _aligned(rows: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return tuple(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )
