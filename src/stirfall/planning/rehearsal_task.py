"""What a rehearsal plays: the campaign as it stands, its truths, its calendar, and what counts as done."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from stirfall import __version__
from stirfall.bench.ages import stamp
from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.units import convert, unit_kind
from stirfall.inference.design import Filler
from stirfall.inference.forms import Form
from stirfall.planning.rehearsal_calendar import Ages, BenchCalendar, ShelfJar
from stirfall.planning.rehearsal_truth import Truth
from stirfall.storage.fingerprint import fingerprint

_RULES = 1
"""Raised when rehearsals are played by other rules: records of the old ones are then not gone on with."""


@dataclass(frozen=True)
class Rules:
    """What all campaigns of one rehearsal share; picklable, for it goes to other processes and machines.

    ``state`` is the campaign now, its film index filled in. ``form`` is the form of the model that rehearsed plans
    are made with, None: that of the settings. ``gates`` says how attempts are graded, ``lot`` which lot new jars
    are of and the recipe is judged in (None: a new one). ``most`` more attempts are played at the most, until the
    recipe's true probability is at least ``target``.
    """

    state: CampaignState
    calendar: BenchCalendar
    shelf: tuple[ShelfJar, ...]
    jars_at_once: int
    target: float
    most: int
    seed: int
    gates: int
    lot: str | None = None
    filler: Filler | None = None
    without: tuple[str, ...] = ()
    form: Form | None = None
    may_wait: bool = True

    @property
    def age_factors(self) -> tuple[Factor, ...]:
        """The factors that attempts wait for; none for a metal that is never aged: there only the bench counts."""
        return age_factors(self.state) if self.may_wait else ()

    def wanted_ages(self, conditions: Conditions) -> Ages:
        """Return the ages, in hours, that conditions want."""
        found = ((factor, conditions.number(factor.name)) for factor in self.age_factors)
        return tuple(None if value is None else convert(value, factor.unit, "h") for factor, value in found)


@dataclass(frozen=True)
class RehearsalTask:
    """The rules, one truth per campaign, and what the person is told about where both came from.

    ``source`` is "posterior", "prior" (no attempt is graded yet) or "guess". ``assumed`` are reasons to be told
    with the answer. ``level`` is that of all intervals.
    """

    rules: Rules
    truths: Sequence[Truth]
    source: str
    begun_at: datetime
    level: float = 0.95
    assumed: tuple[Reason, ...] = ()
    origin: str = ""

    @property
    def fingerprint(self) -> str:
        """SHA-256, in hexadecimal, of all that decides what a campaign gives, but not of how many there are."""
        rules = self.rules
        told = (
            _RULES,
            __version__,
            fingerprint(rules.state),
            stamp(self.begun_at),
            self.source,
            self.origin,
            [round(hour, 3) for hour in rules.calendar.evenings_h[:50]],
            (rules.calendar.per_evening, rules.calendar.attempt_h, rules.jars_at_once),
            [tuple(None if at is None else round(at, 3) for at in jar.starts_h) for jar in rules.shelf],
            (rules.target, rules.most, rules.seed, rules.gates, rules.lot, rules.without),
            None if rules.form is None else rules.form.key,
        )
        return hashlib.sha256(repr(told).encode()).hexdigest()


def age_factors(state: CampaignState) -> tuple[Factor, ...]:
    """Return the visible numbers that are ages of a jar or a lot in units of time."""
    return tuple(
        factor
        for factor in state.visible_factors
        if factor.role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)
        and not factor.is_choice
        and unit_kind(factor.unit) == "time"
    )
