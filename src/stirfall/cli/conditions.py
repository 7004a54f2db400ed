"""The conditions that an answer is for, where they come from, and how they are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Value
from stirfall.reporting.recipe_parts import shown_value

if TYPE_CHECKING:
    from stirfall.session.analysis import Analysis


@dataclass(frozen=True)
class Chosen:
    """Conditions, their source (given, best, last attempt, defaults), and the factors that were filled in."""

    conditions: Conditions
    source: str
    filled: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """What to print above the conditions."""
        return {
            "given": "At the conditions given",
            "best": "At the best condition now",
            "last attempt": "At the conditions of the last attempt",
            "defaults": "At the campaign's defaults",
        }[self.source]


def choose(analysis: Analysis, given: Conditions) -> Chosen:
    """Return the given conditions, or the best ones, or where the limits allow none those of the last attempt.

    Only what the model needs is kept of the best and the last; what is still missing is filled with the
    campaign's defaults and named in ``filled``.
    """
    if given:
        return _completed(analysis, given, "given")
    if not analysis.limits.blocked:
        return _completed(analysis, analysis.best().conditions, "best")
    for attempt in reversed(analysis.state.attempts):
        if attempt.clean_count is not None:
            return _completed(analysis, attempt.conditions, "last attempt")
    return _completed(analysis, Conditions(), "defaults")


def _completed(analysis: Analysis, conditions: Conditions, source: str) -> Chosen:
    needed = {factor.name for factor in analysis.model.design.factors}
    whole = analysis.complete(conditions)
    filled = tuple(name for name in whole.filled if name in needed)
    kept = Conditions([(name, whole[name]) for name in whole if name in needed or name in conditions])
    return Chosen(kept, source, filled)


def write_conditions(state: CampaignState, conditions: Mapping[str, Value]) -> str:
    """Write conditions on one line, in the order of the form."""
    return ", ".join(
        f"{factor.name} {shown_value(conditions[factor.name], factor.unit)}"
        for factor in state.factors
        if factor.name in conditions
    )
