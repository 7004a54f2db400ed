"""A table taken into a session: judged by the limits, written as one step, or made a session of its own."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import replace
from os import PathLike
from pathlib import Path

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import standard_factors
from stirfall.bench.records import CampaignSettings
from stirfall.planning.findings import Finding
from stirfall.planning.limits import refusals
from stirfall.planning.situation import Situation
from stirfall.session.clock import Clock, SystemClock
from stirfall.session.commands import Changes, ImportAttempts
from stirfall.session.document import Document
from stirfall.storage.imported import Imported

MOST_JUDGED = 5_000


def state_with(state: CampaignState | None, imported: Imported) -> CampaignState:
    """Return the campaign as it would be with what was read, but for ids and numbers."""
    base = state if state is not None else _empty(imported, CampaignSettings())
    factors = base.factors if imported.factors is None else imported.factors
    return replace(base, factors=factors, lots=(*base.lots, *imported.lots))


def beyond_limits(state: CampaignState | None, imported: Imported) -> Mapping[int, Finding]:
    """Return the rows whose attempts lie beyond a limit that blocks, each with the limit; 5,000 are judged.

    They are taken in all the same: it is what happened. The mark is for the eye.
    """
    whole = state_with(state, imported)
    found: dict[int, Finding] = {}
    for attempt, row in zip(imported.attempts[:MOST_JUDGED], imported.rows, strict=False):
        if attempt.aborted:
            continue
        jar, lot = whole.jar(attempt.jar_id), whole.lot(attempt.lot_id)
        first = next(iter(refusals(whole, Situation.of_attempt(attempt, jar=jar, lot=lot))), None)
        if first is not None:
            found[row] = first
    return found


def take_in(document: Document, imported: Imported, *, origin: object = None) -> Changes:
    """Write all of it in one step with one name for undo; raises InputError ``import.*`` where it is not ready."""
    check_ready(imported)
    command = ImportAttempts(imported.attempts, imported.name, imported.lots, imported.factors)
    return document.execute(command, origin=origin)


def check_ready(imported: Imported) -> None:
    """Raise InputError ``import.not_settled`` or ``import.nothing`` where there is nothing to take in yet."""
    if imported.unclear:
        raise InputError("import.not_settled", why=imported.unclear[0])
    if not imported.attempts:
        raise InputError("import.nothing")


def new_session(
    path: str | PathLike[str],
    imported: Imported,
    settings: CampaignSettings | None = None,
    *,
    clock: Clock | None = None,
) -> Document:
    """Make a session file of a table and open it: its factors, its lots and its attempts.

    Without ``settings`` the campaign is called as the file is, and one gate is modelled where no attempt was
    graded.
    Raises what ``take_in`` and ``Document.create`` raise; then no file is left behind.
    """
    check_ready(imported)
    clock = clock or SystemClock()
    graded = any(each.parted is not None for each in imported.attempts)
    settings = settings or CampaignSettings(title=Path(path).stem, gates=2 if graded else 1)
    now = clock.now()
    has_numbers = all(each.number for each in imported.attempts)
    attempts = tuple(
        replace(each, id=uuid.uuid4().hex, number=each.number if has_numbers else place, recorded_at=now)
        for place, each in enumerate(imported.attempts, 1)
    )
    state = replace(_empty(imported, settings), lots=imported.lots, attempts=attempts)
    return Document.create_from(path, state, clock=clock)


def _empty(imported: Imported, settings: CampaignSettings) -> CampaignState:
    factors = standard_factors() if imported.factors is None else imported.factors
    return CampaignState(settings, factors)
