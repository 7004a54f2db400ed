"""What a look at drift holds: the attempts in time, centre and limits, signals, marks, and the sentences."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from stirfall.bench.estimates import Reason
from stirfall.bench.issued import MarkKind
from stirfall.inference.charts import Chart, Ranges
from stirfall.inference.charts_change import ChangePoint
from stirfall.inference.charts_sums import Cusum, Ewma

SHARE_WEIGHT = 0.1
"""The weight of the newest attempt in the moving average of shares."""


class DriftMeasure(StrEnum):
    """What is followed over time: how often a gate was passed, a number, or what the model did not foretell."""

    CLEAN = "clean"
    PARTED = "parted"
    POOLED = "pooled"
    RECOVERY = "recovery"
    PARTING_TIME = "parting time"
    RUN_TIME = "run time"
    RESIDUAL = "residual"

    @property
    def is_share(self) -> bool:
        """Whether an attempt either passes or fails, so that attempts are counted in groups."""
        return self not in (DriftMeasure.RECOVERY, DriftMeasure.PARTING_TIME, DriftMeasure.RUN_TIME)


@dataclass(frozen=True)
class DriftPoint:
    """One attempt in time: ``k`` of ``n`` passes of a share, else the number ``value``; at ``place`` from 0.

    ``value`` of a share is k / n. ``foretold`` is the probability that the other attempts give, where it is needed.
    """

    attempt_id: str
    number: int
    at: datetime | None
    place: int
    value: float
    k: float = 0.0
    n: float = 1.0
    foretold: float | None = None
    is_control: bool = False
    outcome: str = ""


@dataclass(frozen=True)
class DriftGroup:
    """Attempts that are one point of the chart: the places ``first`` to ``last``, ``k`` of ``n`` passes."""

    first: int
    last: int
    k: float
    n: float


@dataclass(frozen=True)
class DriftSignal:
    """A rule that is met at the attempt at ``place`` (the last one of its group); ``first`` begins the stretch.

    ``chart`` is "values", "ranges", "cusum" or "ewma"; ``way`` is +1 for above, -1 for below.
    """

    chart: str
    rule: str
    place: int
    first: int
    way: int
    attempt_id: str
    number: int
    at: datetime | None
    reason: Reason


@dataclass(frozen=True)
class DriftMark:
    """A change at the bench before the attempt at ``place`` (as many as there are attempts: after all of them).

    ``id`` is that of a mark that a person made, None where the records say so by themselves.
    """

    place: int
    at: datetime | None
    kind: MarkKind
    words: Reason
    id: str | None = None


@dataclass(frozen=True)
class ControlLine:
    """The attempts that repeat one condition: their places, and how many passed, or the mean of their numbers."""

    places: tuple[int, ...]
    planned: bool
    reason: Reason
    change: ChangePoint | None = None


@dataclass(frozen=True)
class LeftOut:
    """Attempts that are not shown: struck out, aborted, without a value; ``untimed`` are shown by number."""

    struck: int = 0
    aborted: int = 0
    no_value: int = 0
    untimed: int = 0


@dataclass(frozen=True, eq=False)
class Drift:
    """How one measure went over time.

    ``chart`` has one point per group (``groups``), of numbers one per attempt; ``grouping`` says how attempts were
    put together. ``cusum`` and ``ewma`` have one point per attempt, around what the first ``base`` attempts gave
    (around what was foretold where ``measure`` is the residual). ``change`` is that of the measure, ``beyond`` that
    of what the model did not foretell, None where there is no refined answer. ``false_share`` is the share of such
    charts that show a signal although nothing changed, ``false_sums`` that of such series whose sum or average
    alarms; None where it was not worked out. All of chart, sums and
    change are None with too few attempts. ``sentences`` say it in words, the verdict first.
    Two are equal only where they are the same one.
    """

    measure: DriftMeasure
    unit: str
    points: tuple[DriftPoint, ...]
    groups: tuple[DriftGroup, ...] = ()
    grouping: Reason | None = None
    chart: Chart | None = None
    ranges: Ranges | None = None
    cusum: Cusum | None = None
    ewma: Ewma | None = None
    base: int = 0
    change: ChangePoint | None = None
    beyond: ChangePoint | None = None
    marks: tuple[DriftMark, ...] = ()
    signals: tuple[DriftSignal, ...] = ()
    controls: ControlLine | None = None
    false_share: float | None = None
    false_sums: float | None = None
    left_out: LeftOut = field(default_factory=LeftOut)
    sentences: tuple[Reason, ...] = ()

    @property
    def n(self) -> int:
        """How many attempts are shown."""
        return len(self.points)
