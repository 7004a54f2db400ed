"""The steps of the job in their order, as large buttons that say where one is."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.icons import icon
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, Theme
from stirfall.desktop.workspace import PAGES

_WORDS = {
    "shelf": ("Shelf", "Lots and the jars that are ageing now"),
    "bench": ("Bench", "The form for the attempt at hand"),
    "attempts": ("Attempts", "The ledger of all attempts"),
    "recipe": ("Recipe", "The conditions to keep, with their evidence"),
}


class StepBar(QWidget):
    """Four checkable buttons, one per page.

    Signals:
        chosen(str): the name of the page that the person wants.
    """

    chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._group = QButtonGroup(self)
        self._buttons: dict[str, QPushButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING // 2)
        for number, name in enumerate(PAGES, start=1):
            row.addWidget(self._button(number, name))
        self.set_theme(theme)

    def _button(self, number: int, name: str) -> QPushButton:
        word, description = _WORDS[name]
        button = QPushButton(f"{number}  {word}")
        button.setObjectName(f"step_{name}")
        button.setProperty("buttonRole", "step")
        button.setCheckable(True)
        button.setIconSize(QSize(3 * SPACING, 3 * SPACING))
        button.setMinimumHeight(6 * SPACING)
        button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        button.setToolTip(f"{description} (Ctrl+{number})")
        name_control(button, word, description)
        button.clicked.connect(lambda _checked=False, page=name: self.chosen.emit(page))
        self._group.addButton(button)
        self._buttons[name] = button
        return button

    def show_current(self, name: str) -> None:
        """Mark the page that is shown; "" marks none, while something else has its place."""
        if name:
            self._buttons[name].setChecked(True)
            return
        self._group.setExclusive(False)
        for button in self._buttons.values():
            button.setChecked(False)
        self._group.setExclusive(True)

    def set_theme(self, theme: Theme) -> None:
        """Draw the icons in the theme's colours."""
        for name, button in self._buttons.items():
            button.setIcon(icon(name, theme.muted, on_colour=theme.accent))

    def button(self, name: str) -> QPushButton:
        """Return the button of a page."""
        return self._buttons[name]

    def focus_current(self) -> None:
        """Put the keyboard on the step that is shown."""
        checked = self._group.checkedButton()
        if checked is not None:
            checked.setFocus(Qt.FocusReason.OtherFocusReason)
