"""A clearly visible ring around whatever has the keyboard."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QWidget
from shiboken6 import isValid

_WIDTH = 2.0
_MARGIN = 4  # leaves a gap of the surface, so that the ring stands out around what wears the same colour
_MOVES = frozenset({QEvent.Type.Move, QEvent.Type.Resize, QEvent.Type.Show, QEvent.Type.Hide})


class FocusRing(QWidget):
    """Follows the focus inside one window and draws a ring in the palette's accent, above everything else.

    Qt's own focus frame is a sibling of its widget and is cut off where the widget touches the edge of its parent;
    this ring is a child of the window, so nothing cuts it but the window and the scroll area around the widget.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setObjectName("focus_ring")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._window = window
        self._watched: list[QWidget] = []
        self.hide()
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.focusChanged.connect(self._follow)

    @property
    def target(self) -> QWidget | None:
        """The widget that the ring is around."""
        return self._watched[0] if self._watched and all(map(isValid, self._watched)) else None

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go along when the widget or one of its parents moves."""
        if event.type() in _MOVES:
            self._place()
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the ring."""
        del event
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Accent), _WIDTH))
        inset = _WIDTH / 2
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(inset, inset, -inset, -inset), 4, 4)
        painter.end()

    def _follow(self, _old: QWidget | None, now: QWidget | None) -> None:
        for widget in self._watched:
            if isValid(widget):
                widget.removeEventFilter(self)
        self._watched = []
        walker = now if stands_in(self._window, now) else None
        while walker is not None and walker is not self._window:
            walker.installEventFilter(self)
            self._watched.append(walker)
            walker = walker.parentWidget()
        self._place()

    def _place(self) -> None:
        target = self.target
        if target is None or not target.isVisibleTo(self._window):
            self.hide()
            return
        around = QRect(target.mapTo(self._window, QPoint(0, 0)), target.size())
        around = around.adjusted(-_MARGIN, -_MARGIN, _MARGIN, _MARGIN) & self._window.rect()
        for parent in self._watched[1:]:
            if isinstance(parent, QAbstractScrollArea):
                around &= QRect(parent.mapTo(self._window, QPoint(0, 0)), parent.size())
        self.setGeometry(around)
        self.setVisible(not around.isEmpty())
        self.raise_()


def stands_in(window: QWidget, widget: QWidget | None) -> bool:
    """Whether a widget that Qt names as having the keyboard stands in a window.

    While a dialog is being destroyed, Qt may name a widget that is half gone; then it does not.
    """
    try:
        return widget is not None and isValid(widget) and window.isAncestorOf(widget)
    except RuntimeError:  # it went between the two questions
        return False
