"""A chooser that scrolling past never changes."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QSizePolicy


class CalmCombo(QComboBox):
    """A combo box as wide as its place that leaves the wheel to the page around it, unless it has the keyboard."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll the choice only where it has the keyboard."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()
