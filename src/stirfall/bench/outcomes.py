"""The two questions asked after every attempt, and the outcome that follows from the answers."""

from __future__ import annotations

from enum import StrEnum


class Parted(StrEnum):
    """Gate 1: did the solids leave the metal?"""

    NO = "no"
    PARTLY = "partly"
    YES = "yes"


class Pooled(StrEnum):
    """Gate 2: did the metal become one pool? Not observed when gate 1 said no."""

    BEADS = "beads"
    FEW_PIECES = "few pieces"
    ONE_POOL = "one pool"
    NOT_OBSERVED = "not observed"


class Outcome(StrEnum):
    """The outcome in one phrase; derived, never stored."""

    NOTHING_PARTED = "nothing parted"
    PARTLY_PARTED = "partly parted"
    PARTED_BEADS = "parted but beads"
    CLEAN = "clean separation"
    NOT_CLEAN = "not clean"
    ABORTED = "aborted"
    COUNTED = "counted"
    NOT_GRADED = "not graded"


def derive_outcome(
    *,
    parted: Parted | None,
    pooled: Pooled | None,
    successes: int | None,
    trials: int,
    aborted: bool,
) -> Outcome:
    """Return the outcome of one attempt from its gates, or from its count where gates were not graded.

    ``few pieces`` is not yet one pool and therefore counts as beads. A partly parted attempt is a failure
    of gate 1 whatever its pool looked like.
    """
    if aborted:
        return Outcome.ABORTED
    if parted is Parted.NO:
        return Outcome.NOTHING_PARTED
    if parted is Parted.PARTLY:
        return Outcome.PARTLY_PARTED
    if parted is Parted.YES:
        return _outcome_of_pool(pooled)
    if successes is None:
        return Outcome.NOT_GRADED
    if trials > 1:
        return Outcome.COUNTED
    return Outcome.CLEAN if successes else Outcome.NOT_CLEAN


def _outcome_of_pool(pooled: Pooled | None) -> Outcome:
    if pooled is Pooled.ONE_POOL:
        return Outcome.CLEAN
    if pooled in (Pooled.BEADS, Pooled.FEW_PIECES):
        return Outcome.PARTED_BEADS
    return Outcome.NOT_GRADED
