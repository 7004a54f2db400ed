"""The factors of a campaign as a table changes them: new ones, new levels, values beyond a range."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Scale, Value, standard_factors
from stirfall.bench.records import Attempt
from stirfall.bench.units import Amount
from stirfall.storage.import_plan import ASK, ColumnPlan

MOST_LEVELS = 60
_MOST_FACTORS = 60
_LONGEST_LEVEL = 80


@dataclass(frozen=True)
class Settled:
    """The factors as they would be, None where they stay; what is new or unclear; values beyond ranges."""

    factors: tuple[Factor, ...] | None
    news: tuple[Reason, ...] = ()
    unclear: tuple[Reason, ...] = ()
    outside: dict[str, int] = field(default_factory=dict)


class FactorTable:
    """The campaign's factors while a table is read; what is new is settled at the end, from the rows kept."""

    def __init__(self, state: CampaignState | None, widens: bool) -> None:
        self._known = () if state is None else state.factors
        self._may_lengthen = state is None or state.settings.material.may_lengthen_age
        self._widens = widens
        self._new: dict[str, tuple[ColumnPlan, Factor]] = {}
        self._levels: dict[str, dict[str, str]] = {}

    def wanted(self, column: ColumnPlan) -> Factor:
        """Return the factor that a column is: that of the campaign, or a new one whose range is not settled yet."""
        name = " ".join(column.factor.split())
        known = next((each for each in self._known if each.name.casefold() == name.casefold()), None)
        if known is not None:
            return known
        template = next((each for each in standard_factors() if each.name.casefold() == name.casefold()), None)
        unit = "" if column.unit == ASK else column.unit
        if column.is_choice:
            made = Factor(name, levels=("?",))
        elif template is not None and not template.is_choice:
            made = replace(template, default=None)
        else:
            scale = Scale.LOG if column.is_log else Scale.LINEAR
            made = Factor(name, unit, 1.0, 2.0, scale)
        self._new[made.name] = (column, made)
        return made

    def level_reader(self, factor: Factor) -> Callable[[str], Value]:
        """Return what reads a cell of a choice: a level of the campaign whatever its letter case, or a new one."""
        is_new = factor.name in self._new
        spelled = {} if is_new else {level.casefold(): level for level in reversed(factor.levels)}
        exact = frozenset() if is_new else frozenset(factor.levels)
        seen = self._levels.setdefault(factor.name, {})

        def read(cell: str) -> Value:
            text = str(" ".join(cell.split()))
            if len(text) > _LONGEST_LEVEL:
                raise InputError("import.name_too_long", most=_LONGEST_LEVEL)
            if text in exact:
                return text
            known = spelled.get(text.casefold())
            return known if known is not None else seen.setdefault(text.casefold(), text)

        return read

    def settled(self, attempts: Sequence[Attempt]) -> Settled:
        """Return the factors that the attempts need."""
        news: list[Reason] = []
        unclear: list[Reason] = []
        outside: dict[str, int] = {}
        factors: list[Factor] = []
        for factor in self._known:
            values = [value for each in attempts if (value := each.conditions.get(factor.name)) is not None]
            factors.append(self._known_one(factor, values, news, unclear, outside))
        for column, factor in self._new.values():
            values = [value for each in attempts if (value := each.conditions.get(factor.name)) is not None]
            made = _made(factor, column, values, unclear)
            if made is not None:
                factors.append(made)
                news.append(_news_of(made))
        if len(factors) > _MOST_FACTORS:
            unclear.append(Reason("import.too_many_factors", {"count": len(factors), "most": _MOST_FACTORS}))
        whole = tuple(factors)
        return Settled(None if whole == tuple(self._known) else whole, tuple(news), tuple(unclear), outside)

    def _known_one(
        self,
        factor: Factor,
        values: Sequence[Value],
        news: list[Reason],
        unclear: list[Reason],
        outside: dict[str, int],
    ) -> Factor:
        if factor.is_choice:
            new = [level for level in dict.fromkeys(map(str, values)) if level not in factor.levels]
            if not new:
                return factor
            if len(new) + len(factor.levels) > MOST_LEVELS:
                unclear.append(Reason("import.too_many_levels", {"factor": factor.name, "most": MOST_LEVELS}))
                return factor
            names = ", ".join(f"“{level}”" for level in new[:8])
            news.append(Reason("import.new_levels", {"factor": factor.name, "levels": names}))
            return replace(factor, levels=(*factor.levels, *new))
        low, high = factor.bounds
        beyond = [float(value) for value in values if not low <= float(value) <= high]
        if not beyond:
            return factor
        outside[factor.name] = len(beyond)
        return self._beyond(factor, beyond, news)

    def _beyond(self, factor: Factor, beyond: Sequence[float], news: list[Reason]) -> Factor:
        low, high = factor.bounds
        params: dict[str, object] = {
            "factor": factor.name,
            "count": len(beyond),
            "low": Amount(low, factor.unit),
            "high": Amount(high, factor.unit),
        }
        is_kept = factor.role is not None and factor.role.is_exposure and not self._may_lengthen
        if not self._widens or is_kept:
            code = "import.outside_range_kept" if self._widens and is_kept else "import.outside_range"
            news.append(Reason(code, params))
            return factor
        wider = replace(factor, low=min(low, *beyond), high=max(high, *beyond))
        news.append(
            Reason(
                "import.range_widened",
                {
                    "factor": factor.name,
                    "low": Amount(wider.bounds[0], factor.unit),
                    "high": Amount(wider.bounds[1], factor.unit),
                },
            )
        )
        return wider


def _made(factor: Factor, column: ColumnPlan, values: Sequence[Value], unclear: list[Reason]) -> Factor | None:
    """Return a new factor with the range or the levels of its values; None where it has none that can be used."""
    if not values:
        unclear.append(Reason("import.factor_blank", {"column": column.heading}))
        return None
    if factor.is_choice:
        levels = tuple(dict.fromkeys(map(str, values)))
        if len(levels) > MOST_LEVELS:
            unclear.append(Reason("import.too_many_levels", {"factor": factor.name, "most": MOST_LEVELS}))
            return None
        return replace(factor, levels=levels)
    numbers = [float(value) for value in values]
    low, high = min(numbers), max(numbers)
    if low == high:
        # A range of no width has no scale; a tenth either way leaves the recorded value in the middle.
        reach = 0.1 * abs(low) or 1.0
        low, high = low - reach, high + reach
    if not math.isfinite(high - low) or not low < high:
        unclear.append(Reason("import.range_impossible", {"factor": factor.name}))
        return None
    try:
        return replace(factor, low=low, high=high)
    except InputError:
        unclear.append(Reason("import.range_impossible", {"factor": factor.name}))
        return None


def _news_of(factor: Factor) -> Reason:
    if factor.is_choice:
        return Reason("import.made_choice", {"factor": factor.name, "levels": ", ".join(factor.levels[:8])})
    low, high = factor.bounds
    amounts = {"low": Amount(low, factor.unit), "high": Amount(high, factor.unit)}
    return Reason("import.made_factor", {"factor": factor.name, **amounts})
