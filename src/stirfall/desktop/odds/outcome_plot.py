"""The outcomes along one factor: what share stays unparted, beads, and comes out clean, stacked to the whole."""

from __future__ import annotations

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QBrush, QColor, QPainterPath, QPolygonF
from PySide6.QtWidgets import QWidget

from stirfall.bench.estimates import Estimate
from stirfall.bench.outcomes import Outcome
from stirfall.desktop.odds.along_plot import LATE_OPACITY, AlongPlot
from stirfall.desktop.odds.outcomes import WORDS, axis_places, shares_at
from stirfall.desktop.odds.picture_plot import path_item, set_path
from stirfall.desktop.odds.state import Floats, OutcomePicture, ShareBand
from stirfall.desktop.theme import Theme
from stirfall.reporting.shares import percent

_BAND_ALPHA, _UNTRIED_ALPHA, _PATTERN_ALPHA = 0.30, 0.13, 0.75
_PATTERN_PX = 8.0
_BAR = 0.34
_Pieces = list[tuple[Floats, Floats, Floats]]
"""Parts of a band: places, lower edges and upper edges, each (points,)."""


class OutcomePlot(AlongPlot):
    """The shares of the outcomes along one factor; ``moved`` carries an axis position."""

    y_titles = ("probability of each outcome", "each outcome")
    picture: OutcomePicture | None

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, parent, ink=ink)
        self.setObjectName("odds_outcomes")
        outcomes = tuple(WORDS)
        self._bands = {outcome: path_item(self, -3) for outcome in outcomes}
        self._faint = {outcome: path_item(self, -3) for outcome in outcomes}
        self._patterns = {outcome: path_item(self, -2) for outcome in outcomes}
        self._edges = path_item(self, 5)
        self._dashes = path_item(self, 5)
        self._stem = self._add(pg.PlotCurveItem(), 25)
        self.tags = [self.label_item("", theme.text, (0.0, 0.5), halo=True) for _ in outcomes]
        for tag in self.tags:
            tag.setZValue(28)
            self.view_box.addItem(tag, ignoreBounds=True)
        self.said = ""
        self._is_built = True
        self.apply_theme(theme)

    # -- what is shown ---------------------------------------------------------------------------------

    def show_picture(self, picture: OutcomePicture | None, *, late: bool, decimal: str = ".") -> None:
        """Show the outcomes; what is drawn already is left alone. ``late`` greys them."""
        wanted = (picture, decimal)
        if any(new is not old for new, old in zip(wanted, self._drawn or (0, 0), strict=True)):
            self._drawn = wanted
            self.picture, self.decimal = picture, decimal
            self._redraw()
        for item in (*self._drawn_items(), *self._labels):
            item.setOpacity(LATE_OPACITY if late else 1.0)

    def show_mark(self, at: float | None, estimate: Estimate | None, *, late: bool = False) -> None:
        """Place the mark in hand at an axis position with the three shares there, or hide it."""
        self.at, self.estimate = at, estimate
        visible = at is not None and self.picture is not None
        for item in (self._stem, *self.tags):
            item.setVisible(visible)
            item.setOpacity(LATE_OPACITY if late else 1.0)
        if at is not None and self.picture is not None:
            self._draw_mark(self.picture, at, estimate)

    def _drawn_items(self) -> list[pg.GraphicsObject]:
        stacks = (self._bands, self._faint, self._patterns)
        return [self._edges, self._dashes, *(item for stack in stacks for item in stack.values())]

    # -- drawing ---------------------------------------------------------------------------------------

    def _redraw(self) -> None:
        self._clear_labels()
        self._fit_y()
        self._draw_grid()
        for item in self._drawn_items():
            set_path(item, QPainterPath())
        set_path(self._hatch, QPainterPath())
        if self.picture is None:
            self._clear_axis()
            return
        self._fit_x(self.picture)
        self._place_spots(self.picture)
        self._draw_bands(self.picture)
        if self.picture.factor.is_choice:
            self._label_untried_levels(self.picture)
        else:
            self._draw_untried(self.picture)
        self._label_bands(self.picture)

    def _draw_bands(self, picture: OutcomePicture) -> None:
        tried, untried = self._parts(picture)
        below = np.zeros(len(picture.x))
        solid, dashed = QPainterPath(), QPainterPath()
        for band in picture.bands:
            above = below + 100 * band.mean
            colour = QColor(self.theme.mark(band.outcome).colour)
            inside, outside = (_pieces(picture, part, below, above) for part in (tried, untried))
            for item, pieces, alpha in (
                (self._bands[band.outcome], inside, _BAND_ALPHA),
                (self._faint[band.outcome], outside, _UNTRIED_ALPHA),
            ):
                set_path(item, _filled(pieces))
                colour.setAlphaF(alpha)
                item.setBrush(QBrush(colour))
            self._draw_pattern(band, inside)
            if band is not picture.bands[-1]:
                _draw_edges(solid, inside)
                _draw_edges(dashed, outside)
            below = above
        set_path(self._edges, solid)
        set_path(self._dashes, dashed)
        self._edges.setPen(self.pen(self.theme.text, width=1.8))
        self._dashes.setPen(self.pen(self.theme.text, width=1.4, style=Qt.PenStyle.DashLine))

    def _parts(self, picture: OutcomePicture) -> tuple[list[slice], list[slice]]:
        """Return which points were tried and which not; neighbouring pieces share a point, levels stand alone."""
        factor = picture.factor
        if factor.is_choice:
            levels = list(enumerate(factor.levels))
            tried = [slice(place, place + 1) for place, level in levels if picture.was_tried(level)]
            return tried, [slice(place, place + 1) for place, level in levels if not picture.was_tried(level)]
        if picture.tried is None:
            return [], [slice(0, len(picture.x))]
        low, high = picture.tried
        inside = np.flatnonzero((picture.x >= low * (1 - 1e-9)) & (picture.x <= high * (1 + 1e-9)))
        if not inside.size:
            return [], [slice(0, len(picture.x))]
        first, last = int(inside[0]), int(inside[-1])
        return [slice(first, last + 1)], [slice(0, first + 1), slice(last, len(picture.x))]

    def _draw_pattern(self, band: ShareBand, pieces: _Pieces) -> None:
        """Put dots over what beads and upright lines over what does not part, so that colour is not alone."""
        per_x, per_y = self.pixel_size()
        path = QPainterPath()
        for x, low, high in pieces:
            for column, place in enumerate(_steps(x[0], x[-1], _PATTERN_PX * per_x)):
                bottom, top = float(np.interp(place, x, low)), float(np.interp(place, x, high))
                if band.outcome is Outcome.NOTHING_PARTED:
                    path.moveTo(place, bottom)
                    path.lineTo(place, top)
                elif band.outcome is Outcome.PARTED_BEADS:
                    shift = 0.5 * (column % 2)
                    first = np.ceil(bottom / (_PATTERN_PX * per_y) - shift) + shift
                    for y in np.arange(first * _PATTERN_PX * per_y, top, _PATTERN_PX * per_y):
                        path.moveTo(place, float(y))
                        path.lineTo(place + 0.01 * per_x, float(y))
        item = self._patterns[band.outcome]
        set_path(item, path)
        colour = QColor(self.theme.mark(band.outcome).colour)
        colour.setAlphaF(_PATTERN_ALPHA)
        dots = band.outcome is Outcome.PARTED_BEADS
        pen = self.pen(colour, width=2.6 if dots else 1.0)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        item.setPen(pen)

    def _label_untried_levels(self, picture: OutcomePicture) -> None:
        for place, level in enumerate(picture.factor.levels):
            if not picture.was_tried(level):
                self._add_label("not tried", float(place), 100.0, (0.5, 0.0), halo=True)

    def _emptiest(self, place: float) -> float:
        """Return the middle of the thickest band at a place."""
        picture = self.picture
        if picture is None:
            return 50.0
        shares = shares_at(picture, place)
        tops = np.cumsum(shares)
        thickest = int(np.argmax(shares))
        return 100.0 * float(tops[thickest] - shares[thickest] / 2)

    # -- words -----------------------------------------------------------------------------------------

    def _label_bands(self, picture: OutcomePicture) -> None:
        """Write each outcome into its band, where the words fit best and away from other words."""
        places = axis_places(picture)
        below = np.zeros(len(places))
        for band in picture.bands:
            above = below + 100 * band.mean
            self._label_band(band, places, below, above)
            below = above

    def _label_band(self, band: ShareBand, places: Floats, below: Floats, above: Floats) -> None:
        line = self.metrics().height()
        thickest = float((above - below).max()) / self._per_px
        if thickest < 0.35 * line:
            return
        for words in band.labels:
            found = self._room(words, places, below, above)
            last = words == band.labels[-1]
            if found is not None and (last or found[2] >= 1.05 * line):
                self._add_label(words, found[0], found[1], (0.5, 0.5), halo=True)
                return

    def _room(self, words: str, places: Floats, below: Floats, above: Floats) -> tuple[float, float, float] | None:
        """Return place, height and free pixels of the best place for words inside a band."""
        per_x, per_y = self.pixel_size()
        half = 0.5 * (self.metrics().horizontalAdvance(words) + 8) * per_x
        (low, high), _ = self.view_box.viewRange()
        best: tuple[float, float, float] | None = None
        is_choice = self.picture is not None and self.picture.factor.is_choice
        tried = self._tried_axis(self.picture) if self.picture is not None and not is_choice else None
        first, last = tried or (low, high)
        for place in places[:: 1 if is_choice else 3]:
            if place - half < low or place + half > high or (is_choice and half > _BAR):
                continue
            here = np.abs(places - place) <= (0.0 if is_choice else half)
            floor, ceiling = float(below[here].max()), float(above[here].min())
            middle = 0.5 * (floor + ceiling) if ceiling > floor else self._middle(place, places, below, above)
            room = min((ceiling - floor) / per_y, 4 * self.metrics().height())
            if self._is_taken(float(place), middle, half):
                room -= 3 * self.metrics().height()
            room -= (
                self.metrics().height() * abs(place - 0.5 * (first + last)) / (high - low)
            )  # rather in the middle
            if best is None or room > best[2]:
                best = (float(place), middle, room)
        return best

    def _middle(self, place: float, places: Floats, below: Floats, above: Floats) -> float:
        return 0.5 * float(np.interp(place, places, below) + np.interp(place, places, above))

    def _is_taken(self, place: float, height: float, half: float) -> bool:
        """Whether words here would touch other words, or the tags of the mark in hand."""
        per_x, per_y = self.pixel_size()
        if self.at is not None and abs(place - self.at) < half + self._tag_width() * per_x:
            return True
        line = 1.2 * self.metrics().height() * per_y
        for label in self._labels:
            other = 0.5 * label.boundingRect().width() * per_x
            if abs(label.pos().x() - place) < half + other and abs(label.pos().y() - height) < line:
                return True
        return False

    def _tag_width(self) -> float:
        return float(self.metrics().horizontalAdvance("● below 1 %")) + 16

    # -- the mark in hand ------------------------------------------------------------------------------

    def _draw_mark(self, picture: OutcomePicture, at: float, estimate: Estimate | None) -> None:
        (low, high), (bottom, top) = self.view_box.viewRange()
        self._stem.setData([at, at], [bottom, top], pen=self.pen(self.theme.text, width=1.5))
        shares = shares_at(picture, at, estimate.mean if estimate else None)
        heights = _apart(
            [100 * (sum(shares[:index]) + share / 2) for index, share in enumerate(shares)],
            1.2 * self.metrics().height() * self._per_px,
        )
        self.said = _said(picture, shares)
        at_right = at > low + 0.8 * (high - low)
        offset = 6 * self.pixel_size()[0]
        font = self.text_font()
        font.setBold(True)
        for tag, band, share, height in zip(self.tags, picture.bands, shares, heights, strict=True):
            tag.setFont(font)
            tag.setAnchor((1.0, 0.5) if at_right else (0.0, 0.5))
            glyph = self.theme.mark(band.outcome).glyph
            tag.setText(f"{glyph} {percent(share)}", color=QColor(self.theme.text))
            tag.fill = QBrush(QColor(self.theme.raised))
            tag.setPos(at - offset if at_right else at + offset, height)


def _said(picture: OutcomePicture, shares: tuple[float, ...]) -> str:
    parts = ", ".join(f"{band.word} {percent(share)}" for band, share in zip(picture.bands, shares, strict=True))
    return f"At the mark: {parts}."


def _pieces(picture: OutcomePicture, parts: list[slice], below: Floats, above: Floats) -> _Pieces:
    """Return the parts of a band in axis positions; a level of a choice becomes a bar."""
    places = axis_places(picture)
    found: _Pieces = []
    for part in parts:
        x, low, high = places[part], below[part], above[part]
        if picture.factor.is_choice:
            x = np.array([x[0] - _BAR, x[0] + _BAR])
            low, high = np.repeat(low, 2), np.repeat(high, 2)
        if len(x) > 1:
            found.append((x, low, high))
    return found


def _filled(pieces: _Pieces) -> QPainterPath:
    path = QPainterPath()
    for x, low, high in pieces:
        corners = [QPointF(a, b) for a, b in zip(x, high, strict=True)]
        corners += [QPointF(a, b) for a, b in zip(x[::-1], low[::-1], strict=True)]
        path.addPolygon(QPolygonF(corners))
        path.closeSubpath()
    return path


def _draw_edges(path: QPainterPath, pieces: _Pieces) -> None:
    for x, _low, high in pieces:
        path.addPolygon(QPolygonF([QPointF(a, b) for a, b in zip(x, high, strict=True)]))


def _steps(low: float, high: float, step: float) -> Floats:
    """Return places a step apart that stay where they are when the band changes its ends."""
    return np.arange(np.ceil(low / step) * step, high, step)


def _apart(heights: list[float], gap: float) -> list[float]:
    """Return ascending heights moved so that neighbours are a gap apart and all stay between 0 and 100."""
    placed: list[float] = []
    for height in heights:
        least = placed[-1] + gap if placed else gap / 2
        placed.append(max(height, least))
    ceiling = 100 - gap / 2
    for index in range(len(placed) - 1, -1, -1):
        placed[index] = min(placed[index], ceiling)
        ceiling = placed[index] - gap
    return placed
