"""The card of the tour: what is pointed at, in one or two sentences, with Next, Back and Leave."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, button, text_label
from stirfall.desktop.theme import set_primary, set_surface_role
from stirfall.desktop.tour.steps import TourStep

_LETTERS = 46
_EDGE = 2 * GAP
_FORWARD = (Qt.Key.Key_Right, Qt.Key.Key_Return, Qt.Key.Key_Enter)


class TourCard(QFrame):
    """Stands over the window where it hides least of what is pointed at.

    Signals:
        next_wanted(), back_wanted(), leave_wanted().
    """

    next_wanted = Signal()
    back_wanted = Signal()
    leave_wanted = Signal()

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self.setObjectName("tour_card")
        set_surface_role(self, "raised")
        self.count = text_label("", "muted", wrap=False)
        self.title = text_label("", "heading")
        self.text = text_label()
        self.notice = text_label("", "muted")
        self.back = button("Back", "tour_back")
        self.next = button("Next", "tour_next")
        self.leave = button("Leave", "tour_leave")
        self.leave.setAccessibleDescription("Ends the tour; nothing was changed")
        set_primary(self.next)
        row = QHBoxLayout()
        row.setSpacing(GAP)
        row.addWidget(self.leave)
        row.addStretch(1)
        row.addWidget(self.back)
        row.addWidget(self.next)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GAP, 2 * GAP, 2 * GAP, 2 * GAP)
        column.setSpacing(GAP)
        for part in (self.count, self.title, self.text, self.notice):
            part.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
            column.addWidget(part)
        column.addLayout(row)
        for watched in (self, self.back, self.next, self.leave):
            watched.installEventFilter(self)
        self.next.clicked.connect(self.next_wanted)
        self.back.clicked.connect(self.back_wanted)
        self.leave.clicked.connect(self.leave_wanted)
        self.hide()

    def show_step(self, step: TourStep, place: int, of: int, notice: str) -> None:
        """Show one step, ``place`` from 1."""
        self.count.setText(f"{place} of {of}")
        self.title.setText(step.title)
        self.text.setText(step.text)
        self.notice.setText(notice)
        self.back.setEnabled(place > 1)
        self.next.setText("Done" if place == of else "Next")
        self.next.setAccessibleName(self.next.text())
        self.next.setAccessibleDescription(f"{step.title}. {step.text}")
        self.setAccessibleName(f"Tour, {place} of {of}: {step.title}")
        self.setAccessibleDescription(f"{step.text} {notice}")

    def settle(self, kept_free: Sequence[QRect]) -> None:
        """Stand in the corner of the window that hides least of these places of it."""
        room = self._window.rect().adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE)
        width = min(_LETTERS * self.fontMetrics().averageCharWidth() + 4 * GAP, room.width())
        size = QSize(width, min(self.layout_height(width), room.height()))
        corners = (
            QPoint(room.right() - width, room.bottom() - size.height()),
            QPoint(room.left(), room.bottom() - size.height()),
            QPoint(room.right() - width, room.top()),
            QPoint(room.left(), room.top()),
            QPoint(room.center().x() - width // 2, room.bottom() - size.height()),
        )
        places = [QRect(corner, size) for corner in corners]
        self.setGeometry(min(places, key=lambda place: sum(_area(place & free) for free in kept_free)))
        self.raise_()
        ring = self._window.findChild(QWidget, "focus_ring")
        if ring is not None:  # the card must not hide where the keyboard is
            ring.raise_()

    def layout_height(self, width: int) -> int:
        """Return the height that the words need at a width."""
        layout = self.layout()
        assert layout is not None, "the card is laid out once"
        layout.invalidate()
        return layout.totalHeightForWidth(width)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Right and Enter go on, Left goes back, Escape leaves; Enter on Back or Leave presses that."""
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = Qt.Key(event.key())
            if key == Qt.Key.Key_Escape:
                self.leave_wanted.emit()
                return True
            if key == Qt.Key.Key_Left:
                self.back_wanted.emit()
                return True
            if key in _FORWARD and not (key != Qt.Key.Key_Right and watched in (self.back, self.leave)):
                self.next_wanted.emit()
                return True
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the edge, so that the card stands out over the page."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Accent), 1.0))
        painter.drawRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()


def _area(rect: QRect) -> int:
    return 0 if rect.isEmpty() else rect.width() * rect.height()
