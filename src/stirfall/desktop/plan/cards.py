"""Rows of the plan as cards: each takes the keyboard and tells itself in words; a column holds them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from typing import Generic, TypeVar

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import HALF_GAP
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.theme import LIGHT, Theme, set_surface_role

Row = TypeVar("Row")
_OVERHANG = 2  # what some letters reach out to the left


def values_html(values: Sequence[tuple[str, str]]) -> str:
    """Return pairs of name and value as HTML in which no pair is torn apart."""
    return "&nbsp; ".join(f"{_whole(name)}&nbsp;<b>{_whole(text)}</b>" for name, text in values)


def values_text(values: Sequence[tuple[str, str]]) -> str:
    """Return pairs of name and value as plain text."""
    return ", ".join(f"{name} {text}" for name, text in values)


def _whole(text: str) -> str:
    return escape(text).replace(" ", "&nbsp;").replace("\u2009", "&nbsp;").replace("/", "/&#8288;")


def rich_label(name: str) -> QLabel:
    """Return a label of rich text that wraps to whatever width there is."""
    label = QLabel()
    label.setObjectName(name)
    label.setTextFormat(Qt.TextFormat.RichText)
    label.setWordWrap(True)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
    return label


def fixed_label(name: str = "", role: str = "") -> QLabel:
    """Return a label of one line that keeps its width."""
    label = wrapped_label(name, role)
    label.setWordWrap(False)
    label.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
    label.setIndent(_OVERHANG)
    return label


class Card(QFrame):
    """One row. Up and down go to its neighbours; what Enter or a click means is for its column to say.

    Signals:
        pressed(): it was clicked, or Enter or Space was pressed on it.
        moved(int): 1 for the next card, -1 for the one before.
    """

    pressed = Signal()
    moved = Signal(int)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.theme = LIGHT
        set_surface_role(self, "raised")

    def tell(self, name: str, description: str) -> None:
        """Say in words what the card shows."""
        self.setAccessibleName(name)
        self.setAccessibleDescription(description.strip())

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the keyboard, and be pressed."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.pressed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter or Space presses; up and down go to the neighbours."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.pressed.emit()
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.moved.emit(1 if event.key() == Qt.Key.Key_Down else -1)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Let the ring that shows the keyboard be drawn anew."""
        super().focusInEvent(event)
        self.update()


C = TypeVar("C", bound=Card)


class CardColumn(QWidget, Generic[C]):
    """As many cards as there are rows, one below the other; cards are kept for the next time.

    Signals:
        pressed(int): the card at this place was pressed.
    """

    pressed = Signal(int)

    def __init__(self, make: Callable[[int], C], title: str, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setAccessibleName(title)
        self._make = make
        self.cards: list[C] = []
        self._shown = 0
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(HALF_GAP)

    def cards_for(self, count: int, theme: Theme) -> list[C]:
        """Return ``count`` cards that are shown, in the theme; others are hidden."""
        while len(self.cards) < count:
            card = self._make(len(self.cards))
            place = len(self.cards)
            card.pressed.connect(lambda at=place: self.pressed.emit(at))
            card.moved.connect(lambda step, at=place: self._go(at + step))
            self._column.addWidget(card)
            self.cards.append(card)
        for at, card in enumerate(self.cards):
            card.setVisible(at < count)
            card.theme = theme
        self._shown = count
        self.setVisible(count > 0)
        return self.cards[:count]

    def _go(self, place: int) -> None:
        if 0 <= place < self._shown:
            self.cards[place].setFocus(Qt.FocusReason.OtherFocusReason)
