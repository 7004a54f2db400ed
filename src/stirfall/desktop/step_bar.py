"""The steps of the job in their order, as large buttons that say where one is."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSize
from PySide6.QtGui import QIcon, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from stirfall.desktop.icons import icon
from stirfall.desktop.labelled import name_control
from stirfall.desktop.switch import Switch
from stirfall.desktop.theme import SPACING, Theme
from stirfall.desktop.workspace import PAGES

_WORDS = {
    "shelf": ("Shelf", "Lots and the jars that are ageing now"),
    "plan": ("Plan", "What to open tonight, the proof of a recipe, and a rehearsal"),
    "bench": ("Bench", "The form for the attempt at hand"),
    "attempts": ("Attempts", "The ledger of all attempts"),
    "evidence": ("Evidence", "Whether it is chance, whether something drifts, why an attempt failed"),
    "recipe": ("Recipe", "The conditions to keep, with their evidence"),
}
_ICON = 3 * SPACING
_AROUND_A_WORD = 24  # what a button needs beside its text: padding and edge
_AROUND_AN_ICON = 4


class StepBar(Switch):
    """Six buttons, one per page, each with number and icon; with large text the icons go, then the numbers."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._spared = -1
        for number, name in enumerate(PAGES, start=1):
            word, description = _WORDS[name]
            button = self.add_button(name, f"{number}  {word}")
            button.setObjectName(f"step_{name}")
            button.setIconSize(QSize(_ICON, _ICON))
            button.setMinimumHeight(6 * SPACING)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            button.setToolTip(f"{description} (Ctrl+{number})")
            name_control(button, word, description)
        self._fit()

    def set_theme(self, theme: Theme) -> None:
        """Draw the icons in the theme's colours."""
        self._theme = theme
        self._spared = -1
        self._fit()

    # -- room --------------------------------------------------------------------------------------

    def minimumSizeHint(self) -> QSize:
        """Return the room that the bare words need."""
        return QSize(self._width_sparing(2), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much on each button as the width holds."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Show as much as another size of text leaves room for."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and self._buttons:
            self._fit()

    def _fit(self) -> None:
        spared = next((each for each in (0, 1) if self._width_sparing(each) <= self.width()), 2)
        if spared == self._spared:
            return
        self._spared = spared
        for name, button in self._buttons.items():
            button.setText(_text(name, spared))
            drawn = icon(name, self._theme.muted, on_colour=self._theme.accent)
            button.setIcon(drawn if spared == 0 else QIcon())

    def _width_sparing(self, spared: int) -> int:
        """Return the width with icons and numbers (0), without icons (1), with the bare words (2)."""
        metrics = self.fontMetrics()
        around = _AROUND_A_WORD + (_ICON + _AROUND_AN_ICON if spared == 0 else 0)
        words = sum(metrics.horizontalAdvance(_text(name, spared)) for name in self._buttons)
        return words + len(self._buttons) * around + (len(self._buttons) - 1) * self._row.spacing()


def _text(name: str, spared: int) -> str:
    word = _WORDS[name][0]
    return word if spared > 1 else f"{PAGES.index(name) + 1}  {word}"
