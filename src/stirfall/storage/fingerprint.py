"""A fingerprint of what a session says, whatever the bytes of its file are."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses, Origin
from stirfall.bench.run_facts import NO_FACTS, NO_SHEET
from stirfall.storage.values import plain

# What came after the first files: at their defaults they say nothing new, so old fingerprints stay true.
_LATER_NAMES: Mapping[type, tuple[str, ...]] = {
    CampaignSettings: ("partly", "lot_effect", "lot_sd_prior", "form", "substances", "plan", "bench_name"),
    Lot: ("metal_percent", "metal_u_percent", "assays"),
    Jar: (
        "inner_diameter_mm",
        "headspace_mm",
        "piece_count",
        "piece_mm",
        "metal_area_cm2",
        "material",
        "oil_history",
        "storage_c",
        "room_rh_percent",
        "contents",
        "look",
        "looked_at",
        "planned",
    ),
    Factor: (),
}
_LATER = {
    kind: {item.name: item.default for item in fields(kind) if item.name in names}
    for kind, names in _LATER_NAMES.items()
}


def fingerprint(state: CampaignState) -> str:
    """Return the SHA-256, in hexadecimal, of settings, factors, lots, jars and attempts (struck ones included).

    Two sessions with the same content have the same fingerprint; drafts, photos, checklist ticks, runs, second
    grades, plans, proofs, comparisons, issued recipes, marks and the correction history do not count. Each record
    is one line of JSON with sorted keys, so the order of the file counts too.
    """
    digest = hashlib.sha256(b"stirfall content 1\n")
    for records in ((state.settings,), state.factors, state.lots, state.jars, state.attempts):
        for record in records:
            digest.update(f"{type(record).__name__} {_line(record)}\n".encode())
    return digest.hexdigest()


def _line(record: CampaignSettings | Factor | Lot | Jar | Attempt) -> str:
    if isinstance(record, Attempt):
        # Conditions hold floats only; there may be very many attempts, so nothing else is walked through.
        return _ENCODER.encode(_without_empty(vars(record)))
    later = _LATER[type(record)]
    values = {name: value for name, value in vars(record).items() if later.get(name, ...) != value}
    return _ENCODER.encode(_with_floats(values))


def _without_empty(values: dict[str, object]) -> dict[str, object]:
    """Leave out run and proof, and facts and sheet where they say nothing; loaded attempts share the empty ones."""
    facts, sheet = values["facts"], values["sheet"]
    values = values.copy()
    del values["run_id"], values["proof_id"]
    if values["origin"] is None:
        del values["origin"]
    if (facts is NO_FACTS or facts == NO_FACTS) and (sheet is NO_SHEET or sheet == NO_SHEET):
        del values["facts"], values["sheet"]
    return values


def _with_floats(values: dict[str, object]) -> dict[str, object]:
    """Write a number in one way only: 3 and 3.0 are the same amount."""
    return {
        name: float(value) if isinstance(value, int) and not isinstance(value, bool) else value
        for name, value in values.items()
    }


def _default(value: object) -> object:
    if isinstance(value, Masses):
        return {name: float(mass) for name, mass in vars(value).items() if mass is not None}
    if isinstance(value, Origin):
        return vars(value)
    if isinstance(value, AgeOverride):
        computed = None if value.computed is None else float(value.computed)
        return vars(replace(value, computed=computed))
    return plain(value)


_ENCODER = json.JSONEncoder(
    ensure_ascii=False, separators=(",", ":"), allow_nan=False, sort_keys=True, default=_default
)
