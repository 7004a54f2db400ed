"""What the limits say about conditions in hand: for the bench form, the odds pane and the recipe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.planning.findings import Finding, amount, finding, from_celsius, is_temperature_unit, to_celsius
from stirfall.planning.tried import Tried

# Our proposal, from common practice (no source).
FLASH_WARN_K = 50.0
FLASH_BLOCK_K = 25.0
MELTING_WARN_K = 5.0
FAR_ABOVE_MELTING_K = 60.0
_FAR = 3.0  # on the scale on which the range is -1 to 1

_ORDER = {"block": 0, "warn": 1, "note": 2}


def check_conditions(
    state: CampaignState, seen: Tried, ceilings: Mapping[str, float], conditions: Conditions
) -> tuple[Finding, ...]:
    """Return the findings for conditions in hand, most severe first.

    Hidden factors are checked as well where they have a value: a hidden temperature can still start a fire.
    """
    found: list[Finding] = []
    for factor in state.factors:
        value = conditions.get(factor.name)
        if value is None:
            continue
        if factor.role is Role.TEMPERATURE and not isinstance(value, str):
            found.extend(_check_temperature(factor, value, state))
        found.extend(_check_exposure(factor, value, ceilings))
        found.extend(_check_ranges(factor, value, seen))
    return tuple(sorted(found, key=lambda each: _ORDER[each.level]))


def _check_temperature(factor: Factor, value: float, state: CampaignState) -> Iterator[Finding]:
    if not is_temperature_unit(factor.unit):
        yield finding("block", "limits.temperature_unit", factor)
        return
    settings = state.settings
    at = to_celsius(value, factor.unit)
    shown = amount(value, factor)
    yield from _check_flash(factor, at, settings.oil_flash_c)
    melting = settings.melting_point_c
    if melting is None:
        yield finding("note", "limits.melting_unknown", factor)
    elif at < melting + MELTING_WARN_K:
        floor = amount(from_celsius(melting + MELTING_WARN_K, factor.unit), factor)
        yield finding("warn", "limits.below_melting_margin", factor, value=shown, floor=floor)
    elif at > melting + FAR_ABOVE_MELTING_K:
        top = amount(from_celsius(melting + FAR_ABOVE_MELTING_K, factor.unit), factor)
        yield finding("warn", "limits.far_above_melting", factor, value=shown, top=top)


def _check_flash(factor: Factor, at: float, flash: float | None) -> Iterator[Finding]:
    if flash is None:
        yield finding("block", "limits.flash_unknown", factor)
        return
    flash_shown = amount(from_celsius(flash, factor.unit), factor)
    for margin, level, code in (
        (FLASH_BLOCK_K, "block", "limits.too_near_flash"),
        (FLASH_WARN_K, "warn", "limits.near_flash"),
    ):
        if at > flash - margin:
            top = amount(from_celsius(flash - margin, factor.unit), factor)
            shown = amount(from_celsius(at, factor.unit), factor)
            yield finding(
                "block" if level == "block" else "warn", code, factor, value=shown, top=top, flash=flash_shown
            )
            return


def _check_exposure(factor: Factor, value: Value, ceilings: Mapping[str, float]) -> Iterator[Finding]:
    ceiling = ceilings.get(factor.name)
    if ceiling is not None and not isinstance(value, str) and value > ceiling:
        yield finding(
            "warn",
            "limits.longer_exposure",
            factor,
            value=amount(value, factor),
            shortest=amount(ceiling, factor),
        )


def _check_ranges(factor: Factor, value: Value, seen: Tried) -> Iterator[Finding]:
    if factor.hidden:
        return
    if _is_far_outside(factor, value):
        yield finding("warn", "limits.far_outside", factor, value=_shown(value, factor))
    elif not factor.holds(value):
        yield finding("note", "limits.outside_range", factor, value=_shown(value, factor))
    if seen.any_graded and not seen.holds(factor, value):
        yield finding("note", "limits.outside_tried", factor, value=_shown(value, factor))


def _is_far_outside(factor: Factor, value: Value) -> bool:
    """Return whether a number lies more than the width of the range beyond it: most often a slip of the hand.

    One such attempt would bend the odds of a whole campaign.
    """
    if factor.is_choice or isinstance(value, str):
        return False
    if factor.scale is Scale.LOG and value <= 0:
        return True
    return abs(factor.to_unit_interval(value)) > _FAR


def _shown(value: Value, factor: Factor) -> object:
    return value if isinstance(value, str) else amount(value, factor)
