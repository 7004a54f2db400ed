"""Values as JSON text: the form in which conditions, masses and corrections are kept."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime

from stirfall.bench.ages import stamp
from stirfall.bench.factors import Factor
from stirfall.bench.records import AgeOverride, Masses
from stirfall.storage.compact import COMPACT, compact


def plain(value: object) -> object:
    """Return ``value`` as JSON knows it: moments as ISO 8601 in UTC, masses without what was not weighed."""
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, Masses):
        return {name: mass for name, mass in vars(value).items() if mass is not None}
    if isinstance(value, COMPACT):
        return compact(value)
    if isinstance(value, (AgeOverride, Factor)):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if isinstance(value, str):
        return str(value)
    return value


def to_json(value: object) -> str:
    """Write a value as compact JSON; numbers keep all their digits, NaN is refused."""
    return json.dumps(plain(value), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
