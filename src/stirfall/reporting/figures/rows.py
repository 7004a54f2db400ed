"""Figures of rows: what each factor does to the odds of each gate, and how often each lot came out clean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome
from stirfall.inference.effects import Effect, Multiplier
from stirfall.reporting import ink
from stirfall.reporting.effect_words import factor_span, odds_factor, step_words
from stirfall.reporting.figures.drawing import WIDTH_MM, Figure, drawable
from stirfall.reporting.shares import counted, level_percent, percent, span
from stirfall.session.analysis import Analysis

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_ROW_MM, _AROUND_MM = 8.0, 32.0
_GATES = {
    "parted": ("the solids leave the metal", Outcome.PARTED_BEADS),
    "pooled": ("the metal becomes one pool", Outcome.CLEAN),
    "clean": ("clean separation", Outcome.CLEAN),
}
_FARTHEST = 50.0
_MOST_LOTS = 40
_LONGEST = 44  # letters of a row's name: the rest of the width is for the bars


def effects_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:  # noqa: ARG001
    """Return by how much a step of each factor multiplies the odds of each gate; None without attempts."""
    known = [(each, each.multiplier) for each in analysis.effects() if each.multiplier is not None]
    if not known or not analysis.counts.used:
        return None
    rows = tuple(_effect_row(effect, times, decimal) for effect, times in known)
    caption = (
        f"By how much a step of each factor multiplies the odds of each gate: median and "
        f"{level_percent(analysis.model.level)} interval, from {counted(analysis.counts.used)}. At 1 a factor "
        f"changes nothing. Bars end at {odds_factor(_FARTHEST, decimal=decimal)} and its inverse."
    )

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for place, (effect, times) in enumerate(known):
            mark = ink.PRINT_MARKS[_GATES[effect.gate][1]]
            low, middle, high = (
                min(max(value, 1 / _FARTHEST), _FARTHEST) for value in (times.lower, times.median, times.upper)
            )
            axes.plot([low, high], [place, place], color=mark.colour, linewidth=2.2, solid_capstyle="butt")
            axes.plot([middle], [place], marker=mark.shape, color=mark.colour, markersize=7)
        axes.axvline(1.0, color=ink.INK, linewidth=1.0)
        axes.set_xscale("log")
        axes.set_xlim(1 / _FARTHEST, _FARTHEST)
        places = (0.02, 0.1, 0.5, 1.0, 2.0, 10.0, 50.0)
        axes.set_xticks(places, [odds_factor(each, decimal=decimal) for each in places])
        axes.set_xticks([], minor=True)
        axes.set_xlabel("the odds are multiplied by")
        _name_rows(axes, [f"{step_words(each, decimal=decimal)}\n{_GATES[each.gate][0]}" for each, _ in known])

    columns = ("step", "gate", "odds multiplied by", "probability of the sign", "attempts")
    height = _AROUND_MM + 1.5 * _ROW_MM * len(known)
    return Figure("effects", "What each factor does", caption, columns, rows, draw, WIDTH_MM, height)


def _effect_row(effect: Effect, times: Multiplier, decimal: str) -> tuple[str, ...]:
    return (
        step_words(effect, decimal=decimal),
        _GATES[effect.gate][0],
        factor_span(times, decimal=decimal),
        percent(times.prob_sign),
        "not known" if effect.n is None else str(effect.n),
    )


def lots_figure(analysis: Analysis, conditions: Conditions, decimal: str) -> Figure | None:  # noqa: ARG001
    """Return how often each lot came out clean, as plainly counted; None where fewer than two were tried."""
    from stirfall.inference.proportions import wilson

    counts: dict[str, tuple[int, int]] = {}
    for attempt in analysis.state.attempts:
        count = attempt.clean_count
        if count is not None and attempt.lot_id is not None:
            before = counts.get(attempt.lot_id, (0, 0))
            counts[attempt.lot_id] = (before[0] + count[0], before[1] + count[1])
    if not 2 <= len(counts) <= _MOST_LOTS:
        return None
    level = analysis.model.level
    found = [(lot, k, n, (bounds := wilson(k, n, level)).lower, bounds.upper) for lot, (k, n) in counts.items()]
    rows = tuple((lot, f"{k} of {n}", percent(k / n), span(low, high)) for lot, k, n, low, high in found)
    caption = (
        f"How often attempts with each lot came out clean, with the {level_percent(level)} interval of Wilson. "
        "These are plain counts: lots were not tried at the same conditions, so a difference need not be the lot's."
    )

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for place, (_, k, n, low, high) in enumerate(found):
            axes.plot([low, high], [place, place], color=ink.ACCENT, linewidth=2.2, solid_capstyle="butt")
            axes.plot([k / n], [place], marker="o", color=ink.ACCENT, markersize=7)
        axes.set_xlim(0, 1)
        axes.set_xticks((0, 0.25, 0.5, 0.75, 1), ("0", "25", "50", "75", "100"))
        axes.set_xlabel("clean separations, per cent")
        _name_rows(axes, [f"{lot}\n{k} of {n}" for lot, k, n, _, _ in found])

    columns = ("lot", "clean", "share", f"{level_percent(level)} interval")
    height = _AROUND_MM + 1.5 * _ROW_MM * len(found)
    return Figure("lots", "Lots", caption, columns, rows, draw, WIDTH_MM, height)


def _name_rows(axes: Axes, names: Sequence[str]) -> None:
    """Name the rows from the top, each beside its bar."""
    lines = ["\n".join(drawable(line, _LONGEST) for line in name.split("\n")) for name in names]
    axes.set_yticks(range(len(names)), lines)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.grid(visible=False, axis="y")
