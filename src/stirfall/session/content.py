"""The content of a new session, checked as a whole before a file is made of it."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.records import LOT_EFFECT_NONE, Attempt
from stirfall.session import validation as check
from stirfall.session.content_plans import checked_plans
from stirfall.session.content_runs import checked_runs
from stirfall.session.planned_findings import checked_findings


def checked_content(state: CampaignState) -> CampaignState:
    """Return the content as a file will keep it; raises InputError when it contradicts itself.

    Attempts without an id or a number get one; ``recorded_at`` stays as it was given.
    """
    plain = replace(state.settings, humps=(), products=(), lot_effect=LOT_EFFECT_NONE)
    bare = replace(state, lots=(), jars=(), attempts=(), settings=plain)
    check.check_factors(state.factors, bare)
    settings = check.checked_settings(state.settings, state.factors)
    names = _Names()
    lots = [check.checked_lot(lot, names.like(lot.id)) for lot in state.lots]
    with_lots = replace(state, settings=settings, lots=tuple(lots))
    names = _Names()
    jars = [check.checked_jar(jar, names.like(jar.id), with_lots) for jar in state.jars]
    placed = replace(with_lots, jars=tuple(jars))
    return checked_findings(checked_plans(checked_runs(replace(placed, attempts=tuple(_checked_attempts(placed))))))


class _Names:
    """Names that were given so far; a pooled session has thousands, so that each is not held against all."""

    def __init__(self) -> None:
        self._given: dict[str, str] = {}

    def like(self, name: str) -> tuple[str, ...]:
        """Return the earlier name that is the same but for letter case, if there is one; then keep this one."""
        key = name.strip().casefold()
        before = (self._given[key],) if key in self._given else ()
        self._given.setdefault(key, name)
        return before


def _checked_attempts(state: CampaignState) -> Iterable[Attempt]:
    ids: set[str] = set()
    numbers: set[int] = set()
    last = max((attempt.number for attempt in state.attempts), default=0)
    for attempt in state.attempts:
        if not attempt.number:
            last += 1
        checked = _checked_attempt(attempt, state, last)
        if checked.id in ids or checked.number in numbers:
            raise InputError("attempt.number_taken", id=checked.id, number=checked.number)
        ids.add(checked.id)
        numbers.add(checked.number)
        yield checked


def _checked_attempt(attempt: Attempt, state: CampaignState, next_number: int) -> Attempt:
    check.check_conditions(attempt.conditions, state.factors)
    check.refuse_not_started(attempt, state)
    return replace(
        attempt,
        id=attempt.id or uuid.uuid4().hex,
        number=attempt.number or next_number,
        lot_id=check.check_places(attempt, state),
        started_at=None if attempt.started_at is None else check.kept_moment(attempt.started_at),
        recorded_at=None if attempt.recorded_at is None else check.kept_moment(attempt.recorded_at),
    )
