"""What the curve and the map share: axes, theme, focus, hatching, marks, and how keys and clicks reach them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QPointF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QKeyEvent, QMouseEvent, QPainterPath, QPen
from PySide6.QtWidgets import QApplication, QFrame, QGraphicsPathItem, QLabel, QWidget

from stirfall.bench.factors import Factor
from stirfall.bench.units import THIN_SPACE, liked_unit, unit_kind, unit_label
from stirfall.desktop.odds.marks import Spot
from stirfall.desktop.theme import SPACING, Theme
from stirfall.reporting.axis_ticks import axis_title, ticks, to_axis

MARK_PX = 10.0
HANDLE_PX = 14.0
_HIT_PX = 9.0
_HATCH_PX = 9.0
_NOTE_PX = 320
_MARGINS = (2, 6, 14, 2)


class PicturePlot(pg.PlotWidget):
    """A plot that answers to clicks and keys; subclasses draw.

    Signals:
        moved(object): where a click or key puts the mark in hand, in axis positions (float, or a pair).
        stepped(int, int): steps along x and y by arrow keys.
        attempt_chosen(str): the id of the attempt whose mark was clicked or confirmed.
        pointed(str): the id of the attempt under the pointer or the key cursor, "" when none.
    """

    moved = Signal(object)
    stepped = Signal(int, int)
    attempt_chosen = Signal(str)
    pointed = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        """Make a plot; ``ink`` thickens pens and marks for pictures that are painted at a larger scale."""
        super().__init__(parent, background=theme.raised)
        self.theme = theme
        self.ink = ink
        self.decimal = "."
        self.is_compact = False
        self.spots: tuple[Spot, ...] = ()
        self.spot_points = np.empty((0, 2))
        self._pointed = ""
        self._dragging = False
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setMinimumSize(280, 150)
        self.plot_item = self.getPlotItem()
        self.plot_item.setMenuEnabled(False)
        self.plot_item.hideButtons()
        self.plot_item.layout.setContentsMargins(*_MARGINS)
        self.view_box = self.plot_item.getViewBox()
        self.view_box.setMouseEnabled(False, False)
        self.view_box.disableAutoRange()
        self.view_box.setDefaultPadding(0.0)
        self.view_box.sigResized.connect(self._on_resized)
        # pyqtgraph puts in a viewport of its own; it takes no keys and is no control, as in every scroll area.
        self.viewport().setObjectName("qt_scrollarea_viewport")
        self.note = QLabel(self.viewport())
        self.note.setObjectName("odds_mark_note")
        self.note.setTextFormat(Qt.TextFormat.PlainText)
        self.note.setWordWrap(True)
        self.note.setMargin(SPACING // 2)
        self.note.setFrameShape(QFrame.Shape.Box)
        self.note.setAutoFillBackground(True)
        self.note.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.note.hide()
        self.scatter = pg.ScatterPlotItem(pxMode=True, size=MARK_PX)
        self.ring = pg.ScatterPlotItem(pxMode=True, size=MARK_PX + 9)
        for item, z in ((self.scatter, 20), (self.ring, 21)):
            item.setZValue(z)
            self.view_box.addItem(item, ignoreBounds=True)

    # -- what subclasses give ------------------------------------------------------------------------

    def relayout(self) -> None:
        """Place what depends on the size in pixels; called after each change of size."""

    def position_of(self, x: float, y: float) -> object:
        """Return what ``moved`` carries for a click at these view coordinates."""
        raise NotImplementedError

    def set_compact(self, is_compact: bool) -> None:
        """Leave the title of the lower axis away where height is scarce; the control above names the factor."""
        if is_compact != self.is_compact:
            self.is_compact = is_compact
            self.relayout()

    # -- theme ---------------------------------------------------------------------------------------

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        self.theme = theme
        self.setBackground(theme.raised)
        font = self.text_font()
        for name in ("left", "bottom"):
            axis = self.plot_item.getAxis(name)
            axis.setPen(self.pen(theme.line))
            axis.setTextPen(self.pen(theme.text))
            axis.setTickPen(self.pen(theme.line))
            axis.setTickFont(font)
            axis.setStyle(tickLength=4, tickTextOffset=5, hideOverlappingLabels=False)
            axis.enableAutoSIPrefix(False)
        self.relayout()
        self.viewport().update()

    def pen(self, colour: str | QColor, *, width: float = 1.0, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
        """Return a cosmetic pen: its width is in pixels of the screen whatever the axes show."""
        made = QPen(QColor(colour), width * self.ink, style)
        made.setCosmetic(True)
        return made

    def text_font(self) -> QFont:
        """Return the font of ticks and labels: the body font of the program."""
        font = QFont(QApplication.font())
        font.setPointSizeF(font.pointSizeF() * 0.93)
        return font

    def metrics(self) -> QFontMetricsF:
        """Return the metrics of ``text_font``."""
        return QFontMetricsF(self.text_font())

    def set_axis_title(self, name: str, text: str) -> None:
        """Title an axis in the text colour and size of the theme."""
        size = f"{self.text_font().pointSizeF():.1f}pt"
        axis = self.plot_item.getAxis(name)
        axis.setLabel(text, color=self.theme.text, **{"font-size": size})
        axis.showLabel(bool(text))
        axis.resizeEvent()  # else a title that became shorter or longer keeps the place of the one before

    def set_number_axis(self, name: str, factor: Factor, low: float, high: float, length_px: float) -> None:
        """Put round ticks of ``factor`` between two values of its unit on an axis of this length."""
        room = self.metrics().horizontalAdvance("30 min") + 8 if name == "bottom" else self.metrics().height() * 2
        most = max(2, int(length_px / room))
        found = ticks(factor, low, high, most=most, decimal=self.decimal)
        axis = self.plot_item.getAxis(name)
        unit = self._unit_on_ticks(factor)
        places = [(to_axis(factor, tick.value), f"{tick.label}{unit}") for tick in found]
        start, end = to_axis(factor, low), to_axis(factor, high)
        edge = (end - start) * 0.5 * self.metrics().horizontalAdvance("30 min") / max(length_px, 1.0)
        if name == "bottom":  # a label that would reach over the left axis is not drawn, so its tick goes too
            places = [(at, label) for at, label in places if at >= start + 0.15 * edge]
        axis.setTicks([places])
        self.set_axis_title(
            name, "" if self.is_compact and name == "bottom" else axis_title(factor, decimal=self.decimal)
        )

    def _unit_on_ticks(self, factor: Factor) -> str:
        """Return what stands behind each tick of a temperature where there is no room for a title."""
        if not self.is_compact or unit_kind(factor.unit) != "temperature":
            return ""
        return f"{THIN_SPACE}{unit_label(liked_unit(factor.unit, self.decimal))}"

    def label_item(self, text: str, colour: str, anchor: tuple[float, float], *, halo: bool = False) -> pg.TextItem:
        """Make a direct label; ``halo`` puts the surface behind it so that lines do not cross its letters."""
        fill = QColor(self.theme.raised)
        fill.setAlphaF(0.85)
        item = pg.TextItem(text, color=QColor(colour), anchor=anchor, fill=fill if halo else None)
        item.setFont(self.text_font())
        item.setZValue(15)
        return item

    # -- marks ---------------------------------------------------------------------------------------

    def show_spots(self, spots: Sequence[Spot], points: np.ndarray) -> None:
        """Draw attempts as marks of their outcome at view coordinates ``points`` (n, 2)."""
        self.spots, self.spot_points = tuple(spots), points
        marks = [self.theme.mark(spot.outcome) for spot in spots]
        brushes = {mark.colour: QBrush(QColor(mark.colour)) for mark in self.theme.marks.values()}
        edge = self.pen(self.theme.raised)
        self.scatter.setData(
            x=points[:, 0],
            y=points[:, 1],
            symbol=[mark.symbol for mark in marks],
            brush=[brushes[mark.colour] for mark in marks],
            pen=edge,
            size=MARK_PX * self.ink,
        )
        self._draw_ring()

    def spot_at(self, position: QPointF) -> Spot | None:
        """Return the attempt whose mark is under a place of the viewport, or None."""
        if not len(self.spots):
            return None
        size = self.pixel_size()
        here = self.view_box.mapSceneToView(self.mapToScene(position.toPoint()))
        away = (self.spot_points - (here.x(), here.y())) / size
        distance = np.hypot(away[:, 0], away[:, 1])
        nearest = int(np.argmin(distance))
        return self.spots[nearest] if distance[nearest] <= _HIT_PX else None

    def pixel_size(self) -> tuple[float, float]:
        """Return the width and height of one pixel in view coordinates."""
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        box = self.view_box
        return (x_high - x_low) / max(box.width(), 1.0), (y_high - y_low) / max(box.height(), 1.0)

    def viewport_position(self, x: float, y: float) -> QPointF:
        """Return where view coordinates are in the viewport."""
        return QPointF(self.mapFromScene(self.view_box.mapViewToScene(QPointF(x, y))))

    def pointed_place(self) -> QPointF | None:
        """Return where in the viewport the pointed attempt's mark is, or None."""
        if not self._pointed:
            return None
        for spot, point in zip(self.spots, self.spot_points, strict=True):
            if spot.attempt_id == self._pointed:
                return self.viewport_position(float(point[0]), float(point[1]))
        return None

    def show_note(self, text: str) -> None:
        """Write about the pointed attempt beside its mark, or take the note away."""
        place = self.pointed_place()
        if not text or place is None:
            self.note.hide()
            return
        self.note.setText(text)
        width = min(_NOTE_PX, self.viewport().width() - 2 * SPACING)
        self.note.setFixedWidth(width)
        height = self.note.heightForWidth(width)
        self.note.setFixedHeight(height)
        left = min(max(place.x() - width / 2, SPACING), self.viewport().width() - width - SPACING)
        below = place.y() + MARK_PX + height < self.viewport().height()
        top = place.y() + MARK_PX if below else place.y() - MARK_PX - height
        self.note.move(round(left), round(max(top, 0)))
        self.note.show()

    def _point_at(self, attempt_id: str) -> None:
        if attempt_id != self._pointed:
            self._pointed = attempt_id
            self._draw_ring()
            self.pointed.emit(attempt_id)

    def _draw_ring(self) -> None:
        chosen = [index for index, spot in enumerate(self.spots) if spot.attempt_id == self._pointed]
        points = self.spot_points[chosen] if chosen else np.empty((0, 2))
        pen = self.pen(self.theme.focus, width=2)
        self.ring.setData(
            x=points[:, 0], y=points[:, 1], symbol="o", brush=None, pen=pen, size=(MARK_PX + 9) * self.ink
        )

    def _walk(self, direction: int) -> None:
        if not self.spots:
            return
        order = np.lexsort((self.spot_points[:, 1], self.spot_points[:, 0]))
        ids = [self.spots[index].attempt_id for index in order]
        if self._pointed in ids:
            index = (ids.index(self._pointed) + direction) % len(ids)
        else:
            index = 0 if direction > 0 else len(ids) - 1
        self._point_at(ids[index])

    # -- mouse and keys ------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the attempt under the pointer, or start to move the mark in hand."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        spot = self.spot_at(event.position())
        if spot is not None:
            self.attempt_chosen.emit(spot.attempt_id)
        elif self.view_box.sceneBoundingRect().contains(self.mapToScene(event.position().toPoint())):
            self._dragging = True
            self._move_to(event.position())
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag the mark in hand, or tell about the attempt under the pointer."""
        if self._dragging:
            self._move_to(event.position())
        else:
            spot = self.spot_at(event.position())
            self._point_at(spot.attempt_id if spot else "")
        event.accept()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a drag."""
        self._dragging = False
        event.accept()

    def leaveEvent(self, event: object) -> None:
        """Forget the attempt under the pointer."""
        del event
        if not self.hasFocus():
            self._point_at("")

    def _move_to(self, position: QPointF) -> None:
        here = self.view_box.mapSceneToView(self.mapToScene(position.toPoint()))
        (x_low, x_high), (y_low, y_high) = self.view_box.viewRange()
        self.moved.emit(self.position_of(min(max(here.x(), x_low), x_high), min(max(here.y(), y_low), y_high)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move the mark in hand, with Ctrl they walk over the attempts; Enter chooses one."""
        key, modifiers = event.key(), event.modifiers()
        sideways = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(key), 0)
        upwards = {Qt.Key.Key_Down: -1, Qt.Key.Key_Up: 1}.get(Qt.Key(key), 0)
        if sideways and modifiers & Qt.KeyboardModifier.ControlModifier:
            self._walk(sideways)
        elif sideways or upwards:
            far = 5 if modifiers & Qt.KeyboardModifier.ShiftModifier else 1
            self.stepped.emit(sideways * far, upwards * far)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self._pointed:
            self.attempt_chosen.emit(self._pointed)
        elif key == Qt.Key.Key_Escape and self._pointed:
            self._point_at("")
        else:
            event.ignore()
            return
        event.accept()

    def wheelEvent(self, event: object) -> None:
        """Leave the wheel to the page; a picture never zooms by accident."""
        event.ignore()  # type: ignore[attr-defined]

    def draw_as_lines(self) -> None:
        """Draw marks as outlines instead of cached pixels, for files that scale."""
        for item in self.view_box.allChildItems():
            if isinstance(item, pg.ScatterPlotItem):
                item.setExportMode(True, {"antialias": True})

    def lay_out(self, size: QSize) -> None:
        """Take a size at once, also while hidden; for pictures that never come to the screen."""
        self.resize(size)
        for _ in range(2):  # the width of an axis settles only after its labels are known
            self.grab()
            self.plot_item.layout.activate()

    def _on_resized(self) -> None:
        self.relayout()


def path_item(plot: PicturePlot, z: float) -> QGraphicsPathItem:
    """Add an empty path without pen or brush to the picture and return it."""
    item = QGraphicsPathItem()
    item.setPen(QPen(Qt.PenStyle.NoPen))
    item.setZValue(z)
    plot.view_box.addItem(item, ignoreBounds=True)
    return item


def set_path(item: QGraphicsPathItem, path: QPainterPath) -> None:
    """Show a path; an empty one is hidden, because an SVG file must not hold an empty path."""
    item.setPath(path)
    item.setVisible(not path.isEmpty())


def hatch_spacing() -> float:
    """Return the distance of hatching lines in pixels, along an edge."""
    return _HATCH_PX
