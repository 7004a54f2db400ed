"""Which theme and text size the application wears: the person's choice, else what the system asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal

from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, TEXT_SCALES, THEMES, Theme, apply_theme

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

SYSTEM = "system"
CHOICES = (SYSTEM, *THEMES)


class Appearance(QObject):
    """Applies theme and text size to the application and follows the system where asked to.

    Attributes:
        choice: ``"system"`` or the name of a theme.
        theme: the theme worn now.
        scale: the text size worn now, one of ``TEXT_SCALES``.

    Signals:
        changed(Theme): another theme or text size is worn.
    """

    changed = Signal(object)

    def __init__(self, app: QApplication, choice: str = SYSTEM, scale: float = 1.0) -> None:
        super().__init__(app)
        self._app = app
        self.choice = choice if choice in CHOICES else SYSTEM
        self.scale = nearest_scale(scale)
        self.theme = self._resolved()
        app.styleHints().colorSchemeChanged.connect(self._follow_system)
        apply_theme(app, self.theme, self.scale)

    def choose(self, choice: str) -> None:
        """Wear a theme by name, or follow the system."""
        self.choice = choice if choice in CHOICES else SYSTEM
        self._wear(self._resolved(), self.scale)

    def set_scale(self, scale: float) -> None:
        """Wear the text size nearest to ``scale``."""
        self._wear(self.theme, nearest_scale(scale))

    def step_scale(self, steps: int) -> None:
        """Make text larger or smaller by whole steps, within the offered sizes."""
        position = TEXT_SCALES.index(self.scale) + steps
        self.set_scale(TEXT_SCALES[min(max(position, 0), len(TEXT_SCALES) - 1)])

    def _follow_system(self) -> None:
        if self.choice == SYSTEM:
            self._wear(self._resolved(), self.scale)

    def _wear(self, theme: Theme, scale: float) -> None:
        if (theme, scale) == (self.theme, self.scale):
            return
        self.theme, self.scale = theme, scale
        apply_theme(self._app, theme, scale)
        self.changed.emit(theme)

    def _resolved(self) -> Theme:
        if self.choice in THEMES:
            return THEMES[self.choice]
        return system_theme(self._app)


def system_theme(app: QApplication) -> Theme:
    """Return the theme that the system's colour scheme and contrast preference ask for."""
    hints = app.styleHints()
    accessibility = getattr(hints, "accessibility", None)  # Qt 6.10 and newer
    if accessibility is not None:
        wanted = accessibility().contrastPreference()
        if wanted == Qt.ContrastPreference.HighContrast:
            return HIGH_CONTRAST
    return DARK if hints.colorScheme() == Qt.ColorScheme.Dark else LIGHT


def nearest_scale(scale: float) -> float:
    """Return the offered text size nearest to ``scale``."""
    return min(TEXT_SCALES, key=lambda offered: abs(offered - scale))
