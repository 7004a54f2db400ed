"""What the person says of columns and words in text: ``COL=ROLE``, ``WORD=RESULT``; the same for scripts."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.storage.import_guess import reguess
from stirfall.storage.import_plan import ASK, ImportPlan, Meaning, Result
from stirfall.storage.import_source import SourceTable
from stirfall.storage.import_units import unit_named
from stirfall.storage.import_words import plain_word

_ROLE = re.compile(r"^(.*?)\s*(?:\[([^\]]*)\])?\s*(:log|:choice)?$", re.DOTALL)
_NEW = re.compile(r"^(?:new )?factor[ :]\s*(.+)$", re.IGNORECASE | re.DOTALL)
_DECIMALS = {".": ".", ",": ",", "point": ".", "comma": ","}


def with_mapping(
    plan: ImportPlan, table: SourceTable, state: CampaignState | None, given: Iterable[str]
) -> ImportPlan:
    """Return the plan with columns as ``COL=ROLE`` says.

    ROLE is a meaning such as "lot" or "gate 1", "leave out", the name of a factor of the campaign, or "factor NAME"
    for a new one; a unit in square brackets and ``:log`` or ``:choice`` may follow. Raises InputError
    ``import.map_unreadable``, ``import.column_unknown`` or ``import.role_unknown``.
    """
    for text in given:
        name, equals, role = _split(text, table)
        if not equals or not role.strip():
            raise InputError("import.map_unreadable", text=text)
        plan = _mapped(plan, table, state, _place(table, name), role.strip())
    return plan


def _split(text: str, table: SourceTable) -> tuple[str, str, str]:
    """Split at the equals sign that leaves the heading of a column before it, else at the first one."""
    headings = {each.casefold() for each in table.header}
    for match in re.finditer("=", text):
        if text[: match.start()].strip().casefold() in headings:
            return text[: match.start()], "=", text[match.end() :]
    return text.partition("=")


def _place(table: SourceTable, name: str) -> int:
    wanted = " ".join(name.split()).casefold()
    for place, heading in enumerate(table.header):
        if heading.casefold() == wanted:
            return place
    if wanted.startswith("#") and wanted[1:].isdigit() and 1 <= int(wanted[1:]) <= len(table.header):
        return int(wanted[1:]) - 1
    raise InputError("import.column_unknown", column=name, known=", ".join(table.header))


def _mapped(plan: ImportPlan, table: SourceTable, state: CampaignState | None, place: int, role: str) -> ImportPlan:
    match = _ROLE.match(role)
    assert match is not None
    name, unit, kind = " ".join(match[1].split()), match[2], match[3]
    meaning, factor = _meaning(name, state, role)
    column = replace(
        plan.column(place), meaning=meaning, factor=factor, is_choice=kind == ":choice", is_log=kind == ":log"
    )
    plan = reguess(plan, table, state, column)
    if unit is not None:
        plan = plan.with_column(replace(plan.column(place), unit=unit_named(unit) or unit.strip()))
    return plan


def _meaning(name: str, state: CampaignState | None, role: str) -> tuple[Meaning, str]:
    factors = () if state is None else state.factors
    for each in factors:
        if each.name.casefold() == name.casefold():
            return Meaning.FACTOR, each.name
    new = _NEW.match(name)
    if new:
        return Meaning.FACTOR, new[1]
    try:
        meaning = Meaning(name.casefold())
    except ValueError:
        meaning = Meaning.FACTOR
    if meaning is Meaning.FACTOR:
        known = ", ".join([*(each.name for each in factors), *(str(each) for each in Meaning)])
        raise InputError("import.role_unknown", role=role, known=known)
    return meaning, ""


def with_word_texts(plan: ImportPlan, given: Iterable[str]) -> ImportPlan:
    """Return the plan with words as ``WORD=RESULT`` says; raises InputError ``import.*``."""
    for text in given:
        word, equals, result = text.rpartition("=")
        if not equals or not result.strip():
            raise InputError("import.map_unreadable", text=text)
        try:
            meant = Result(" ".join(result.split()).casefold())
        except ValueError:
            raise InputError("import.result_unknown", result=result, known="; ".join(Result)) from None
        wanted = plain_word(word)
        found = [each for each in plan.words if plain_word(each.word) == wanted]
        if not found:
            known = ", ".join(each.word for each in plan.words)
            raise InputError("import.word_not_there", word=word, known=known)
        for each in found:
            plan = plan.with_word(each.place, each.word, meant)
    return plan


def with_signs(plan: ImportPlan, *, decimal: str = "", dates: str = "") -> ImportPlan:
    """Return the plan with the decimal sign and the order of dates where the table does not tell them."""
    if decimal and decimal not in _DECIMALS:
        raise InputError("import.map_unreadable", text=decimal)
    columns = tuple(
        replace(
            each,
            decimal=_DECIMALS[decimal] if decimal and each.decimal == ASK else each.decimal,
            dates=dates if dates and each.dates == ASK else each.dates,
        )
        for each in plan.columns
    )
    return replace(plan, columns=columns)
