"""Factors of several benches as one list, and what turns each bench's values into those of the list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.records import AgeOverride
from stirfall.bench.units import convert


@dataclass(frozen=True)
class Translated:
    """How one factor of a bench is called in the pooled list, and what its values become.

    ``from_unit`` and ``to_unit`` are alike where nothing is converted; ``levels`` maps spellings of a choice.
    """

    name: str
    from_unit: str
    to_unit: str
    levels: Mapping[str, str]

    @property
    def is_same(self) -> bool:
        """Whether values stay as they are."""
        return self.from_unit == self.to_unit and not self.levels

    def value(self, value: Value) -> Value:
        """Return a value in the pooled unit, to twelve digits, or a level in the pooled spelling."""
        if isinstance(value, str):
            return self.levels.get(value, value)
        return value if self.from_unit == self.to_unit else _converted(value, self.from_unit, self.to_unit)


# The same few values come again and again, and units beyond times and temperatures take long to read.
_converted = cache(convert)


class Translator:
    """What turns the conditions of one bench into those of the pooled list."""

    def __init__(self, parts: Mapping[str, Translated]) -> None:
        self._parts = parts
        self._is_same = all(part.is_same and name == part.name for name, part in parts.items())

    def conditions(self, given: Conditions) -> Conditions:
        """Return the conditions under pooled names, in pooled units and spellings."""
        if self._is_same:
            return given
        parts = self._parts
        return Conditions((parts[name].name, parts[name].value(value)) for name, value in given.items())

    def overrides(self, given: tuple[AgeOverride, ...]) -> tuple[AgeOverride, ...]:
        """Return typed ages under pooled names and in pooled units."""
        return tuple(self._override(each) for each in given)

    def _override(self, given: AgeOverride) -> AgeOverride:
        part = self._parts.get(given.factor)
        if part is None:
            return given
        computed = None if given.computed is None else float(part.value(given.computed))
        return replace(given, factor=part.name, computed=computed)

    def part(self, name: str) -> Translated | None:
        """Return how one factor of the bench is translated, None where it has none of this name."""
        return self._parts.get(name)


@dataclass(frozen=True)
class PooledFactors:
    """One list of factors, a translator for each bench, and what was found on the way."""

    factors: tuple[Factor, ...]
    translators: tuple[Translator, ...]
    refusals: tuple[Reason, ...]
    notes: tuple[Reason, ...]


def pool_factors(benches: Sequence[tuple[str, Sequence[Factor]]]) -> PooledFactors:
    """Join the factors of benches, given as pairs of name and factors; letter case of names does not matter.

    The first bench that has a factor settles its unit, scale, step, usual value and spelling. Ranges are widened,
    levels united. Kinds, roles and units that do not fit are refused with ``pool.*``.
    """
    join = _Join()
    for bench, factors in benches:
        join.add(bench, factors)
    join.tell_of_the_missing([bench for bench, _ in benches])
    translators = tuple(Translator(join.parts[bench]) for bench, _ in benches)
    return PooledFactors(tuple(join.factors.values()), translators, tuple(join.refusals), tuple(join.notes))


class _Join:
    def __init__(self) -> None:
        self.factors: dict[str, Factor] = {}
        self.parts: dict[str, dict[str, Translated]] = {}
        self.refusals: list[Reason] = []
        self.notes: list[Reason] = []
        self._owners: dict[str, list[str]] = {}

    def add(self, bench: str, factors: Sequence[Factor]) -> None:
        """Take in the factors of one bench."""
        self.parts[bench] = {}
        for factor in factors:
            key = factor.name.casefold()
            owners = self._owners.setdefault(key, [])
            known = self.factors.get(key)
            if known is None:
                self.factors[key] = factor
                self.parts[bench][factor.name] = Translated(factor.name, factor.unit, factor.unit, {})
            elif not self._refused(known, factor, owners[0], bench):
                join = self._choice if factor.is_choice else self._number
                self.factors[key], self.parts[bench][factor.name] = join(known, factor, owners[0], bench)
            owners.append(bench)

    def _refused(self, known: Factor, factor: Factor, first: str, bench: str) -> bool:
        about = {"name": known.name, "first": first, "second": bench}
        if known.is_choice != factor.is_choice:
            code = "pool.factor_kind"
            about |= {"one": _kind(known), "other": _kind(factor)}
        elif known.role is not factor.role:
            code = "pool.factor_role"
            about |= {"one": str(known.role), "other": str(factor.role)}
        else:
            return False
        self.refusals.append(Reason(code, about))
        return True

    def _number(self, known: Factor, factor: Factor, first: str, bench: str) -> tuple[Factor, Translated]:
        about: dict[str, object] = {"name": known.name, "first": first, "second": bench}
        part = Translated(known.name, factor.unit, known.unit, {})
        try:
            low, high = (convert(bound, factor.unit, known.unit) for bound in factor.bounds)
        except InputError:
            units = {"one": known.unit or "no unit", "other": factor.unit or "no unit"}
            self.refusals.append(Reason("pool.factor_unit", about | units))
            return known, part
        if factor.unit != known.unit:
            self.notes.append(
                Reason(
                    "pool.unit_converted",
                    {"name": known.name, "bench": bench, "one": factor.unit, "other": known.unit},
                )
            )
        scale = known.scale
        if factor.scale is not known.scale:
            scale = Scale.LINEAR if min(low, known.bounds[0]) <= 0 else known.scale
            self.notes.append(Reason("pool.scale_differs", about | {"scale": str(scale)}))
        elif scale is Scale.LOG and low <= 0:
            scale = Scale.LINEAR
            self.notes.append(Reason("pool.scale_differs", about | {"scale": str(scale)}))
        wide = (min(low, known.bounds[0]), max(high, known.bounds[1]))
        if wide != known.bounds:
            self.notes.append(Reason("pool.range_widened", {"name": known.name, "bench": bench}))
        hidden = known.hidden and factor.hidden
        return replace(known, low=wide[0], high=wide[1], scale=scale, hidden=hidden), part

    def _choice(self, known: Factor, factor: Factor, first: str, bench: str) -> tuple[Factor, Translated]:
        spelled = {level.casefold(): level for level in known.levels}
        levels = {level: spelled[level.casefold()] for level in factor.levels if level.casefold() in spelled}
        mapped = {level: known_as for level, known_as in levels.items() if level != known_as}
        new = tuple(level for level in factor.levels if level.casefold() not in spelled)
        about: dict[str, object] = {"name": known.name, "bench": bench}
        if mapped:
            told = ", ".join(f"“{level}” as “{known_as}”" for level, known_as in mapped.items())
            self.notes.append(Reason("pool.levels_spelled", about | {"levels": told}))
        if new:
            self.notes.append(
                Reason("pool.levels_added", about | {"levels": ", ".join(f"“{each}”" for each in new)})
            )
        gone = [
            level for level in known.levels if level.casefold() not in {each.casefold() for each in factor.levels}
        ]
        if gone and not new:
            told = ", ".join(f"“{level}”" for level in gone)
            self.notes.append(Reason("pool.levels_missing", about | {"first": first, "levels": told}))
        joined = replace(known, levels=(*known.levels, *new), hidden=known.hidden and factor.hidden)
        return joined, Translated(known.name, "", "", mapped)

    def tell_of_the_missing(self, benches: Sequence[str]) -> None:
        """Say which factors only some of the benches have."""
        for key, owners in self._owners.items():
            without = [bench for bench in benches if bench not in owners]
            if without:
                about = {"name": self.factors[key].name, "benches": ", ".join(without)}
                self.notes.append(Reason("pool.factor_missing", about))


def _kind(factor: Factor) -> str:
    return "a choice" if factor.is_choice else "a number"
