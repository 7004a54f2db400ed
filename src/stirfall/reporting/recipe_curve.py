"""The curve that a recipe shows: probability along the sample age, or another factor where age must not count."""

from __future__ import annotations

import math

from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.units import convert, unit_kind
from stirfall.reporting.recipe_evidence import used_attempts
from stirfall.reporting.recipe_parts import CurveMark, RecipeCurve
from stirfall.session.analysis import Analysis

POINTS = 121

_ROUND_SECONDS = (
    *(1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800),
    *(3600 * hours for hours in (1, 2, 4, 8, 12, 24, 48, 96)),
    *(604_800 * weeks for weeks in (1, 2, 4, 8, 16, 32, 52)),
)


def make_curve(analysis: Analysis, conditions: Conditions) -> RecipeCurve | None:
    """Return the data of the picture; None where no number factor is in the model.

    For superoxide formers no exposure is drawn: a picture that rises with age would be advice to wait.
    """
    factor = _axis(analysis, conditions)
    if factor is None:
        return None
    at = conditions.number(factor.name)
    if at is None:
        return None
    curve = analysis.curve(factor.name, conditions, points=POINTS)
    tried = None if curve.tried_low is None or curve.tried_high is None else (curve.tried_low, curve.tried_high)
    return RecipeCurve(
        factor=factor.name,
        unit=factor.unit,
        log=factor.scale is Scale.LOG,
        x=tuple(map(float, curve.x)),
        mean=tuple(map(float, curve.mean)),
        lower=tuple(map(float, curve.lower)),
        upper=tuple(map(float, curve.upper)),
        tried=tried,
        at=at,
        marks=_marks(analysis, factor),
    )


def round_places(curve: RecipeCurve) -> tuple[float, ...]:
    """Return round places of the axis, for a table: times that people say, numbers in 1, 2, 5 steps."""
    low, high = curve.x[0], curve.x[-1]
    if unit_kind(curve.unit) == "time":
        places = [convert(seconds, "s", curve.unit) for seconds in _ROUND_SECONDS]
    elif curve.log:
        powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        places = [lead * 10.0**power for power in powers for lead in (1, 2, 5)]
    else:
        rough = (high - low) / 8
        size = 10.0 ** math.floor(math.log10(rough))
        step = next(lead * size for lead in (1, 2, 5, 10) if lead * size >= rough)
        places = [step * index for index in range(math.floor(low / step), math.ceil(high / step) + 1)]
    return tuple(place for place in places if low * (1 - 1e-9) <= place <= high * (1 + 1e-9))


def _axis(analysis: Analysis, conditions: Conditions) -> Factor | None:
    numbers = [
        factor
        for factor in analysis.model.design.factors
        if not factor.is_choice and factor.name in conditions and factor.name != analysis.follows
    ]
    if not analysis.limits.may_wait:
        numbers = [factor for factor in numbers if factor.role is not None and not factor.role.is_exposure]
    order = [Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.FILM_INDEX, Role.HOT_TIME, Role.TEMPERATURE]
    numbers.sort(key=lambda factor: order.index(factor.role) if factor.role in order else len(order))
    return numbers[0] if numbers else None


def _marks(analysis: Analysis, factor: Factor) -> tuple[CurveMark, ...]:
    marks = []
    for attempt in used_attempts(analysis):
        x, count = attempt.conditions.number(factor.name), attempt.clean_count
        if x is not None and count is not None:
            marks.append(CurveMark(x, 2 * count[0] > count[1]))
    return tuple(marks)
