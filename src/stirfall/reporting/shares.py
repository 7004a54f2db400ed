"""Probabilities as people may read them: whole per cent with interval and count, never 0 % and never 100 %."""

from __future__ import annotations

from stirfall.bench.estimates import Estimate
from stirfall.bench.units import THIN_SPACE


def percent(share: float) -> str:
    """Write a probability in whole per cent; "below 1 %" and "above 99 %" at the ends."""
    return f"{_ends_in_words(share)}{THIN_SPACE}%"


def _ends_in_words(share: float) -> str:
    whole = round(100.0 * share)
    if whole < 1:
        return "below 1"
    return "above 99" if whole > 99 else str(whole)


def level_percent(level: float) -> str:
    """Write the level of an interval, such as 95 %."""
    return f"{100.0 * level:.3g}{THIN_SPACE}%"


def span(lower: float, upper: float) -> str:
    """Write an interval of a probability: "38 to 81 %"."""
    return f"{_ends_in_words(lower)} to {percent(upper)}"


def interval(estimate: Estimate) -> str:
    """Write the interval of an estimate: "38 to 81 %"."""
    return span(estimate.lower, estimate.upper)


def counted(count: int, noun: str = "attempt") -> str:
    """Write a count with its noun: "1 attempt", "47 attempts"."""
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def basis(estimate: Estimate) -> str:
    """Write what an estimate rests on: "47 attempts", or "481 trials" where attempts hold several trials."""
    return counted(estimate.n, "trial" if estimate.of_trials else "attempt")


def in_full(estimate: Estimate) -> str:
    """Write an estimate as it always stands: "62 %, 38 to 81 %, 47 attempts"."""
    return f"{percent(estimate.mean)}, {interval(estimate)}, {basis(estimate)}"
