"""A row of buttons of which one is pressed: the places of the window that a person goes to."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QWidget

from stirfall.desktop.theme import SPACING, set_button_role


class Switch(QWidget):
    """One checkable button for each place.

    Signals:
        chosen(str): the name of the place that the person wants.
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._group = QButtonGroup(self)
        self._buttons: dict[str, QPushButton] = {}
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(SPACING // 2)

    def add_button(self, name: str, text: str) -> QPushButton:
        """Add the button of a place and return it."""
        button = QPushButton(text)
        button.setCheckable(True)
        set_button_role(button, "step")
        button.clicked.connect(partial(self._choose, name))
        self._group.addButton(button)
        self._buttons[name] = button
        self._row.addWidget(button)
        return button

    def _choose(self, name: str) -> None:
        self.chosen.emit(name)

    def button(self, name: str) -> QPushButton:
        """Return the button of a place."""
        return self._buttons[name]

    def show_current(self, name: str) -> None:
        """Mark the place that is shown; "" marks none, while something else has its place."""
        if name:
            self._buttons[name].setChecked(True)
            return
        self._group.setExclusive(False)
        for button in self._buttons.values():
            button.setChecked(False)
        self._group.setExclusive(True)
