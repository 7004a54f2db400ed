"""Everything that the odds pane shows, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome
from stirfall.desktop.odds.marks import Spot

Floats = NDArray[np.float64]
View = Literal["curve", "map", "outcomes", "time", "effects", "trust"]
ALONG: tuple[View, ...] = ("curve", "outcomes", "time")
"""The views that are drawn along one factor."""
PICTURES: tuple[View, ...] = ("curve", "outcomes", "map", "time")
"""The views that are drawn."""
GoalChoice = Literal["learn", "reliable", "soonest", "most"]
Why = Literal["", "0", "1", "2", "recipe"]
"""What is explained in the place of the picture: nothing, a suggestion by its place, or the recommended recipe."""
Phase = Literal["closed", "waiting", "ready", "failed"]


@dataclass(frozen=True)
class Headline:
    """The answer for the conditions in hand, in numbers and sentences; an empty text is not shown."""

    title: str = ""
    estimate: Estimate | None = None
    gates: tuple[tuple[str, Estimate], ...] = ()
    direction: str = ""
    caution: str = ""
    filled: str = ""
    filled_in_full: str = ""
    left_out: str = ""
    left_out_short: str = ""
    details: tuple[str, ...] = ()
    can_take: bool = False


@dataclass(frozen=True, eq=False)
class AlongPicture:
    """What every picture along one factor has; ``x`` in the factor's unit, for a choice the index of the level.

    ``tried`` holds the lowest and highest value of graded attempts, None where there are none; for a choice
    ``tried_levels`` holds the levels. ``caption`` and ``sentence`` say in words what the picture shows.
    ``not_drawn`` counts attempts beyond the marks that are drawn, of very many an even share.
    """

    factor: Factor
    x: Floats
    level: float
    tried: tuple[float, float] | None
    tried_levels: frozenset[str]
    spots: tuple[Spot, ...]
    caption: str
    sentence: str
    not_drawn: int = field(default=0, kw_only=True)

    def was_tried(self, value: float | str) -> bool:
        """Whether a value lies within what graded attempts reached."""
        if isinstance(value, str):
            return value in self.tried_levels
        return self.tried is not None and self.tried[0] <= value <= self.tried[1]


@dataclass(frozen=True, eq=False)
class CurvePicture(AlongPicture):
    """The probability along one factor; ``gates`` are (word, probabilities) of two gates, empty with one gate."""

    mean: Floats
    lower: Floats
    upper: Floats
    gates: tuple[tuple[str, Floats], ...]


@dataclass(frozen=True, eq=False)
class ShareBand:
    """One outcome along a factor: mean share and interval bounds, each (points,), in [0, 1].

    ``labels`` is what may stand in the band, the longest words first.
    """

    outcome: Outcome
    word: str
    mean: Floats
    lower: Floats
    upper: Floats
    labels: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class OutcomePicture(AlongPicture):
    """The shares of the outcomes along one factor, the lowest band first; the means sum to one everywhere."""

    bands: tuple[ShareBand, ...]


@dataclass(frozen=True, eq=False)
class MapPicture:
    """The probability over two number factors; ``x`` and ``y`` are axis positions, ``mean`` is (ny, nx).

    ``hull`` outlines what was tried, as corners in axis positions; empty where fewer than three places were.
    """

    x_factor: Factor
    y_factor: Factor
    x: Floats
    y: Floats
    mean: Floats
    hull: tuple[tuple[float, float], ...]
    spots: tuple[Spot, ...]
    caption: str
    sentence: str
    not_drawn: int = 0


def drawn_text(picture: AlongPicture | MapPicture) -> str:
    """Say how many of the attempts are drawn."""
    shown = len(picture.spots)
    return f"{shown} of {shown + picture.not_drawn} attempts drawn"


@dataclass(frozen=True)
class JarMark:
    """A jar on the shelf at its present age, in axis positions."""

    jar_id: str
    x: float


@dataclass(frozen=True, eq=False)
class TimePicture(AlongPicture):
    """The expected hours to a clean batch along an age, with interval; ``chance`` of one within the horizon.

    ``best_x`` is the age with the fewest hours, None where the limits allow none, ``best`` says it. ``words`` say
    how the person works.
    """

    mean: Floats
    lower: Floats
    upper: Floats
    chance: Floats
    best_x: float | None
    best: str
    horizon_h: float
    words: str
    jars: tuple[JarMark, ...]


@dataclass(frozen=True)
class ValueShown:
    """One value of a suggestion, and whether it differs from the attempt before."""

    name: str
    text: str
    differs: bool


@dataclass(frozen=True)
class DetailLine:
    """One thing that is said of a suggestion: a short ``label`` and paragraphs; a caution stands out."""

    label: str
    texts: tuple[str, ...]
    is_caution: bool = False


@dataclass(frozen=True)
class SuggestionRow:
    """One next attempt as it is shown; ``conditions`` and ``jar_id`` go into the form.

    ``details`` are told on demand.
    """

    conditions: Conditions
    values: tuple[ValueShown, ...]
    estimate: Estimate
    reason: str
    flag: str
    jar: str
    jar_id: str | None
    compared_with: str
    details: tuple[DetailLine, ...] = ()


@dataclass(frozen=True)
class LotChoice:
    """For which lot the pane answers: ``key`` "" is that of the conditions in hand, "new" a new one.

    ``text`` is how the choice reads in the selector.
    """

    key: str
    text: str


@dataclass(frozen=True)
class OddsState:
    """The whole pane.

    ``stage`` says in words which answer this is and for which lot. ``lot_choices`` is empty where the answer knows
    no lots. ``separation`` is for the details. ``no_outcomes`` says why there is no picture of the outcomes, and
    ``no_time`` why there is none of the time to a clean batch, "" where there is one; the latter has an axis of
    its own.

    ``is_stale``: the numbers are older than the document. ``picture_is_late``: the picture is not yet that of the
    conditions in hand. ``at`` and ``map_at`` place the mark in hand, in axis positions. ``recipe`` is what is
    recommended now for the goal, None with the reason in ``recipe_note``. ``why`` is what is explained.
    """

    phase: Phase = "closed"
    message: str = ""
    notice: str = ""
    headline: Headline = field(default_factory=Headline)
    show_details: bool = False
    separation: tuple[str, ...] = ()
    is_stale: bool = False
    view: View = "curve"
    axis: str = ""
    axis_choices: tuple[str, ...] = ()
    map_axes: tuple[str, str] = ("", "")
    map_choices: tuple[str, ...] = ()
    curve: CurvePicture | None = None
    surface: MapPicture | None = None
    outcomes: OutcomePicture | None = None
    no_outcomes: str = ""
    time: TimePicture | None = None
    time_axis: str = ""
    time_choices: tuple[str, ...] = ()
    no_time: str = ""
    stage: str = ""
    lot_choices: tuple[LotChoice, ...] = ()
    lot_choice: str = ""
    picture_is_late: bool = False
    at: float | None = None
    map_at: tuple[float, float] | None = None
    show_gates: bool = False
    can_show_gates: bool = False
    pointed: str = ""
    goal: GoalChoice = "learn"
    suggestions: tuple[SuggestionRow, ...] = ()
    suggestions_note: str = ""
    suggestions_are_stale: bool = False
    suggestions_for: str = ""
    recipe: SuggestionRow | None = None
    recipe_note: str = ""
    why: Why = ""
    decimal: str = "."

    @property
    def explained(self) -> SuggestionRow | None:
        """The suggestion, or the recipe, that is explained in the place of the picture."""
        if self.why == "recipe":
            return self.recipe
        return self.suggestions[int(self.why)] if self.why and int(self.why) < len(self.suggestions) else None

    @property
    def along(self) -> str:
        """The factor along which the view in front is drawn."""
        return self.time_axis if self.view == "time" else self.axis

    @property
    def along_choices(self) -> tuple[str, ...]:
        """The factors along which the view in front can be drawn."""
        return self.time_choices if self.view == "time" else self.axis_choices

    @property
    def picture(self) -> CurvePicture | OutcomePicture | MapPicture | TimePicture | None:
        """The picture of the view in front, None where it has none yet."""
        pictures = {"curve": self.curve, "outcomes": self.outcomes, "map": self.surface, "time": self.time}
        return pictures.get(self.view)
