"""How the form is filled by a jar, by the last attempt, by a suggestion, and for the next attempt; pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Value
from stirfall.bench.records import Attempt, Jar
from stirfall.bench.scan_codes import read_code
from stirfall.bench.short_ids import read_short_id
from stirfall.desktop.bench_form.fields import FieldState
from stirfall.desktop.bench_form.form import Entry, Form, Origin, is_age, text_of, with_conditions, with_jar


def find_jar(text: str, campaign: CampaignState) -> Jar | None:
    """Return the jar that was typed, or scanned so slowly that the code of its label came as text.

    Letter case does not matter, nor do spaces and hyphens in an id that this program gave.
    """
    code = read_code(text)
    wanted = (code.value if code is not None and code.kind == "jar" else text.strip()).casefold()
    for jar in campaign.jars:
        known = jar.id.casefold()
        if wanted in (known, f"jar {known}") or wanted.endswith(f":{known}"):
            return jar
    try:
        return campaign.jar(read_short_id(text))
    except InputError:
        return None


def jar_filled(form: Form, jar: Jar, campaign: CampaignState, decimal: str, now: datetime) -> Form:
    """Return the form with everything that the jar's label knows.

    Another jar means that the attempt starts now, and that the look of its metal is still to be told.
    """
    started = form.started_at if jar.id == form.jar_id else now
    others = {name: text for name, text in form.masses.items() if name != "charge_g"}
    charge = {} if jar.charge_g is None else {"charge_g": text_of(jar.charge_g, decimal)}
    filled = with_jar(form, jar.id, jar.lot_id, campaign, decimal)
    look = form.look if form.jar_id in (None, jar.id) else ""
    tares = {name: text for name, text in form.tares.items() if name != "charge_g"}
    return replace(filled, started_at=started, masses={**others, **charge}, tares=tares, look=look)


def next_form(
    form: Form, fields: Iterable[FieldState], campaign: CampaignState, decimal: str, *, emptied: bool
) -> Form:
    """Return the form for the next attempt: settings kept, outcome cleared, a jar that is used up let go."""
    kept = {
        item.factor.name: replace(item.entry, origin=Origin.KEPT)
        for item in fields
        if not is_age(item.factor) and item.value is not None
    }
    jar_id = None if emptied else form.jar_id
    bare = replace(form.without_result(), entries=kept)
    return with_jar(bare, jar_id, form.lot_id if jar_id else None, campaign, decimal)


def repeated_form(form: Form, last: Attempt, campaign: CampaignState, decimal: str) -> Form:
    """Return the form as in the last attempt, without its outcome; ages of a picked jar stay with the clock."""
    filled = with_conditions(form.without_result(), last.conditions, campaign, decimal)
    if form.jar_id is not None or form.lot_id is not None:
        for factor in filter(is_age, campaign.visible_factors):
            filled = filled.with_entry(factor.name, Entry(origin=Origin.CLOCK))
    return replace(filled, filled_from=f"attempt {last.number}")


def requested_form(
    form: Form,
    known: dict[str, Value],
    *,
    conditions: Conditions,
    jar: Jar | None,
    campaign: CampaignState,
    decimal: str,
    now: datetime,
    planned: bool = False,
) -> Form:
    """Return the form with offered conditions over what it knows, and with the jar that goes with them."""
    plan = dict(conditions) if planned else {}
    form = replace(form, planned=plan, planned_jar=jar.id if planned and jar is not None else None)
    if conditions:
        form = with_conditions(form, Conditions({**known, **conditions}), campaign, decimal)
    if jar is not None:
        return jar_filled(form, jar, campaign, decimal, now)
    return with_jar(form, None, None, campaign, decimal)


def explored_form(form: Form, fields: Iterable[FieldState], conditions: Conditions, decimal: str) -> Form:
    """Return the form moved to conditions explored elsewhere.

    The age of a jar is a fact: looking along the curve does not change it.
    """
    for item in fields:
        value = conditions.get(item.factor.name)
        by_clock = item.entry.origin is Origin.CLOCK and item.clock_value is not None
        if value is not None and value != item.value and not by_clock:
            form = form.with_entry(item.factor.name, Entry(text_of(value, decimal, item.factor.unit)))
    return form
