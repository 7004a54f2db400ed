"""The line at the foot of the window: what was done, what went wrong, and the one act that helps."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtGui import QAccessible, QAccessibleEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.header import ElidedLabel
from stirfall.desktop.labelled import name_control
from stirfall.desktop.notifier import Notice
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role

INFO_STAYS_MS = 12_000
_LETTERS = 90  # a notice and the status beside each other
_GLYPHS = {"info": "", "warn": "▲", "error": "■"}
_ROLES = {"info": "", "warn": "caution", "error": "error"}
_WORDS = {"info": "Note", "warn": "Attention", "error": "Problem"}


class MessageStrip(QFrame):
    """Shows one notice at a time; notes leave by themselves, problems stay until they are dismissed."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("message_strip")
        set_surface_role(self, "raised")
        self._notice: Notice | None = None
        self._kind = QLabel()
        self._text = QLabel()
        self._text.setObjectName("message_text")
        self._text.setWordWrap(True)
        self._text.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self._act = QPushButton()
        self._act.setObjectName("message_act")
        self._act.clicked.connect(self._do_act)
        self._dismiss = QPushButton("Dismiss")
        self._dismiss.setObjectName("message_dismiss")
        name_control(self._dismiss, "Dismiss the message")
        self._dismiss.clicked.connect(self.clear)
        self.status = ElidedLabel()
        self.status.setObjectName("status")
        set_text_role(self.status, "muted")
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * SPACING, SPACING // 2, 2 * SPACING, SPACING // 2)
        row.setSpacing(SPACING)
        for widget in (self._kind, self._text, self._act, self._dismiss, self.status):
            row.addWidget(widget)
        row.setStretchFactor(self._text, 1)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(INFO_STAYS_MS)
        self._timer.timeout.connect(self.clear)
        self.setMinimumHeight(self._dismiss.sizeHint().height() + SPACING)
        self.clear()

    @property
    def notice(self) -> Notice | None:
        """The notice that is shown now."""
        return self._notice

    def show_notice(self, notice: Notice) -> None:
        """Show a notice in place of the one before and announce it to screen readers."""
        self._notice = notice
        self._text.setText(notice.text)
        self._text.setAccessibleName(f"{_WORDS[notice.kind]}: {notice.text}")
        glyph = _GLYPHS[notice.kind]
        self._kind.setText(f"{glyph} {_WORDS[notice.kind]}" if glyph else "")
        for label in (self._kind, self._text):
            set_text_role(label, _ROLES[notice.kind])
        self._act.setText(notice.act)
        self._act.setAccessibleName(notice.act)
        self._act.setVisible(bool(notice.act))
        self._kind.setVisible(bool(glyph))
        self._make_room()
        self._dismiss.setVisible(True)
        QAccessible.updateAccessibility(QAccessibleEvent(self._text, QAccessible.Event.Alert))
        if notice.kind == "info":
            self._timer.start()
        else:
            self._timer.stop()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use the new room."""
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Where the strip is narrow, the status gives way to a notice."""
        is_narrow = self.width() < _LETTERS * self.fontMetrics().averageCharWidth()
        self.status.setVisible(self._notice is None or not is_narrow)

    def clear(self) -> None:
        """Remove the notice; the strip keeps its place so that nothing jumps."""
        self._notice = None
        self._timer.stop()
        self._text.clear()
        for widget in (self._kind, self._act, self._dismiss):
            widget.setVisible(False)
        self._make_room()

    def _do_act(self) -> None:
        notice = self._notice
        self.clear()
        if notice is not None and notice.on_act is not None:
            notice.on_act()
