"""Figures along one factor: the probability of a clean separation, and the shares of the three outcomes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt, find_factor
from stirfall.inference.odds import Bands
from stirfall.reporting import ink
from stirfall.reporting.figures.drawing import Figure, show_number_axis, show_percent_axis, spread_out
from stirfall.reporting.recipe_curve import make_curve, round_places
from stirfall.reporting.recipe_evidence import used_attempts
from stirfall.reporting.recipe_parts import RecipeCurve, shown_value
from stirfall.reporting.shares import counted, level_percent, percent, span
from stirfall.session.analysis import Analysis
from stirfall.session.outcome_shares import OutcomeShares

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_RAIL = 0.05  # how far marks lie off the rails at 0 and 100 %
_DASHES = (0, (4, 3))


def along_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:
    """Return the probability of a clean separation along the age, or another factor where age must not count."""
    curve = make_curve(analysis, conditions) if analysis.counts.used else None
    if curve is None:
        return None
    factor = find_factor(analysis.state.factors, curve.factor)
    level, n = level_percent(analysis.model.level), analysis.model.n
    rest = _others(conditions, factor, analysis, decimal)
    caption = (
        f"Probability of a clean separation along {factor.name}, with its {level} interval, from "
        f"{counted(n, 'trial' if analysis.model.of_trials else 'attempt')}. {rest} Marks are the attempts, clean "
        "above and not clean below, whatever their other conditions were. Dashed: beyond what was tried."
    )
    rows = [_row(curve, place, factor, decimal) for place in round_places(curve)]
    marked = [
        (x, attempt)
        for attempt in used_attempts(analysis)
        if (x := attempt.conditions.number(factor.name)) is not None
    ]

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        _draw_band(axes, curve.x, (curve.mean, curve.lower, curve.upper), curve.tried)
        _draw_attempts(axes, marked)
        axes.axvline(curve.at, color=ink.MUTED, linewidth=0.9, linestyle=":")
        show_number_axis(axes, factor, curve.x[0], curve.x[-1], decimal=decimal)
        show_percent_axis(axes, "clean separation")
        canvas.legend(loc="outside upper center", ncols=4, fontsize=8, handletextpad=0.2)

    columns = (factor.name, "probability", f"{level} interval")
    return Figure("chance", f"Clean separation along {factor.name}", caption, columns, tuple(rows), draw)


def shares_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:
    """Return the shares of the three outcomes along the same factor, None with one gate."""
    curve = make_curve(analysis, conditions) if analysis.counts.used else None
    shares = None if curve is None else analysis.outcome_shares(curve.factor, conditions)
    if curve is None or shares is None:
        return None
    factor = shares.factor
    lines = _share_lines(shares)
    caption = (
        f"Shares of the three outcomes along {factor.name}, all else as in the figure before: the solids stay in "
        f"the metal, they leave it and the metal stays in beads, or both gates are passed. {counted(shares.n)}. "
        f"Partly parted attempts count as {shares.partly_parted}."
    )
    rows = [
        (
            shown_value(place, factor.unit, decimal=decimal),
            *(_share_at(shares, bands, place) for _, bands, _ in lines),
        )
        for place in round_places(curve)
    ]

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for word, bands, outcome in lines:
            mark = ink.PRINT_MARKS[outcome]
            axes.plot(
                shares.x,
                bands.mean,
                color=mark.colour,
                marker=mark.shape,
                markevery=max(1, len(shares.x) // 8),
                markersize=5,
                linewidth=1.6,
                label=word,
            )
            axes.fill_between(shares.x, bands.lower, bands.upper, color=mark.colour, alpha=0.12, linewidth=0)
        show_number_axis(axes, factor, float(shares.x[0]), float(shares.x[-1]), decimal=decimal)
        show_percent_axis(axes, "share of attempts")
        canvas.legend(loc="outside upper center", ncols=3)

    columns = (factor.name, *(word for word, _, _ in lines))
    return Figure("outcomes", f"Outcomes along {factor.name}", caption, columns, tuple(rows), draw)


def _share_lines(shares: OutcomeShares) -> tuple[tuple[str, Bands, Outcome], ...]:
    return (
        ("solids stay", shares.not_parted, Outcome.NOTHING_PARTED),
        ("parted, but beads", shares.beads, Outcome.PARTED_BEADS),
        ("clean", shares.clean, Outcome.CLEAN),
    )


def _share_at(shares: OutcomeShares, bands: Bands, place: float) -> str:
    import numpy as np

    mean, lower, upper = (float(np.interp(place, shares.x, values)) for values in bands)
    return f"{percent(mean)}, {span(lower, upper)}"


def _others(conditions: Conditions, factor: Factor, analysis: Analysis, decimal: str) -> str:
    in_model = {each.name: each for each in analysis.model.design.factors}
    said = [
        f"{name} {shown_value(value, in_model[name].unit, decimal=decimal)}"
        for name, value in conditions.items()
        if name in in_model and name not in (factor.name, analysis.follows)
    ]
    return f"All else as recommended: {', '.join(said)}." if said else ""


def _row(curve: RecipeCurve, place: float, factor: Factor, decimal: str) -> tuple[str, str, str]:
    mean, lower, upper = curve.at_place(place)
    return shown_value(place, factor.unit, decimal=decimal), percent(mean), span(lower, upper)


def _draw_band(
    axes: Axes,
    x: Sequence[float],
    bands: tuple[Sequence[float], Sequence[float], Sequence[float]],
    tried: tuple[float, float] | None,
) -> None:
    """Draw mean and interval; full inside what was tried, dashed and paler outside."""
    import numpy as np

    at = np.asarray(x)
    mean, lower, upper = (np.asarray(values) for values in bands)
    inside = np.ones(len(at), dtype=bool) if tried is None else (at >= tried[0]) & (at <= tried[1])
    axes.fill_between(at, lower, upper, color=ink.BAND, alpha=0.35, linewidth=0)
    axes.fill_between(at, lower, upper, where=list(inside), color=ink.BAND, alpha=0.8, linewidth=0)
    axes.plot(at, mean, color=ink.ACCENT, linewidth=1.4, linestyle=_DASHES)
    axes.plot(at[inside], mean[inside], color=ink.ACCENT, linewidth=2.0)


def _draw_attempts(axes: Axes, marked: Sequence[tuple[float, Attempt]]) -> None:
    """Draw each attempt on its rail, moved a little so that none hides; each outcome with its own shape."""
    offsets = spread_out(len(marked), 1.2 * _RAIL)
    for outcome, mark in ink.PRINT_MARKS.items():
        mine = [
            (x, attempt, off)
            for (x, attempt), off in zip(marked, offsets, strict=True)
            if attempt.outcome is outcome
        ]
        if not mine:
            continue
        rails = [
            1.0 + _RAIL + off if 2 * count[0] > count[1] else -_RAIL + off
            for _, attempt, off in mine
            if (count := attempt.clean_count or (0, 1))
        ]
        axes.scatter(
            [x for x, _, _ in mine],
            rails,
            s=16,
            marker=mark.shape,
            facecolors=mark.colour,
            edgecolors=ink.PAPER,
            linewidths=0.4,
            alpha=0.85,
            zorder=3,
            label=mark.word,
        )
