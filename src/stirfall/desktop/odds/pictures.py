"""From an analysis to what the pictures show: plain functions, safe on a worker thread."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.factors import Conditions, Factor, Value
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import INVENTED_NOTICE, Attempt
from stirfall.desktop.odds.lots import lot_text
from stirfall.desktop.odds.marks import Spot, drawn
from stirfall.desktop.odds.outlines import convex_hull
from stirfall.desktop.odds.phrases import conditions_text, counted, value_text
from stirfall.desktop.odds.state import CurvePicture, Floats, MapPicture
from stirfall.reporting.axis_ticks import to_axis
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis

GATE_WORDS: Mapping[str, str] = {"parted": "parted", "pooled": "pooled, if parted", "clean": "clean"}
MAP_POINTS = 41
_SEVERAL_READOUT_VALUES = 9


def curve_picture(
    analysis: Analysis,
    factor: Factor,
    conditions: Conditions,
    *,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> CurvePicture:
    """Return the curve along ``factor`` with everything else as in ``conditions`` (no value unknown)."""
    curve = analysis.curve(factor.name, conditions)
    if token is not None:
        token.raise_if_cancelled()
    x = np.arange(len(factor.levels), dtype=float) if factor.is_choice else np.asarray(curve.x, dtype=float)
    tried_levels, tried = tried_range(analysis, factor)
    spots = curve_spots(analysis.state.attempts, factor)
    shown = drawn(spots)
    return CurvePicture(
        factor=factor,
        x=x,
        mean=np.asarray(curve.mean),
        lower=np.asarray(curve.lower),
        upper=np.asarray(curve.upper),
        level=analysis.model.level,
        gates=_gate_lines(analysis, factor, conditions, x),
        tried=tried,
        tried_levels=tried_levels,
        spots=tuple(shown),
        not_drawn=len(spots) - len(shown),
        caption=caption_of(analysis, conditions, (factor.name,), decimal),
        sentence=_curve_sentence(analysis, factor, x, np.asarray(curve.mean), tried=tried, decimal=decimal),
    )


def map_picture(
    analysis: Analysis,
    x_factor: Factor,
    y_factor: Factor,
    conditions: Conditions,
    *,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> MapPicture:
    """Return the map over two number factors with everything else as in ``conditions``."""
    surface = analysis.surface(x_factor.name, y_factor.name, conditions, points=MAP_POINTS)
    if token is not None:
        token.raise_if_cancelled()
    spots = _map_spots(analysis.state.attempts, x_factor, y_factor)
    shown = drawn(spots)
    graded = [spot for spot in spots if spot.outcome not in (Outcome.ABORTED, Outcome.NOT_GRADED)]
    mean = np.asarray(surface.mean)
    return MapPicture(
        x_factor=x_factor,
        y_factor=y_factor,
        x=np.array([to_axis(x_factor, float(value)) for value in surface.x]),
        y=np.array([to_axis(y_factor, float(value)) for value in surface.y]),
        mean=mean,
        hull=convex_hull([(spot.x, spot.y) for spot in graded]),
        spots=tuple(shown),
        not_drawn=len(spots) - len(shown),
        caption=caption_of(analysis, conditions, (x_factor.name, y_factor.name), decimal),
        sentence=_map_sentence(analysis, x_factor, y_factor, mean, x=surface.x, y=surface.y, decimal=decimal),
    )


def attempt_text(factors: tuple[Factor, ...], attempt: Attempt, *, decimal: str = ".") -> str:
    """Say what an attempt was in one line: "Attempt 12: parted but beads. sample age 24 h, temperature 150 °C"."""
    outcome = attempt.outcome.value
    if attempt.outcome is Outcome.COUNTED and attempt.successes is not None:
        outcome = f"{attempt.successes} clean of {attempt.trials}"
    values = conditions_text(factors, attempt.conditions, decimal=decimal)[:_SEVERAL_READOUT_VALUES]
    return f"Attempt {attempt.number}: {outcome}. " + ", ".join(f"{name} {text}" for name, text in values)


def tried_range(analysis: Analysis, factor: Factor) -> tuple[frozenset[str], tuple[float, float] | None]:
    """Return the levels, and the lowest and highest value, that graded attempts had."""
    graded = [attempt for attempt in analysis.state.attempts if attempt.clean_count is not None]
    values = [attempt.conditions[factor.name] for attempt in graded if factor.name in attempt.conditions]
    numbers = [value for value in values if not isinstance(value, str)]
    levels = frozenset(value for value in values if isinstance(value, str))
    return levels, ((min(numbers), max(numbers)) if numbers else None)


def _gate_lines(
    analysis: Analysis, factor: Factor, conditions: Conditions, x: Floats
) -> tuple[tuple[str, Floats], ...]:
    if len(analysis.model.gates) < 2:
        return ()
    bands = analysis.model.gate_estimates(analysis.columns_along({factor.name: x}, conditions))
    return tuple((GATE_WORDS[name], np.asarray(band.mean)) for name, band in bands.items())


def curve_spots(attempts: tuple[Attempt, ...], factor: Factor) -> list[Spot]:
    """Return the marks of the attempts along a factor; those whose value is unknown have none."""
    spots = []
    for attempt in attempts:
        place = _place(factor, attempt.conditions.get(factor.name))
        if place is None or attempt.is_struck:
            continue
        share = float("nan")
        if attempt.outcome is Outcome.COUNTED and attempt.successes is not None:
            share = attempt.successes / attempt.trials
        spots.append(Spot(attempt.id, attempt.number, attempt.outcome, place, share))
    return spots


def _map_spots(attempts: tuple[Attempt, ...], x_factor: Factor, y_factor: Factor) -> list[Spot]:
    spots = []
    for attempt in attempts:
        x = _place(x_factor, attempt.conditions.get(x_factor.name))
        y = _place(y_factor, attempt.conditions.get(y_factor.name))
        if x is not None and y is not None and not attempt.is_struck:
            spots.append(Spot(attempt.id, attempt.number, attempt.outcome, x, y))
    return spots


def _place(factor: Factor, value: Value | None) -> float | None:
    """Return the axis position of a value, or None where it has none (unknown, no level, zero on a log scale)."""
    if value is None:
        return None
    if factor.is_choice:
        return float(factor.levels.index(value)) if value in factor.levels else None
    if isinstance(value, str) or not np.isfinite(value):
        return None
    try:
        return to_axis(factor, value)
    except ValueError:
        return None


axis_place = _place


def model_basis(analysis: Analysis) -> str:
    """Say what the answers rest on: "47 attempts", or "481 trials" where attempts hold several."""
    return counted(analysis.model.n, "trial" if analysis.model.of_trials else "attempt")


def caption_of(analysis: Analysis, conditions: Conditions, along: tuple[str, ...], decimal: str) -> str:
    """Say what a picture holds fixed, for which lot it is, and what it rests on.

    A film index that follows from the ages is not held fixed.
    """
    if analysis.follows not in along:
        conditions = analysis.usual(conditions)
    values = conditions_text(analysis.model.design.factors, conditions, decimal=decimal)
    fixed = [f"{name} {text}" for name, text in values if name not in along]
    parts = [f"At {', '.join(fixed)}." if fixed else "", lot_text(analysis), f"{model_basis(analysis)}."]
    if analysis.follows is not None and analysis.follows not in along:
        parts.insert(1, sentence("odds.film_follows", {"factor": analysis.follows}))
    if analysis.state.settings.invented:
        parts.append(f"{INVENTED_NOTICE}.")
    return " ".join(part for part in parts if part)


def _curve_sentence(
    analysis: Analysis, factor: Factor, x: Floats, mean: Floats, *, tried: tuple[float, float] | None, decimal: str
) -> str:
    def said(index: int) -> str:
        value: Value = factor.levels[index] if factor.is_choice else float(x[index])
        return value_text(factor, value, decimal=decimal)

    def at(index: int) -> str:
        return f"{said(index)} with {percent(float(mean[index]))}"

    text = (
        f"Probability of clean separation along {factor.name}, from {model_basis(analysis)}: highest near "
        f"{at(int(np.argmax(mean)))}, lowest near {at(int(np.argmin(mean)))}."
    )
    if factor.is_choice:
        return text
    if tried is None:
        return f"{text} Nothing was tried yet."
    low, high = (value_text(factor, value, decimal=decimal) for value in tried)
    return f"{text} Tried from {low} to {high}."


def _map_sentence(
    analysis: Analysis, x_factor: Factor, y_factor: Factor, mean: Floats, *, x: Floats, y: Floats, decimal: str
) -> str:
    row, column = np.unravel_index(int(np.argmax(mean)), mean.shape)
    x_text = value_text(x_factor, float(x[column]), decimal=decimal)
    y_text = value_text(y_factor, float(y[row]), decimal=decimal)
    return (
        f"Probability of clean separation over {x_factor.name} and {y_factor.name}, from "
        f"{model_basis(analysis)}: from {span(float(mean.min()), float(mean.max()))}, highest near "
        f"{x_text} and {y_text}."
    )
