"""A line of words that goes on in a second one rather than take the room of the buttons beside it."""

from __future__ import annotations

from math import ceil

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QLabel, QSizePolicy

from stirfall.desktop.theme import set_text_role

_SLACK = 1.2  # words do not part in the middle


class CountLabel(QLabel):
    """Asks for half the width of its words, and takes more where there is room."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setWordWrap(True)
        set_text_role(self, "muted")
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    def sizeHint(self) -> QSize:
        """Return the size of two lines."""
        metrics = self.fontMetrics()
        longest = max((metrics.horizontalAdvance(word) for word in self.text().split()), default=0)
        half = ceil(metrics.horizontalAdvance(self.text()) * _SLACK / 2)
        return QSize(max(longest, half) + 4, 2 * metrics.lineSpacing())

    def minimumSizeHint(self) -> QSize:
        """Return the size of two lines."""
        return self.sizeHint()
