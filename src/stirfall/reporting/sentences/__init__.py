"""Sentences for codes: the one place where errors, findings and reasons become plain English.

One module per floor, and one for a large part of a floor, holds ``SENTENCES``: code to text with named gaps.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module

from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.units import Amount, format_number
from stirfall.physics.measured import Measured

_MODULES = (
    "bench",
    "inference",
    "health",
    "storage",
    "packages",
    "planning",
    "session",
    "grading",
    "reporting",
    "report",
    "recipe_page",
    "desktop",
    "desktop_campaign",
    "cli",
    "melt",
    "film",
    "alarms",
    "weighing",
    "desktop_physics",
    "desktop_limits",
    "scanning",
    "run",
    "desktop_shelf",
    "ledger",
    "printing",
    "tonight",
    "plans",
    "proof_page",
    "rehearsal",
    "rehearsal_page",
    "proof",
    "plan_page",
    "explanations",
    "desktop_next",
    "compare",
    "importing",
    "pool",
    "drift",
    "why",
)


@cache
def all_sentences() -> Mapping[str, str]:
    """Return every known code with its sentence; a code defined twice is a bug and raises ValueError."""
    merged: dict[str, str] = {}
    for module in _MODULES:
        for code, text in import_module(f"{__name__}.{module}").SENTENCES.items():
            if code in merged:
                raise ValueError(code)
            merged[code] = text
    return merged


def sentence(code: str, params: Mapping[str, object] | None = None, *, decimal: str = ".") -> str:
    """Return the sentence for a code; numbers are written as people write them, an unknown code as itself."""
    text = all_sentences().get(code)
    if text is None:
        return f"{code}: {dict(params or {})}"
    return text.format_map({key: _shown(value, decimal) for key, value in (params or {}).items()})


def error_sentence(error: StirfallError, *, decimal: str = ".") -> str:
    """Return what happened and what to do, for an error of the core."""
    return sentence(error.code, error.params, decimal=decimal)


def _shown(value: object, decimal: str) -> str:
    if isinstance(value, Amount):
        return value.text(decimal=decimal)
    if isinstance(value, Measured):
        return value.bare(decimal=decimal)
    if isinstance(value, float):
        return format_number(value, digits=4, decimal=decimal)
    if isinstance(value, Reason):
        return sentence(value.code, value.params, decimal=decimal)
    if isinstance(value, StirfallError):
        return error_sentence(value, decimal=decimal)
    return str(value)
