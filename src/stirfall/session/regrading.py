"""Grading again, blind: which attempts are due for a second grade, and what both grades say."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta

from stirfall.bench.campaign import CampaignState
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.inference.agreement import Agreement, agreement

CLASSES = (Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN)
"""The four classes that an attempt is graded into, in the order of the keys 1 to 4."""

SHARE = 5  # one attempt in so many is graded again; common practice for a second look, no source
REST = timedelta(days=2)  # so that the first grade is no longer remembered; our proposal, no source
ENOUGH = 0.85  # below this share the class itself is what scatters; common practice, no source
FEWEST = 5  # fewer pairs say next to nothing; our proposal, no source


@dataclass(frozen=True)
class Differing:
    """An attempt whose second grade is not the first."""

    attempt_id: str
    number: int
    first: Outcome
    second: Outcome


@dataclass(frozen=True)
class Comparison:
    """The agreement over all pairs, the attempts that differ, and whether the classes are too loose to trust."""

    agreement: Agreement
    differing: tuple[Differing, ...]

    @property
    def is_low(self) -> bool:
        """Whether less agrees than grades that are to be learned from should; needs a few pairs to be said.

        The share is judged as it is shown, in whole per cent.
        """
        observed = self.agreement.observed
        return observed is not None and observed.n >= FEWEST and round(observed.mean, 2) < ENOUGH

    @property
    def is_surely_low(self) -> bool:
        """Whether it is low by its whole interval, so that a few unlucky pairs cannot be the cause."""
        observed = self.agreement.observed
        return self.is_low and observed is not None and observed.upper < ENOUGH


def is_chosen(attempt_id: str) -> bool:
    """Return whether an attempt is among those graded again: a random fifth, the same at every asking."""
    return int.from_bytes(_digest(attempt_id, "chosen")[:8], "big") % SHARE == 0


def due(state: CampaignState, photographed: Collection[str], now: datetime) -> tuple[Attempt, ...]:
    """Return the attempts that wait for a second grade, in an order that has nothing to do with theirs.

    Due is one that was chosen, is graded into one of the four classes, has photos (``photographed`` holds the ids
    of those that do), was recorded two days ago or earlier, and has no second grade yet.
    """
    done = {regrade.attempt_id for regrade in state.regrades}
    found = [
        attempt
        for attempt in state.attempts
        if attempt.id in photographed
        and attempt.id not in done
        and is_chosen(attempt.id)
        and _is_graded(attempt)
        and attempt.recorded_at is not None
        and now - attempt.recorded_at >= REST
    ]
    return tuple(sorted(found, key=lambda attempt: _digest(attempt.id, "order")))


def pairs(state: CampaignState) -> tuple[tuple[Attempt, Outcome], ...]:
    """Return each attempt that was graded twice with its second class, the latest second grade for each.

    The first class is the attempt's own, as corrected where it was; a struck-out attempt is left out.
    """
    latest = {regrade.attempt_id: Outcome(regrade.outcome) for regrade in state.regrades}
    return tuple(
        (attempt, latest[attempt.id]) for attempt in state.attempts if attempt.id in latest and _is_graded(attempt)
    )


def compared(state: CampaignState) -> Comparison:
    """Return what the first and second grades of a campaign say together, at its level."""
    graded = pairs(state)
    words = [(attempt.outcome.value, second.value) for attempt, second in graded]
    return Comparison(
        agreement(words, level=state.settings.level, classes=[each.value for each in CLASSES]),
        tuple(
            Differing(attempt.id, attempt.number, attempt.outcome, second)
            for attempt, second in graded
            if attempt.outcome is not second
        ),
    )


def _is_graded(attempt: Attempt) -> bool:
    return not attempt.is_struck and attempt.outcome in CLASSES


def _digest(attempt_id: str, what: str) -> bytes:
    return hashlib.sha256(f"stirfall {what} {attempt_id}".encode()).digest()
