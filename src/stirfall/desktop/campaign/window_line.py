"""One line that says what melting point, flash point and bottle mean together: the operating window."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from stirfall.bench.units import format_number
from stirfall.desktop.campaign.own_limits import margins
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from collections.abc import Mapping


def upper_ends(flash_c: float | None, stated_max_c: float | None, autoignition_c: float | None) -> dict[str, float]:
    """Return the temperatures in °C that must not be passed, by what they come from."""
    _, below_flash, below_autoignition = margins()
    ends: dict[str, float] = {}
    if flash_c is not None:
        ends["flash"] = flash_c - below_flash
    if stated_max_c is not None:
        ends["stated"] = stated_max_c
    if autoignition_c is not None:
        ends["autoignition"] = autoignition_c - below_autoignition
    return ends


def has_window(melting_c: float | None, uppers: Mapping[str, float]) -> bool:
    """Whether there is a range of temperatures to work in; an unknown flash point leaves none."""
    low = -math.inf if melting_c is None else melting_c + margins()[0]
    return "flash" in uppers and low <= min(uppers.values())


def window_line(melting_c: float | None, uppers: Mapping[str, float], *, decimal: str) -> str:
    """Return the sentence about the window from the melting point (°C) to the lowest of the upper ends."""
    shown = {name: format_number(value, digits=4, decimal=decimal) for name, value in uppers.items()}
    lowest = min(uppers, key=lambda name: uppers[name], default="")
    if "flash" not in uppers:
        return sentence("campaign.window_no_flash")
    over_melting, below_flash, below_autoignition = margins()
    margin = {"flash": below_flash, "autoignition": below_autoignition}.get(lowest, 0.0)
    top = sentence(f"campaign.window_top.{lowest}", {"margin": margin}, decimal=decimal)
    if melting_c is None:
        return sentence("campaign.window_no_melting", {"high": shown[lowest], "top": top})
    low = melting_c + over_melting
    code = "campaign.window" if has_window(melting_c, uppers) else "campaign.window_empty"
    written = format_number(low, digits=4, decimal=decimal)
    return sentence(code, {"low": written, "high": shown[lowest], "top": top, "margin": over_melting})
