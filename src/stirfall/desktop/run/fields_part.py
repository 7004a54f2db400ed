"""Lines for numbers in a run: large, filled by digits alone, so that all other keys stay those of the run."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QLineEdit, QSizePolicy

from stirfall.desktop.bench_form.look import set_flag
from stirfall.desktop.run.look import SENTENCE, font
from stirfall.desktop.theme import Theme

_SIGNS = frozenset("0123456789.,-+\u2212")


class NumberLine(QLineEdit):
    """A line that takes digits, signs and the decimal sign; the page asks ``takes`` before it uses a key itself."""

    def __init__(self, name: str, spoken: str, *, letters: int = 9) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setProperty("runField", "true")
        self.setAccessibleName(spoken)
        self._letters = letters
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def dress(self, theme: Theme) -> None:
        """Take the text scale of the moment; the colours come from the sheet of the page."""
        del theme
        metrics = QFontMetrics(font(SENTENCE))
        self.setMinimumWidth(metrics.horizontalAdvance("0") * self._letters + 32)

    def show_text(self, text: str) -> None:
        """Show a text, and leave the cursor alone when it is the same."""
        if text != self.text():
            self.setText(text)

    def show_problem(self, text: str) -> None:
        """Mark the line and tell why; "" takes the mark away."""
        set_flag(self, "problem", bool(text))
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)

    def takes(self, key: int, text: str) -> bool:
        """Whether a key belongs to the line: a digit or sign, or rubbing out where something stands."""
        if key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            return bool(self.text())
        return text in _SIGNS
