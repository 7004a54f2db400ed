"""A fingerprint of what a session says, whatever the bytes of its file are."""

from __future__ import annotations

import hashlib
from dataclasses import fields

from stirfall.bench.campaign import CampaignState
from stirfall.storage.values import canonical_json


def fingerprint(state: CampaignState) -> str:
    """Return the SHA-256, in hexadecimal, of settings, factors, lots, jars and attempts (struck ones included).

    Two sessions with the same content have the same fingerprint; drafts, photos, checklist ticks and the correction
    history do not count.
    """
    digest = hashlib.sha256(b"stirfall content 1\n")
    for records in ((state.settings,), state.factors, state.lots, state.jars, state.attempts):
        for record in records:
            values = {item.name: getattr(record, item.name) for item in fields(record)}
            digest.update(f"{type(record).__name__} {canonical_json(values)}\n".encode())
    return digest.hexdigest()
