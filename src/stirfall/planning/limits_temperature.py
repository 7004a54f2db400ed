"""Limits of temperature: oil, melting point, what the thermometer says now, and lifting the metal out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.planning.findings import (
    CloseAmount,
    Finding,
    amount,
    finding,
    from_celsius,
    is_temperature_unit,
    to_celsius,
)
from stirfall.planning.situation import Situation
from stirfall.storage.limit_table import limit_table


@dataclass(frozen=True)
class OilCeiling:
    """A temperature in °C that the oil must not exceed: which rule, with what code, and the value it comes from."""

    rule: str
    code: str
    top_c: float
    basis_c: float


def oil_ceilings(settings: CampaignSettings) -> tuple[OilCeiling, ...]:
    """Return every known temperature of the oil that blocks: flash and autoignition margins, stated maximum."""
    rules, oil = limit_table(), settings.substances.oil
    made = []
    if settings.oil_flash_c is not None:
        top = settings.oil_flash_c - rules["oil_margin"].number("block")
        made.append(OilCeiling("oil_margin", "limits.too_near_flash", top, settings.oil_flash_c))
    if oil.stated_max_c is not None:
        made.append(OilCeiling("stated_maximum", "limits.above_stated", oil.stated_max_c, oil.stated_max_c))
    if oil.autoignition_c is not None:
        top = oil.autoignition_c - rules["autoignition_margin"].number("block")
        made.append(OilCeiling("autoignition_margin", "limits.near_autoignition", top, oil.autoignition_c))
    return tuple(made)


def suggested_top_c(settings: CampaignSettings) -> float | None:
    """Return the highest temperature that may be suggested, in °C; None where the flash point is not known."""
    if settings.oil_flash_c is None:
        return None
    warned = settings.oil_flash_c - limit_table()["oil_margin"].number("warn")
    return min(warned, *(each.top_c for each in oil_ceilings(settings)))


def suggested_floor_c(settings: CampaignSettings) -> float | None:
    """Return the lowest temperature that may be suggested, in °C; None where the melting point is not known."""
    melting = settings.melting_point_c
    return None if melting is None else melting + limit_table()["melting_margin"].number("least")


def check_temperature(factor: Factor, value: Value, state: CampaignState) -> Iterator[Finding]:
    """Hold one temperature in hand against the oil and the melting point."""
    if isinstance(value, str) or not is_temperature_unit(factor.unit):
        yield finding("block", "limits.temperature_unit", factor, rule="flash_unknown")
        return
    yield from _check_oil(factor, value, state.settings)
    yield from _check_melting(factor, value, state.settings)


def _check_oil(factor: Factor, value: float, settings: CampaignSettings) -> Iterator[Finding]:
    shown = amount(value, factor)
    for each in oil_ceilings(settings):
        # Compared in the factor's own unit, as suggestions are, so that no rounding opens a gap between them.
        top = from_celsius(each.top_c, factor.unit)
        if not value <= top:
            flash = amount(from_celsius(each.basis_c, factor.unit), factor)
            yield finding(
                "block", each.code, factor, rule=each.rule, value=shown, top=amount(top, factor), flash=flash
            )
    if settings.oil_flash_c is None:
        yield finding("block", "limits.flash_unknown", factor, rule="flash_unknown")
        return
    rule = limit_table()["oil_margin"]
    top = from_celsius(settings.oil_flash_c - rule.number("warn"), factor.unit)
    if from_celsius(settings.oil_flash_c - rule.number("block"), factor.unit) >= value > top:
        flash = amount(from_celsius(settings.oil_flash_c, factor.unit), factor)
        yield finding(
            "warn", "limits.near_flash", factor, rule=rule.key, value=shown, top=amount(top, factor), flash=flash
        )


def _check_melting(factor: Factor, value: float, settings: CampaignSettings) -> Iterator[Finding]:
    melting, rule = settings.melting_point_c, limit_table()["melting_margin"]
    if melting is None:
        yield finding("note", "limits.melting_unknown", factor, rule=rule.key)
        return
    floor = from_celsius(melting + rule.number("least"), factor.unit)
    top = from_celsius(melting + rule.number("most"), factor.unit)
    shown = amount(value, factor)
    if value < floor:
        yield finding(
            "warn",
            "limits.below_melting_margin",
            factor,
            rule=rule.key,
            value=shown,
            floor=amount(floor, factor),
        )
    elif value > top:
        yield finding(
            "warn", "limits.far_above_melting", factor, rule=rule.key, value=shown, top=amount(top, factor)
        )


# ----------------------------------------------------------------------------------- what was really reached


def set_point_c(state: CampaignState, situation: Situation) -> float | None:
    """Return the highest temperature of the conditions in °C, None where none is known."""
    known = []
    for factor in state.factors:
        value = situation.conditions.number(factor.name)
        if factor.role is Role.TEMPERATURE and value is not None and is_temperature_unit(factor.unit):
            known.append(to_celsius(value, factor.unit))
    return max(known, default=None)


def peak_findings(state: CampaignState, situation: Situation) -> Iterator[Finding]:
    """Say afterwards that the highest temperature seen went past the set point, or past what the oil allows."""
    peak = situation.facts.peak_c
    if peak is None:
        return
    for each in oil_ceilings(state.settings):
        if not peak <= each.top_c:
            yield finding(
                "warn", "limits.peak_beyond_oil", rule=each.rule, peak=_celsius(peak), top=_celsius(each.top_c)
            )
    set_c, over = set_point_c(state, situation), limit_table()["over_temperature"].number("over")
    if set_c is not None and peak > set_c + over:
        yield finding(
            "warn",
            "limits.peak_over_set",
            rule="over_temperature",
            peak=_celsius(peak),
            set=_celsius(set_c),
            over=over,
        )


def live_findings(
    set_c: float, readings: Sequence[tuple[float, float]], state: CampaignState | None = None
) -> tuple[Finding, ...]:
    """Judge the newest reading of a thermometer against the set point.

    ``readings`` are pairs of minutes (from any start, rising) and °C, the newest last. A block with a code
    ``limits.live_*`` means: stop the heat now. The rate is taken over the last readings, a quarter of a minute
    apart at least where there are such. With ``state`` the oil's own ceilings are judged too. Without a reading
    nothing is said.
    """
    if not readings:
        return ()
    rule = limit_table()["over_temperature"]
    minute, now_c = readings[-1]
    if not math.isfinite(now_c):
        return (finding("block", "limits.live_no_reading", rule=rule.key),)
    found = []
    over = rule.number("over")
    if now_c > set_c + over:
        found.append(
            finding(
                "block",
                "limits.live_over_set",
                rule=rule.key,
                value=_celsius(now_c),
                set=_celsius(set_c),
                over=over,
            )
        )
    rate = _rate(readings[:-1], minute, now_c)
    if rate is not None and rate > rule.number("rate") and now_c >= set_c - rule.number("near"):
        found.append(
            finding(
                "block",
                "limits.live_too_fast",
                rule=rule.key,
                value=_celsius(now_c),
                set=_celsius(set_c),
                rate=rate,
                most=rule.number("rate"),
            )
        )
    for each in oil_ceilings(state.settings) if state is not None else ():
        if not now_c <= each.top_c:
            now, top = _celsius(now_c), _celsius(each.top_c)
            found += [finding("block", "limits.live_beyond_oil", rule=each.rule, value=now, top=top)]
    return tuple(found)


_LEAST_APART_MIN = 0.25


def _rate(earlier: Sequence[tuple[float, float]], minute: float, now_c: float) -> float | None:
    """Return the rise in K/min since the nearest reading that is far enough back, else since the oldest one."""
    usable = [(at, value) for at, value in earlier if at < minute and math.isfinite(value)]
    if not usable:
        return None
    apart = [each for each in usable if minute - each[0] >= _LEAST_APART_MIN]
    at, value = apart[-1] if apart else usable[0]
    return round((now_c - value) / (minute - at), 9)


# ------------------------------------------------------------------------------------------- lifting it out


def lift_top_c(settings: CampaignSettings) -> float | None:
    """Return the highest temperature in °C at which the metal may be lifted out; None where nothing is known.

    A reactive metal, or one of unknown class, has a limit of its own whatever its melting point.
    """
    rule = limit_table()["lift_out"]
    tops = []
    if settings.melting_point_c is not None:
        tops.append(settings.melting_point_c - rule.number("below_melting"))
    if settings.material is not MaterialClass.BASE_METAL:
        tops.append(rule.number("reactive"))
    return min(tops, default=None)


def lift_findings(state: CampaignState, metal_c: float) -> tuple[Finding, ...]:
    """Say whether the metal may be lifted out of the oil at ``metal_c`` in °C: a block, a note, or nothing."""
    top = lift_top_c(state.settings)
    if top is None:
        return (finding("note", "limits.lift_unknown", rule="lift_out"),)
    if metal_c <= top:
        return ()
    return (finding("block", "limits.lift_hot", rule="lift_out", value=_celsius(metal_c), top=_celsius(top)),)


def _celsius(value: float) -> CloseAmount:
    return CloseAmount(value, "C")
