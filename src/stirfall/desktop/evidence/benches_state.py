"""What the section "Other benches" shows, as frozen values, and how it follows from the answer; no widgets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from stirfall.reporting.bench_words import (
    clean_text,
    foretold_text,
    judged,
    nested_texts,
    new_bench_text,
    recipe_text,
    said,
    score_text,
    spread_texts,
)
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, interval, percent

if TYPE_CHECKING:
    from stirfall.session.benches import BenchResult, HoldsElsewhere

Way = Literal["", "fewer", "more"]
Interval = tuple[float, float, float]
"""Middle, lower and upper end, as shares from 0 to 1."""


@dataclass(frozen=True)
class BenchLine:
    """One line of the picture: a bench, or one not seen yet (``is_new``).

    ``clean``, ``recipe`` and ``foretold`` are drawn, None where they are not known. ``aside`` stands under the
    name, ``told`` and ``judged`` at the right; ``way`` says that it got fewer or more than foretold. ``details``
    are sentences that say all of it.
    """

    name: str
    aside: str
    clean: Interval | None = None
    recipe: Interval | None = None
    foretold: Interval | None = None
    told: str = ""
    judged: str = ""
    way: Way = ""
    details: tuple[str, ...] = ()
    is_new: bool = False

    @property
    def text(self) -> str:
        """The line in words."""
        return " ".join((f"{self.name}, {self.aside}.", *self.details))


@dataclass(frozen=True)
class BenchesState:
    """What is shown: the verdict on top, the chance of a new bench, lines, what is picked out, spread and notes."""

    verdict: str = ""
    answer: str = ""
    lines: tuple[BenchLine, ...] = ()
    spreads: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    picked: int = -1
    message: str = ""
    found: HoldsElsewhere | None = None
    is_stale: bool = False

    @property
    def picked_text(self) -> str:
        """The words of the line that is picked out."""
        return self.lines[self.picked].text if 0 <= self.picked < len(self.lines) else ""


def state_of(found: HoldsElsewhere, *, decimal: str = ".") -> BenchesState:
    """Return what is shown of an answer; a bench outside what was foretold is picked out first."""
    if len(found.benches) < 2:
        return BenchesState(verdict=said(found.verdict), message=sentence("benches_page.how"), found=found)
    lines = [_line(each, decimal) for each in found.benches]
    if found.new_bench is not None:
        estimate = found.new_bench
        lines.append(
            BenchLine(
                sentence("benches_page.new"),
                f"from {len(found.benches)} benches",
                recipe=(estimate.mean, estimate.lower, estimate.upper),
                told=f"{percent(estimate.mean)}, {interval(estimate)}",
                details=(new_bench_text(found, decimal=decimal),),
                is_new=True,
            )
        )
    outside = [place for place, each in enumerate(lines) if each.way]
    return BenchesState(
        verdict=said(found.verdict, decimal=decimal),
        answer=new_bench_text(found, decimal=decimal),
        lines=tuple(lines),
        spreads=(*spread_texts(found, decimal=decimal), *nested_texts(found, decimal=decimal)),
        notes=tuple(said(note, decimal=decimal) for note in found.notes),
        picked=outside[0] if outside else 0,
        found=found,
    )


def _line(bench: BenchResult, decimal: str) -> BenchLine:
    told, clean, recipe = bench.foretold, bench.clean, bench.at_recipe
    way: Way = ""
    if told is not None and not told.is_inside:
        way = "fewer" if told.clean < told.lower else "more"
    details = [f"{_capital(clean_text(bench))}."]
    if recipe is not None:
        details.append(f"{_capital(recipe_text(bench))}.")
    details.append(f"{_capital(foretold_text(bench, decimal=decimal))}.")
    if told is not None:
        details.append(score_text(told, decimal=decimal))
    return BenchLine(
        bench.name,
        counted(bench.attempts),
        None if clean is None else (clean.value, clean.lower, clean.upper),
        None if recipe is None else (recipe.mean, recipe.lower, recipe.upper),
        None if told is None else (told.expected / told.trials, told.lower / told.trials, told.upper / told.trials),
        "" if recipe is None else f"{percent(recipe.mean)}, {interval(recipe)}",
        "" if told is None else judged(told),
        way,
        tuple(details),
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
