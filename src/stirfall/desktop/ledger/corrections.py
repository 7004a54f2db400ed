"""What can be corrected in an attempt, what a typed correction means, and how its history reads; pure."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from stirfall.bench.ages import read_stamp
from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.typed import read_value
from stirfall.bench.units import format_number, format_quantity
from stirfall.desktop.bench_form.form import text_of
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES
from stirfall.desktop.ledger.cells import local_time
from stirfall.desktop.ledger.fact_corrections import (
    fact_changes,
    fact_correctables,
    fact_unit,
    fact_words,
    sheet_correctables,
    tare_words,
)
from stirfall.desktop.ledger.kinds import Correctable, Kind
from stirfall.desktop.shown import Shown

UNKNOWN = "unknown"


@dataclass(frozen=True)
class Entered:
    """A correction as entered, raw."""

    key: str = ""
    text: str = ""
    parted: Parted | None = None
    pooled: Pooled | None = None
    reason: str = ""


@dataclass(frozen=True)
class ReadCorrection:
    """What a correction means: the changes, or why it cannot be done yet. ``echo`` is what was understood."""

    changes: Mapping[str, object] | None
    problem: Reason | None = None
    echo: str = ""


def correctables(attempt: Attempt, campaign: CampaignState, decimal: str) -> tuple[Correctable, ...]:
    """Return everything that can be corrected in an attempt, in the order of the form."""
    factors = tuple(f for f in campaign.factors if not f.hidden or f.name in attempt.conditions)
    items = [_of_factor(factor, attempt, decimal) for factor in factors]
    if attempt.successes is None:
        items.append(Correctable("outcome", "Outcome", Kind.OUTCOME, attempt.outcome.value))
    aborted = "yes" if attempt.aborted else "no"
    items.append(Correctable("aborted", "Aborted", Kind.CHOICE, aborted, aborted, ("no", "yes")))
    lots = tuple(lot.id for lot in campaign.lots)
    if lots and attempt.jar_id is None:
        items.append(
            Correctable("lot_id", "Lot", Kind.CHOICE, attempt.lot_id or "none", attempt.lot_id or "", lots)
        )
    items += fact_correctables(attempt, decimal)
    for name in MASS_NAMES:
        value = getattr(attempt.masses, name)
        now = "not weighed" if value is None else format_quantity(value, "g", digits=6, decimal=decimal)
        raw = "" if value is None else text_of(value, decimal)
        items.append(Correctable(name, f"Mass of {MASS_LABELS[name]}, g", Kind.NUMBER, now, raw))
    items += sheet_correctables(attempt, decimal)
    items.append(Correctable("note", "Note", Kind.TEXT, attempt.note or "none", attempt.note))
    return tuple(items)


def _of_factor(factor: Factor, attempt: Attempt, decimal: str) -> Correctable:
    value = attempt.conditions.get(factor.name)
    unit = Shown.of(decimal).label(factor.unit)
    label = f"{titled(factor.name)}, {unit}" if unit else titled(factor.name)
    raw = "" if value is None else text_of(value, decimal, factor.unit)
    if factor.is_choice:
        now = UNKNOWN if value is None else str(value)
        return Correctable(f"factor:{factor.name}", label, Kind.CHOICE, now, raw, factor.levels)
    number = attempt.conditions.number(factor.name)
    now = UNKNOWN if number is None else format_quantity(number, factor.unit, digits=6, decimal=decimal)
    return Correctable(f"factor:{factor.name}", label, Kind.NUMBER, now, raw)


def read_correction(entered: Entered, attempt: Attempt, campaign: CampaignState, decimal: str) -> ReadCorrection:
    """Return what a correction would change, or why not yet."""
    try:
        changes, echo = _changes(entered, attempt, campaign, decimal)
        after = replace(attempt, **changes)  # type: ignore[arg-type]  # built for the fields of Attempt just above
    except InputError as error:
        return ReadCorrection(None, Reason(error.code, error.params))
    if after == attempt:
        return ReadCorrection(None, Reason("ledger.nothing_changed"), echo)
    if not entered.reason.strip():
        return ReadCorrection(None, Reason("ledger.reason_missing"), echo)
    return ReadCorrection(changes, None, echo)


def _changes(
    entered: Entered, attempt: Attempt, campaign: CampaignState, decimal: str
) -> tuple[Mapping[str, object], str]:
    key, text = entered.key, entered.text.strip()
    if key.startswith("factor:"):
        name = key.removeprefix("factor:")
        factor = next(item for item in campaign.factors if item.name == name)
        shown = Shown.of(decimal)
        value = read_value(factor, text, bare=shown.unit(factor.unit), decimal=shown.decimal) if text else None
        echo = f"= {shown.echo(value, factor.unit, digits=3)}" if isinstance(value, float) else ""
        return {"conditions": attempt.conditions.with_value(name, value)}, echo if text else UNKNOWN
    if key == "outcome":
        pooled = Pooled.NOT_OBSERVED if entered.parted is Parted.NO else entered.pooled
        return {"parted": entered.parted, "pooled": pooled if entered.parted else None}, ""
    if key == "aborted":
        return {"aborted": text == "yes"}, ""
    if key == "lot_id":
        return {"lot_id": text or None}, ""
    if key in MASS_NAMES:
        grams = Shown.of(decimal).read(text, "g") if text else None
        echo = "not weighed" if grams is None else f"= {format_quantity(grams, 'g', digits=6, decimal=decimal)}"
        return {"masses": replace(attempt.masses, **{key: grams})}, echo
    return fact_changes(key, text, attempt, decimal) or ({"note": entered.text}, "")


@dataclass(frozen=True)
class HistoryLine:
    """One change of one attempt, as it is read."""

    when: str
    what: str
    old: str
    new: str
    why: str


def history_lines(
    corrections: tuple[Correction, ...], campaign: CampaignState, decimal: str
) -> tuple[HistoryLine, ...]:
    """Return the changes of an attempt, oldest first, with old and new values as a person reads them."""
    units = {factor.name: factor.unit for factor in campaign.factors}
    return tuple(
        HistoryLine(
            local_time(item.at),
            _field_words(item.field),
            _value_words(item.old, _unit_of(item.field, units), decimal),
            _value_words(item.new, _unit_of(item.field, units), decimal),
            item.reason or item.command,
        )
        for item in corrections
    )


_FIELD_WORDS = {
    "parted": "solids left the metal",
    "pooled": "became one pool",
    "struck_reason": "struck out",
    "withdrawn": "taken back",
    "lot_id": "lot",
    "jar_id": "jar",
    "started_at": "start",
    "abort_reason": "reason for aborting",
    "successes": "clean",
    "trials": "trials",
    "overrides": "ages typed by hand",
}


def _field_words(name: str) -> str:
    if name.startswith("conditions."):
        return name.removeprefix("conditions.")
    if name.startswith("masses."):
        mass = name.removeprefix("masses.")
        return f"mass of {MASS_LABELS.get(mass, mass)}"
    return fact_words(name) or _FIELD_WORDS.get(name, name.replace("_", " "))


def _unit_of(name: str, units: Mapping[str, str]) -> str:
    if name.startswith("masses."):
        return "g"
    return fact_unit(name) or units.get(name.removeprefix("conditions."), "")


def _value_words(text: str, unit: str, decimal: str) -> str:
    try:
        value = json.loads(text)
    except ValueError:
        return text
    if value is None or value == "":
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        number = float(value)
        if not unit:
            return format_number(number, digits=6, decimal=decimal)
        return format_quantity(number, unit, digits=6, decimal=decimal)
    if isinstance(value, str):
        return _moment_words(value)
    return tare_words(value, decimal) or _list_words(value)


def _list_words(value: object) -> str:
    """Return a list of the history, such as warnings gone past, as it is read."""
    if not isinstance(value, list):
        return json.dumps(value, ensure_ascii=False)
    said = [_item_words(item) for item in value]
    return "; ".join(said) if said else "none"


def _item_words(item: object) -> str:
    if not isinstance(item, dict):
        return str(item)
    what = item.get("text") or item.get("factor") or json.dumps(item, ensure_ascii=False)
    return f"{what} Why: {item['reason']}" if item.get("reason") else str(what)


def _moment_words(text: str) -> str:
    if len(text) < 16 or "T" not in text:
        return text
    try:
        moment: datetime = read_stamp(text)
    except InputError:
        return text
    return local_time(moment)
