"""The factors in the form: each entry understood, ages and film index from clock and jar; pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.records import Jar, Lot, computed_ages
from stirfall.bench.units import (
    THIN_SPACE,
    format_number,
    format_quantity,
    human_time,
    parse_number,
    unit_kind,
)
from stirfall.desktop.bench_form.form import Entry, Form, Origin
from stirfall.desktop.shown import Shown
from stirfall.planning.findings import Finding


@dataclass(frozen=True)
class FieldState:
    """One factor in the form: what was typed, what was understood, and what is wrong with it."""

    factor: Factor
    entry: Entry
    value: Value | None
    echo: str = ""
    problem: Reason | None = None
    clock_value: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def is_override(self) -> bool:
        """Whether a typed age stands against the clock's, so that a reason is asked for."""
        return self.clock_value is not None and self.entry.origin is not Origin.CLOCK


@dataclass(frozen=True)
class Place:
    """Where and when the metal of the form is: its jar, its lot, and the start of the attempt."""

    jar: Jar | None
    lot: Lot | None
    starts_at: datetime


def read_fields(
    form: Form, campaign: CampaignState, place: Place, *, decimal: str, editing: str | None
) -> tuple[tuple[FieldState, ...], Reason | None]:
    """Return every visible factor as understood, and what is wrong with the clock.

    The film index follows from the other conditions, so it is read after them.
    """
    clock, problem = _ages(campaign, place)
    visible = campaign.visible_factors

    def read(factor: Factor, values: Mapping[str, float]) -> FieldState:
        return _read_field(factor, form.entry(factor.name), values.get(factor.name), decimal, editing)

    known = conditions_of(read(factor, clock) for factor in visible if factor.role is not Role.FILM_INDEX)
    if problem is None and any(factor.role is Role.FILM_INDEX for factor in visible) and place.jar is not None:
        from stirfall.session.film import film_values

        clock = {**clock, **film_values(campaign, place.jar, place.starts_at, known)}
    return tuple(read(factor, clock) for factor in visible), problem


def conditions_of(fields: Iterable[FieldState]) -> Conditions:
    """Return the conditions that the fields know."""
    return Conditions({item.factor.name: item.value for item in fields if item.value is not None})


def with_findings(fields: tuple[FieldState, ...], findings: tuple[Finding, ...]) -> tuple[FieldState, ...]:
    """Return the fields, each with what the limits say about it."""
    return tuple(
        replace(item, findings=tuple(found for found in findings if found.factor == item.factor.name))
        for item in fields
    )


def planned_factors(form: Form, fields: tuple[FieldState, ...], jar: Jar | None) -> frozenset[str]:
    """Return the factors that stand as this program suggested them; an age of the suggested jar is the clock's."""
    is_jar = form.planned_jar is not None and jar is not None and jar.id == form.planned_jar
    return frozenset(
        item.factor.name
        for item in fields
        if item.factor.name in form.planned
        and (_is_same(item.value, form.planned[item.factor.name]) or (is_jar and item.entry.origin is Origin.CLOCK))
    )


def _is_same(value: Value | None, planned: Value) -> bool:
    if isinstance(value, str) or isinstance(planned, str) or value is None:
        return value == planned
    # The form shows six digits of what was suggested.
    return abs(value - planned) <= 1e-5 * max(abs(value), abs(planned))


def _ages(campaign: CampaignState, place: Place) -> tuple[Mapping[str, float], Reason | None]:
    try:
        ages = computed_ages(campaign.visible_factors, lot=place.lot, jar=place.jar, started_at=place.starts_at)
    except InputError as error:
        return {}, Reason(error.code, error.params)
    return ages, None


def _read_field(
    factor: Factor, entry: Entry, clock_value: float | None, decimal: str, editing: str | None
) -> FieldState:
    if factor.is_choice:
        return FieldState(factor, entry, entry.text if entry.text in factor.levels else None)
    if entry.origin is Origin.CLOCK:
        text = "" if clock_value is None else format_number(clock_value, digits=3, decimal=decimal)
        echo = _echo(factor, clock_value, decimal) if clock_value is not None else ""
        return FieldState(factor, replace(entry, text=text), clock_value, echo, clock_value=clock_value)
    if not entry.text.strip():
        return FieldState(factor, entry, None, clock_value=clock_value)
    try:
        value = _parse(factor, entry.text, decimal)
    except InputError as error:
        problem = None if editing == factor.name else Reason(error.code, error.params)
        return FieldState(factor, entry, None, problem=problem, clock_value=clock_value)
    return FieldState(factor, entry, value, _echo(factor, value, decimal), clock_value=clock_value)


def _parse(factor: Factor, text: str, decimal: str) -> float:
    value = Shown.of(decimal).read(text, factor.unit) if factor.unit else parse_number(text, decimal=decimal)
    if factor.scale is Scale.LOG and value <= 0:
        raise InputError("value.log_needs_positive", name=factor.name, value=value)
    return value


def _echo(factor: Factor, value: float, decimal: str) -> str:
    plain = format_quantity(value, factor.unit, digits=4, decimal=decimal)
    if unit_kind(factor.unit) != "time":
        return f"= {Shown.of(decimal).echo(value, factor.unit, digits=4)}"
    human = human_time(value, factor.unit, decimal=decimal)
    is_same_unit = human.rpartition(THIN_SPACE)[2] == plain.rpartition(THIN_SPACE)[2]
    return f"= {plain}" if is_same_unit else f"= {plain} ({human})"
