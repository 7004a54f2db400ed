"""Corrections of what was seen and of the weighing sheet: what they can be of, and what they mean; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from stirfall.bench.records import Attempt
from stirfall.bench.run_facts import OIL_REMOVALS
from stirfall.bench.substances import SurfaceLook
from stirfall.bench.units import format_quantity
from stirfall.desktop.bench_form.form import text_of
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.bench_form.typed import Quantity
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES, SHEET
from stirfall.desktop.ledger.kinds import Correctable, Kind
from stirfall.desktop.shown import Shown

_FACTS, _SHEET, _TARE = "facts.", "sheet.", "tare."
_FACT_WORDS = {"operator": "Who", "tool": "Tool"}


def fact_correctables(attempt: Attempt, decimal: str) -> tuple[Correctable, ...]:
    """Return what was seen, as it can be corrected."""
    look = Correctable(
        f"{_FACTS}look",
        "Surface before melting",
        Kind.CHOICE,
        attempt.facts.look or "not noted",
        attempt.facts.look,
        tuple(each.value for each in SurfaceLook),
    )
    words = [
        Correctable(f"{_FACTS}{name}", label, Kind.TEXT, getattr(attempt.facts, name) or "not noted", raw)
        for name, label in _FACT_WORDS.items()
        for raw in (getattr(attempt.facts, name),)
    ]
    return (look, *words, *(_of_quantity(_FACTS, each, attempt.facts, "not noted", decimal) for each in SEEN))


def sheet_correctables(attempt: Attempt, decimal: str) -> tuple[Correctable, ...]:
    """Return the lines of the weighing sheet, as they can be corrected; tares where there is a mass."""
    removed = attempt.sheet.oil_removed
    oil = Correctable(
        f"{_SHEET}oil_removed", "Oil removed", Kind.CHOICE, removed or "unknown", removed, OIL_REMOVALS
    )
    lines = [_of_quantity(_SHEET, each, attempt.sheet, "unknown", decimal) for each in SHEET]
    return (*_tares(attempt, decimal), oil, *lines)


def _tares(attempt: Attempt, decimal: str) -> list[Correctable]:
    made = []
    for name in MASS_NAMES:
        if getattr(attempt.masses, name) is None:
            continue
        tare = attempt.sheet.tare(name)
        now = "none" if tare is None else format_quantity(tare, "g", digits=6, decimal=decimal)
        raw = "" if tare is None else text_of(tare, decimal)
        label = f"Tare of {MASS_LABELS[name]} (the net mass stays), g"
        made.append(Correctable(f"{_TARE}{name}", label, Kind.NUMBER, now, raw))
    return made


def _of_quantity(prefix: str, quantity: Quantity, record: object, unknown: str, decimal: str) -> Correctable:
    value = getattr(record, quantity.name)
    now = unknown if value is None else format_quantity(value, quantity.unit, digits=6, decimal=decimal)
    raw = "" if value is None else text_of(value, decimal, quantity.unit)
    return Correctable(f"{prefix}{quantity.name}", quantity.titled(decimal), Kind.NUMBER, now, raw)


def fact_changes(key: str, text: str, attempt: Attempt, decimal: str) -> tuple[Mapping[str, object], str] | None:
    """Return the changes that a correction of facts or sheet means, with its echo; None for another key.

    Raises InputError for a text that cannot be read, or a value that cannot be.
    """
    if key.startswith(_TARE):
        return _tare_change(key.removeprefix(_TARE), text, attempt, decimal)
    for prefix, field, quantities in ((_FACTS, "facts", SEEN), (_SHEET, "sheet", SHEET)):
        if not key.startswith(prefix):
            continue
        name = key.removeprefix(prefix)
        record = getattr(attempt, field)
        quantity = next((each for each in quantities if each.name == name), None)
        if quantity is None:
            return {field: replace(record, **{name: text})}, ""
        value, echo = _read(text, quantity.unit, decimal)
        return {field: replace(record, **{name: value})}, echo
    return None


def _tare_change(name: str, text: str, attempt: Attempt, decimal: str) -> tuple[Mapping[str, object], str]:
    tare, echo = _read(text, "g", decimal)
    others = tuple(pair for pair in attempt.sheet.tares if pair[0] != name)
    tares = others if tare is None else (*others, (name, tare))
    in_order = tuple(sorted(tares, key=lambda pair: MASS_NAMES.index(pair[0]) if pair[0] in MASS_NAMES else 9))
    return {"sheet": replace(attempt.sheet, tares=in_order)}, echo


def _read(text: str, unit: str, decimal: str) -> tuple[float | None, str]:
    if not text:
        return None, "unknown"
    shown = Shown.of(decimal)
    value = shown.read(text, unit)
    return value, f"= {shown.echo(value, unit)}"


def fact_words(name: str) -> str | None:
    """Return how a field of facts or sheet reads in the history, None for another field."""
    if name == "facts.look":
        return "surface before melting"
    if name in ("facts.operator", "facts.tool"):
        return _FACT_WORDS[name.removeprefix(_FACTS)].lower()
    if name == "facts.ticked":
        return "checklist lines"
    if name == "facts.accepted":
        return "limits gone past"
    if name == "sheet.tares":
        return "tares"
    if name == "sheet.oil_removed":
        return "oil removed"
    return next((each.label for each in (*SEEN, *SHEET) if name in (_FACTS + each.name, _SHEET + each.name)), None)


def fact_unit(name: str) -> str | None:
    """Return the unit of a field of facts or sheet, None for another field."""
    return next((each.unit for each in (*SEEN, *SHEET) if name in (_FACTS + each.name, _SHEET + each.name)), None)


def tare_words(value: object, decimal: str) -> str | None:
    """Return tares of the history as they are read, None for what is no list of them."""
    if not isinstance(value, list) or not all(isinstance(pair, list) and len(pair) == 2 for pair in value):
        return None
    return ", ".join(
        f"{MASS_LABELS.get(name, name)} {format_quantity(float(grams), 'g', digits=6, decimal=decimal)}"
        for name, grams in value
    )
