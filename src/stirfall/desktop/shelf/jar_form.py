"""The form of a jar, to be started or corrected: what the entries mean, or what is wrong with which; pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.records import CRUDE, Jar
from stirfall.bench.short_ids import is_short_id, new_short_id
from stirfall.bench.substances import Lid
from stirfall.bench.units import format_quantity
from stirfall.desktop.shelf.amounts import Reader, typed

LIDS = tuple(lid.value for lid in Lid)


@dataclass(frozen=True)
class JarForm:
    """The entries for a jar, raw; ``started_at`` None means now, or the start as it was."""

    jar_id: str = ""
    lot_id: str = ""
    oil: str = ""
    depth: str = ""
    lid: str = ""
    charge: str = ""
    started_at: datetime | None = None
    contents: str = CRUDE
    diameter: str = ""
    headspace: str = ""
    pieces: str = ""
    piece_size: str = ""
    area: str = ""
    material: str = ""
    oil_history: str = ""
    storage: str = ""
    humidity: str = ""
    note: str = ""
    reason: str = ""


@dataclass(frozen=True)
class ReadJar:
    """What a jar form means: the jar, or what is wrong with which entry."""

    jar: Jar | None
    problems: Mapping[str, Reason] = field(default_factory=dict)


def next_id(prefix: str, taken: tuple[str, ...]) -> str:
    """Return the next free id: the highest number in use plus one, written as wide as the others."""
    numbered = [match for name in taken if (match := re.fullmatch(rf"{prefix}(\d+)", name, re.IGNORECASE))]
    highest = max((int(match.group(1)) for match in numbered), default=0)
    width = max((len(match.group(1)) for match in numbered), default=1)
    return f"{prefix}{highest + 1:0{width}d}"


def known_lid(lid: str) -> str:
    """Return the lid in today's words; a free text of an old file stays as it is."""
    return Lid.named(lid) or lid


def last_started(campaign: CampaignState) -> Jar | None:
    """Return the jar of crude that was started last, which a new one is filled in like."""
    crude = (jar for jar in campaign.jars if not jar.is_residue)
    return max(crude, key=lambda jar: jar.started_at, default=None)


def new_jar_form(campaign: CampaignState, decimal: str = ".") -> JarForm:
    """Return a jar form filled in like the newest jar; charge, depth and area are each jar's own."""
    last, taken = last_started(campaign), tuple(jar.id for jar in campaign.jars)
    # As the newest jar is named: with a check character, or by the next number.
    jar_id = new_short_id(taken) if last is not None and is_short_id(last.id) else next_id("J", taken)
    if last is None:
        lot = campaign.lots[-1].id if campaign.lots else ""
        settings = campaign.settings
        return JarForm(jar_id, lot, settings.oil, oil_history=settings.substances.oil.history)
    like = replace(jar_form_of(last, decimal), jar_id=jar_id, started_at=None)
    return replace(like, depth="", charge="", area="", note="", contents=CRUDE)


def jar_form_of(jar: Jar, decimal: str = ".") -> JarForm:
    """Return the form that shows a jar as it is."""
    return JarForm(
        jar_id=jar.id,
        lot_id=jar.lot_id,
        oil=jar.oil,
        depth=typed(jar.oil_depth_mm, decimal),
        lid=known_lid(jar.lid),
        charge=typed(jar.charge_g, decimal),
        contents=jar.contents,
        diameter=typed(jar.inner_diameter_mm, decimal),
        headspace=typed(jar.headspace_mm, decimal),
        pieces=typed(jar.piece_count, decimal),
        piece_size=typed(jar.piece_mm, decimal),
        area=typed(jar.metal_area_cm2, decimal),
        material=jar.material,
        oil_history=jar.oil_history,
        storage=typed(jar.storage_c, decimal),
        humidity=typed(jar.room_rh_percent, decimal),
        note=jar.note,
    )


def remembered_text(jar: Jar | None, decimal: str) -> str:
    """Write what a new jar takes over from the one before it, "" where that says nothing."""
    if jar is None:
        return ""
    said = (
        _with_unit("inner diameter", jar.inner_diameter_mm, "mm", decimal),
        _with_unit("headspace", jar.headspace_mm, "mm", decimal),
        _pieces_text(jar, decimal),
        jar.material,
        f"{jar.oil_history} oil" if jar.oil_history else "",
        _with_unit("stored at", jar.storage_c, "°C", decimal),
        _with_unit("room at", jar.room_rh_percent, "% humidity", decimal),
    )
    return ", ".join(part for part in said if part)


def _with_unit(words: str, value: float | None, unit: str, decimal: str) -> str:
    return "" if value is None else f"{words} {format_quantity(value, unit, decimal=decimal)}"


def _pieces_text(jar: Jar, decimal: str) -> str:
    if jar.piece_count is None and jar.piece_mm is None:
        return ""
    size = "" if jar.piece_mm is None else f" of {format_quantity(jar.piece_mm, 'mm', decimal=decimal)}"
    count = "pieces" if jar.piece_count is None else f"{jar.piece_count} piece{'' if jar.piece_count == 1 else 's'}"
    return count + size


def read_jar_form(form: JarForm, campaign: CampaignState, now: datetime) -> ReadJar:
    """Return the jar that the form means, or each problem beside its entry."""
    reader = Reader()
    if not form.jar_id.strip():
        reader.say("jar_id", "shelf.id_missing")
    elif any(jar.id.casefold() == form.jar_id.strip().casefold() for jar in campaign.jars):
        reader.say("jar_id", "shelf.id_taken", id=form.jar_id.strip())
    read = _read(form, campaign, now, form.started_at or now, reader)
    if reader.problems or read is None:
        return ReadJar(None, reader.problems)
    return ReadJar(read)


def read_jar_change(form: JarForm, before: Jar, campaign: CampaignState, now: datetime) -> ReadJar:
    """Return the jar as it is to be corrected, or each problem; a reason is asked for."""
    reader = Reader()
    started = form.started_at or before.started_at
    read = _read(form, campaign, None if before.planned else now, started, reader)
    if started == before.started_at and form.lot_id == before.lot_id:
        reader.problems.pop("started_at", None)  # nothing that is corrected here brought it about
    if not form.reason.strip():
        reader.say("reason", "ledger.reason_missing")
    if read is None:
        return ReadJar(None, reader.problems)
    used = read.lot_id != before.lot_id and any(each.jar_id == before.id for each in campaign.attempts)
    if used:
        reader.say("lot_id", "jar.lot_in_use", id=before.id, lot=before.lot_id)
    lid = before.lid if known_lid(before.lid) == read.lid else read.lid
    after = replace(
        read,
        id=before.id,
        lid=lid,
        emptied_at=before.emptied_at,
        look=before.look,
        looked_at=before.looked_at,
        planned=before.planned,
    )
    if after == before:
        reader.say("reason", "ledger.nothing_changed")
    return ReadJar(None if reader.problems else after, reader.problems)


def _read(
    form: JarForm, campaign: CampaignState, now: datetime | None, started: datetime, reader: Reader
) -> Jar | None:
    """Read everything but the name; None where an entry is wrong. Without ``now`` a start may lie in the future."""
    lot = campaign.lot(form.lot_id)
    if lot is None:
        reader.say("lot_id", "shelf.lot_missing")
    if now is not None and started > now:
        reader.say("started_at", "shelf.future")
    elif lot is not None and lot.made_at is not None and started < lot.made_at:
        reader.say("started_at", "shelf.before_lot", lot=lot.id)
    kept = read_kept(form, reader)
    depth, charge = reader.amount("depth", form.depth, "mm"), reader.amount("charge", form.charge, "g")
    jar = replace(
        kept,
        id=form.jar_id.strip(),
        lot_id=form.lot_id,
        started_at=started,
        oil_depth_mm=depth,
        charge_g=charge,
        metal_area_cm2=reader.amount("area", form.area, "cm^2", above_zero=True),
        contents=form.contents or CRUDE,
    )
    return None if reader.problems else jar


def read_kept(form: JarForm, reader: Reader) -> Jar:
    """Return a nameless jar that is kept as the form says; charge, depth, area and contents are left out."""
    return Jar(
        "",
        form.lot_id,
        datetime.min.replace(tzinfo=UTC),
        form.oil.strip(),
        lid=form.lid,
        note=form.note.strip(),
        inner_diameter_mm=reader.amount("diameter", form.diameter, "mm", above_zero=True),
        headspace_mm=reader.amount("headspace", form.headspace, "mm"),
        piece_count=reader.count("pieces", form.pieces),
        piece_mm=reader.amount("piece_size", form.piece_size, "mm", above_zero=True),
        material=form.material,
        oil_history=form.oil_history,
        storage_c=reader.temperature("storage", form.storage),
        room_rh_percent=reader.amount("humidity", form.humidity, "%", most=100.0),
    )
