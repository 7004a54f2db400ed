"""What the section "Proof" shows, as frozen values: words and numbers, no widgets and no computation."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.desktop.plan.tonight_state import Chance

RECOMMENDED, IN_HAND = "recommended", "in hand"
PLANNING, RUNNING, OVER = "planning", "running", "over"


@dataclass(frozen=True)
class RecipeLine:
    """One factor of the recipe: its value as written, and how far an attempt may lie from it, as typed.

    ``unit`` is that of the width; "" for a choice, which must be the same. ``problem`` says why the width cannot be
    read.
    """

    name: str
    value: str
    width: str = ""
    unit: str = ""
    problem: str = ""


@dataclass(frozen=True)
class PlanChoice:
    """One plan that a person may choose: its size in large words, its rule, and its chance if started now."""

    key: str
    size: str
    rule: str
    chance: Chance
    expected: str
    warning: str = ""


@dataclass(frozen=True)
class ProofLine:
    """One marked attempt: ``place`` among those that count, "" where it does not; ``failed`` None: not graded."""

    number: int
    attempt_id: str
    place: str
    glyph: str
    word: str
    colour: str
    said: str = ""


@dataclass(frozen=True)
class Steps:
    """The picture of a proof in sequence: both lines over attempts, and the run so far as points."""

    slope: float
    shown: float
    refused: float
    most: int
    path: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class ProofState:
    """The whole section.

    ``stage`` is PLANNING, RUNNING or OVER; ``message`` says why nothing can be planned. ``asks`` means that the
    start, and ``gives_up`` that giving up, waits for a second word. ``large`` is the one large line, ``verdict``
    the sentence below it.
    """

    stage: str = PLANNING
    message: str = ""
    source: str = RECOMMENDED
    sources: tuple[tuple[str, str], ...] = ()
    recipe: tuple[RecipeLine, ...] = ()
    filled: str = ""
    claim: int = 90
    confidence: int = 95
    choices: tuple[PlanChoice, ...] = ()
    chosen: str = ""
    risks: tuple[str, ...] = ()
    asks: bool = False
    title: str = ""
    large: str = ""
    verdict: str = ""
    rule: str = ""
    chance: Chance | None = None
    chance_words: tuple[str, ...] = ()
    interval: str = ""
    remarks: tuple[str, ...] = ()
    lines: tuple[ProofLine, ...] = ()
    marks: str = ""
    steps: Steps | None = None
    gives_up: bool = False
    reason: str = ""
    earlier: tuple[str, ...] = ()
    can_change: bool = False
    is_stale: bool = False

    @property
    def choice(self) -> PlanChoice | None:
        """The plan that is chosen."""
        return next((each for each in self.choices if each.key == self.chosen), None)

    @property
    def can_start(self) -> bool:
        """Whether the chosen plan can be started: it is up to date, and each width can be read."""
        reads = not any(line.problem for line in self.recipe)
        return self.can_change and not self.is_stale and self.choice is not None and reads
