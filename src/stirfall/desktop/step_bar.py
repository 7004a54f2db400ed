"""The steps of the job in their order, as large buttons that say where one is."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.desktop.icons import icon
from stirfall.desktop.labelled import name_control
from stirfall.desktop.switch import Switch
from stirfall.desktop.theme import SPACING, Theme
from stirfall.desktop.workspace import PAGES

_WORDS = {
    "shelf": ("Shelf", "Lots and the jars that are ageing now"),
    "bench": ("Bench", "The form for the attempt at hand"),
    "attempts": ("Attempts", "The ledger of all attempts"),
    "recipe": ("Recipe", "The conditions to keep, with their evidence"),
}


class StepBar(Switch):
    """Four buttons, one per page, each with its number and its icon."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        for number, name in enumerate(PAGES, start=1):
            word, description = _WORDS[name]
            button = self.add_button(name, f"{number}  {word}")
            button.setObjectName(f"step_{name}")
            button.setIconSize(QSize(3 * SPACING, 3 * SPACING))
            button.setMinimumHeight(6 * SPACING)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.setToolTip(f"{description} (Ctrl+{number})")
            name_control(button, word, description)
        self.set_theme(theme)

    def set_theme(self, theme: Theme) -> None:
        """Draw the icons in the theme's colours."""
        for name, button in self._buttons.items():
            button.setIcon(icon(name, theme.muted, on_colour=theme.accent))
