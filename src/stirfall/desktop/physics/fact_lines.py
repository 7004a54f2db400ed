"""Facts as short lines: what kind of statement it is as shape and word, then one sentence."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.theme import SPACING, Theme, set_text_role

MARKS = {
    "fact": ("●", "fact"),
    "note": ("◆", "note"),
    "warn": ("▲", "warning"),
    "block": ("✕", "stop"),
    "unknown": ("○", "unknown"),
}
"""Shape and word of each level."""

_LOUD = ("warn", "block")


@dataclass(frozen=True)
class FactLine:
    """One statement: ``level`` is a key of ``MARKS``."""

    key: str
    level: str
    text: str


class FactWidget(QWidget):
    """One line: the mark of its level, and its sentence."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self.mark = QLabel()
        self.mark.setTextFormat(Qt.TextFormat.RichText)
        self.text = wrapped_label(f"{name}_text")
        self.text.setAlignment(Qt.AlignmentFlag.AlignTop)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING)
        row.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.text, 1)

    def show_line(self, line: FactLine, *, theme: Theme, is_stale: bool, wide: int) -> None:
        """Show a line; ``wide`` is the room of the mark in pixels."""
        glyph, word = MARKS[line.level]
        is_loud = line.level in _LOUD and not is_stale
        colour = (theme.danger if line.level == "block" else theme.caution) if is_loud else theme.muted
        weight = "bold" if is_loud else "normal"
        if self.mark.minimumWidth() != wide:
            self.mark.clear()  # else a label of rich text keeps the size that it had with another font
            self.mark.setFixedWidth(wide)
        self.mark.setText(
            f'<span style="color:{colour}; font-weight:{weight}">{escape(glyph)}&nbsp;{escape(word)}</span>'
        )
        self.text.setText(line.text)
        set_text_role(self.text, "muted" if is_stale or line.level == "unknown" else "")
        self.setAccessibleName(f"{word}: {line.text}")


class FactColumn(QWidget):
    """Lines below each other, their sentences aligned."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(name)
        self.lines: list[FactWidget] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(SPACING // 2)

    def show_lines(self, lines: tuple[FactLine, ...], *, theme: Theme, is_stale: bool = False) -> None:
        """Show these lines; showing them twice changes nothing."""
        while len(self.lines) < len(lines):
            widget = FactWidget(f"{self.objectName()}_{len(self.lines) + 1}")
            self.lines.append(widget)
            self._column.addWidget(widget)
        metrics = self.fontMetrics()
        words = [f"{glyph} {word}  " for glyph, word in (MARKS[line.level] for line in lines)]
        wide = max((metrics.horizontalAdvance(word) for word in words), default=0) * 11 // 10
        for index, widget in enumerate(self.lines):
            there = index < len(lines)
            if there:
                widget.show_line(lines[index], theme=theme, is_stale=is_stale, wide=wide)
            widget.setVisible(there)
        self.setVisible(bool(lines))
