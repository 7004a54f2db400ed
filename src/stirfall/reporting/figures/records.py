"""Figures of the records: all attempts in their order, what the others foretold of each, and the recovery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome
from stirfall.bench.units import THIN_SPACE
from stirfall.reporting import ink
from stirfall.reporting.figures.drawing import Figure, show_percent_axis, spread_out
from stirfall.reporting.shares import counted, in_full, percent
from stirfall.session.analysis import Analysis

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Canvas

_ROWS = (
    Outcome.CLEAN,
    Outcome.COUNTED,
    Outcome.PARTED_BEADS,
    Outcome.PARTLY_PARTED,
    Outcome.NOTHING_PARTED,
    Outcome.NOT_CLEAN,
    Outcome.ABORTED,
    Outcome.NOT_GRADED,
)
_LOW_MM = 70.0
_MOST = 2000  # beyond this the marks would only blacken the paper
_STRUCK = "struck out"


def attempts_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:  # noqa: ARG001
    """Return every attempt by its number and outcome, struck-out ones hollow; None without attempts."""
    attempts = analysis.state.attempts
    if not attempts or len(attempts) > _MOST:
        return None
    shown = [outcome for outcome in _ROWS if any(attempt.outcome is outcome for attempt in attempts)]
    rows = tuple(
        (
            str(attempt.number),
            "" if attempt.started_at is None else f"{attempt.started_at:%Y-%m-%d}",
            attempt.outcome.value,
            _STRUCK if attempt.is_struck else "",
        )
        for attempt in attempts
    )
    struck = sum(attempt.is_struck for attempt in attempts)
    caption = (
        f"All {counted(len(attempts))} in their order, by outcome; {counted(struck)} struck out, shown hollow."
    )

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for place, outcome in enumerate(shown):
            mark = ink.PRINT_MARKS[outcome]
            for is_struck in (False, True):
                mine = [a.number for a in attempts if a.outcome is outcome and a.is_struck is is_struck]
                axes.scatter(
                    mine,
                    [place] * len(mine),
                    marker=mark.shape,
                    s=26,
                    facecolors="none" if is_struck else mark.colour,
                    edgecolors=mark.colour,
                    linewidths=0.9,
                )
        axes.set_yticks(range(len(shown)), [outcome.value for outcome in shown])
        axes.set_ylim(len(shown) - 0.4, -0.6)
        axes.set_xlabel("attempt")

    return Figure(
        "attempts", "All attempts", caption, ("attempt", "day", "outcome", ""), rows, draw, height_mm=_LOW_MM
    )


def foretold_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:  # noqa: ARG001
    """Return what the other attempts foretold of each against what it showed; None in the quick answer."""
    loo = analysis.loo
    if loo is None or len(loo.ids) < 5 or len(loo.ids) > _MOST:
        return None
    known = {attempt.id: attempt for attempt in analysis.state.attempts}
    found = [
        (float(p), known[each], float(k) / float(n))
        for each, p, k, n in zip(loo.ids, loo.probability, loo.k, loo.n, strict=True)
    ]
    rows = tuple(
        (str(attempt.number), percent(p), attempt.outcome.value)
        for p, attempt, _ in sorted(found, key=lambda each: each[0])
    )
    caption = (
        f"What the other attempts foretold of each of {counted(len(found))}, and what it showed: clean above, not "
        "clean below. Where the model foretells well, marks above lie to the right and marks below to the left."
    )

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for off, (p, attempt, share) in zip(spread_out(len(found), 0.16), found, strict=True):
            mark = ink.PRINT_MARKS[attempt.outcome]
            axes.scatter([p], [share + off], marker=mark.shape, s=24, color=mark.colour, alpha=0.85)
        axes.set_xlim(0, 1)
        places = (0, 0.25, 0.5, 0.75, 1)
        axes.set_xticks(places, [f"{100 * place:.0f}{THIN_SPACE}%" for place in places])
        axes.set_xlabel("foretold probability of a clean separation")
        axes.set_ylim(-0.2, 1.2)
        axes.set_yticks((0, 1), ("not clean", "clean"))

    columns = ("attempt", "foretold", "outcome")
    return Figure("foretold", "What the others foretold", caption, columns, rows, draw, height_mm=_LOW_MM)


def recovery_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:  # noqa: ARG001
    """Return the recovery of each weighed clean attempt; None where none was weighed."""
    recovery = analysis.recovery if analysis.counts.used else None
    if recovery is None or not recovery.observed:
        return None
    values = recovery.observed
    per = "of the metal charged" if recovery.basis == "metal" else "of the mass charged"
    caption = (
        f"Recovery of {counted(recovery.n, 'clean attempt')} that {'was' if recovery.n == 1 else 'were'} weighed, "
        f"{per}. Mean over many: {in_full(recovery.average.mean)}. {counted(recovery.unweighed, 'clean attempt')} "
        "not weighed."
    )
    rows = tuple((str(place), f"{100 * value:.0f}{THIN_SPACE}%") for place, value in enumerate(values, 1))

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        mark = ink.PRINT_MARKS[Outcome.CLEAN]
        places = range(1, len(values) + 1)
        axes.scatter(places, values, marker=mark.shape, s=26, color=mark.colour, zorder=3)
        mean = recovery.average.mean
        axes.axhspan(mean.lower, mean.upper, color=ink.BAND, alpha=0.7, linewidth=0)
        axes.axhline(mean.mean, color=ink.ACCENT, linewidth=1.2)
        show_percent_axis(axes, f"recovery {per}")
        axes.set_ylim(0, max(1.05, 1.05 * max(values)))
        axes.set_xlabel("clean attempt, in order")

    return Figure("recovery", "Recovery", caption, ("clean attempt", "recovery"), rows, draw, height_mm=_LOW_MM)
