"""The right side of the window: the odds, the melt or the film, with a rail at the edge that switches between them.

The rail stands upright at the edge of the window, so that it takes no height from the picture of the odds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import (
    QButtonGroup,
    QHBoxLayout,
    QSizePolicy,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.icons import icon
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, Theme, set_button_role
from stirfall.desktop.workspace import SIDES

_WORDS = {
    "odds": ("Odds", "The odds of a clean separation, and the next attempts"),
    "melt": ("Melt", "Metal, oil and solids at the temperature in hand: what floats, what sinks, how fast"),
    "film": ("Film", "What sets the film: two jars side by side"),
}
_LEAST_PX = 6 * SPACING
_PAD_PX = 10

PanelMaker = Callable[[], QWidget]


class SideRail(QWidget):
    """One upright column of checkable buttons, one per side.

    Signals:
        chosen(str): the side that the person wants.
    """

    chosen = Signal(str)

    def __init__(self, names: tuple[str, ...], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("side_rail")
        self._group = QButtonGroup(self)
        self._buttons: dict[str, QToolButton] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING // 2)
        for name in names:
            column.addWidget(self._button(name))
        column.addStretch(1)
        self.set_theme(theme)
        self._fit()

    def _button(self, name: str) -> QToolButton:
        word, description = _WORDS[name]
        button = QToolButton()
        button.setText(word)
        button.setObjectName(f"side_{name}")
        button.setCheckable(True)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
        button.setIconSize(QSize(3 * SPACING, 3 * SPACING))
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        button.setToolTip(f"{description} (Alt+{SIDES.index(name) + 1})")
        name_control(button, f"Show {word}", description)
        set_button_role(button, "side")
        button.clicked.connect(lambda _checked=False, side=name: self.chosen.emit(side))
        self._group.addButton(button)
        self._buttons[name] = button
        return button

    def button(self, name: str) -> QToolButton:
        """Return the button of a side."""
        return self._buttons[name]

    def show_current(self, name: str) -> None:
        """Mark the side that is shown."""
        self._buttons[name].setChecked(True)

    def set_theme(self, theme: Theme) -> None:
        """Draw the icons in the theme's colours."""
        for name, button in self._buttons.items():
            button.setIcon(icon(name, theme.muted, on_colour=theme.accent))

    def changeEvent(self, event: QEvent) -> None:
        """Fit the buttons to another size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def _fit(self) -> None:
        metrics = QFontMetrics(self.font())
        wide = max(metrics.horizontalAdvance(button.text()) for button in self._buttons.values())
        size = QSize(max(_LEAST_PX, wide + _PAD_PX), max(7 * SPACING, 4 * SPACING + metrics.height()))
        for button in self._buttons.values():
            button.setFixedSize(size)
        self.setFixedWidth(size.width())


class RightSide(QWidget):
    """Shows the odds or one of the panels, which are built when they are first shown.

    Signals:
        shown(str): the name of the side that is in front now.
    """

    shown = Signal(str)

    def __init__(
        self, odds: QWidget, panels: Mapping[str, PanelMaker], theme: Theme, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setObjectName("right_side")
        self._makers = dict(panels)
        self._built: dict[str, QWidget] = {"odds": odds}
        self._stack = QStackedWidget()
        self._stack.addWidget(odds)
        self.rail = SideRail(tuple(name for name in SIDES if name == "odds" or name in panels), theme)
        self.rail.setVisible(bool(panels))
        self.rail.chosen.connect(self.show_side)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self._stack, 1)
        row.addWidget(self.rail)
        self.rail.show_current("odds")
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
        self.rail.show_current(name)
        self._current = name
        self.shown.emit(name)

    def set_theme(self, theme: Theme) -> None:
        """Draw the rail in another theme; the panels follow by themselves."""
        self.rail.set_theme(theme)
