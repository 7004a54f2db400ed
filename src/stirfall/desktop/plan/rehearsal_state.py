"""What the section "Rehearsal" shows, as frozen values: words and numbers, no widgets and no computation."""

from __future__ import annotations

from dataclasses import dataclass

PRESENT, GUESS = "present", "guess"
ATTEMPTS, WEEKS = "attempts", "weeks"


@dataclass(frozen=True)
class OrderChoice:
    """One order that may be rehearsed: its word, what it means, and whether it is wanted."""

    order: str
    title: str
    meaning: str
    is_wanted: bool


@dataclass(frozen=True)
class GuessLine:
    """One factor of a stated guess: whether it matters, where it is at its best, and how wide that is, as typed.

    ``levels`` are those of a choice; ``place`` is then one of them, "" is any. ``unit`` stands behind the place,
    ``width_unit`` behind the width. The problems say why one of them cannot be read.
    """

    name: str
    matters: bool
    place: str
    width: str
    unit: str
    width_unit: str
    levels: tuple[str, ...] = ()
    place_problem: str = ""
    width_problem: str = ""

    @property
    def problem(self) -> str:
        """Why what was typed cannot be read."""
        return self.place_problem or self.width_problem


@dataclass(frozen=True)
class StepLine:
    """The steps of one order: the share of campaigns that are done against attempts or weeks.

    ``x`` and ``done`` (n,) are the corners, ``lower`` and ``upper`` the interval there; it holds up to ``most``.
    """

    x: tuple[float, ...]
    done: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    most: float


@dataclass(frozen=True)
class OrderLine:
    """One order as a row: ``style`` is its place among all orders, which decides how its line is drawn.

    ``large`` is the one large line, ``spread`` the 10 to 90 %, ``reached`` the share that was done, ``missed`` the
    share that was not, ``saves`` the words against space filling.
    """

    order: str
    title: str
    short: str
    style: int
    large: str
    middle: str
    spread: str
    reached: str
    missed: str
    saves: str
    steps: StepLine

    @property
    def in_words(self) -> str:
        """All of it in one line."""
        parts = (self.large, self.middle, self.spread, self.reached, self.missed, self.saves)
        return " ".join(part for part in parts if part)


@dataclass(frozen=True)
class Shown:
    """The results: what was asked, what holds for all orders, one row per order, and what was assumed."""

    asked: str
    begun: str
    already: str
    reachable: str
    lines: tuple[OrderLine, ...]
    most: float
    target: str
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class RehearsalState:
    """The whole section.

    ``message`` says why nothing can be rehearsed, ``progress`` how far the work is; ``is_running`` and
    ``is_stopping`` whether it goes on. ``done`` of ``of`` campaigns are kept. ``is_open`` shows what may be chosen.
    """

    message: str = ""
    is_open: bool = True
    target: int = 90
    is_usual_target: bool = True
    campaigns: int = 50
    most: int = 30
    seed: int = 0
    orders: tuple[OrderChoice, ...] = ()
    source: str = PRESENT
    best: int = 95
    guess: tuple[GuessLine, ...] = ()
    measure: str = ATTEMPTS
    is_running: bool = False
    is_stopping: bool = False
    done: int = 0
    of: int = 0
    progress: str = ""
    may_ask: bool = False
    results: Shown | None = None
    is_stale: bool = False
    stale: str = ""

    @property
    def can_go_on(self) -> bool:
        """Whether a rehearsal was begun and can be gone on with."""
        return self.can_rehearse and 0 < self.done < self.of

    @property
    def can_rehearse(self) -> bool:
        """Whether there is something to play."""
        return self.may_ask and not self.is_running and self.done < self.of

    @property
    def can_begin_anew(self) -> bool:
        """Whether what is kept could be played again from its beginning."""
        return self.may_ask and not self.is_running and self.done > 0

    @property
    def share_done(self) -> float:
        """The share of the campaigns that are done, 0 to 1."""
        return self.done / self.of if self.of else 0.0
