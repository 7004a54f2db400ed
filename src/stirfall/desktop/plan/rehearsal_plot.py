"""All orders in one picture: the share of campaigns that are done, in steps, each line named at its end."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainterPath, QPen
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor
from stirfall.desktop.odds.picture_plot import set_path
from stirfall.desktop.physics.still_plot import Axes, StillPlot
from stirfall.desktop.plan.rehearsal_state import WEEKS, OrderLine, Shown
from stirfall.desktop.theme import Theme
from stirfall.reporting.shares import percent

# Dashes and gaps in widths of the pen, one pattern per order; () is a whole line.
_DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (6, 3),
    (2, 2),
    (6, 2, 2, 2),
    (14, 3),
    (1, 3),
    (4, 6),
    (10, 2, 1, 2, 1, 2),
)
_PLANNED = 4
_LEADER_PX, _GAP_PX = 26.0, 6.0
_AXES = {WEEKS: "weeks from now"}
_TOP = 106.0  # per cent: room above the line at 100


def pen_of(style: int, theme: Theme, *, is_stale: bool = False) -> QPen:
    """Return the pen of an order: planned ones in the accent, plain ones in the text's, each dashed its way."""
    is_planned = style < _PLANNED
    colour = theme.colour("muted" if is_stale else "accent" if is_planned else "text")
    made = QPen(colour, 2.6 if is_planned else 1.8)
    if dashes := _DASHES[style]:
        made.setDashPattern(list(dashes))
    made.setCosmetic(True)
    made.setCapStyle(Qt.PenCapStyle.FlatCap)
    return made


def corners(x: Sequence[float], shares: Sequence[float]) -> tuple[np.ndarray, np.ndarray]:
    """Return the corners (2n - 1,) of steps at ``x`` (n,): each share holds to the next place."""
    return np.repeat(np.array(x), 2)[1:], np.repeat(np.array(shares), 2)[:-1]


def spread(places: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Return places (n,) moved so that neighbours are ``least`` apart and all lie from ``low`` to ``high``."""
    order = sorted(range(len(places)), key=lambda at: places[at])
    moved = [min(max(places[at], low), high) for at in order]
    for at in range(1, len(moved)):
        moved[at] = max(moved[at], moved[at - 1] + least)
    top = high
    for at in reversed(range(len(moved))):
        moved[at] = min(moved[at], top)
        top = moved[at] - least
    found = [0.0] * len(places)
    for at, value in zip(order, moved, strict=True):
        found[at] = value
    return found


class RehearsalPlot(StillPlot):
    """Draws the steps of all orders, with direct labels at their right ends."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, "rehearsal_plot", parent)
        self.results: Shown | None = None
        self._measure, self._is_stale = "", False
        self.setAccessibleName("Share of campaigns that are done, for each order")
        self._is_built = True
        self.apply_theme(theme)

    def sizeHint(self) -> QSize:
        """Ask for a picture that can be read across the bench."""
        return QSize(420, 320)

    def show_results(self, results: Shown, measure: str, *, is_stale: bool) -> None:
        """Draw the results by attempts or weeks."""
        self.setAccessibleDescription(in_words(results.lines, measure))
        if (results, measure, is_stale) != (self.results, self._measure, self._is_stale):
            self.results, self._measure, self._is_stale = results, measure, is_stale
            self.draw()

    def _redraw(self) -> None:
        results = self.results
        if results is None:
            return
        most = max(results.most, 1.0)
        labels = [_label(line) for line in results.lines]
        room = max(self.metrics().horizontalAdvance(text) for text in labels) + _LEADER_PX + 2 * _GAP_PX
        # The labels stand right of the end: the axis goes on so far that they have their room.
        inside = max(self.view_box.width() - room, 0.4 * self.view_box.width())
        end = most * self.view_box.width() / max(inside, 1.0)
        name = _AXES.get(self._measure, "further attempts")
        upward = Factor("campaigns done", "%", 0.0, _TOP)
        self.fit_axes(Axes(Factor(name, "", 0.0, end, step=1.0), upward))
        self.set_number_axis("bottom", Factor(name, "", 0.0, most, step=1.0), 0.0, most, inside)
        self._end_grid(upward, most)
        self.add_upright(most, self.pen(self.theme.line, style=Qt.PenStyle.DotLine))
        for line in results.lines:
            x, done = corners(line.steps.x, line.steps.done)
            pen = pen_of(line.style, self.theme, is_stale=self._is_stale)
            self.add_curve(x, 100.0 * done, pen)
        self._name_lines(results.lines, labels)

    def _end_grid(self, upward: Factor, most: float) -> None:
        """Let the lines of the grid end where the names begin."""
        path = QPainterPath()
        for at in self._fit_left(upward):
            path.moveTo(0.0, at)
            path.lineTo(most, at)
        set_path(self._grid, path)

    def _name_lines(self, lines: Sequence[OrderLine], labels: Sequence[str]) -> None:
        ends = [self.pixels_of(line.steps.x[-1], 100.0 * line.steps.done[-1]) for line in lines]
        height = self.metrics().height()
        bottom = self.view_box.height() - 0.5 * height
        rows = spread([each.y() for each in ends], height, 0.5 * height, bottom)
        left = max(each.x() for each in ends) + _LEADER_PX
        colour = self.theme.muted if self._is_stale else self.theme.text
        for line, text, end, row in zip(lines, labels, ends, rows, strict=True):
            pen = pen_of(line.style, self.theme, is_stale=self._is_stale)
            self._leader(end, QPointF(left, row), pen)
            self._name(text, QPointF(left + 1, row), colour)

    def _name(self, text: str, place: QPointF, colour: str) -> None:
        """Write a name without a surface behind it, which would reach over its neighbours."""
        item = self.label_item(text, colour, (0.0, 0.5))
        per_x, per_y = self.pixel_size()
        (left, _), (_, top) = self.view_box.viewRange()
        self.add(item, 15)
        item.setPos(left + place.x() * per_x, top - place.y() * per_y)

    def _leader(self, start: QPointF, end: QPointF, pen: QPen) -> None:
        per_x, per_y = self.pixel_size()
        (left, _), (_, top) = self.view_box.viewRange()
        x = np.array([left + each.x() * per_x for each in (start, end)])
        y = np.array([top - each.y() * per_y for each in (start, end)])
        thin = QPen(pen)
        thin.setWidthF(1.2)
        self.add_curve(x, y, thin)


def _label(line: OrderLine) -> str:
    return f"{line.short} {percent(line.steps.done[-1])}"


def in_words(lines: Sequence[OrderLine], measure: str) -> str:
    """Say the picture in words."""
    what = "weeks" if measure == WEEKS else "further attempts"
    told = "; ".join(
        f"{line.title}: {percent(line.steps.done[-1])}, half by {line.large.lower()}" for line in lines
    )
    return f"Share of campaigns that are done against {what}. At the end: {told}."
