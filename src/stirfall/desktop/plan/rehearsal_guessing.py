"""A stated guess as it is typed: lines for the factors, and what they mean; pure, without widgets."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
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
    place_problem = width_problem = ""
    if typed.matters:
        place_problem = _problem(partial(_place, factor, typed.place, shown), shown)
        width_problem = _problem(partial(_width, factor, typed.width, shown), shown)
    unit = "" if factor.is_choice else shown.label(factor.unit)
    width_unit = "times" if _is_ratio(factor) else "%" if factor.is_choice else unit
    words = (typed.place, typed.width, unit, width_unit)
    return GuessLine(factor.name, typed.matters, *words, factor.levels, place_problem, width_problem)


def _problem(read: Callable[[], object], shown: Shown) -> str:
    try:
        read()
    except InputError as error:
        return error_sentence(error, decimal=shown.decimal)
    return ""


def _hump(factor: Factor, typed: Typed, shown: Shown) -> Hump:
    """Return what was typed as a hump; raises InputError where it cannot be read."""
    from stirfall.planning.rehearsal import Hump

    return Hump(factor.name, _place(factor, typed.place, shown), _width(factor, typed.width, shown))


def _place(factor: Factor, text: str, shown: Shown) -> float | str | None:
    """Return where a factor is at its best; None is anywhere."""
    if not text.strip():
        return None
    place = text if factor.is_choice else shown.read(text, factor.unit)
    if not factor.holds(place):
        raise InputError("rehearsal_page.guess_place")
    return place


def _width(factor: Factor, text: str, shown: Shown) -> float | None:
    """Return how wide a hump is; None is the usual width."""
    if not text.strip():
        return None
    if factor.is_choice:
        share = shown.read(text, "") / 100.0
        if not 0 < share <= 1:
            raise InputError("rehearsal_page.guess_share")
        return share
    is_ratio = _is_ratio(factor)
    value, least = (shown.read(text, ""), 1) if is_ratio else (_difference(factor, text, shown), 0)
    if not least < value < math.inf:
        raise InputError("rehearsal_page.guess_width", least=least)
    return value


def _difference(factor: Factor, text: str, shown: Shown) -> float:
    """Return a width in the factor's unit: of a temperature the zero of the scale plays no part."""
    if shown.unit(factor.unit) == factor.unit:
        return shown.read(text, factor.unit)
    return shown.stored(shown.read(text, ""), factor.unit) - shown.stored(0.0, factor.unit)


def _is_ratio(factor: Factor) -> bool:
    return not factor.is_choice and factor.scale is Scale.LOG
