"""Everything that the Trust view shows, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

_WORTH_A_LINE, _LINES = 0.01, 6
Standing = Literal["look", "few", "fine"]
Phase = Literal["closed", "waiting", "few", "first", "failed", "ready"]

STANDING_MARKS: dict[Standing, tuple[str, str]] = {
    "look": ("▲", "look"),
    "few": ("○", "too few to say"),
    "fine": ("●", "fine"),
}
"""Shape and word of each standing; the order is the order on screen, what needs a look first."""


@dataclass(frozen=True)
class FormRow:
    """One form of the model: its weight in [0, 1], what its score says, and ``details`` for who wants them.

    ``warning`` says in words that the score is shaky, "" where it is not. ``is_pinned``: only this form is used.
    """

    key: str
    name: str
    weight: float
    weight_text: str
    score_text: str
    warning: str = ""
    details: str = ""
    is_pinned: bool = False
    is_best: bool = False


@dataclass(frozen=True)
class FormsBlock:
    """The candidate forms, best first. ``pinned`` is the name of the one form in use, "" when all are weighed.

    ``why_fixed`` says why nothing can be pinned here, "" where it can.
    """

    note: str = ""
    rows: tuple[FormRow, ...] = ()
    pinned: str = ""
    why_fixed: str = ""

    @property
    def foremost(self) -> tuple[FormRow, ...]:
        """The forms that are shown at once: the best one, the pinned one, and the few with the most weight."""
        heaviest = sorted(self.rows, key=lambda row: -row.weight)[:_LINES]
        chosen = {row.key for row in heaviest if row.weight >= _WORTH_A_LINE}
        return tuple(row for row in self.rows if row.is_best or row.is_pinned or row.key in chosen)


@dataclass(frozen=True)
class CheckLine:
    """One check in one line, with its standing and the details behind it."""

    key: str
    standing: Standing
    text: str
    details: tuple[str, ...] = ()


@dataclass(frozen=True)
class CalibrationPoint:
    """A bin of ``n`` attempts: the mean of what was said, and the share that came out clean with its interval."""

    said: float
    share: float
    lower: float
    upper: float
    n: int


@dataclass(frozen=True)
class CalibrationShown:
    """The picture of calibration: ``sentence`` says in words what it shows, ``caption`` how to read it."""

    points: tuple[CalibrationPoint, ...] = ()
    sentence: str = ""
    caption: str = ""


@dataclass(frozen=True)
class PullLine:
    """One attempt that pulls the fit, and why one should look at it."""

    attempt_id: str
    number: int
    text: str


@dataclass(frozen=True)
class TrustContent:
    """How far to trust one analysis. ``message`` stands alone where there is nothing to check."""

    phase: Phase
    message: str = ""
    first_look: str = ""
    forms: FormsBlock = field(default_factory=FormsBlock)
    checks: tuple[CheckLine, ...] = ()
    calibration: CalibrationShown = field(default_factory=CalibrationShown)
    pulls: tuple[PullLine, ...] = ()
    pulls_note: str = ""


@dataclass(frozen=True)
class TrustState:
    """The whole view. ``opened`` are the keys of the checks whose details are shown."""

    content: TrustContent
    is_stale: bool = False
    notice: str = ""
    show_form_details: bool = False
    opened: frozenset[str] = frozenset()
