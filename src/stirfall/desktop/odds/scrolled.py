"""A view of words and small pictures that scrolls up and down, never sideways, with a message where it is empty."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QLabel, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role

if TYPE_CHECKING:
    from PySide6.QtCore import SignalInstance

    from stirfall.desktop.workspace import Workspace

_MARGIN = 2 * SPACING
_NARROW = "\u202f"  # as narrow as the thin space of a unit, and no place to break a line


class WrappedLabel(QLabel):
    """A label that wraps, but never between a number and its unit."""

    def setText(self, text: str) -> None:
        """Show a text."""
        held = text.replace(THIN_SPACE, _NARROW).replace(" %", f"{_NARROW}%")
        super().setText(held.replace(" n = ", " n\u00a0=\u00a0"))


def wrapped_label(name: str, role: str = "") -> QLabel:
    """Return a label that wraps to whatever width there is."""
    label = WrappedLabel()
    label.setObjectName(name)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    if role:
        set_text_role(label, role)
    return label


class KeyScroll(QScrollArea):
    """Scrolls by arrow, page, Home and End keys while it or something in it has the keyboard."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Home and End go to the ends; the rest is Qt's own."""
        bar = self.verticalScrollBar()
        if event.key() == Qt.Key.Key_Home:
            bar.setValue(bar.minimum())
        elif event.key() == Qt.Key.Key_End:
            bar.setValue(bar.maximum())
        else:
            super().keyPressEvent(event)


class Watched(Protocol):
    """A view-model that works only while somebody looks, and says when its state changed."""

    state: Any

    @property
    def changed(self) -> SignalInstance:
        """The signal of a new state."""

    def set_shown(self, shown: bool) -> None:
        """Begin or end to look."""


class ScrolledView(QWidget):
    """A column in a scroll area, or one message in its place."""

    def __init__(self, name: str, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self.setAccessibleName(title)
        self._title = title
        self.message = wrapped_label(f"{name}_message")
        self.message.setMargin(_MARGIN)
        self.message.setAlignment(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter)
        self.area = KeyScroll()
        self.area.setObjectName(f"{name}_area")
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        name_control(self.area, title)
        self.area.setToolTip("")
        self.content = QWidget()
        self.column = QVBoxLayout(self.content)
        self.column.setContentsMargins(_MARGIN // 2, SPACING, _MARGIN // 2, SPACING)
        self.column.setSpacing(SPACING)
        self.area.setWidget(self.content)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.area, 1)
        whole.addWidget(self.message, 1)
        self._followed: Watched | None = None

    def follow(self, view_model: Watched, workspace: Workspace) -> None:
        """Show the states of a view-model, which works only while this view is shown; again in a new theme."""
        self._followed = view_model
        view_model.changed.connect(self.render)
        workspace.theme_changed.connect(self._render_again)
        self.render(view_model.state)

    def _render_again(self, *_unused: object) -> None:
        if self._followed is not None:
            self.render(self._followed.state)

    def showEvent(self, event: QShowEvent) -> None:
        """Somebody looks."""
        super().showEvent(event)
        if self._followed is not None:
            self._followed.set_shown(True)

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks any more."""
        super().hideEvent(event)
        if self._followed is not None:
            self._followed.set_shown(False)

    def show_message(self, text: str) -> None:
        """Show a message in place of the column; "" shows the column."""
        self.message.setText(text)
        self.message.setVisible(bool(text))
        self.area.setVisible(not text)

    def describe(self, text: str) -> None:
        """Say in one or two sentences what the view shows, for people who cannot see it."""
        self.area.setAccessibleDescription(text)
