"""What a command may not do: each check raises InputError with a code, before anything is written."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from stirfall.bench.ages import as_utc, stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.substances import Substances
from stirfall.bench.units import Amount
from stirfall.planning.limits import refusals
from stirfall.planning.limits_exposure import shipped_age_h
from stirfall.planning.situation import Situation
from stirfall.session.model_settings import check_model_keeps, checked_model
from stirfall.storage.limit_table import additive_kinds, limit_table
from stirfall.storage.materials import materials

MAX_PHOTO_BYTES = 20 * 1024 * 1024


def kept_moment(moment: datetime) -> datetime:
    """Return a moment as the file keeps it, in UTC and whole milliseconds; raises ``time.without_zone``."""
    utc = as_utc(moment)
    return utc.replace(microsecond=utc.microsecond // 1000 * 1000)


def _optional_moment(moment: datetime | None) -> datetime | None:
    return None if moment is None else kept_moment(moment)


def require_text(text: str, code: str) -> str:
    """Return the text without blanks around it; raises InputError ``code`` when nothing is left."""
    stripped = text.strip()
    if not stripped:
        raise InputError(code)
    return stripped


def check_id(record_id: str, taken: Iterable[str], kind: str) -> None:
    """Raise InputError ``<kind>.unnamed`` or ``<kind>.exists``; letter case does not make another name."""
    require_text(record_id, f"{kind}.unnamed")
    wanted = record_id.strip().casefold()
    if any(other.strip().casefold() == wanted for other in taken):
        raise InputError(f"{kind}.exists", id=record_id)


def require_lot(state: CampaignState, lot_id: str) -> Lot:
    """Return the lot; raises InputError ``lot.unknown``."""
    lot = state.lot(lot_id)
    if lot is None:
        raise InputError("lot.unknown", id=lot_id, known=_names(lot.id for lot in state.lots))
    return lot


def require_jar(state: CampaignState, jar_id: str) -> Jar:
    """Return the jar; raises InputError ``jar.unknown``."""
    jar = state.jar(jar_id)
    if jar is None:
        raise InputError("jar.unknown", id=jar_id, known=_names(jar.id for jar in state.jars))
    return jar


def _names(names: Iterable[str]) -> str:
    return ", ".join(names) or "none"


def check_amount(value: float | None, name: str, *, above_zero: bool = False) -> None:
    """Raise InputError ``amount.impossible`` for a negative, infinite or undefined amount."""
    if value is None:
        return
    if not math.isfinite(value) or value < 0 or (above_zero and value == 0):
        raise InputError("amount.impossible", name=name, value=f"{value:g}")


def checked_lot(lot: Lot, taken: Iterable[str]) -> Lot:
    """Return the lot as it will be kept; raises InputError ``lot.*`` or ``amount.*``."""
    check_id(lot.id, taken, "lot")
    for value, name in ((lot.solids_percent, "solids"), (lot.metal_percent, "metal"), (lot.metal_u_percent, "u")):
        check_amount(value, name)
        if value is not None and value > 100:
            raise InputError("amount.above_hundred", name=name, value=f"{value:g}")
    return replace(
        lot,
        id=lot.id.strip(),
        made_at=_optional_moment(lot.made_at),
        solids_percent=_float(lot.solids_percent),
        metal_percent=_float(lot.metal_percent),
        metal_u_percent=_float(lot.metal_u_percent),
    )


_JAR_AMOUNTS: Mapping[str, str] = {
    "oil_depth_mm": "oil depth",
    "charge_g": "charge",
    "inner_diameter_mm": "inner diameter",
    "headspace_mm": "headspace",
    "piece_mm": "piece size",
    "metal_area_cm2": "metal area",
    "room_rh_percent": "room humidity",
}
_ABOVE_ZERO = ("inner_diameter_mm", "piece_mm", "metal_area_cm2")


def checked_jar(jar: Jar, taken: Iterable[str], state: CampaignState) -> Jar:
    """Return the jar as it will be kept; raises InputError ``jar.*``, ``lot.unknown`` or ``amount.*``."""
    check_id(jar.id, taken, "jar")
    require_lot(state, jar.lot_id)
    amounts = {name: getattr(jar, name) for name in (*_JAR_AMOUNTS, "storage_c")}
    for name, words in _JAR_AMOUNTS.items():
        check_amount(amounts[name], words, above_zero=name in _ABOVE_ZERO)
    if jar.room_rh_percent is not None and jar.room_rh_percent > 100:
        raise InputError("amount.above_hundred", name="room humidity", value=f"{jar.room_rh_percent:g}")
    if jar.storage_c is not None and not (math.isfinite(jar.storage_c) and jar.storage_c > -273.15):
        raise InputError("amount.impossible", name="storage temperature", value=f"{jar.storage_c:g}")
    if jar.piece_count is not None and jar.piece_count < 1:
        raise InputError("amount.impossible", name="number of pieces", value=f"{jar.piece_count}")
    if jar.planned and jar.is_residue:
        raise InputError("jar.residue_planned", id=jar.id)
    if jar.emptied_at is not None and not jar.planned:  # a planned jar may be given up before its time
        check_order(jar.started_at, jar.emptied_at)
    return replace(
        jar,
        id=jar.id.strip(),
        started_at=kept_moment(jar.started_at),
        emptied_at=_optional_moment(jar.emptied_at),
        looked_at=_optional_moment(jar.looked_at),
        **{name: _float(value) for name, value in amounts.items()},  # type: ignore[arg-type]  # numbers only
    )


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)


def check_order(start: datetime, end: datetime) -> None:
    """Raise InputError ``time.runs_backwards`` when the end lies before the start."""
    if as_utc(end) < as_utc(start):
        raise InputError("time.runs_backwards", start=stamp(start), end=stamp(end))


def check_conditions(conditions: Conditions, factors: Collection[Factor]) -> None:
    """Raise InputError ``condition.*`` for an unknown factor, a value of the wrong kind or an unknown level.

    A number outside the campaign's range is allowed: conditions are what was really reached.
    """
    by_name = {factor.name: factor for factor in factors}
    for name, value in conditions.items():
        factor = by_name.get(name)
        if factor is None:
            raise InputError("condition.unknown_factor", name=name, known=_names(by_name))
        check_value(factor, value)


def check_value(factor: Factor, value: Value) -> None:
    """Raise InputError ``condition.*`` unless the factor can have this value."""
    if factor.is_choice:
        if not isinstance(value, str):
            raise InputError("condition.not_a_level", name=factor.name, value=value, known=_names(factor.levels))
        if value not in factor.levels:
            raise InputError("condition.level_unknown", name=factor.name, value=value, known=_names(factor.levels))
        return
    if isinstance(value, str) or not math.isfinite(value):
        raise InputError("condition.not_a_number", name=factor.name, value=str(value))
    if factor.scale is Scale.LOG and value <= 0:
        raise InputError("value.log_needs_positive", name=factor.name, value=value)


def check_places(attempt: Attempt, state: CampaignState) -> str | None:
    """Return the attempt's lot, taken from its jar where it was not given.

    Raises InputError ``lot.unknown``, ``jar.unknown`` or ``attempt.lot_differs``.
    """
    if attempt.lot_id is not None:
        require_lot(state, attempt.lot_id)
    if attempt.jar_id is None:
        return attempt.lot_id
    jar = require_jar(state, attempt.jar_id)
    if attempt.lot_id not in (None, jar.lot_id):
        raise InputError("attempt.lot_differs", jar=jar.id, lot=attempt.lot_id, jar_lot=jar.lot_id)
    return jar.lot_id


def refuse_planned(jar: Jar) -> None:
    """Raise InputError ``jar.not_started`` for a jar that is only planned."""
    if jar.planned:
        raise InputError("jar.not_started", id=jar.id)


_CLOCKS_DIFFER = timedelta(minutes=5)  # a start is typed to the minute; our proposal, no source


def refuse_later_start(jar: Jar, state: CampaignState, now: datetime) -> None:
    """Raise InputError ``jar.no_later_start`` for a jar that is to start later where the metal must not wait.

    A start ahead of the clock would put off its use-by date as well.
    """
    is_ahead = as_utc(jar.started_at) > as_utc(now) + _CLOCKS_DIFFER
    if (jar.planned or is_ahead) and not (jar.is_residue or state.settings.material.may_lengthen_age):
        raise InputError("jar.no_later_start", id=jar.id)


def refuse_not_started(attempt: Attempt, state: CampaignState) -> None:
    """Raise InputError ``jar.not_started`` where the attempt's jar is only planned."""
    if attempt.jar_id is not None:
        refuse_planned(require_jar(state, attempt.jar_id))


def checked_settings(settings: CampaignSettings, factors: Collection[Factor]) -> CampaignSettings:
    """Return the settings as they will be kept; raises InputError ``settings.*``, or those of ``checked_model``.

    Own limits of the campaign may only be stricter than the shipped ones.
    """
    for value in (settings.melting_point_c, settings.oil_flash_c):
        if value is not None and not (math.isfinite(value) and value > -273.15):
            raise InputError("settings.temperature", value=f"{value:g}")
    checked = checked_model(settings, factors)
    material = MaterialClass(settings.material)
    _check_own_limits(settings.substances, material)
    _check_additives(settings.substances)
    _check_class(settings, material)
    return replace(checked, material=material)


def _check_own_limits(substances: Substances, material: MaterialClass) -> None:
    """Raise InputError ``settings.limit_looser`` where a campaign's own limit is looser than the shipped one."""
    table, own, age = limit_table(), substances.limits, shipped_age_h(material)
    pairs: list[tuple[str, float | None, float, str]] = [
        ("humidity", own.humidity_percent, table["humidity"].number("most"), "%"),
        ("hydrogen", own.hydrogen_ml, table["hydrogen"].number("most"), "mL"),
        ("the days of residue", own.residue_days, table["residue"].number("most"), "days"),
    ]
    if age is not None:
        pairs.append(("the age", own.age_h, age[0], "h"))
    cap = table["dose_cap"].number("most")
    pairs += [(f"the dose of {each.name}", each.dose_cap_mg_g, cap, "mg/g") for each in substances.additives]
    for name, mine, shipped, unit in pairs:
        if mine is not None and not mine <= shipped:
            raise InputError(
                "settings.limit_looser", name=name, own=Amount(mine, unit), shipped=Amount(shipped, unit)
            )


def _check_class(settings: CampaignSettings, material: MaterialClass) -> None:
    """Raise InputError ``settings.class_too_mild`` where the metal of the table is of a more dangerous class."""
    key = settings.substances.metal.key
    row = materials().metal(key) if key else None
    if row is not None and material.is_too_mild_for(row.hazard):
        raise InputError("settings.class_too_mild", metal=row.name, hazard=str(row.hazard), chosen=str(material))


def _check_additives(substances: Substances) -> None:
    """Raise InputError ``settings.additive_*``: which additive is meant must never be in doubt."""
    names: set[str] = set()
    for each in substances.additives:
        name = " ".join(each.name.split()).casefold()
        if not name:
            raise InputError("settings.additive_unnamed")
        if name in names:
            raise InputError("settings.additive_repeated", name=each.name)
        names.add(name)
        if each.kind and each.kind not in additive_kinds():
            raise InputError("settings.additive_kind", kind=each.kind, known=_names(additive_kinds()))


def refuse_blocked(attempt: Attempt, state: CampaignState) -> None:
    """Raise InputError ``limits.refused`` for an attempt beyond a limit that blocks, unless it was aborted."""
    if attempt.aborted:
        return
    situation = Situation.of_attempt(attempt, jar=state.jar(attempt.jar_id), lot=state.lot(attempt.lot_id))
    for found in refusals(state, situation):
        raise InputError("limits.refused", why=Reason(found.code, found.params), limit=found.code)


def check_factors(factors: tuple[Factor, ...], state: CampaignState) -> None:
    """Raise InputError ``factor.*`` when names repeat, or when a factor that is in use would lose its meaning."""
    names = [factor.name.casefold() for factor in factors]
    for factor in factors:
        if names.count(factor.name.casefold()) > 1:
            raise InputError("factor.repeated", name=factor.name)
    new = {factor.name: factor for factor in factors}
    check_model_keeps(state.settings, factors)
    changed = {old.name: old for old in state.factors if not _keeps_meaning(old, new.get(old.name))}
    used = (
        (*(each.conditions for each in state.attempts), *(each.recipe for each in state.proofs)) if changed else ()
    )
    for conditions in used:
        for name in changed.keys() & conditions.keys():
            _refuse_loss(changed[name], new.get(name), conditions)


def _keeps_meaning(old: Factor, new: Factor | None) -> bool:
    if new is None or new.unit != old.unit or new.is_choice != old.is_choice:
        return False
    if new.scale is Scale.LOG and old.scale is not Scale.LOG:
        return False
    return set(old.levels) <= set(new.levels)


def _refuse_loss(old: Factor, new: Factor | None, conditions: Conditions) -> None:
    if new is None:
        raise InputError("factor.in_use", name=old.name)
    if new.unit != old.unit:
        raise InputError("factor.unit_in_use", name=old.name, unit=old.unit, wanted=new.unit)
    if new.is_choice != old.is_choice:
        raise InputError("factor.kind_in_use", name=old.name)
    value = conditions[old.name]
    if new.is_choice and value not in new.levels:
        raise InputError("factor.level_in_use", name=old.name, level=value)
    if not isinstance(value, str) and new.scale is Scale.LOG and value <= 0:
        raise InputError("value.log_needs_positive", name=old.name, value=value)
