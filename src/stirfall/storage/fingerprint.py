"""A fingerprint of what a session says, whatever the bytes of its file are."""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.storage.values import plain

# Settings that came after the first files: at their defaults they say nothing new, so old fingerprints stay true.
_LATER = {
    item.name: item.default
    for item in fields(CampaignSettings)
    if item.name in ("partly", "lot_effect", "lot_sd_prior", "form")
}


def fingerprint(state: CampaignState) -> str:
    """Return the SHA-256, in hexadecimal, of settings, factors, lots, jars and attempts (struck ones included).

    Two sessions with the same content have the same fingerprint; drafts, photos, checklist ticks and the correction
    history do not count. Each record is one line of JSON with sorted keys, so the order of the file counts too.
    """
    digest = hashlib.sha256(b"stirfall content 1\n")
    for records in ((state.settings,), state.factors, state.lots, state.jars, state.attempts):
        for record in records:
            digest.update(f"{type(record).__name__} {_line(record)}\n".encode())
    return digest.hexdigest()


def _line(record: CampaignSettings | Factor | Lot | Jar | Attempt) -> str:
    if isinstance(record, Attempt):
        # Conditions hold floats only; there may be very many attempts, so nothing else is walked through.
        return _ENCODER.encode(vars(record))
    values = vars(record)
    if isinstance(record, CampaignSettings):
        values = {name: value for name, value in values.items() if _LATER.get(name, ...) != value}
    return _ENCODER.encode(_with_floats(values))


def _with_floats(values: dict[str, object]) -> dict[str, object]:
    """Write a number in one way only: 3 and 3.0 are the same amount."""
    return {
        name: float(value) if isinstance(value, int) and not isinstance(value, bool) else value
        for name, value in values.items()
    }


def _default(value: object) -> object:
    if isinstance(value, Masses):
        return {name: float(mass) for name, mass in vars(value).items() if mass is not None}
    if isinstance(value, AgeOverride):
        computed = None if value.computed is None else float(value.computed)
        return vars(replace(value, computed=computed))
    return plain(value)


_ENCODER = json.JSONEncoder(
    ensure_ascii=False, separators=(",", ":"), allow_nan=False, sort_keys=True, default=_default
)
