"""The right side of the window: the odds, the melt or the film, and the switch between them.

The switch stands in the head of the window, over the right side, so that it takes no room from the odds picture.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.labelled import name_control
from stirfall.desktop.switch import Switch
from stirfall.desktop.workspace import SIDES

_WORDS = {
    "odds": ("Odds", "The odds of a clean separation, and the next attempts"),
    "melt": ("Melt", "Metal, oil and solids at the temperature in hand: what floats, what sinks, how fast"),
    "film": ("Film", "What sets the film: two jars side by side"),
}

PanelMaker = Callable[[], QWidget]


class SideSwitch(Switch):
    """One button per side."""

    def __init__(self, names: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("side_switch")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        for name in names:
            word, description = _WORDS[name]
            button = self.add_button(name, word)
            button.setObjectName(f"side_{name}")
            button.setToolTip(f"{description} (Alt+{SIDES.index(name) + 1})")
            name_control(button, f"Show {word}", description)


class RightSide(QWidget):
    """Shows the odds or one of the panels, which are built when they are first shown.

    ``switch`` is the switch, for the window to place.

    Signals:
        shown(str): the name of the side that is in front now.
    """

    shown = Signal(str)

    def __init__(self, odds: QWidget, panels: Mapping[str, PanelMaker], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("right_side")
        self._makers = dict(panels)
        self._built: dict[str, QWidget] = {"odds": odds}
        self._stack = QStackedWidget()
        self._stack.addWidget(odds)
        self.switch = SideSwitch(tuple(name for name in SIDES if name == "odds" or name in panels))
        self.switch.setVisible(bool(panels))
        self.switch.show_current("odds")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._stack)
        self._current = "odds"

    @property
    def current(self) -> str:
        """The name of the side in front."""
        return self._current

    def panel(self, name: str) -> QWidget:
        """Return the widget of a side, and build it where it was not shown before."""
        if name not in self._built:
            self._built[name] = panel = self._makers[name]()
            self._stack.addWidget(panel)
        return self._built[name]

    def show_side(self, name: str) -> None:
        """Bring a side to the front."""
        self._stack.setCurrentWidget(self.panel(name))
        self.switch.show_current(name)
        self._current = name
        self.shown.emit(name)
