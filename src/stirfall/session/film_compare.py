"""Two jars side by side: which has received more, how sure that order is, and what each input does to it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from stirfall.bench.film_constants import FilmConstants
from stirfall.bench.records import Jar
from stirfall.physics.film import Film, film_amounts
from stirfall.session.film_inputs import (
    HEADSPACE,
    HISTORY,
    HUMIDITY,
    LID,
    STORAGE,
    VISCOSITY,
    FilmInputs,
    input_words,
)

_ALIKE = 1.1  # our proposal: indices within a tenth are called the same
_ROWS = (
    ("depth_mm", "mm"),
    ("diameter_mm", "mm"),
    ("metal_area_cm2", "cm²"),
    (LID, ""),
    (HEADSPACE, "mm"),
    (HISTORY, ""),
    (STORAGE, "C"),
    (HUMIDITY, "%"),
)


@dataclass(frozen=True)
class ComparisonRow:
    """One input of two jars: ``effect`` is what it alone multiplies the first jar's index by.

    ``key`` is a name of ``input_words``, ``label`` its words; values are numbers in ``unit``, or words. ``effect``
    is None where both are the same or an index is unknown. ``assumed`` says for which jar the value is only usual.
    """

    key: str
    label: str
    first: float | str | None
    second: float | str | None
    unit: str
    effect: float | None
    assumed: tuple[bool, bool] = (False, False)

    @property
    def differs(self) -> bool:
        """Whether the two jars differ in this input."""
        return self.first != self.second


@dataclass(frozen=True)
class FilmComparison:
    """Two jars: their films (None where unknown), a row per input, and a sentence (``code`` and ``params``).

    ``ratio`` is the second index over the first.
    """

    first: Film | None
    second: Film | None
    rows: tuple[ComparisonRow, ...]
    code: str
    params: Mapping[str, object] = field(default_factory=dict)
    ratio: float | None = None


Known = tuple[float, FilmInputs, Film]


def compare_inputs(
    first: Jar, second: Jar, one: Known | None, other: Known | None, constants: FilmConstants
) -> FilmComparison:
    """Compare two jars by hours under oil, inputs and film; None for a jar that does not say enough.

    How sure the order is: most of the band of an index is shared by both jars (diffusivity, solubility, and what
    still oil leaves out) and cancels; what they do not share is our proposal, a factor of 1.5 for each jar, and of
    2 where lid, oil history or material of the jar differ. Two such factors combine as errors on a log scale do.
    """
    films = (None if one is None else one[2], None if other is None else other[2])
    if one is None or other is None:
        missing = [jar.id for jar, known in ((first, one), (second, other)) if known is None]
        code = "film.compare_unknown" if len(set(missing)) == 1 else "film.compare_unknown_both"
        return FilmComparison(*films, (), code, {"jar": missing[0], "first": first.id, "second": second.id})
    ratio = other[2].index / one[2].index
    more, less = (second.id, first.id) if ratio > 1 else (first.id, second.id)
    size = max(ratio, 1.0 / ratio)
    own = _own_factor(one[1], other[1], constants)
    params = {"more": more, "less": less, "times": _times(size), "own": _times(own), "band": constants.band_factor}
    if first.id == second.id:
        code = "film.compare_itself"
    elif size < _ALIKE:
        code = "film.compare_alike"
    else:
        code = "film.compare_clear" if size > own else "film.compare_doubtful"
    return FilmComparison(*films, _rows(one, other, constants), code, params, ratio)


def _times(value: float) -> float:
    return float(f"{value:.2g}")


def _own_factor(one: FilmInputs, other: FilmInputs, constants: FilmConstants) -> float:
    unlike = (one.lid, one.oil_history, one.material) != (other.lid, other.oil_history, other.material)
    each = constants.own_factor_unlike if unlike else constants.own_factor
    return float(each ** math.sqrt(2.0))


def _rows(one: Known, other: Known, constants: FilmConstants) -> tuple[ComparisonRow, ...]:
    words = input_words()
    first, second = one[1], other[1]
    base = _index(one[0], first, constants)
    rows = [
        ComparisonRow(
            "age_h",
            words["age_h"],
            one[0],
            other[0],
            "h",
            None if one[0] == other[0] else _index(other[0], first, constants) / base,
        )
    ]
    for key, unit in _ROWS:
        values = getattr(first, key), getattr(second, key)
        sealed = [not constants.above(each.lid).renewed for each in (first, second)]
        if key == HEADSPACE and not any(sealed):
            continue
        effect = None
        if values[0] != values[1]:
            effect = _index(one[0], replace(first, **{key: values[1]}), constants) / base
        usual = (key in first.assumed, key in second.assumed)
        rows.append(ComparisonRow(key, words[key], values[0], values[1], unit, effect, usual))
    if first.oil != second.oil:
        rows.append(_oil_row(one, other, base, constants))
    return (*rows, ComparisonRow("material", words["material"], first.material, second.material, "", None))


def _oil_row(one: Known, other: Known, base: float, constants: FilmConstants) -> ComparisonRow:
    first, second = one[1], other[1]
    values = [each.viscosity_mpa_s(each.storage_c, constants) for each in (first, second)]
    effect = _index(one[0], replace(first, oil=second.oil), constants) / base
    usual = (first.oil is None, second.oil is None)
    return ComparisonRow(VISCOSITY, input_words()[VISCOSITY], values[0], values[1], "mPa s", effect, usual)


def _index(age_h: float, inputs: FilmInputs, constants: FilmConstants) -> float:
    return max(float(film_amounts(age_h, inputs.ageing(constants), constants).index), constants.least_index)
