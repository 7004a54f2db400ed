"""A stated guess as it is typed: lines for the factors, and what they mean; pure, without widgets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Scale
from stirfall.desktop.plan.rehearsal_state import GuessLine
from stirfall.desktop.shown import Shown
from stirfall.reporting.sentences import error_sentence

if TYPE_CHECKING:
    from stirfall.planning.rehearsal import Guess, Hump


@dataclass(frozen=True)
class Typed:
    """What was typed for one factor: ``place`` "" is anywhere, ``width`` "" is the usual one."""

    matters: bool = False
    place: str = ""
    width: str = ""


_UNTYPED = Typed()


def guess_lines(factors: Sequence[Factor], typed: Mapping[str, Typed], shown: Shown) -> tuple[GuessLine, ...]:
    """Return a line for each factor."""
    return tuple(_line(factor, typed.get(factor.name, _UNTYPED), shown) for factor in factors)


def read_guess(factors: Sequence[Factor], typed: Mapping[str, Typed], best: int, shown: Shown) -> Guess | None:
    """Return the guess; None where a number of it cannot be read."""
    from stirfall.planning.rehearsal import Guess

    humps = []
    for factor in factors:
        entry = typed.get(factor.name, _UNTYPED)
        if entry.matters:
            try:
                humps.append(_hump(factor, entry, shown))
            except InputError:
                return None
    return Guess(best / 100.0, tuple(humps))


def _line(factor: Factor, typed: Typed, shown: Shown) -> GuessLine:
    problem = ""
    if typed.matters:
        try:
            _hump(factor, typed, shown)
        except InputError as error:
            problem = error_sentence(error, decimal=shown.decimal)
    unit = "" if factor.is_choice else shown.label(factor.unit)
    width_unit = "times" if _is_ratio(factor) else "% elsewhere" if factor.is_choice else unit
    return GuessLine(factor.name, typed.matters, typed.place, typed.width, unit, width_unit, factor.levels, problem)


def _hump(factor: Factor, typed: Typed, shown: Shown) -> Hump:
    """Return what was typed as a hump; raises InputError where it cannot be read."""
    from stirfall.planning.rehearsal import Hump

    if factor.is_choice:
        place: float | str | None = typed.place or None
    else:
        place = shown.read(typed.place, factor.unit) if typed.place.strip() else None
    if place is not None and not factor.holds(place):
        raise InputError("rehearsal_page.guess_place")
    return Hump(factor.name, place, _width(factor, typed.width, shown) if typed.width.strip() else None)


def _width(factor: Factor, text: str, shown: Shown) -> float:
    if factor.is_choice:
        value, least, most = shown.read(text, "") / 100.0, 0.0, 1.0
    elif _is_ratio(factor):
        value, least, most = shown.read(text, ""), 1.0, float("inf")
    else:
        value, least, most = _difference(factor, text, shown), 0.0, float("inf")
    if not least < value <= most or value == float("inf"):
        raise InputError("rehearsal_page.guess_width", least=round(least))
    return value


def _difference(factor: Factor, text: str, shown: Shown) -> float:
    """Return a width in the factor's unit: of a temperature the zero of the scale plays no part."""
    if shown.unit(factor.unit) == factor.unit:
        return shown.read(text, factor.unit)
    return shown.stored(shown.read(text, ""), factor.unit) - shown.stored(0.0, factor.unit)


def _is_ratio(factor: Factor) -> bool:
    return not factor.is_choice and factor.scale is Scale.LOG


def usual_words(line: GuessLine) -> tuple[str, str]:
    """Return what an empty place and an empty width mean."""
    return "anywhere", "half" if line.levels else "a quarter of the range"
