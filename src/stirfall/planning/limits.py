"""Operating limits: what is never suggested, settled before anything is ranked.

All margins are a proposal of this project, made from common practice (no published source); local rules and
the labels on the bottle come first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.units import convert, unit_kind
from stirfall.planning.findings import Finding, amount, finding, from_celsius, is_temperature_unit
from stirfall.planning.form_check import check_conditions
from stirfall.planning.tried import Tried, tried

# Our proposal, from common practice (no source): cold spots freeze beads closer to the melting point; hot spots
# and a thermometer that lags need this distance to the flash point of the oil.
MELTING_MARGIN_K = 5.0
FLASH_MARGIN_K = 50.0

_NO_ADDITIVE = frozenset({"none", "no", "no additive", "without"})


@dataclass(frozen=True)
class Coupling:
    """One plain rule between two factors: where the additive is ``level`` (none), its dose is zero."""

    choice: str
    level: str
    dose: str


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
        return values_fit and all(self._coupling_holds(rule, conditions) for rule in self.couplings)

    def check(self, conditions: Conditions) -> tuple[Finding, ...]:
        """Return what there is to say about conditions in hand, most severe first; nothing is forbidden here."""
        return check_conditions(self.state, self.tried, self.ceilings, conditions)

    def _value_allowed(self, factor: Factor, value: Value) -> bool:
        if factor.is_choice:
            return value in self.levels[factor.name]
        low, high = self.ranges[factor.name]
        return not isinstance(value, str) and math.isfinite(value) and low <= value <= high

    @staticmethod
    def _coupling_holds(rule: Coupling, conditions: Mapping[str, Value]) -> bool:
        return conditions.get(rule.choice) != rule.level or conditions.get(rule.dose, 0.0) == 0.0


def operating_limits(state: CampaignState) -> OperatingLimits:
    """Settle the limits of a campaign from its material, its oil, its factors and what was recorded."""
    findings: list[Finding] = []
    ranges: dict[str, tuple[float, float]] = {}
    pinned: dict[str, float] = {}
    superoxide = state.settings.material is MaterialClass.SUPEROXIDE_FORMER
    ceilings = shortest_exposures(state) if superoxide else {}
    visible = state.visible_factors
    for factor in visible:
        if factor.role is Role.TEMPERATURE:
            _limit_temperature(factor, state, ranges, findings)
        elif superoxide and factor.role is not None and factor.role.is_exposure:
            _pin_exposure(factor, ceilings, ranges, pinned, findings)
        elif not factor.is_choice:
            ranges[factor.name] = factor.bounds
    levels = {factor.name: factor.levels for factor in visible if factor.is_choice}
    return OperatingLimits(
        state=state,
        factors=visible,
        ranges=MappingProxyType(ranges),
        levels=MappingProxyType(levels),
        pinned=MappingProxyType(pinned),
        ceilings=MappingProxyType(ceilings),
        couplings=_couplings(visible, ranges),
        findings=tuple(findings),
        tried=tried(state),
    )


def shortest_exposures(state: CampaignState) -> dict[str, float]:
    """Return the shortest recorded value of every exposure factor, hidden ones too.

    Struck-out and aborted attempts count as well: a shorter ceiling is the safe reading of a doubtful record. A
    factor that no attempt has a value for takes the ceiling of those that mean the same ("days in the jar" added
    beside a "sample age" that was recorded), so that a new name never allows a longer exposure.
    """
    exposures = [f for f in state.factors if not f.is_choice and f.role is not None and f.role.is_exposure]
    shortest: dict[str, float] = {}
    for factor in exposures:
        values = [attempt.conditions.number(factor.name) for attempt in state.attempts]
        known = [value for value in values if value is not None and math.isfinite(value)]
        if known:
            shortest[factor.name] = min(known)
    for factor in [each for each in exposures if each.name not in shortest]:
        alike = [other for other in exposures if _mean_the_same(factor, other) and other.name in shortest]
        if alike:
            shortest[factor.name] = min(convert(shortest[other.name], other.unit, factor.unit) for other in alike)
    return shortest


def _mean_the_same(first: Factor, second: Factor) -> bool:
    return first.role is second.role and unit_kind(first.unit) == unit_kind(second.unit) == "time"


def _limit_temperature(
    factor: Factor, state: CampaignState, ranges: dict[str, tuple[float, float]], findings: list[Finding]
) -> None:
    settings = state.settings
    if factor.is_choice or not is_temperature_unit(factor.unit):
        findings.append(finding("block", "limits.temperature_unit", factor))
        ranges.update({} if factor.is_choice else {factor.name: factor.bounds})
        return
    low, high = factor.bounds
    if settings.oil_flash_c is None:
        findings.append(finding("block", "limits.flash_unknown", factor))
    else:
        high = min(high, from_celsius(settings.oil_flash_c - FLASH_MARGIN_K, factor.unit))
    if settings.melting_point_c is None:
        findings.append(finding("note", "limits.melting_unknown", factor))
    else:
        low = max(low, from_celsius(settings.melting_point_c + MELTING_MARGIN_K, factor.unit))
    if not low <= high:
        findings.append(_empty_window(factor, state))
    ranges[factor.name] = (low, high)


def _empty_window(factor: Factor, state: CampaignState) -> Finding:
    settings = state.settings
    melting, flash = settings.melting_point_c, settings.oil_flash_c
    if melting is not None and flash is not None and not melting + MELTING_MARGIN_K <= flash - FLASH_MARGIN_K:
        return finding("block", "limits.window_empty", factor, melting=melting, flash=flash)
    low, high = factor.bounds
    floor = from_celsius(melting + MELTING_MARGIN_K, factor.unit) if melting is not None else low
    ceiling = from_celsius(flash - FLASH_MARGIN_K, factor.unit) if flash is not None else high
    return finding(
        "block",
        "limits.window_outside_range",
        factor,
        low=amount(low, factor),
        high=amount(high, factor),
        floor=amount(floor, factor),
        ceiling=amount(ceiling, factor),
    )


def _pin_exposure(
    factor: Factor,
    ceilings: Mapping[str, float],
    ranges: dict[str, tuple[float, float]],
    pinned: dict[str, float],
    findings: list[Finding],
) -> None:
    if factor.is_choice:
        findings.append(finding("block", "limits.exposure_unordered", factor))
        return
    low, _ = factor.bounds
    ranges[factor.name] = (low, low)
    pinned[factor.name] = low
    ceiling = ceilings.get(factor.name)
    if ceiling is not None and low > ceiling:
        findings.append(
            finding(
                "block",
                "limits.exposure_above_shortest",
                factor,
                low=amount(low, factor),
                shortest=amount(ceiling, factor),
            )
        )
    else:
        findings.append(finding("note", "limits.exposure_pinned", factor, value=amount(low, factor)))


def _couplings(factors: tuple[Factor, ...], ranges: Mapping[str, tuple[float, float]]) -> tuple[Coupling, ...]:
    """Couple each choice called an additive, where it has a level for none, with each dose that may be zero."""
    additives = [f for f in factors if f.is_choice and "additive" in f.name.casefold()]
    doses = [f for f in factors if not f.is_choice and f.role is Role.DOSE]
    return tuple(
        Coupling(additive.name, level, dose.name)
        for additive in additives
        for level in additive.levels
        if level.strip().casefold() in _NO_ADDITIVE
        for dose in doses
        if ranges[dose.name][0] <= 0.0 <= ranges[dose.name][1]
    )
