"""What goals promise, in words and as JSON: hours to a clean batch, grams a week, and times by age."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.estimates import Estimate
from stirfall.bench.units import Amount
from stirfall.planning.goals import GoalFigure
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, counted, interval, percent, span

if TYPE_CHECKING:
    from stirfall.planning.suggestions import Suggestion
    from stirfall.session.time_curve import TimeCurve

_HOURS = "h"
_ROWS = 9


def held_text(held: Estimate, *, decimal: str = ".") -> str:
    """Say the probability where conditions are held as well as the person holds them."""
    return sentence("goal.held", {"chance": f"{percent(held.mean)}, {interval(held)}"}, decimal=decimal)


def figure_text(figure: GoalFigure, probability: Estimate, *, decimal: str = ".") -> str:
    """Say what a goal promises, with its interval and what it rests on."""
    unit, code = (_HOURS, "goal.hours") if figure.unit == _HOURS else ("g", "goal.grams")
    params: dict[str, object] = {
        "value": _amount(figure.value, unit),
        "lower": _amount(figure.lower, unit),
        "upper": _amount(figure.upper, unit),
        "basis": basis(probability),
    }
    return sentence(code, params, decimal=decimal)


def figure_json(figure: GoalFigure | None) -> dict[str, object] | None:
    """Return a figure as JSON has it, null where there is none."""
    if figure is None:
        return None
    return {"value": figure.value, "lower": figure.lower, "upper": figure.upper, "unit": figure.unit}


def suggestion_lines(suggestion: Suggestion, *, decimal: str = ".") -> list[str]:
    """Return what is said of a suggestion beside its probability and reason: control error, figure, explanation."""
    lines = []
    if suggestion.held is not None:
        lines.append(held_text(suggestion.held, decimal=decimal))
    if suggestion.figure is not None:
        lines.append(figure_text(suggestion.figure, suggestion.probability, decimal=decimal))
    if suggestion.explanation is not None:
        from stirfall.reporting.explanations import explanation_lines

        lines += explanation_lines(suggestion.explanation, decimal=decimal)
    return lines


def time_curve_lines(curve: TimeCurve, *, decimal: str = ".") -> list[str]:
    """Return the expected time to a clean batch at a few ages, and at which it is the shortest."""
    head = {
        "factor": curve.factor.name,
        "jars": counted(curve.plan.jars_at_once, "jar"),
        "attempt": Amount(curve.plan.attempt_h, _HOURS),
        "horizon": Amount(curve.plan.horizon_h, _HOURS),
        "n": counted(curve.n),
    }
    lines = [sentence("time_curve.head", head, decimal=decimal)]
    lines += [_row(curve, at, decimal) for at in np.linspace(0, len(curve.x) - 1, _ROWS).round().astype(int)]
    if curve.best is None or curve.best_x is None:
        return [*lines, sentence("time_curve.none_allowed", {"factor": curve.factor.name}, decimal=decimal)]
    best = {
        "factor": curve.factor.name,
        "age": _amount(curve.best_x, curve.factor.unit),
        "hours": _amount(curve.best.value, _HOURS),
        "lower": _amount(curve.best.lower, _HOURS),
        "upper": _amount(curve.best.upper, _HOURS),
    }
    return [*lines, sentence("time_curve.best", best, decimal=decimal)]


def _row(curve: TimeCurve, at: int, decimal: str) -> str:
    hours = curve.hours.hours(at)
    params: dict[str, object] = {
        "age": _amount(float(curve.x[at]), curve.factor.unit),
        "hours": _amount(hours.value, _HOURS),
        "lower": _amount(hours.lower, _HOURS),
        "upper": _amount(hours.upper, _HOURS),
        "chance": _chance(curve, at),
    }
    code = "time_curve.row" if curve.tried[at] else "time_curve.row_untried"
    return "  " + sentence(code, params, decimal=decimal)


def _chance(curve: TimeCurve, at: int) -> str:
    """Return the chance in time with its interval; alone where all of it is as good as certain."""
    mean, lower, upper = (float(each[at]) for each in (curve.chance.mean, curve.chance.lower, curve.chance.upper))
    return percent(mean) if percent(lower) == percent(1.0) else f"{percent(mean)}, {span(lower, upper)}"


def time_curve_json(curve: TimeCurve) -> dict[str, object]:
    """Return a time curve as JSON has it: ages in the factor's unit, times in hours, chances from 0 to 1."""
    return {
        "factor": curve.factor.name,
        "unit": curve.factor.unit,
        "attempt_h": curve.plan.attempt_h,
        "jars_at_once": curve.plan.jars_at_once,
        "horizon_h": curve.plan.horizon_h,
        "level": curve.level,
        "n": curve.n,
        "points": [
            {
                "age": float(curve.x[at]),
                "hours": figure_json(curve.hours.hours(at)),
                "chance": {
                    "mean": float(curve.chance.mean[at]),
                    "lower": float(curve.chance.lower[at]),
                    "upper": float(curve.chance.upper[at]),
                },
                "tried": bool(curve.tried[at]),
            }
            for at in range(len(curve.x))
        ],
        "best": None
        if curve.best_x is None
        else {"age": curve.best_x, "hours": figure_json(curve.best), "chance": curve.best_chance},
    }


def _amount(value: float, unit: str) -> Amount:
    """Return an amount with two digits, which is more than it is known to."""
    return Amount(float(f"{value:.2g}"), unit)
