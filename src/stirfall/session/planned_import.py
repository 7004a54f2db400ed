"""The command that brings a table in: new factors and levels, new lots and all attempts in one step."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.records import Attempt, Jar, Lot
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.storage.edits import FACTORS_ID, Edit


def plan_import(command: c.ImportAttempts, around: Surroundings) -> Planned:
    """Return the edits of a whole table; raises InputError ``import.nothing``, or what any of its records would.

    Operating limits do not judge it: it is what happened. Attempts are numbered on from the session, or keep the
    numbers that they bring into one that never had an attempt.
    """
    state = around.state
    if not command.attempts:
        raise InputError("import.nothing")
    factors = state.factors if command.factors is None else tuple(command.factors)
    edits: list[Edit] = []
    if factors != state.factors:
        check.check_factors(factors, state)
        edits.append(Edit(FACTORS_ID, state.factors, factors))
    lots: list[Lot] = []
    for lot in command.lots:
        lots.append(check.checked_lot(lot, (each.id for each in (*state.lots, *lots))))
    edits += [Edit(lot.id, None, lot) for lot in lots]
    attempts = _attempts(command, replace(state, factors=factors), {lot.id for lot in (*state.lots, *lots)}, around)
    edits += [Edit(attempt.id, None, attempt) for attempt in attempts]
    count = "1 attempt" if len(attempts) == 1 else f"{len(attempts)} attempts"
    return Planned(f"Import {count} from {command.source}", tuple(edits))


def _attempts(
    command: c.ImportAttempts, state: CampaignState, lots: Collection[str], around: Surroundings
) -> list[Attempt]:
    jars = {jar.id: jar for jar in state.jars}
    keeps_numbers = not around.last_number and all(each.number > 0 for each in command.attempts)
    now = check.kept_moment(around.now)
    made: list[Attempt] = []
    taken: set[int] = set()
    for place, given in enumerate(command.attempts, 1):
        check.check_conditions(given.conditions, state.factors)
        number = given.number if keeps_numbers else around.last_number + place
        if number in taken:
            raise InputError("attempt.number_taken", id=given.id, number=number)
        taken.add(number)
        if given.struck_reason is not None:
            raise InputError("attempt.struck_from_start")
        made.append(
            replace(
                given,
                id=uuid.uuid4().hex,
                number=number,
                lot_id=_place(given, lots, jars),
                started_at=None if given.started_at is None else check.kept_moment(given.started_at),
                recorded_at=now,
            )
        )
    return made


def _place(attempt: Attempt, lots: Collection[str], jars: Mapping[str, Jar]) -> str | None:
    """Return the attempt's lot; raises InputError ``lot.unknown``, ``jar.unknown`` or ``attempt.lot_differs``."""
    if attempt.lot_id is not None and attempt.lot_id not in lots:
        raise InputError("lot.unknown", id=attempt.lot_id, known=", ".join(sorted(lots)[:20]))
    if attempt.jar_id is None:
        return attempt.lot_id
    jar = jars.get(attempt.jar_id)
    if jar is None:
        raise InputError("jar.unknown", id=attempt.jar_id, known=", ".join(sorted(jars)[:20]))
    check.refuse_planned(jar)
    if attempt.lot_id not in (None, jar.lot_id):
        raise InputError("attempt.lot_differs", jar=jar.id, lot=attempt.lot_id, jar_lot=jar.lot_id)
    return jar.lot_id
