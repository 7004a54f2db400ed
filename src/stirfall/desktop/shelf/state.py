"""What the shelf shows: the jars that are ageing now, each with its chance at this moment; pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar, Lot, computed_ages
from stirfall.bench.units import format_quantity, human_time, parse_quantity
from stirfall.desktop.bench_form.form import is_oil_depth

INSPECT_AFTER_H = 30 * 24.0
"""Age from which a jar of sodium-like metal is to be inspected; a proposal of this program, no source."""

LIDS = ("open", "loose", "closed", "inert gas")


@dataclass(frozen=True)
class JarRow:
    """One jar on the shelf as shown."""

    jar: Jar
    age: str
    kept: str
    conditions: Conditions
    warning: Reason | None = None
    estimate: Estimate | None = None


@dataclass(frozen=True)
class ShelfState:
    """The whole shelf. ``chances_rest_on`` is one of the chances, None while there are none."""

    rows: tuple[JarRow, ...]
    lots: tuple[Lot, ...]
    selected: str | None
    warning: Reason | None
    is_stale: bool
    chances_rest_on: Estimate | None
    can_change: bool
    now: datetime
    decimal: str

    @property
    def selected_row(self) -> JarRow | None:
        """The jar that is in hand."""
        return next((row for row in self.rows if row.jar.id == self.selected), None)


@dataclass(frozen=True)
class JarForm:
    """The entries for a jar to be started, raw."""

    jar_id: str = ""
    lot_id: str = ""
    oil: str = ""
    depth: str = ""
    lid: str = ""
    charge: str = ""
    started_at: datetime | None = None


@dataclass(frozen=True)
class LotForm:
    """The entries for a lot to be registered, raw."""

    lot_id: str = ""
    made_at: datetime | None = None
    solids: str = ""
    note: str = ""


@dataclass(frozen=True)
class ReadJar:
    """What a jar form means: the jar, or what is wrong with which entry."""

    jar: Jar | None
    problems: Mapping[str, Reason] = field(default_factory=dict)


@dataclass(frozen=True)
class ReadLot:
    """What a lot form means: the lot, or what is wrong with which entry."""

    lot: Lot | None
    problems: Mapping[str, Reason] = field(default_factory=dict)


def jar_rows(
    campaign: CampaignState, now: datetime, decimal: str, estimates: Mapping[str, Estimate]
) -> tuple[JarRow, ...]:
    """Return the jars that are ageing now, the oldest first."""
    jars = sorted(campaign.shelf, key=lambda jar: jar.started_at)
    return tuple(_row(jar, campaign, now, decimal, estimates.get(jar.id)) for jar in jars)


def _row(jar: Jar, campaign: CampaignState, now: datetime, decimal: str, estimate: Estimate | None) -> JarRow:
    try:
        hours = age_h(jar.started_at, now)
        ages = computed_ages(campaign.visible_factors, lot=campaign.lot(jar.lot_id), jar=jar, started_at=now)
    except InputError as error:
        return JarRow(jar, "unknown", kept_under(jar, decimal), Conditions(), Reason(error.code, error.params))
    warning = jar_warning(jar, hours, campaign.settings.material, decimal)
    conditions = Conditions({**ages, **depth_of(jar, campaign)})
    return JarRow(
        jar, human_time(hours, "h", decimal=decimal), kept_under(jar, decimal), conditions, warning, estimate
    )


def depth_of(jar: Jar, campaign: CampaignState) -> dict[str, float]:
    """Return the oil depth of a jar under the name of the factor that means it, where there is one."""
    if jar.oil_depth_mm is None:
        return {}
    return {factor.name: jar.oil_depth_mm for factor in campaign.visible_factors if is_oil_depth(factor)}


def kept_under(jar: Jar, decimal: str) -> str:
    """Return what the metal of a jar lies under, in a few words."""
    depth = format_quantity(jar.oil_depth_mm, "mm", decimal=decimal) if jar.oil_depth_mm is not None else ""
    oil = jar.oil.split(",")[0] or "an unknown oil"
    parts = (f"{depth} of {oil}" if depth else oil, f"lid {jar.lid}" if jar.lid else "")
    return ", ".join(part for part in parts if part)


def jar_warning(jar: Jar, hours: float, material: MaterialClass, decimal: str) -> Reason | None:
    """Return what must be said about a jar of this class and age."""
    params = {"jar": jar.id, "age": human_time(hours, "h", decimal=decimal)}
    if material is MaterialClass.SUPEROXIDE_FORMER:
        return Reason("shelf.superoxide_jar", params)
    if material is not MaterialClass.BASE_METAL and hours > INSPECT_AFTER_H:
        return Reason("shelf.old_jar", params)
    return None


def class_warning(material: MaterialClass) -> Reason | None:
    """Return what the shelf always says for a class of metal."""
    return Reason("shelf.superoxide") if material is MaterialClass.SUPEROXIDE_FORMER else None


def next_id(prefix: str, taken: tuple[str, ...]) -> str:
    """Return the next free id: the highest number in use plus one, written as wide as the others."""
    numbered = [match for name in taken if (match := re.fullmatch(rf"{prefix}(\d+)", name, re.IGNORECASE))]
    highest = max((int(match.group(1)) for match in numbered), default=0)
    width = max((len(match.group(1)) for match in numbered), default=1)
    return f"{prefix}{highest + 1:0{width}d}"


def new_jar_form(campaign: CampaignState) -> JarForm:
    """Return a jar form filled in like the newest jar."""
    last = max(campaign.jars, key=lambda jar: jar.started_at, default=None)
    lot = campaign.lots[-1].id if campaign.lots else ""
    return JarForm(
        jar_id=next_id("J", tuple(jar.id for jar in campaign.jars)),
        lot_id=last.lot_id if last else lot,
        oil=last.oil if last else campaign.settings.oil,
        lid=last.lid if last else "",
    )


def new_lot_form(campaign: CampaignState) -> LotForm:
    """Return a lot form with the next free name."""
    return LotForm(lot_id=next_id("L", tuple(lot.id for lot in campaign.lots)))


def read_jar_form(form: JarForm, campaign: CampaignState, now: datetime) -> ReadJar:
    """Return the jar that the form means, or each problem beside its entry."""
    problems: dict[str, Reason] = {}
    if not form.jar_id.strip():
        problems["jar_id"] = Reason("shelf.id_missing")
    elif any(jar.id.casefold() == form.jar_id.strip().casefold() for jar in campaign.jars):
        problems["jar_id"] = Reason("shelf.id_taken", {"id": form.jar_id.strip()})
    if campaign.lot(form.lot_id) is None:
        problems["lot_id"] = Reason("shelf.lot_missing")
    depth = _amount(form.depth, "mm", "depth", problems)
    charge = _amount(form.charge, "g", "charge", problems)
    started = form.started_at or now
    lot = campaign.lot(form.lot_id)
    if started > now:
        problems["started_at"] = Reason("shelf.future")
    elif lot is not None and lot.made_at is not None and started < lot.made_at:
        problems["started_at"] = Reason("shelf.before_lot", {"lot": lot.id})
    if problems:
        return ReadJar(None, problems)
    return ReadJar(Jar(form.jar_id.strip(), form.lot_id, started, form.oil.strip(), depth, form.lid, charge))


def read_lot_form(form: LotForm, campaign: CampaignState, now: datetime) -> ReadLot:
    """Return the lot that the form means, or each problem beside its entry."""
    problems: dict[str, Reason] = {}
    if not form.lot_id.strip():
        problems["lot_id"] = Reason("shelf.id_missing")
    elif any(lot.id.casefold() == form.lot_id.strip().casefold() for lot in campaign.lots):
        problems["lot_id"] = Reason("shelf.id_taken", {"id": form.lot_id.strip()})
    solids = _amount(form.solids, "%", "solids", problems)
    if form.made_at is not None and form.made_at > now:
        problems["made_at"] = Reason("shelf.future")
    if problems:
        return ReadLot(None, problems)
    return ReadLot(Lot(form.lot_id.strip(), form.made_at, solids, form.note.strip()))


def _amount(text: str, unit: str, name: str, problems: dict[str, Reason]) -> float | None:
    if not text.strip():
        return None
    try:
        value = parse_quantity(text, unit)
    except InputError as error:
        problems[name] = Reason(error.code, error.params)
        return None
    if value < 0:
        problems[name] = Reason("shelf.negative")
    return value
