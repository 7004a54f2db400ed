"""The answer in parts: cards beside each other where there is room, and the comparisons that were made."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET
from stirfall.desktop.evidence.compare_state import Card, KeptLine
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card as PressedCard
from stirfall.desktop.plan.parts import show_text
from stirfall.desktop.theme import set_surface_role, set_text_role

_LETTERS = 42  # a card narrower than so many letters is hard to read


class AnswerCard(QFrame):
    """A heading with its lines: the first as it is, the others smaller in weight."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        set_surface_role(self, "raised")
        self.title = wrapped_label(f"{name}_title", "heading")
        self.first, self.others = wrapped_label(f"{name}_first"), wrapped_label(f"{name}_others", "muted")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GAP, GAP, 2 * GAP, 2 * GAP)
        column.setSpacing(HALF_GAP)
        for part in (self.title, self.first, self.others):
            column.addWidget(part)
        column.addStretch(1)

    def show_card(self, card: Card, *, is_stale: bool) -> None:
        """Show a part of the answer."""
        self.title.setText(card.title)
        self.first.setText(card.lines[0])
        set_text_role(self.first, "muted" if is_stale else "")
        show_text(self.others, "\n".join(card.lines[1:]))
        self.setAccessibleName(card.title)
        self.setAccessibleDescription(" ".join(card.lines))


class CardGrid(QWidget):
    """Cards in one or two columns."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self._name = name
        self.cards: list[AnswerCard] = []
        self._shown = self._columns = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(GAP)

    def show_cards(self, cards: tuple[Card, ...], *, is_stale: bool) -> None:
        """Show as many cards as there are."""
        while len(self.cards) < len(cards):
            self.cards.append(AnswerCard(f"{self._name}_{len(self.cards) + 1}"))
            self._columns = 0
        for at, made in enumerate(self.cards):
            made.setVisible(at < len(cards))
            if at < len(cards):
                made.show_card(cards[at], is_stale=is_stale)
        if len(cards) != self._shown:
            self._shown, self._columns = len(cards), 0
        self.setVisible(bool(cards))
        self._arrange()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use the room that there is now."""
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        letter = self.fontMetrics().averageCharWidth()
        columns = 2 if self.width() >= 2 * _LETTERS * letter + 10 * GAP else 1
        if columns == self._columns:
            return
        self._columns = columns
        for made in self.cards:
            self._grid.removeWidget(made)
        for at, made in enumerate(self.cards[: self._shown]):
            self._grid.addWidget(made, at // columns, at % columns)
        for column in (0, 1):
            self._grid.setColumnStretch(column, int(column < columns))


class KeptCard(PressedCard):
    """One comparison that was made; pressed, it is shown again."""

    def __init__(self, place: int) -> None:
        super().__init__(f"compare_kept_{place + 1}")
        self.setMinimumHeight(TARGET)
        self.words = wrapped_label(f"compare_kept_{place + 1}_words")
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * GAP, GAP, 2 * GAP, GAP)
        column.addWidget(self.words)

    def show_line(self, line: KeptLine) -> None:
        """Show a comparison; the one on show is marked."""
        self.words.setText(f"{'➤ ' if line.is_shown else ''}{line.text}")
        self.tell(line.text, "shown above" if line.is_shown else "press to show it again")
