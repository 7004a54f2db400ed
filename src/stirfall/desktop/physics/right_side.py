"""The right side of the window: the odds, the melt or the film, and the switch between them.

The switch stands in the head of the window, over the right side, so that it takes no room from the odds picture.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_button_role
from stirfall.desktop.workspace import SIDES

_WORDS = {
    "odds": ("Odds", "The odds of a clean separation, and the next attempts"),
    "melt": ("Melt", "Metal, oil and solids at the temperature in hand: what floats, what sinks, how fast"),
    "film": ("Film", "What sets the film: two jars side by side"),
}

PanelMaker = Callable[[], QWidget]


class SideSwitch(QWidget):
    """One checkable button per side.

    Signals:
        chosen(str): the side that the person wants.
    """

    chosen = Signal(str)

    def __init__(self, names: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("side_switch")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._group = QButtonGroup(self)
        self._buttons: dict[str, QPushButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING // 2)
        for name in names:
            row.addWidget(self._button(name))

    def _button(self, name: str) -> QPushButton:
        word, description = _WORDS[name]
        button = QPushButton(word)
        button.setObjectName(f"side_{name}")
        button.setCheckable(True)
        button.setToolTip(f"{description} (Alt+{SIDES.index(name) + 1})")
        name_control(button, f"Show {word}", description)
        set_button_role(button, "step")
        button.clicked.connect(lambda _checked=False, side=name: self.chosen.emit(side))
        self._group.addButton(button)
        self._buttons[name] = button
        return button

    def button(self, name: str) -> QPushButton:
        """Return the button of a side."""
        return self._buttons[name]

    def show_current(self, name: str) -> None:
        """Mark the side that is shown; "" marks none, while a page has its place."""
        if name:
            self._buttons[name].setChecked(True)
            return
        self._group.setExclusive(False)
        for button in self._buttons.values():
            button.setChecked(False)
        self._group.setExclusive(True)


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
