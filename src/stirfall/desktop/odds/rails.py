"""The rails above and below the curve: one lane per outcome, with each attempt in its place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.odds.marks import LANE_ROWS, LANE_ROWS_LOW, LANE_WORDS, Spot, lane_places
from stirfall.desktop.odds.state import Floats

_GAP_PX = 8.0
_SMALLEST_CURVE_PX = 40.0


@dataclass(frozen=True)
class Rails:
    """The heights of a curve picture, in view coordinates where the curve runs from 0 to 100.

    ``height_px`` is that of the whole picture, ``lane_px`` that of one lane.
    """

    above: tuple[Outcome, ...]
    below: tuple[Outcome, ...]
    height_px: float
    lane_px: float

    @property
    def per_px(self) -> float:
        """How much of the axis one pixel is."""
        lanes = self.lane_px * (len(self.above) + len(self.below)) + _GAP_PX * (1 + bool(self.below))
        return 100.0 / max(self.height_px - lanes, _SMALLEST_CURVE_PX)

    @property
    def span(self) -> tuple[float, float]:
        """The lowest and the highest view coordinate."""
        low = self.lane_px * len(self.below) + _GAP_PX * bool(self.below)
        high = self.lane_px * len(self.above) + _GAP_PX
        return -low * self.per_px, 100.0 + high * self.per_px

    def centre(self, outcome: Outcome) -> float:
        """Return the height of the middle of an outcome's lane."""
        lane, gap = self.lane_px * self.per_px, _GAP_PX * self.per_px
        if outcome in self.above:
            return 100.0 + gap + lane * (self.above.index(outcome) + 0.5)
        return -gap - lane * (self.below.index(outcome) + 0.5)

    def places(
        self, spots: Sequence[Spot], x_range: tuple[float, float], *, width_px: float, mark_px: float, fan_out: bool
    ) -> Floats:
        """Return view coordinates (n, 2) of the marks; a counted attempt stands at its share, off the rails.

        ``fan_out`` spreads marks of one place sideways, as the levels of a choice need it.
        """
        low, span = x_range[0], x_range[1] - x_range[0]
        gap = (mark_px + 1.5) / max(width_px, 120.0)
        rows = LANE_ROWS if self.lane_px >= 2 * mark_px else LANE_ROWS_LOW
        row_height = self.lane_px * self.per_px / (rows + 0.6)
        points = np.array([[spot.x, 100 * spot.y] for spot in spots]).reshape(-1, 2)
        for outcome, members in _by_lane(spots).items():
            middle = self.centre(outcome)
            lane = [spots[index] for index in members]
            shares = _fanned(lane, low, span, gap) if fan_out else [(spot.x - low) / span for spot in lane]
            for index, (row, share) in zip(members, lane_places(shares, gap=gap, rows=rows), strict=True):
                points[index] = low + share * span, middle + ((rows - 1) / 2 - row) * row_height
        return points


def _by_lane(spots: Sequence[Spot]) -> dict[Outcome, list[int]]:
    lanes: dict[Outcome, list[int]] = {}
    for index, spot in enumerate(spots):
        if spot.outcome in LANE_WORDS:
            lanes.setdefault(spot.outcome, []).append(index)
    return lanes


def _fanned(spots: Sequence[Spot], low: float, span: float, gap: float) -> list[float]:
    """Return places along the axis in [0, 1], the marks of one level side by side around it."""
    groups: dict[float, list[int]] = {}
    for index, spot in enumerate(spots):
        groups.setdefault(spot.x, []).append(index)
    shares = [0.0] * len(spots)
    for x, members in groups.items():
        step = min(gap / 2, 0.8 / span / max(len(members), 1))
        for order, index in enumerate(members):
            shares[index] = (x - low) / span + (order - (len(members) - 1) / 2) * step
    return shares
