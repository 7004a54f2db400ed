"""What the pictures along one factor share: the axis, the rails of attempts, the grid, and what was not tried."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtGui import QColor, QPainterPath
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.desktop.odds.marks import LANE_WORDS, lanes_in_use
from stirfall.desktop.odds.outlines import hatch_lines
from stirfall.desktop.odds.phrases import PERCENT
from stirfall.desktop.odds.picture_plot import MARK_PX, PicturePlot, hatch_spacing, path_item, set_path
from stirfall.desktop.odds.rails import Rails
from stirfall.desktop.odds.state import AlongPicture, drawn_text
from stirfall.desktop.theme import Theme
from stirfall.reporting.axis_ticks import axis_title, from_axis, to_axis

LATE_OPACITY = 0.4
_SHARES = (0, 20, 40, 60, 80, 100)
_X_PAD = 0.025
_CHOICE_PAD = 0.6


class AlongPlot(PicturePlot):
    """Shares from 0 to 100 along one factor; ``moved`` carries an axis position. Subclasses draw the shares."""

    y_titles: tuple[str, ...] = ()
    _is_built = False

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.picture: AlongPicture | None = None
        self.at: float | None = None
        self.estimate: Estimate | None = None
        self._drawn: tuple[object, ...] = ()
        self._rails = Rails((), (), 1.0, 1.0)
        self._per_px = 1.0
        self._labels: list[pg.TextItem] = []
        self._grid = path_item(self, -10)
        self._hatch = path_item(self, 1)

    # -- what subclasses give ------------------------------------------------------------------------

    def _redraw(self) -> None:
        raise NotImplementedError

    def show_mark(self, at: float | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at an axis position with its estimate, or hide it."""
        raise NotImplementedError

    def _emptiest(self, place: float) -> float:
        """Return the height at a place where a label is least in the way."""
        del place
        return 50.0

    # -- the whole -----------------------------------------------------------------------------------

    def place(self, at: float | None) -> None:
        """Say where the mark in hand will stand, so that labels keep away from it."""
        self.at = at

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        super().apply_theme(theme)
        self._redraw()
        self.show_mark(self.at, self.estimate)

    def relayout(self) -> None:
        """Fit lanes, ticks, hatching and labels to the present size."""
        if self._is_built:
            self._redraw()
            self.show_mark(self.at, self.estimate)

    def position_of(self, x: float, y: float) -> float:
        """Return the axis position of a click; the height of the click does not matter."""
        del y
        return x

    # -- drawing ---------------------------------------------------------------------------------------

    def _clear_labels(self) -> None:
        for item in self._labels:
            self.view_box.removeItem(item)
        self._labels = []

    def _clear_axis(self) -> None:
        self.show_spots((), np.empty((0, 2)))
        self.plot_item.getAxis("bottom").setTicks([[]])
        self.set_axis_title("bottom", "")

    def _add(self, item: pg.GraphicsObject, z: float) -> pg.GraphicsObject:
        item.setZValue(z)
        self.view_box.addItem(item, ignoreBounds=True)
        return item

    def _lane_px(self) -> float:
        roomy = max(self.metrics().height() + 4, MARK_PX * 2.2)
        return roomy if self.view_box.height() > 240 else max(self.metrics().height() - 1, MARK_PX * 1.3)

    def _fit_y(self) -> None:
        height = max(self.view_box.height(), 1.0)
        above, below = lanes_in_use(self.picture.spots if self.picture else ())
        self._rails = Rails(above, below, height, self._lane_px())
        self._per_px = per_px = self._rails.per_px
        self.view_box.setYRange(*self._rails.span, padding=0)
        dense = 20 / per_px >= self.metrics().height() * 1.1
        shares = [(share, f"{share}{PERCENT}") for share in (_SHARES if dense else (0, 50, 100))]
        marks = [
            (self._rails.centre(outcome), f"{self.theme.mark(outcome).glyph} {LANE_WORDS[outcome]}")
            for outcome in (*above, *below)
        ]
        axis = self.plot_item.getAxis("left")
        axis.setTicks([shares, []])
        axis.setTicks([shares + marks])
        words = [text for _, text in shares + marks]
        axis.setWidth(max(self.metrics().horizontalAdvance(word) for word in words) + self.metrics().height() + 18)
        fitting = [title for title in self.y_titles if self.metrics().horizontalAdvance(title) < 0.85 * height]
        self.set_axis_title("left", fitting[0] if fitting else "")

    def _fit_x(self, picture: AlongPicture) -> None:
        factor = picture.factor
        if factor.is_choice:
            self.view_box.setXRange(-_CHOICE_PAD, len(factor.levels) - 1 + _CHOICE_PAD, padding=0)
            self.plot_item.getAxis("bottom").setTicks([list(enumerate(factor.levels))])
            self.set_axis_title("bottom", "" if self.is_compact else axis_title(factor, decimal=self.decimal))
            return
        places = [to_axis(factor, float(value)) for value in (picture.x[0], picture.x[-1])]
        places += [spot.x for spot in picture.spots]
        if self.at is not None:
            places.append(self.at)
        low, high = min(places), max(places)
        pad = (high - low) * _X_PAD
        self.view_box.setXRange(low - pad, high + pad, padding=0)
        self.set_number_axis(
            "bottom",
            factor,
            from_axis(factor, low - pad / 2),
            from_axis(factor, high + pad / 2),
            self.view_box.width(),
        )

    def _draw_grid(self) -> None:
        path = QPainterPath()
        (low, high), _ = self.view_box.viewRange()
        for share in _SHARES:
            path.moveTo(low, share)
            path.lineTo(high, share)
        set_path(self._grid, path)
        self._grid.setPen(self.pen(self.theme.grid, width=1))

    def _tried_axis(self, picture: AlongPicture) -> tuple[float, float] | None:
        if picture.tried is None:
            return None
        low, high = (to_axis(picture.factor, value) for value in picture.tried)
        return low, high

    def _add_label(
        self, text: str, x: float, y: float, anchor: tuple[float, float], *, halo: bool = False
    ) -> pg.TextItem:
        item = self.label_item(text, self.theme.text, anchor, halo=halo)
        self.view_box.addItem(item, ignoreBounds=True)
        item.setPos(float(x), float(y))
        self._labels.append(item)
        return item

    def _draw_untried(self, picture: AlongPicture) -> None:
        """Hatch what no graded attempt brackets, and say so where there is room."""
        (low, high), _ = self.view_box.viewRange()
        tried = self._tried_axis(picture)
        gaps = [(low, high)] if tried is None else [(low, tried[0]), (tried[1], high)]
        per_x, per_y = self.pixel_size()
        path = QPainterPath()
        for start, end in gaps:
            width, height = (end - start) / per_x, 100.0 / per_y
            if width < 2:
                continue
            for (x1, y1), (x2, y2) in hatch_lines(width, height, hatch_spacing()):
                path.moveTo(start + x1 * per_x, y1 * per_y)
                path.lineTo(start + x2 * per_x, y2 * per_y)
            if width > self.metrics().horizontalAdvance("not tried") + 12:
                middle = (start + end) / 2
                self._add_label("not tried", middle, self._emptiest(middle), (0.5, 0.5), halo=True)
        set_path(self._hatch, path)
        colour = QColor(self.theme.line)
        colour.setAlphaF(0.35)
        self._hatch.setPen(self.pen(colour, width=1))

    def _place_spots(self, picture: AlongPicture) -> None:
        (low, high), _ = self.view_box.viewRange()
        width = self.view_box.width()
        points = self._rails.places(
            picture.spots, (low, high), width_px=width, mark_px=MARK_PX, fan_out=picture.factor.is_choice
        )
        self.show_spots(picture.spots, points)
        if picture.not_drawn:
            self._add_label(drawn_text(picture), high, 98.0, (1.0, 0.0), halo=True)
