"""Stirfall: keep, learn from and plan attempts to part fine solids from a crude low-melting metal under oil.

For scripts: ``Campaign`` is a session file, ``Factor`` a condition that may matter. Importing the package loads
nothing else; each name below is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.bench.estimates import Estimate
    from stirfall.bench.factors import Factor
    from stirfall.scripting import Campaign, Suggestion

__version__ = "0.1.0"
__all__ = ["Campaign", "Estimate", "Factor", "Suggestion", "__version__"]

_HOMES = {
    "Campaign": "stirfall.scripting",
    "Estimate": "stirfall.bench.estimates",
    "Factor": "stirfall.bench.factors",
    "Suggestion": "stirfall.scripting",
}


def __getattr__(name: str) -> object:
    """Load a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """List the public names before any of them is loaded."""
    return sorted({*globals(), *__all__})
