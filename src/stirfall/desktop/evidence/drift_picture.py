"""A drift as a picture: lines, limits, attempts, signals and marks in the units of its axes; pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.odds.marks import Spot
from stirfall.reporting.drift_words import MEASURE_WORDS, day_of, mark_line, rail_words
from stirfall.session.drift_records import Drift, DriftMeasure
from stirfall.session.drift_told import PERHAPS

Floats = NDArray[np.float64]

SHORT_RULES = {
    "beyond_3": "beyond 3 sd",
    "two_of_three": "2 of 3",
    "four_of_five": "4 of 5",
    "eight_in_row": "8 in a row",
    "range": "step",
    "sum": "sum",
    "average": "average",
}
_ROOM = 0.08
MOST_DRAWN = 2000
"""Of more attempts the newest so many are drawn."""


@dataclass(frozen=True)
class SignalMark:
    """A signal at a point: its place, whether it lies above (+1) or below (-1), and its word."""

    x: float
    y: float
    way: int
    word: str


@dataclass(frozen=True)
class MarkLine:
    """A change at the bench at ``x``, between two attempts; ``is_own`` says that a person marked it."""

    x: float
    word: str
    is_own: bool


@dataclass(frozen=True, eq=False)
class DriftPicture:
    """What is drawn, attempts at 1, 2, 3 … along the lower axis, shares in per cent.

    ``lines`` are curves (x, y) of the chart, ``limits`` curves with their words, ``spots`` the attempts at their
    heights; with ``rails``, the words of passed and failed, they stand above and below the shares. ``change`` is
    the first, likeliest and last place of a change that may be told, None where there is none. ``start`` attempts
    before the ``numbers`` that are drawn are left out.
    """

    chart: str
    title: str
    unit: str
    bounds: tuple[float, float]
    lines: tuple[tuple[Floats, Floats], ...]
    limits: tuple[tuple[str, Floats, Floats], ...]
    spots: tuple[Spot, ...]
    rails: tuple[str, str] | None
    controls: tuple[int, ...]
    signals: tuple[SignalMark, ...]
    marks: tuple[MarkLine, ...]
    change: tuple[float, float, float] | None
    numbers: tuple[int, ...]
    start: int
    days: tuple[str, str]

    @property
    def ends(self) -> tuple[float, float]:
        """The ends of the lower axis; of very many attempts only the newest are drawn."""
        return self.start + 0.5, self.start + len(self.numbers) + 0.5


def picture_of(found: Drift | None, chart: str, *, decimal: str = ".") -> DriftPicture | None:
    """Return the picture of one chart of a drift, None where there is nothing to draw."""
    if found is None or found.chart is None:
        return None
    parts = {"cusum": _sum_parts, "ewma": _average_parts}.get(chart, _value_parts)(found)
    lines, limits, heights, on_rails = parts
    start = max(found.n - MOST_DRAWN, 0)
    lines = tuple(_since(start, x, y) for x, y in lines)
    limits = tuple((word, *_since(start, x, y)) for word, x, y in limits)
    change = found.change
    told = change is not None and change.probability >= PERHAPS
    return DriftPicture(
        chart=chart,
        title=_title(found, chart),
        unit=_unit(found, chart),
        bounds=_bounds(found, chart, [y for _, y in lines] + [y for _, _, y in limits] + [heights[start:]]),
        lines=lines,
        limits=limits,
        spots=tuple(
            Spot(each.attempt_id, each.number, Outcome(each.outcome), each.place + 1.0, float(heights[each.place]))
            for each in found.points[start:]
        ),
        rails=rail_words(found.measure) if on_rails else None,
        controls=() if found.controls is None else tuple(at - start for at in found.controls.places if at >= start),
        signals=tuple(each for each in _signals(found, chart, parts[0], heights) if each.x > start),
        marks=tuple(each for each in _marks(found, decimal) if each.x > start),
        change=_change(change.first, change.at, change.last, start=start) if change is not None and told else None,
        numbers=tuple(each.number for each in found.points[start:]),
        start=start,
        days=(day_of(found, start), day_of(found, found.n - 1)),
    )


_Parts = tuple[
    tuple[tuple[Floats, Floats], ...],
    tuple[tuple[str, Floats, Floats], ...],
    Floats,
    bool,
]


def _value_parts(found: Drift) -> _Parts:
    chart = found.chart
    assert chart is not None
    scale = 100.0 if found.measure.is_share else 1.0
    middles = np.array([0.5 * (group.first + group.last) + 1.0 for group in found.groups])
    lines = ((middles, scale * chart.values),)
    named = (("upper limit", chart.upper), ("centre", chart.centre), ("lower limit", chart.lower))
    limits = tuple((word, *_steps(found, scale * values)) for word, values in named)
    # The passes and failures behind the shares stand on rails; numbers stand at their own height.
    heights = np.array([each.value for each in found.points])
    return lines, limits, heights, found.measure.is_share


def _since(start: int, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return a curve from a place on; a step that reaches over it is cut."""
    return np.maximum(x[x > start], start + 0.5), y[x > start]


def _change(first: int, at: int, last: int, *, start: int) -> tuple[float, float, float] | None:
    return None if last < start else (max(first, start) + 0.5, max(at, start) + 0.5, last + 0.5)


def _steps(found: Drift, values: Floats) -> tuple[Floats, Floats]:
    """Return a curve that keeps its height over each group, from edge to edge."""
    edges = np.array([(group.first + 0.5, group.last + 1.5) for group in found.groups]).ravel()
    return edges, np.repeat(values, 2)


def _sum_parts(found: Drift) -> _Parts:
    sums = found.cusum
    assert sums is not None
    x = np.arange(1.0, found.n + 1.0)
    ends = np.array([0.5, found.n + 0.5])
    limits = tuple(
        (word, ends, np.full(2, height))
        for word, height in (("limit of a rise", sums.limit), ("limit of a fall", -sums.limit))
    )
    heights = np.where(sums.high >= sums.low, sums.high, -sums.low)
    return ((x, sums.high), (x, -sums.low)), limits, heights, False


def _average_parts(found: Drift) -> _Parts:
    average = found.ewma
    assert average is not None
    scale = 100.0 if found.measure.is_share else 1.0
    x = np.arange(1.0, found.n + 1.0)
    named = (("upper limit", average.upper), ("centre", average.centre), ("lower limit", average.lower))
    limits = tuple((word, x, scale * values) for word, values in named)
    return ((x, scale * average.values),), limits, scale * average.values, False


def _title(found: Drift, chart: str) -> str:
    if chart == "cusum":
        return "Cumulative sum"
    word = MEASURE_WORDS[found.measure]
    return f"{word}, average" if chart == "ewma" else word


def _unit(found: Drift, chart: str) -> str:
    if chart == "cusum":
        return "" if found.measure.is_share else found.unit
    return "%" if found.measure.is_share else found.unit


def _bounds(found: Drift, chart: str, parts: Sequence[Floats]) -> tuple[float, float]:
    if found.measure.is_share and found.measure is not DriftMeasure.RESIDUAL and chart == "values":
        return 0.0, 100.0
    if found.measure.is_share and chart == "values":
        parts = parts[:-1]
    low, high = min(float(part.min()) for part in parts), max(float(part.max()) for part in parts)
    room = _ROOM * ((high - low) or 1.0)
    return low - room, high + room


def _signals(
    found: Drift, chart: str, lines: tuple[tuple[Floats, Floats], ...], heights: Floats
) -> tuple[SignalMark, ...]:
    wanted = ("values", "ranges") if chart == "values" else (chart,)
    words: dict[tuple[float, float], list[str]] = {}
    ways: dict[tuple[float, float], int] = {}
    groups = {group.last: at for at, group in enumerate(found.groups)}
    for each in found.signals:
        if each.chart not in wanted:
            continue
        if chart == "values":
            at = groups[each.place]
            x, y = float(lines[0][0][at]), float(lines[0][1][at])
        elif chart == "cusum":
            x, y = each.place + 1.0, float(lines[0 if each.way > 0 else 1][1][each.place])
        else:
            x, y = each.place + 1.0, float(heights[each.place])
        words.setdefault((x, y), []).append(SHORT_RULES[each.rule])
        if each.chart != "ranges" or (x, y) not in ways:  # a step has no side of its own
            ways[x, y] = each.way
    return tuple(SignalMark(*at, ways[at], ", ".join(dict.fromkeys(said))) for at, said in words.items())


def _marks(found: Drift, decimal: str) -> tuple[MarkLine, ...]:
    """Return a line for each place with a mark; what changed there at once stands in one word."""
    heaps: dict[tuple[int, bool], list[str]] = {}
    for mark in found.marks:
        heaps.setdefault((mark.place, mark.id is not None), []).append(mark_line(mark, decimal=decimal))
    return tuple(MarkLine(place + 0.5, "; ".join(words), own) for (place, own), words in heaps.items())
