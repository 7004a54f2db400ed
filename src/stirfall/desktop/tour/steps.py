"""The steps of the tour: where each points, and its one or two sentences; pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

WORDS_A_MINUTE = 200.0
"""A usual pace of reading (no source: common practice)."""
SECONDS_A_CLICK = 3.0
"""To look at what is pointed at and press Next; our own guess, on the long side."""
LONGEST_S = 180.0


@dataclass(frozen=True)
class TourStep:
    """One step: the page or side it is on, the control it points at, and its words.

    ``targets`` are object names; the first that can be seen is pointed at, else the page.
    """

    place: str
    targets: tuple[str, ...]
    title: str
    text: str

    @property
    def words(self) -> int:
        """How many words there are to read."""
        return len(f"{self.title} {self.text}".split())


STEPS = "steps of the job"
"""The target that is the row of steps itself."""

TOUR: tuple[TourStep, ...] = (
    TourStep(
        "shelf",
        (STEPS,),
        "The job in six steps",
        "From left to right: jars on the shelf, a plan, the bench, the attempts, the evidence and the recipe.",
    ),
    TourStep(
        "shelf",
        ("shelf_table",),
        "Jars that age",
        "Each row is a jar under oil: how old it is, and how likely it would separate now and tomorrow.",
    ),
    TourStep(
        "odds",
        ("odds_number",),
        "The odds",
        "The probability of a clean separation. Beside it stand its interval and the attempts behind it: a wide "
        "interval means that little is known.",
    ),
    TourStep(
        "odds",
        ("odds_curve",),
        "Along one condition",
        "The curve shows the odds as one condition changes; the marks are your attempts. Hatched means: not tried.",
    ),
    TourStep(
        "plan",
        ("plan_switch",),
        "What to do next",
        "Tonight says which jar to open and what it teaches. A proof fixes its count of attempts beforehand.",
    ),
    TourStep(
        "bench",
        ("begin_run",),
        "Step by step",
        "At the hot bench this guides one attempt with large timers. The limits and the checklist come first.",
    ),
    TourStep(
        "bench",
        ("parted", "checklist"),
        "Checklist, then two questions",
        "The checklist comes before the first attempt of a day. After each attempt: did the solids leave, did the "
        "metal become one pool?",
    ),
    TourStep(
        "attempts",
        ("ledger_table",),
        "Nothing is lost",
        "Every attempt stays here. A correction keeps the old value, and “Why” says what differed.",
    ),
    TourStep(
        "evidence",
        ("evidence_switch",),
        "Is it chance?",
        "Compare groups, watch for drift, ask why one attempt failed, and weigh rival explanations.",
    ),
    TourStep(
        "recipe",
        ("recipe_sheet",),
        "The recipe",
        "One sheet for readers and one for the bench, with evidence, limits and cautions. F1 opens the guide at "
        "the page in front.",
    ),
)


def seconds_needed(steps: Sequence[TourStep] = TOUR) -> float:
    """Return how long reading and pressing take, in seconds."""
    words = sum(step.words for step in steps)
    return 60.0 * words / WORDS_A_MINUTE + SECONDS_A_CLICK * len(steps)
