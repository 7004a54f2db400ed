"""From an analysis to the picture of the time to a clean batch: plain functions, safe on a worker thread."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.units import Amount, convert, human_time
from stirfall.desktop.odds.phrases import counted, value_text
from stirfall.desktop.odds.pictures import caption_of, model_basis
from stirfall.desktop.odds.state import JarMark, TimePicture
from stirfall.reporting.axis_ticks import to_axis
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.plans import PlanSettings
    from stirfall.planning.goals import GoalFigure
    from stirfall.session.analysis import Analysis
    from stirfall.session.time_curve import TimeCurve


def time_axes(analysis: Analysis) -> tuple[str, ...]:
    """Return the factors along which there is a time to a clean batch: ages and exposures that the model uses."""
    from stirfall.session.time_curve import is_age

    return tuple(factor.name for factor in analysis.model.design.factors if is_age(factor))


def why_no_time(analysis: Analysis, *, decimal: str = ".") -> str:
    """Say why there is no time to a clean batch to show, "" where there is one."""
    if not analysis.limits.may_wait:
        return sentence("time_curve.never_wait")
    if not time_axes(analysis):
        return sentence("time_curve.no_ages")
    for found in analysis.limits.findings:
        if found.level == "block":
            return sentence(found.code, found.params, decimal=decimal)
    return ""


def time_picture(
    analysis: Analysis,
    factor: Factor,
    conditions: Conditions,
    *,
    now: datetime | None,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> TimePicture:
    """Return the expected time to a clean batch along an age, everything else as in ``conditions``."""
    curve = analysis.time_curve(factor.name, conditions)
    if token is not None:
        token.raise_if_cancelled()
    low_high = analysis.limits.tried.ranges.get(factor.name)
    words = _words(curve.plan, decimal)
    return TimePicture(
        factor=factor,
        x=np.asarray(curve.x, dtype=float),
        level=curve.level,
        tried=low_high,
        tried_levels=frozenset(),
        spots=(),
        caption=f"{words} {caption_of(analysis, conditions, (factor.name,), decimal)}",
        sentence=_sentence(analysis, curve, decimal),
        mean=np.asarray(curve.hours.mean),
        lower=np.asarray(curve.hours.lower),
        upper=np.asarray(curve.hours.upper),
        chance=np.asarray(curve.chance.mean),
        best_x=curve.best_x,
        best=_best_text(curve, decimal),
        horizon_h=curve.plan.horizon_h,
        words=words,
        jars=() if now is None else jar_marks(analysis.state, factor, now),
    )


def jar_marks(state: CampaignState, factor: Factor, now: datetime) -> tuple[JarMark, ...]:
    """Return where the jars on the shelf stand along an age now, youngest first; an unknown age has no mark."""
    found = []
    for jar in state.shelf:
        lot = state.lot(jar.lot_id)
        start = jar.started_at if factor.role is Role.OIL_EXPOSURE else (lot.made_at if lot else None)
        if jar.is_residue or start is None:
            continue
        try:
            hours = age_h(start, now)
        except InputError:
            continue  # its stamp lies in the future: a clock was wrong
        if hours > 0:
            found.append(JarMark(jar.id, to_axis(factor, convert(hours, "h", factor.unit))))
    return tuple(sorted(found, key=lambda mark: (mark.x, mark.jar_id)))


def hours_text(hours: float, *, decimal: str = ".") -> str:
    """Write a time to a clean batch as a person would say it."""
    return human_time(_rounded(hours), "h", decimal=decimal)


def figure_text(figure: GoalFigure, *, decimal: str = ".") -> str:
    """Write hours with their interval: "6 days, 36 h to 30 days"."""
    low, high = (hours_text(bound, decimal=decimal) for bound in (figure.lower, figure.upper))
    return f"{hours_text(figure.value, decimal=decimal)}, {low} to {high}"


def _rounded(hours: float) -> float:
    """Round to two digits: nobody plans a week by the minute."""
    return float(f"{hours:.2g}") if hours < 48 else float(round(hours / 12) * 12)


def _words(plan: PlanSettings, decimal: str) -> str:
    params = {
        "jars": counted(plan.jars_at_once, "jar"),
        "attempt": Amount(plan.attempt_h, "h"),
        "horizon": Amount(plan.horizon_h, "h"),
    }
    return sentence("time.words", params, decimal=decimal)


def _best_text(curve: TimeCurve, decimal: str) -> str:
    if curve.best is None or curve.best_x is None:
        return ""
    return sentence(
        "time.best",
        {
            "age": value_text(curve.factor, curve.best_x, decimal=decimal),
            "time": figure_text(curve.best, decimal=decimal),
            "attempts": counted(curve.n),
        },
    )


def _sentence(analysis: Analysis, curve: TimeCurve, decimal: str) -> str:
    start = sentence("time.sentence", {"factor": curve.factor.name, "basis": model_basis(analysis)})
    best = _best_text(curve, decimal)
    return " ".join(part for part in (start, best, _words(curve.plan, decimal)) if part)
