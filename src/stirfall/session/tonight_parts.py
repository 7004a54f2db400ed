"""What a plan of tonight holds: which jars to open and when, open now or wait, and which jars to start."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.records import Jar
from stirfall.planning.evening import Pause
from stirfall.planning.goals import Goal

NEXT, CONTROL, PROOF = "next", "control", "proof"
OPEN, WAIT, EITHER, CLOSED = "open", "wait", "either", "closed"
VERDICTS = (OPEN, WAIT, EITHER, CLOSED)


@dataclass(frozen=True)
class Opening:
    """One attempt of the evening, at place ``order`` (1 is the first) of the drawn order.

    ``conditions`` are those that it begins with: ages are what the jar will have ``starts_h`` hours after the
    evening begins, at ``starts_at``. ``block`` counts the lots of the evening from 1. ``purpose`` is ``next``,
    ``control``, or ``proof`` while a proof is running. ``outside_tried`` names the factors whose value no graded
    attempt bracketed.
    """

    order: int
    jar_id: str
    lot_id: str
    conditions: Conditions
    probability: Estimate | None
    purpose: str
    reason: Reason
    starts_h: float
    starts_at: datetime
    block: int = 1
    outside_tried: tuple[str, ...] = ()


@dataclass(frozen=True)
class OpenOrWait:
    """Whether a jar on the shelf is better opened now or later.

    ``now`` and ``later`` (at ``later_at``, the best time to come) are estimates, None where nothing may be said.
    ``chance_wait_better`` is the share of paired draws of the posterior in which waiting gains more than a small
    margin, None where waiting is no question. ``wait_h`` is what waiting costs, in hours. ``verdict`` is one of
    ``VERDICTS``: ``closed`` means that the jar is not to be opened for an attempt.
    """

    jar_id: str
    lot_id: str
    now: Estimate | None
    later: Estimate | None
    later_at: datetime | None
    verdict: str
    chance_wait_better: float | None
    reason: Reason
    wait_h: float | None = None
    use_by: datetime | None = None


@dataclass(frozen=True)
class JarToStart:
    """One jar to start, so that it comes due on the evening at ``due_at``, ``age_h`` hours after ``start_at``.

    ``jar`` is ready for the command SplitLot; it is ``planned`` where its start lies ahead. ``probability`` is for
    an attempt with it on that evening, under the conditions that are best worth trying there.
    """

    jar: Jar
    due_at: datetime
    age_h: float
    reason: Reason
    probability: Estimate | None = None

    @property
    def lot_id(self) -> str:
        """The lot that the jar is filled from."""
        return self.jar.lot_id

    @property
    def start_at(self) -> datetime:
        """When the jar is started, in UTC."""
        return self.jar.started_at

    @property
    def oil_depth_mm(self) -> float | None:
        """The oil over the metal; None where nothing tells it."""
        return self.jar.oil_depth_mm

    @property
    def lid(self) -> str:
        """The lid; empty where nothing tells it."""
        return self.jar.lid

    @property
    def charge_g(self) -> float | None:
        """The crude in the jar; None where nothing tells it."""
        return self.jar.charge_g

    @property
    def is_now(self) -> bool:
        """Whether the jar is started now, not at a later time."""
        return not self.jar.planned


@dataclass(frozen=True)
class Tonight:
    """The plan of one evening, its decisions and the jars to start.

    ``at`` is the moment that was asked for, ``begins_at`` when the work begins, ``hours`` how long it may last.
    ``openings`` are in the order that ``seed`` drew, ``pauses`` the breaks between them. ``decisions`` name every
    jar of the shelf. ``starts`` come due at ``due_at``; both are empty where nothing shall be started. ``notes``
    say what there is to know beside; ``blocked`` is why nothing at all may be suggested.
    """

    at: datetime
    begins_at: datetime
    hours: float
    attempt_h: float
    goal: Goal
    seed: int
    openings: tuple[Opening, ...] = ()
    pauses: tuple[Pause, ...] = ()
    decisions: tuple[OpenOrWait, ...] = ()
    starts: tuple[JarToStart, ...] = ()
    due_at: datetime | None = None
    notes: tuple[Reason, ...] = ()
    blocked: Reason | None = None

    @property
    def ends_at(self) -> datetime:
        """When the last attempt ends; the beginning where there is none."""
        if not self.openings:
            return self.begins_at
        return self.openings[-1].starts_at + timedelta(hours=self.attempt_h)

    @property
    def starts_now(self) -> tuple[JarToStart, ...]:
        """The jars to start now."""
        return tuple(each for each in self.starts if each.is_now)

    @property
    def starts_later(self) -> tuple[JarToStart, ...]:
        """The jars to plan for a later start."""
        return tuple(each for each in self.starts if not each.is_now)
