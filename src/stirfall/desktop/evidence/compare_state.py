"""What the section "Is it chance?" shows: the two groups as typed, the answer as words and a picture; frozen."""

from __future__ import annotations

from dataclasses import dataclass, field

LEVEL, RANGE, PERIOD, CHOSEN = "level", "range", "period", "chosen"
SIGNS = {"nothing": "—", "apart": "○", "probably": "◐", "beyond": "●"}
VERDICTS = {
    "nothing": "Nothing to compare yet",
    "apart": "Not told apart",
    "probably": "Probably",
    "beyond": "Beyond chance",
}


@dataclass(frozen=True)
class GroupState:
    """One group as its fields hold it: a level of a list, two ends, or numbers of attempts."""

    level: str = ""
    low: str = ""
    high: str = ""
    text: str = ""
    problem: str = ""


@dataclass(frozen=True)
class Strip:
    """One group in the picture: its attempts as dots, and its mean with its interval; x as the axis has it."""

    name: str
    told: str
    dots: tuple[float, ...] = ()
    value: float | None = None
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True)
class Bar:
    """One answer to how large the difference is, with its interval; without one, why not in ``told``."""

    name: str
    told: str
    value: float | None = None
    lower: float | None = None
    upper: float | None = None


@dataclass(frozen=True)
class Picture:
    """Both groups over one axis, and the differences over another; ``matters`` is the difference that matters."""

    title: str
    strips: tuple[Strip, ...]
    low: float
    high: float
    unit: str
    difference_title: str
    bars: tuple[Bar, ...]
    reach: float
    matters: float
    matters_word: str
    is_share: bool


@dataclass(frozen=True)
class Card:
    """A part of the answer: its heading and its lines; the first is what counts, the others explain."""

    key: str
    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class KeptLine:
    """One comparison of the session, to be shown again."""

    text: str
    is_shown: bool = False


@dataclass(frozen=True)
class CompareState:
    """The section; ``message`` stands in place of all where there is nothing to compare.

    ``kind`` says which fields the groups have; ``unit`` stands beside the ends of a range. ``note`` says why a
    question could not be noted.
    """

    message: str = ""
    teaches: str = ""
    subjects: tuple[tuple[str, str], ...] = ()
    subject: str = ""
    kind: str = "level"
    levels: tuple[tuple[str, str], ...] = ()
    unit: str = ""
    measures: tuple[tuple[str, str], ...] = ()
    measure: str = ""
    matters: str = ""
    groups: tuple[GroupState, GroupState] = field(default_factory=lambda: (GroupState(), GroupState()))
    can_compare: bool = False
    is_working: bool = False
    is_stale: bool = False
    problem: str = ""
    verdict: str = ""
    headline: str = ""
    dangers: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    picture: Picture | None = None
    cards: tuple[Card, ...] = ()
    kept: tuple[KeptLine, ...] = ()
    note: str = ""
