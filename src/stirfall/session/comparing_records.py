"""What a comparison of two groups of attempts answers: frozen records, no arithmetic."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.estimates import Reason
from stirfall.inference.proportions import Better, Chances, Span, Stratified
from stirfall.inference.two_means import LargerMean, Permuted

Verdict = Literal["nothing", "apart", "probably", "beyond"]
"""``nothing``: a group has no attempts that count; ``apart``: the data do not tell the groups apart."""


@dataclass(frozen=True)
class Level:
    """One thing that a group can be: its word, and how many attempts with it are neither struck out nor aborted."""

    value: str
    attempts: int


@dataclass(frozen=True)
class Subject:
    """What groups can be about: ``what`` as in ``Group``, with its levels (most attempts first), or its range.

    ``kind`` says what a group needs: a level, a range of a number in ``unit``, a period, or chosen attempts.
    ``attempts`` counts those of which it is known. ``split`` is where the known values fall into two halves, the
    last of the lower and the first of the upper one; of a period in seconds since 1970 (UTC).
    """

    what: str
    kind: Literal["level", "range", "period", "chosen"]
    name: str
    levels: tuple[Level, ...] = ()
    low: float | None = None
    high: float | None = None
    unit: str = ""
    attempts: int = 0
    split: tuple[float, float] | None = None


@dataclass(frozen=True)
class Dot:
    """One attempt that counts: its share (0, 1, or between where it holds several trials), or its number."""

    attempt_id: str
    number: int
    value: float
    trials: int = 1


@dataclass(frozen=True)
class LeftOut:
    """Members of a group that do not count, each told once: ``shared`` ones belong to both groups."""

    struck: int = 0
    aborted: int = 0
    unknown: int = 0
    shared: int = 0


@dataclass(frozen=True)
class Side:
    """One group: the attempts that count, and what they say.

    Of a share ``k`` of ``n`` trials with Wilson's interval; of a number the mean with Student's interval and the
    standard deviation ``sd``. ``name`` says in words who they are.
    """

    group: Group
    name: Reason
    dots: tuple[Dot, ...]
    left_out: LeftOut
    k: int = 0
    n: int = 0
    share: Span | None = None
    mean: Span | None = None
    sd: float | None = None

    @property
    def values(self) -> tuple[float, ...]:
        """The value of each attempt that counts."""
        return tuple(dot.value for dot in self.dots)


@dataclass(frozen=True)
class SharesCompared:
    """The difference of two shares, first less second, and what chance alone would give."""

    hybrid: Span
    score: Span
    fisher: Chances
    barnard: Chances
    boschloo: Chances
    better: Better


@dataclass(frozen=True)
class MeansCompared:
    """The difference of two means, first less second; None where a group has one value, or nothing scatters."""

    welch: Span | None
    permuted: Permuted
    larger: LargerMean | None


@dataclass(frozen=True)
class Adjusted:
    """Both groups under the same other conditions, through the model: mean shares, difference, and who is better.

    ``how``: ``factor`` (the model's own factor was set to one and the other value, ``first_at`` and ``second_at``),
    ``shared`` (what attempts share was set so), ``refit`` (the group was added to the model as a choice). ``rows``
    recorded conditions of both groups were gone through. ``probability`` that the first is the larger.
    """

    how: Literal["factor", "shared", "refit"]
    probability: float
    first: Span
    second: Span
    difference: Span
    rows: int
    first_at: Reason | None = None
    second_at: Reason | None = None


@dataclass(frozen=True)
class BlockedMeans:
    """The difference of means within lots, and how often a division within the lots gives as much."""

    permuted: Permuted
    attempts: int


@dataclass(frozen=True)
class Needed:
    """Attempts per group that a difference takes, and how many more each group then needs; None: no number."""

    difference: float
    per_group: int | None
    more_first: int | None
    more_second: int | None


@dataclass(frozen=True)
class CannotTell:
    """The smallest difference that these attempts can tell, and what others take.

    ``smallest`` is None where no difference would be told. ``matters`` is for the difference that matters,
    ``observed`` for the one that was seen, None where there was none, or where no more may be asked for.
    """

    smallest: float | None
    matters: Needed | None
    observed: Needed | None


@dataclass(frozen=True)
class Kept:
    """One comparison of the session with its p as of now; None where a group is empty or it was not redone."""

    comparison: Comparison
    first: Reason
    second: Reason
    p: float | None
    adjusted: float | None


@dataclass(frozen=True)
class Many:
    """How many questions were asked in this session, this one among them, and what that does to its p.

    ``p`` is this comparison's own, ``adjusted`` by ``method``: Holm's over all, or Bonferroni's where too many
    attempts stood against redoing them all. ``by_chance`` is how likely at least one of so many independent
    comparisons would look apart, at 5 % each, where nothing differs. ``kept`` are they, this one first.
    """

    made: int
    p: float | None
    adjusted: float | None
    method: Literal["holm", "bonferroni"]
    by_chance: float
    kept: tuple[Kept, ...]


@dataclass(frozen=True)
class Compared:
    """Two groups of attempts compared by one measure; ``headline`` says it in one sentence.

    ``unit`` is that of a number (%, s or min; "" for shares, from 0 to 1), ``basis`` what a recovery is told per.
    ``blocked`` and ``adjusted`` are a Reason where they are not possible. ``warnings`` are what may pretend a
    difference, ``notes`` what was done and left out. ``no_wait`` says that the groups are about the exposure of a
    metal that must not be left to age: nothing here may be read as a reason to wait longer.
    """

    comparison: Comparison
    first: Side
    second: Side
    level: float
    verdict: Verdict
    headline: Reason
    unit: str = ""
    basis: str = ""
    shares: SharesCompared | None = None
    means: MeansCompared | None = None
    blocked: Stratified | BlockedMeans | Reason = field(default_factory=lambda: Reason("compare.none_to_block"))
    adjusted: Adjusted | Reason = field(default_factory=lambda: Reason("compare.none_to_adjust"))
    cannot_tell: CannotTell | None = None
    matters: float = 0.2
    many: Many | None = None
    warnings: tuple[Reason, ...] = ()
    notes: tuple[Reason, ...] = ()
    no_wait: bool = False

    @property
    def measure(self) -> Measure:
        """What was compared."""
        return self.comparison.measure

    @property
    def is_share(self) -> bool:
        """Whether shares were compared, not numbers."""
        return is_share(self.measure)

    @property
    def p(self) -> float | None:
        """The chance by which the headline goes: Boschloo's of shares, the permutation test's of numbers."""
        if self.shares is not None:
            return self.shares.boschloo.two_sided
        return None if self.means is None else self.means.permuted.p

    @property
    def probability(self) -> float | None:
        """The posterior chance that the first is larger, before any adjustment."""
        if self.shares is not None:
            return self.shares.better.probability
        if self.means is None or self.means.larger is None:
            return None
        return self.means.larger.probability

    @property
    def difference(self) -> Span | None:
        """The difference with its interval: the hybrid one of shares, Welch's of means."""
        if self.shares is not None:
            return self.shares.hybrid
        return None if self.means is None else self.means.welch


def is_share(measure: Measure) -> bool:
    """Whether a measure counts how often, and is no number that attempts have."""
    return measure in (Measure.CLEAN, Measure.PARTED, Measure.POOLED)


def more_is_better(measure: Measure) -> bool:
    """Whether more of it is better; of the times less is."""
    return measure not in (Measure.PARTING_TIME, Measure.RUN_TIME)
