"""What is said of surprises and of one attempt: frozen values, codes and numbers, no sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Value
from stirfall.bench.outcomes import Outcome
from stirfall.inference.gate_rows import GateName

Band = Literal["great", "clear", "mild", "none"]
Stage = Literal["first", "refined"]

# The steps of the wording; our own choice.
GREAT, CLEAR, MILD = 0.05, 0.2, 0.35


def band_of(share: float) -> Band:
    """Return how surprising something is that the others gave this probability: great to 5 %, clear to 20 %."""
    if share <= GREAT:
        return "great"
    if share <= CLEAR:
        return "clear"
    return "mild" if share <= MILD else "none"


@dataclass(frozen=True)
class Surprise:
    """One attempt against what all the others foretold of it.

    ``gate`` is where it was decided: the gate that failed, or "clean" for a clean separation and where one gate is
    fitted. ``passed`` is what was seen there, ``foretold`` the leave-one-out probability of a yes, ``share`` that
    of what was seen (of several trials: of a count at least so far on this side).
    """

    attempt_id: str
    number: int
    outcome: Outcome
    gate: GateName
    passed: bool
    foretold: Estimate
    share: float

    @property
    def band(self) -> Band:
        """How surprising that is, in steps."""
        return band_of(self.share)


@dataclass(frozen=True)
class Surprises:
    """The judged attempts, the most surprising first.

    ``found`` of ``judged`` attempts had a share of at most ``within``; were the model true, ``expected`` of them
    would, give or take ``expected_sd``. ``of`` attempts could be judged; the newest were where there are very many.
    """

    ranked: tuple[Surprise, ...]
    judged: int
    of: int
    within: float
    found: int
    expected: float
    expected_sd: float
    stage: Stage

    @property
    def surprising(self) -> tuple[Surprise, ...]:
        """Those that deserve the word: a share of at most ``within``."""
        return self.ranked[: self.found]


@dataclass(frozen=True)
class GateForetold:
    """What the others foretold of one gate, and what was seen: True, False, or None where it was not observed."""

    gate: GateName
    foretold: Estimate
    seen: bool | None


@dataclass(frozen=True)
class Shift:
    """What one difference does to the log odds of a gate: this attempt less the other; mean and interval.

    ``prob_below`` is the posterior probability that it lowers the odds, a tie speaking half for either; ``n`` are
    the trials behind it.
    """

    gate: GateName
    mean: float
    lower: float
    upper: float
    level: float
    prob_below: float
    n: int


@dataclass(frozen=True)
class Difference:
    """One thing in which two attempts differ.

    ``name`` is a factor's name, or a key of ``FACTS`` where ``is_fact``. ``difference`` is here less there in
    ``unit``, ``share`` its size as a share of the factor's range (0.7 between two levels); both None where unknown.
    ``shift`` is None where the model does not know the thing.
    """

    name: str
    is_fact: bool
    unit: str
    here: Value | None
    there: Value | None
    difference: float | None = None
    share: float | None = None
    shift: Shift | None = None


@dataclass(frozen=True)
class Near:
    """A past attempt like the one in question: ``distance`` in shares of the ranges, over ``known`` factors."""

    attempt_id: str
    number: int
    outcome: Outcome
    distance: float
    known: int


@dataclass(frozen=True)
class Compared:
    """The attempt beside the nearest one that went the other way at ``gate``.

    ``differences`` are the factors, largest share of its range first, then the facts; ``whole`` is what all
    differences that the model knows do together. ``unknown`` names what only one of the two has on record.
    """

    other: Near
    gate: GateName
    differences: tuple[Difference, ...]
    whole: Shift | None
    unknown: tuple[str, ...] = ()

    @property
    def beyond_place(self) -> tuple[Difference, ...]:
        """The differences without jar and day, which differ between almost any two attempts."""
        return tuple(each for each in self.differences if not (each.is_fact and each.name in ("jar", "day")))


@dataclass(frozen=True)
class Why:
    """Everything that the records say about why one attempt came out as it did.

    ``gate`` is the gate that failed, None where none did or where it cannot be said; ``verdict`` says which.
    ``surprise`` is None where nothing could be foretold, and ``not_foretold`` then says why. ``other_way`` and
    ``same_way`` are the nearest attempts by how they came out. ``finding`` sums the comparison up, ``direction`` is
    what can be said of the film, ``waits`` what a refined answer would add.
    """

    attempt_id: str
    number: int
    outcome: Outcome
    verdict: Reason
    gate: GateName | None
    clean: Estimate | None
    gates: tuple[GateForetold, ...]
    surprise: Surprise | None
    not_foretold: Reason | None
    other_way: tuple[Near, ...]
    same_way: tuple[Near, ...]
    compared: Compared | None
    finding: Reason
    direction: Reason | None
    waits: Reason | None
    stage: Stage
    values: Mapping[str, Value] = field(default_factory=dict)
