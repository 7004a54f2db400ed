"""The benches as a table of numbers, as people read them and as spreadsheets take them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.odds.table_dialog import PictureTable
from stirfall.reporting.bench_words import judged
from stirfall.reporting.shares import interval, percent, span

if TYPE_CHECKING:
    from stirfall.session.benches import BenchResult, HoldsElsewhere

_HEADER = ("Bench", "Attempts", "Lots", "Clean", "Share clean", "At the recipe", "Foretold", "Got", "Judged")
_EXACT = (
    "bench",
    "attempts",
    "lots",
    "clean",
    "trials",
    "clean_lower",
    "clean_upper",
    "recipe_mean",
    "recipe_lower",
    "recipe_upper",
    "foretold_expected",
    "foretold_lower",
    "foretold_upper",
)


def benches_table(found: HoldsElsewhere, *, decimal: str = ".") -> PictureTable:
    """Return one row per bench, and one for a bench not seen yet."""
    shown = [_shown(each, decimal) for each in found.benches]
    exact = [_exact(each) for each in found.benches]
    if found.new_bench is not None:
        new = found.new_bench
        chance = f"{percent(new.mean)} ({interval(new)})"
        shown.append(("a bench not seen yet", "", "", "", "", chance, "", "", ""))
        exact.append(("", "", "", "", "", "", "", *(repr(x) for x in (new.mean, new.lower, new.upper)), "", "", ""))
    return PictureTable(
        title="Benches", header=_HEADER, shown=tuple(shown), exact_header=_EXACT, exact=tuple(exact)
    )


def _shown(bench: BenchResult, decimal: str) -> tuple[str, ...]:
    clean, recipe, told = bench.clean, bench.at_recipe, bench.foretold
    return (
        bench.name,
        str(bench.attempts),
        str(bench.lots),
        "" if clean is None else f"{round(clean.value * clean.n)} of {clean.n}",
        "" if clean is None else f"{percent(clean.value)} ({span(clean.lower, clean.upper)})",
        "" if recipe is None else f"{percent(recipe.mean)} ({interval(recipe)})",
        ""
        if told is None
        else f"{told.expected:.1f} ({round(told.lower)} to {round(told.upper)})".replace(".", decimal),
        "" if told is None else f"{round(told.clean)} of {round(told.trials)}",
        "" if told is None else judged(told),
    )


def _exact(bench: BenchResult) -> tuple[str, ...]:
    clean, recipe, told = bench.clean, bench.at_recipe, bench.foretold
    return (
        bench.name,
        str(bench.attempts),
        str(bench.lots),
        *(
            ("",) * 4
            if clean is None
            else (str(round(clean.value * clean.n)), str(clean.n), repr(clean.lower), repr(clean.upper))
        ),
        *(("",) * 3 if recipe is None else (repr(recipe.mean), repr(recipe.lower), repr(recipe.upper))),
        *(("",) * 3 if told is None else (repr(told.expected), repr(told.lower), repr(told.upper))),
    )
