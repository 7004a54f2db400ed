"""What the section "Tonight" shows, as frozen values: words and numbers, no widgets and no computation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.factors import Conditions
from stirfall.planning.goals import Goal

TO_DO, NEXT_UP, DONE, GONE = "to do", "next up", "done", "gone"
BENCH_DAY, TODAY = "bench day", "today"

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

PURPOSES: Mapping[str, tuple[str, str]] = MappingProxyType(
    {"next": ("▶", "next"), "control": ("◎", "control"), "proof": ("★", "proof")}
)
"""Shape and word of what an attempt is for."""

VERDICTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "open": ("▶", "open now"),
        "wait": ("◷", "wait"),
        "either": ("≈", "either is right"),
        "closed": ("⊘", "keep closed"),
    }
)
"""Shape and word of whether to open a jar now."""

GOAL_WORDS: Mapping[Goal, str] = MappingProxyType(
    {
        Goal.LEARN: "Learn most",
        Goal.RELIABLE: "Most reliable",
        Goal.SOONEST: "Soonest batch",
        Goal.MOST: "Most metal",
    }
)


@dataclass(frozen=True)
class Chance:
    """A probability as written: "62 %", "38 to 81 %", "47 attempts"; ``shares`` are lower end, mean, upper end."""

    mean: str
    span: str
    basis: str
    shares: tuple[float, float, float]

    @property
    def in_full(self) -> str:
        """All of it in one line."""
        return f"{self.mean}, {self.span}, {self.basis}"


@dataclass(frozen=True)
class TimetableLine:
    """One attempt of the evening; ``clock`` is its local time, ``values`` are pairs of factor and value.

    ``status`` is one of the words above; ``became`` says what a line that is over became. ``pause`` is the break
    before it, in words.
    """

    place: int
    clock: str
    jar: str
    lot: str
    values: tuple[tuple[str, str], ...]
    chance: Chance | None
    purpose: str
    why: str
    conditions: Conditions
    status: str = TO_DO
    became: str = ""
    pause: str = ""
    outside: str = ""

    @property
    def is_over(self) -> bool:
        """Whether nothing is left to do."""
        return self.status in (DONE, GONE)


@dataclass(frozen=True)
class DecisionLine:
    """Whether one jar is better opened now or later."""

    jar: str
    lot: str
    now: Chance | None
    later: Chance | None
    when: str
    verdict: str
    why: str


@dataclass(frozen=True)
class StartLine:
    """One jar to start: when, in what, and for which age at the evening that it is due."""

    lot: str
    when: str
    age: str
    filled: str
    chance: Chance | None
    why: str
    is_now: bool


@dataclass(frozen=True)
class TonightState:
    """Everything that the section shows.

    ``title`` names the evening as people say it, ``date`` by the calendar. ``message`` stands in the place of the
    timetable. ``is_kept``: the timetable is the plan that was kept, which ``is_finished`` when nothing is left to
    do. ``is_stale`` greys what is shown; ``is_working`` says that the plan is being worked out.
    """

    title: str = ""
    date: str = ""
    message: str = ""
    evening: str = BENCH_DAY
    has_evenings: bool = False
    hours: float = 0.0
    hours_text: str = ""
    usual_hours: float = 0.0
    goal: Goal = Goal.LEARN
    seed: int | None = None
    lines: tuple[TimetableLine, ...] = ()
    total: str = ""
    notes: tuple[str, ...] = ()
    is_kept: bool = False
    is_finished: bool = False
    decisions: tuple[DecisionLine, ...] = ()
    starts: tuple[StartLine, ...] = ()
    starts_title: str = ""
    starts_notes: tuple[str, ...] = ()
    start_count: int = 0
    start_most: int = 0
    can_change: bool = False
    is_stale: bool = False
    is_working: bool = False

    @property
    def next_up(self) -> TimetableLine | None:
        """The line of a kept plan whose turn it is."""
        return next((line for line in self.lines if line.status == NEXT_UP), None)

    @property
    def can_keep(self) -> bool:
        """Whether there is a plan that can be kept."""
        return self.can_change and bool(self.lines) and not self.is_kept and not self.is_stale

    @property
    def can_start(self) -> bool:
        """Whether jars can be started."""
        return self.can_change and self.start_count > 0 and not self.is_stale
