"""A quiet frame around the control that the tour points at."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QRectF, Qt, QTimer
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QAbstractScrollArea, QWidget
from shiboken6 import isValid

_WIDTH, _MARGIN = 3.0, 6
_MOVES = frozenset({QEvent.Type.Move, QEvent.Type.Resize, QEvent.Type.Show, QEvent.Type.Hide})


class TourFrame(QWidget):
    """Stands around a widget of the window, above everything, without taking mouse or keyboard.

    Broken lines tell it from the ring around what has the keyboard.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setObjectName("tour_frame")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._window = window
        self._watched: list[QWidget] = []
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self.place)
        self.hide()

    @property
    def target(self) -> QWidget | None:
        """The widget that it is around."""
        return self._watched[0] if self._watched and all(map(isValid, self._watched)) else None

    def point_at(self, target: QWidget | None) -> None:
        """Stand around another widget; None hides the frame."""
        for widget in self._watched:
            if isValid(widget):
                widget.removeEventFilter(self)
        self._watched = []
        walker = target
        while walker is not None and walker is not self._window:
            walker.installEventFilter(self)
            self._watched.append(walker)
            walker = walker.parentWidget()
        self.place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go along when the widget or one of its parents moves."""
        if event.type() in _MOVES:
            self._soon.start(0)
        return super().eventFilter(watched, event)

    def place(self) -> None:
        """Stand where the widget is now, or be hidden where it cannot be seen."""
        around = self.around
        self.setGeometry(around)
        self.setVisible(not around.isEmpty())
        self.raise_()

    @property
    def around(self) -> QRect:
        """The place of the widget in the window, with a margin; empty where it cannot be seen."""
        target = self.target
        if target is None or not target.isVisibleTo(self._window):
            return QRect()
        around = QRect(target.mapTo(self._window, QPoint(0, 0)), target.size())
        around = around.adjusted(-_MARGIN, -_MARGIN, _MARGIN, _MARGIN) & self._window.rect()
        for parent in self._watched[1:]:
            if isinstance(parent, QAbstractScrollArea):
                around &= QRect(parent.mapTo(self._window, QPoint(0, 0)), parent.size())
        return around

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(self.palette().color(QPalette.ColorRole.Accent), _WIDTH)
        pen.setDashPattern([4.0, 2.0])
        painter.setPen(pen)
        inset = _WIDTH / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(inset, inset, -inset, -inset), 6, 6)
        painter.end()
