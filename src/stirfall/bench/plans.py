"""What planning asks of the person: how they work, how well they hold a condition, and the plan of an evening."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.units import convert, unit_kind

PURPOSES = ("next", "control", "proof")
# Our proposals: what a bath and a label on a jar hold about 19 times of 20.
_USUAL_TEMPERATURE_K = 3.0
_USUAL_AGE_PERCENT = 10.0
_LONGEST_H = 24.0 * 366 * 100


@dataclass(frozen=True)
class PlanSettings:
    """How the person works, in plain numbers.

    ``attempt_h`` are the bench hours that one attempt takes, ``jars_at_once`` the jars that are opened at one age,
    ``evening_h`` the hours free on a bench day, ``bench_days`` its weekdays (ISO 8601: 1 is Monday), on which work
    begins at the local hour ``evening_hour``. What is not done within ``horizon_weeks`` counts as taking so long.
    ``target`` is the probability of a clean separation that the campaign wants. ``control`` says how well factors
    are held, about 19 times of 20: within so many units of the factor, in per cent where its scale is logarithmic.
    """

    attempt_h: float = 1.5
    jars_at_once: int = 3
    evening_h: float = 3.0
    bench_days: tuple[int, ...] = (2, 4, 6)
    evening_hour: int = 18
    horizon_weeks: float = 8.0
    target: float = 0.9
    control: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        """Check the ranges; raises InputError ``plan_settings.*``."""
        for name in ("attempt_h", "evening_h", "horizon_weeks"):
            if not 0 < getattr(self, name) <= _LONGEST_H:
                raise InputError("plan_settings.not_positive", name=name, value=getattr(self, name))
        if not 1 <= self.jars_at_once <= 100:
            raise InputError("plan_settings.jars", value=self.jars_at_once)
        days = set(self.bench_days)
        if not days or len(days) != len(self.bench_days) or not days <= set(range(1, 8)):
            raise InputError("plan_settings.days", value=", ".join(str(day) for day in self.bench_days))
        if not 0 <= self.evening_hour <= 23:
            raise InputError("plan_settings.hour", value=self.evening_hour)
        if not 0.5 <= self.target < 1:
            raise InputError("plan_settings.target", value=self.target)
        for name, half_width in self.control:
            if not 0 <= half_width < float("inf"):
                raise InputError("plan_settings.control", name=name, value=half_width)

    @property
    def horizon_h(self) -> float:
        """The horizon in hours."""
        return self.horizon_weeks * 168.0

    @property
    def hours_a_week(self) -> float:
        """The bench hours of a week."""
        return self.evening_h * len(self.bench_days)


USUAL_PLAN = PlanSettings()


@dataclass(frozen=True)
class ControlError:
    """How well one factor is held: within ``half_width`` about 19 times of 20.

    ``half_width`` is in the factor's unit, or in per cent where ``is_share``. ``is_usual`` says that it is our
    proposal for the role, not what the person said.
    """

    factor: str
    half_width: float
    is_share: bool
    is_usual: bool


def control_errors(factors: Iterable[Factor], plan: PlanSettings) -> tuple[ControlError, ...]:
    """Return how well each visible number is held; factors that are held exactly are left out."""
    told: Mapping[str, float] = dict(plan.control)
    found = []
    for factor in factors:
        if factor.is_choice or factor.hidden:
            continue
        half_width = told.get(factor.name, _usual(factor))
        if half_width > 0:
            found.append(ControlError(factor.name, half_width, factor.scale is Scale.LOG, factor.name not in told))
    return tuple(found)


def _usual(factor: Factor) -> float:
    if factor.role is Role.TEMPERATURE and unit_kind(factor.unit) == "temperature":
        return convert(_USUAL_TEMPERATURE_K, "C", factor.unit) - convert(0.0, "C", factor.unit)
    if factor.role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE) and factor.scale is Scale.LOG:
        return _USUAL_AGE_PERCENT
    return 0.0


@dataclass(frozen=True)
class PlannedAttempt:
    """One line of an evening's plan: which jar, under which conditions, what for, and why.

    ``purpose`` is ``next`` (a suggestion), ``control`` (the reference condition again) or ``proof``. ``why`` is a
    finished sentence. ``starts_h`` are the hours after the evening begins.
    """

    conditions: Conditions
    jar_id: str | None
    lot_id: str | None
    purpose: str
    why: str = ""
    starts_h: float = 0.0

    def __post_init__(self) -> None:
        """Check the word; raises InputError ``evening.purpose``."""
        if self.purpose not in PURPOSES:
            raise InputError("evening.purpose", value=self.purpose, known=", ".join(PURPOSES))


@dataclass(frozen=True)
class EveningPlan:
    """The attempts of one evening, in an order that ``seed`` settled by chance; kept so that it stays settled."""

    id: str
    made_at: datetime
    begins_at: datetime
    hours: float
    seed: int
    attempts: tuple[PlannedAttempt, ...]
    dropped_at: datetime | None = None
