"""Operating limits: what is never suggested, settled before ranking, and what is said of what is at hand.

The numbers stand in the shipped table of limits, each with its source; most are a proposal of this project. Local
rules and the labels on the bottle come first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.planning.findings import Finding
from stirfall.planning.form_check import judge_situation, refusals
from stirfall.planning.limits_additive import is_additive_choice
from stirfall.planning.limits_exposure import jar_findings, residue_findings, shortest_exposures
from stirfall.planning.limits_range import Coupling, settle
from stirfall.planning.limits_temperature import lift_findings, live_findings
from stirfall.planning.limits_work import break_findings, proven_charge_g
from stirfall.planning.situation import Situation
from stirfall.planning.standing import LimitLine, standing_limits
from stirfall.planning.tried import Tried, tried

__all__ = [
    "Coupling",
    "LimitLine",
    "OperatingLimits",
    "break_findings",
    "jar_findings",
    "lift_findings",
    "live_findings",
    "operating_limits",
    "refusals",
    "residue_findings",
    "shortest_exposures",
    "standing_limits",
]


@dataclass(frozen=True)
class OperatingLimits:
    """Where suggestions may lie: ``ranges`` in each factor's unit, ``levels`` of choices, ``pinned`` values.

    ``blocked`` means that nothing may be suggested; a finding of level ``block`` then says why. ``ceilings`` are
    the shortest exposures recorded for a superoxide former, ``tried`` is what graded attempts reached.
    """

    state: CampaignState
    factors: tuple[Factor, ...]
    ranges: Mapping[str, tuple[float, float]]
    levels: Mapping[str, tuple[str, ...]]
    pinned: Mapping[str, float]
    ceilings: Mapping[str, float]
    couplings: tuple[Coupling, ...]
    findings: tuple[Finding, ...]
    tried: Tried

    @property
    def blocked(self) -> bool:
        """Whether nothing may be suggested at all."""
        return any(found.level == "block" for found in self.findings)

    @property
    def may_wait(self) -> bool:
        """Whether a suggestion may ask for a longer age than the metal has now."""
        return self.state.settings.material.may_lengthen_age

    def raise_if_blocked(self) -> None:
        """Raise the first blocking finding as an InputError ``limits.*``."""
        for found in self.findings:
            if found.level == "block":
                raise InputError(found.code, **found.params)

    def allows(self, conditions: Mapping[str, Value]) -> bool:
        """Whether every value given may be suggested; hidden and unknown factors never are."""
        if self.blocked:
            return False
        known = {factor.name for factor in self.factors}
        if any(name not in known for name in conditions):
            return False
        values_fit = all(
            self._value_allowed(factor, conditions[factor.name])
            for factor in self.factors
            if factor.name in conditions
        )
        if not values_fit or not self._dose_is_named(conditions):
            return False
        return all(self._coupling_holds(rule, conditions) for rule in self.couplings)

    def judge(self, situation: Situation) -> tuple[Finding, ...]:
        """Return everything that there is to say about what is at hand, most severe first.

        ``block`` means never, ``warn`` asks for a reason, ``note`` informs.
        """
        return judge_situation(
            self.state, situation, seen=self.tried, ceilings=self.ceilings, proven_g=self._proven_g
        )

    def check(self, conditions: Conditions) -> tuple[Finding, ...]:
        """Return what there is to say about conditions alone, most severe first; nothing is forbidden here."""
        return self.judge(Situation(conditions))

    @cached_property
    def _proven_g(self) -> float | None:
        return proven_charge_g(self.state)

    def _value_allowed(self, factor: Factor, value: Value) -> bool:
        if factor.is_choice:
            return value in self.levels[factor.name]
        low, high = self.ranges[factor.name]
        return not isinstance(value, str) and math.isfinite(value) and low <= value <= high

    def _dose_is_named(self, conditions: Mapping[str, Value]) -> bool:
        """Whether a dose for a reactive metal says what it is of, where the campaign has a choice for that."""
        if not self.state.settings.material.is_reactive:
            return True
        is_dosed = any(conditions.get(f.name) for f in self.factors if f.role is Role.DOSE)
        choices = [factor.name for factor in self.factors if is_additive_choice(factor)]
        return not is_dosed or not choices or any(name in conditions for name in choices)

    @staticmethod
    def _coupling_holds(rule: Coupling, conditions: Mapping[str, Value]) -> bool:
        dose = conditions.get(rule.dose, 0.0)
        if conditions.get(rule.choice) != rule.level or isinstance(dose, str):
            return True
        return dose <= rule.most if rule.most else dose == 0.0


def operating_limits(state: CampaignState) -> OperatingLimits:
    """Settle the limits of a campaign from its metal, oil, additives and factors, and from what was recorded."""
    superoxide = state.settings.material is MaterialClass.SUPEROXIDE_FORMER
    ceilings = shortest_exposures(state) if superoxide else {}
    settled = settle(state, ceilings)
    return OperatingLimits(
        state=state,
        factors=state.visible_factors,
        ranges=MappingProxyType(settled.ranges),
        levels=MappingProxyType(settled.levels),
        pinned=MappingProxyType(settled.pinned),
        ceilings=MappingProxyType(ceilings),
        couplings=tuple(settled.couplings),
        findings=tuple(settled.findings),
        tried=tried(state),
    )
