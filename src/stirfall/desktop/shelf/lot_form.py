"""The form of a lot, to be registered or corrected: what the entries mean, or what is wrong with which; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Lot
from stirfall.desktop.shelf.amounts import Reader, typed
from stirfall.desktop.shelf.jar_form import next_id


@dataclass(frozen=True)
class LotForm:
    """The entries for a lot, raw; the metal is what assays found, with its standard uncertainty."""

    lot_id: str = ""
    made_at: datetime | None = None
    solids: str = ""
    note: str = ""
    metal: str = ""
    metal_u: str = ""
    assays: str = ""
    reason: str = ""


@dataclass(frozen=True)
class ReadLot:
    """What a lot form means: the lot, or what is wrong with which entry."""

    lot: Lot | None
    problems: Mapping[str, Reason] = field(default_factory=dict)


def new_lot_form(campaign: CampaignState) -> LotForm:
    """Return a lot form with the next free name."""
    return LotForm(lot_id=next_id("L", tuple(lot.id for lot in campaign.lots)))


def lot_form_of(lot: Lot, decimal: str = ".") -> LotForm:
    """Return the form that shows a lot as it is."""
    return LotForm(
        lot.id,
        lot.made_at,
        typed(lot.solids_percent, decimal),
        lot.note,
        typed(lot.metal_percent, decimal),
        typed(lot.metal_u_percent, decimal),
        typed(lot.assays, decimal),
    )


def read_lot_form(form: LotForm, campaign: CampaignState, now: datetime) -> ReadLot:
    """Return the lot that the form means, or each problem beside its entry."""
    reader = Reader()
    if not form.lot_id.strip():
        reader.say("lot_id", "shelf.id_missing")
    elif any(lot.id.casefold() == form.lot_id.strip().casefold() for lot in campaign.lots):
        reader.say("lot_id", "shelf.id_taken", id=form.lot_id.strip())
    lot = _read(form, now, reader)
    return ReadLot(None if reader.problems else lot, reader.problems)


def read_lot_change(form: LotForm, before: Lot, campaign: CampaignState, now: datetime) -> ReadLot:
    """Return the lot as it is to be corrected, or each problem; a reason is asked for."""
    reader = Reader()
    after = replace(_read(form, now, reader), id=before.id)
    jars = [jar for jar in campaign.jars if jar.lot_id == before.id]
    early = min(jars, key=lambda jar: jar.started_at, default=None)
    made = after.made_at if after.made_at != before.made_at else None
    if made is not None and early is not None and made > early.started_at:
        reader.say("made_at", "shelf.after_jar", jar=early.id)
    if not form.reason.strip():
        reader.say("reason", "ledger.reason_missing")
    elif after == before:
        reader.say("reason", "ledger.nothing_changed")
    return ReadLot(None if reader.problems else after, reader.problems)


def _read(form: LotForm, now: datetime, reader: Reader) -> Lot:
    """Read everything but whether the name is free."""
    solids = reader.amount("solids", form.solids, "%", most=100.0)
    metal = reader.amount("metal", form.metal, "%", most=100.0)
    spread = reader.amount("metal_u", form.metal_u, "%", most=100.0)
    assays = reader.count("assays", form.assays)
    if not form.metal.strip() and (form.metal_u.strip() or form.assays.strip()):
        reader.say("metal", "shelf.metal_missing")
    if form.made_at is not None and form.made_at > now:
        reader.say("made_at", "shelf.future")
    return Lot(form.lot_id.strip(), form.made_at, solids, form.note.strip(), metal, spread, assays)
