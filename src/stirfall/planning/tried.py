"""What was tried: the range and the levels that graded attempts really reached."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, values_of


@dataclass(frozen=True)
class Tried:
    """Ranges of numbers and sets of levels over the ``graded`` attempts; a factor without values is in neither."""

    ranges: Mapping[str, tuple[float, float]]
    levels: Mapping[str, frozenset[str]]
    graded: int = 0

    @property
    def any_graded(self) -> bool:
        """Whether any attempt was graded at all."""
        return bool(self.ranges or self.levels)

    def holds(self, factor: Factor, value: object) -> bool:
        """Whether a value lies where attempts were graded; False where there are none."""
        if factor.is_choice:
            return value in self.levels.get(factor.name, frozenset())
        low, high = self.ranges.get(factor.name, (float("inf"), float("-inf")))
        return isinstance(value, (int, float)) and low <= value <= high

    def outside(self, factors: tuple[Factor, ...], conditions: Conditions) -> tuple[str, ...]:
        """Return the names of the factors whose value in ``conditions`` was never bracketed by graded attempts.

        None before the first graded attempt: then everything is untested, which the number of attempts says.
        """
        if not self.any_graded:
            return ()
        return tuple(
            factor.name
            for factor in factors
            if factor.name in conditions and not self.holds(factor, conditions[factor.name])
        )


def tried(state: CampaignState) -> Tried:
    """Collect the tried ranges and levels; struck-out, aborted and ungraded attempts say nothing here."""
    ranges: dict[str, tuple[float, float]] = {}
    levels: dict[str, set[str]] = {}
    graded = [attempt.conditions for attempt in state.attempts if attempt.clean_count is not None]
    for factor in state.factors:
        values = values_of(graded, factor.name)
        if factor.is_choice:
            levels[factor.name] = {str(value) for value in set(values) if value is not None}
            continue
        numbers = [value for value in values if isinstance(value, float)]
        if numbers:
            ranges[factor.name] = (min(numbers), max(numbers))
    return Tried(
        MappingProxyType(ranges),
        MappingProxyType({name: frozenset(seen) for name, seen in levels.items() if seen}),
        len(graded),
    )


def outside_counts(
    seen: Tried, factors: Sequence[Factor], columns: Mapping[str, NDArray[np.float64]]
) -> NDArray[np.int_]:
    """Return for each candidate, (c,), in how many factors it leaves what was tried; choices are level indices."""
    counts = np.zeros(len(next(iter(columns.values()))), dtype=int)
    for factor in factors:
        values = columns[factor.name]
        if factor.is_choice:
            known = [
                factor.levels.index(level) for level in seen.levels.get(factor.name, ()) if level in factor.levels
            ]
            counts += ~np.isin(values, known)
        else:
            low, high = seen.ranges.get(factor.name, (np.inf, -np.inf))
            counts += (values < low) | (values > high)
    return counts
