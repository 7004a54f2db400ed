"""The picture of a drift: a line in time with its limits, the attempts, signals, and marks of changes."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor
from stirfall.desktop.evidence.drift_picture import DriftPicture, SignalMark
from stirfall.desktop.odds.picture_plot import MARK_PX, PicturePlot
from stirfall.desktop.physics.still_plot import LATE_OPACITY, Axes, StillPlot
from stirfall.desktop.theme import Theme

_RAIL_LINES = 1.5  # the height of a rail, in lines of text
_SIGNAL_PX = 15
_USUAL_HEIGHT = 17.0  # of a line of text at its usual size
_DENSE = 3.0
_MOST_DRAWN = 3000
_MARK_ROWS = 3


class DriftPlot(StillPlot):
    """Draws one DriftPicture. The pointer or the arrow keys name an attempt, a click or Enter chooses it."""

    _below_zero = True

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, "drift_plot", parent)
        self.ink = ink
        self.picture: DriftPicture | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName("The attempts in time")
        self._is_built = True
        self.apply_theme(theme)

    def sizeHint(self) -> QSize:
        """Ask for a picture that can be read across the bench."""
        return QSize(560, 340)

    def show_picture(self, picture: DriftPicture | None, description: str, *, late: bool = False) -> None:
        """Draw a picture, greyed while it is ``late``; ``description`` says it in words."""
        self.setAccessibleDescription(description)
        self.view_box.setOpacity(LATE_OPACITY if late else 1.0)
        if picture is not self.picture:
            self.picture = picture
            self._point_at("")
            self.draw()

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        picture = self.picture
        if picture is None:
            self.spots, self.spot_points = (), np.empty((0, 2))
            self.scatter.setData([], [])
            return
        self._fit(picture)
        self._draw_change(picture)
        self._draw_marks(picture)
        self._draw_limits(picture)
        for x, y in picture.lines:
            self.add_curve(x, y, self.pen(self.theme.accent, width=2.2))
        if picture.rails:
            x, y = picture.lines[0]
            self._scatter(x, y, "s", 8.0, self.theme.accent, z=9)
        self._draw_spots(picture)
        for signal in picture.signals:
            self._draw_signal(signal)

    def _fit(self, picture: DriftPicture) -> None:
        """Leave rails for the attempts where they need them, and above them a line for the words of marks."""
        line = self.metrics().height()
        height = max(self.view_box.height(), 1.0)
        rail = _RAIL_LINES * line if picture.rails else 0.3 * line
        above, below = rail + 1.3 * line * self._rows(picture), rail
        low, high = picture.bounds
        per_px = (high - low) / max(height - above - below, 40.0)
        self._rail = 0.5 * rail * per_px
        across = Factor("attempt", "", *picture.ends, step=1.0)
        upward = Factor(picture.title, picture.unit, low - below * per_px, high + above * per_px)
        self.fit_axes(Axes(across, upward))
        self._name_attempts(picture)

    def _left_ticks(self, factor: Factor) -> list[tuple[float, str]]:
        """Leave out ticks beyond what is drawn: rails have a word, no scale."""
        picture = self.picture
        low, high = picture.bounds if picture is not None else factor.bounds
        found = [(at, label) for at, label in super()._left_ticks(factor) if low - 1e-9 <= at <= high + 1e-9]
        if picture is None or picture.rails is None:
            return found
        passed, failed = picture.rails
        return [(low - self._rail, failed), *found, (high + self._rail, passed)]

    def _name_attempts(self, picture: DriftPicture) -> None:
        """Write the numbers of attempts below, as many as there is room for, and when the first and last were."""
        room = self.metrics().horizontalAdvance("0000") + 10
        most = max(2, int(self.view_box.width() / room))
        count = len(picture.numbers)
        step = next(size for size in _sizes() if count / size <= most)
        # Attempts with round numbers are named; where left out ones bring two together, the first of them.
        ticks: list[tuple[float, str]] = []
        for place, number in enumerate(picture.numbers, picture.start + 1):
            if number % step == 0 and (not ticks or place - ticks[-1][0] > 0.6 * step):
                ticks.append((float(place), f"{number}"))
        self.plot_item.getAxis("bottom").setTicks([ticks or [(picture.start + 1.0, f"{picture.numbers[0]}")]])
        first, last = picture.days
        span = f" ({first} to {last})" if first and last and first != last else ""
        title = f"attempts in the order of time{span}"
        fits = self.metrics().horizontalAdvance(title) < self.view_box.width()
        self.set_axis_title("bottom", title if fits else "attempts in time")

    def _rows(self, picture: DriftPicture) -> int:
        return min(len(picture.marks), _MARK_ROWS)

    def _draw_change(self, picture: DriftPicture) -> None:
        if picture.change is None:
            return
        first, likely, last = picture.change
        self.shade(first - 0.5, last + 0.5, self.theme.band)
        self.add_upright(likely, self.pen(self.theme.accent, width=1.6, style=Qt.PenStyle.DashDotLine))

    def _draw_marks(self, picture: DriftPicture) -> None:
        """Draw a line for each change; its words stand above in the first row that has room, else not at all."""
        line = 1.3 * self.metrics().height()
        width = self.view_box.width()
        for mark in sorted(picture.marks, key=lambda each: (not each.is_own, each.x)):
            style = Qt.PenStyle.SolidLine if mark.is_own else Qt.PenStyle.DashLine
            x = min(mark.x, picture.ends[1] - 0.05)
            self.add_upright(
                x, self.pen(self.theme.text if mark.is_own else self.theme.muted, width=1.5, style=style)
            )
        taken: list[list[tuple[float, float]]] = [[] for _ in range(self._rows(picture))]
        for mark in sorted(picture.marks, key=lambda each: (not each.is_own, each.x)):
            text = f"{'▼' if mark.is_own else '▽'} {mark.word}"
            wide = self.metrics().horizontalAdvance(text) + 10
            at = self.pixels_of(min(mark.x, picture.ends[1] - 0.05)).x()
            start = min(max(at - 4, 0.0), max(width - wide, 0.0))
            for row, spans in enumerate(taken):
                if all(start + wide < low or start > high for low, high in spans):
                    spans.append((start, start + wide))
                    self.add_text(text, QPointF(start, row * line), (0.0, 0.0))
                    break

    def _draw_limits(self, picture: DriftPicture) -> None:
        used: list[float] = []
        for word, x, y in picture.limits:
            is_centre = word == "centre"
            style = Qt.PenStyle.SolidLine if is_centre else Qt.PenStyle.DashLine
            colour = self.theme.muted if is_centre else self.theme.text
            self.add_curve(x, y, self.pen(colour, width=1.4, style=style))
            place = self.pixels_of(float(x[-1]), float(y[-1]))
            # The words of the limits stand inside them, where no attempt lies.
            above = not ("upper" in word or "rise" in word)
            middle = place.y() + (-0.5 if above else 0.5) * self.metrics().height()
            if all(abs(middle - other) > self.metrics().height() for other in used):
                used.append(middle)
                is_left = self._is_taken(picture, middle, self.metrics().horizontalAdvance(word))
                at = 4.0 if is_left else self.view_box.width() - 4
                self.add_text(word, QPointF(at, middle), (0.0 if is_left else 1.0, 0.5))

    def _is_taken(self, picture: DriftPicture, middle: float, wide: float) -> bool:
        """Whether a signal stands where a word would, at the right end."""
        places = [self.pixels_of(signal.x, signal.y) for signal in picture.signals]
        left = self.view_box.width() - wide - 40
        return any(at.x() > left and abs(at.y() - middle) < 2.5 * self.metrics().height() for at in places)

    def _draw_spots(self, picture: DriftPicture) -> None:
        count = len(picture.spots)
        x = np.fromiter((spot.x for spot in picture.spots), float, count)
        y = np.fromiter((spot.y for spot in picture.spots), float, count)
        self.spots = picture.spots
        self.spot_points = np.column_stack([x, self._heights(picture, y) if picture.rails else y])
        step = max(1, len(picture.spots) // _MOST_DRAWN)  # of very many every so many-th; all can be pointed at
        marks = [self.theme.marks[spot.outcome] for spot in picture.spots[::step]]
        dense = self.view_box.width() / max(len(picture.spots), 1) < _DENSE
        self.scatter.setData(
            x=self.spot_points[::step, 0],
            y=self.spot_points[::step, 1],
            symbol=[mark.symbol for mark in marks],
            size=4.0 * self.ink if dense else self._spot_px(len(picture.spots)),
            pen=self.pen(self.theme.raised, width=0.6),
            brush=[QBrush(QColor(mark.colour)) for mark in marks],
        )
        if picture.controls:
            points = self.spot_points[list(picture.controls)]
            if not picture.rails and len(points) > 1:
                self.add_curve(
                    points[:, 0], points[:, 1], self.pen(self.theme.text, width=1.2, style=Qt.PenStyle.DotLine)
                )
            self._scatter(points[:, 0], points[:, 1], "d", 1.7 * MARK_PX, self.theme.text, z=19, is_open=True)

    def _grown(self) -> float:
        """Return how much larger marks are drawn: on paper by its ink, on the screen as the text grows."""
        return self.ink if self.ink != 1.0 else max(1.0, self.metrics().height() / _USUAL_HEIGHT)

    def _spot_px(self, count: int) -> float:
        """Return the size of the attempts: grown with the text, as far as they do not hide each other."""
        usual = 0.75 * MARK_PX
        return max(usual * self.ink, min(usual * self._grown(), self.view_box.width() / max(count, 1)))

    def _heights(self, picture: DriftPicture, shares: np.ndarray) -> np.ndarray:
        """Return the rails of attempts: above what passed, below what did not, between for several trials."""
        low, high = picture.bounds
        between = np.where(shares <= 0.0, low - self._rail, low + shares * (high - low))
        return np.where(shares >= 1.0, high + self._rail, between)

    def _scatter(
        self,
        x: np.ndarray,
        y: np.ndarray,
        symbol: str,
        size: float,
        colour: str,
        *,
        z: float,
        is_open: bool = False,
    ) -> None:
        brush = None if is_open else QBrush(QColor(colour))
        pen = self.pen(colour if is_open else self.theme.raised, width=1.6 if is_open else 0.8)
        self.add(pg.ScatterPlotItem(x=x, y=y, symbol=symbol, size=size * self._grown(), brush=brush, pen=pen), z)

    def _draw_signal(self, signal: SignalMark) -> None:
        """Mark a signal by a triangle that points away from the centre, with its word."""
        assert self.axes is not None
        symbol, up = ("t1", True) if signal.way > 0 else ("t", False)
        point = np.array([signal.x]), np.array([signal.y])
        self._scatter(*point, symbol, _SIGNAL_PX, self.theme.danger, z=13)
        place = self.pixels_of(signal.x, signal.y)
        wide = self.metrics().horizontalAdvance(signal.word)
        x = min(max(place.x(), 0.5 * wide + 2), self.view_box.width() - 0.5 * wide - 2)
        high = self.metrics().height() + 12
        above = up if high < place.y() < self.view_box.height() - high else not up
        self.add_text(signal.word, QPointF(x, place.y() + (-9 if above else 9)), (0.5, 1.0 if above else 0.0))

    # -- mouse and keys ----------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the attempt under the pointer."""
        spot = self.spot_at(event.position()) if event.button() == Qt.MouseButton.LeftButton else None
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
        if spot is not None:
            self.attempt_chosen.emit(spot.attempt_id)
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell about the attempt under the pointer."""
        spot = self.spot_at(event.position())
        self._point_at(spot.attempt_id if spot else "")
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Nothing is dragged here."""
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Left and right go from attempt to attempt, Enter chooses the one that is named."""
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if event.key() in steps:
            self._walk(steps[Qt.Key(event.key())])
            event.accept()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space, Qt.Key.Key_Escape):
            PicturePlot.keyPressEvent(self, event)
        else:
            event.ignore()


def _sizes() -> list[int]:
    """Return round steps between the attempts that are named."""
    return [factor * 10**power for power in range(7) for factor in (1, 2, 5)]
