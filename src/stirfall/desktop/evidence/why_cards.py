"""Parts of the section "Why": a gate with what was foretold and seen, and two attempts side by side."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout

from stirfall.desktop.bench_form.look import GAP, HALF_GAP
from stirfall.desktop.evidence.why_state import CompareLine, GateLine
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card, fixed_label
from stirfall.desktop.plan.tonight_cards import ChanceView
from stirfall.desktop.theme import set_text_role

_WIDE = 96  # letters, from which what the model thinks finds room beside the values
_NAME, _HERE, _THERE, _THOUGHT = range(4)


class GateCard(Card):
    """One gate: its name, what was seen, and what the others foretold."""

    def __init__(self, at: int) -> None:
        super().__init__(f"why_gate_{at + 1}")
        self.title, self.seen = fixed_label(role="muted"), fixed_label(role="heading")
        self.word = fixed_label(role="muted")
        self.word.setText("the others foretold")
        self.chance = ChanceView()
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, HALF_GAP, GAP, HALF_GAP)
        column.setSpacing(HALF_GAP)
        for part in (self.title, self.seen, self.word, self.chance):
            column.addWidget(part)

    def render_gate(self, gate: GateLine, *, is_stale: bool) -> None:
        """Show a gate."""
        self.title.setText(gate.title)
        self.seen.setText(f"{gate.glyph} {gate.seen}")
        self.chance.show_chance(gate.chance, self.theme, is_stale=is_stale)
        self.tell(gate.title, gate.told)


class CompareTable(Card):
    """Two attempts side by side, one difference below the other."""

    def __init__(self) -> None:
        super().__init__("why_table")
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(GAP, GAP, GAP, GAP)
        self._grid.setHorizontalSpacing(2 * GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        for column, stretch in ((_NAME, 3), (_HERE, 2), (_THERE, 2), (_THOUGHT, 6)):
            self._grid.setColumnStretch(column, stretch)
        self._head = tuple(self._label("muted") for _ in range(4))
        for column, label in enumerate(self._head):
            self._grid.addWidget(label, 0, column)
        self._rows: list[_Row] = []
        self._lines: tuple[CompareLine, ...] = ()
        self._is_wide = True

    @staticmethod
    def _label(role: str = "") -> QLabel:
        label = wrapped_label("", role)
        label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        return label

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let what the model thinks stand beside the values where there is width for it, else below them."""
        super().resizeEvent(event)
        is_wide = self.width() > _WIDE * self.fontMetrics().averageCharWidth()
        if is_wide != self._is_wide:
            self._is_wide = is_wide
            self._show_thoughts()

    def show_lines(self, here: str, there: str, lines: Sequence[CompareLine], *, is_stale: bool) -> None:
        """Show differences under the names of the two attempts."""
        self._lines = tuple(lines)
        for label, text in zip(self._head, ("", here, there, ""), strict=True):
            label.setText(text)
        while len(self._rows) < len(lines):
            self._rows.append(self._make_row(len(self._rows)))
        for at, row in enumerate(self._rows):
            row.show_line(lines[at] if at < len(lines) else None, is_stale=is_stale)
        self._show_thoughts()
        told = "; ".join(f"{each.name}: {each.here}, there {each.there}" for each in lines if not each.is_heading)
        self.tell(f"{here} beside {there}", told)

    def _make_row(self, at: int) -> _Row:
        row = _Row(*(self._label(role) for role in ("", "", "", "", "muted")))
        top = 1 + 2 * at
        for column, label in ((_NAME, row.name), (_HERE, row.here), (_THERE, row.there), (_THOUGHT, row.beside)):
            self._grid.addWidget(label, top, column)
        self._grid.addWidget(row.below, top + 1, _NAME, 1, 4)
        return row

    def _show_thoughts(self) -> None:
        self._grid.setColumnStretch(_THOUGHT, 6 if self._is_wide else 0)
        for row in self._rows:
            row.show_thought(is_wide=self._is_wide)


class _Row:
    """The labels of one difference; what the model thinks of it has two places, of which one is used."""

    def __init__(self, name: QLabel, here: QLabel, there: QLabel, beside: QLabel, below: QLabel) -> None:
        self.name, self.here, self.there, self.beside, self.below = name, here, there, beside, below
        self._is_there = self._is_heading = False

    def show_line(self, line: CompareLine | None, *, is_stale: bool) -> None:
        """Show a difference, or nothing."""
        self._is_there = line is not None
        shown = line or CompareLine("")
        for label, text in (
            (self.name, shown.name),
            (self.here, shown.here),
            (self.there, shown.there),
            (self.beside, shown.thought),
            (self.below, shown.thought),
        ):
            label.setText(text)
        self._is_heading = shown.is_heading
        for label in (self.here, self.there, self.beside):
            set_text_role(label, "muted" if is_stale else "")
        if shown.is_heading:  # it takes the whole width below the empty row of its values
            self.name.setText("")
            self.below.setText(shown.name)
        for label in (self.name, self.here, self.there):
            label.setVisible(self._is_there and not shown.is_heading)

    def show_thought(self, *, is_wide: bool) -> None:
        """Show it beside the values or below them."""
        self.beside.setVisible(self._is_there and is_wide and not self._is_heading)
        self.below.setVisible(self._is_there and (self._is_heading or not is_wide) and bool(self.below.text()))
