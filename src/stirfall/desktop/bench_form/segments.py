"""A choice between a few levels as large buttons: one press, a digit or the arrow keys choose."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QPushButton, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import HALF_GAP

_CHOSEN, _OPEN = "●", "○"
_FORWARD = (Qt.Key.Key_Right, Qt.Key.Key_Down)
_BACK = (Qt.Key.Key_Left, Qt.Key.Key_Up)


class _Segment(QPushButton):
    """One level; keys go to the whole choice."""

    def __init__(self, owner: Segments, index: int) -> None:
        super().__init__(owner)
        self._owner, self._index = owner, index
        self.setProperty("kind", "segment")
        self.setCheckable(True)
        self.setAutoDefault(False)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose by digit or arrow; everything else is the button's own."""
        if not self._owner.take_key(event, self._index):
            super().keyPressEvent(event)


class Segments(QWidget):
    """One choice of several levels, or none. Only one button is a tab stop, as in a group of radio buttons.

    Signals:
        chosen(object): the level that the person chose, or None when a chosen one was pressed again and
            ``may_be_empty`` is set.
    """

    chosen = Signal(object)

    def __init__(
        self, question: str, levels: tuple[str, ...], *, columns: int = 4, may_be_empty: bool = True
    ) -> None:
        super().__init__()
        self.question = question
        self.levels = levels
        self._may_be_empty = may_be_empty
        self._value: str | None = None
        self._buttons = [_Segment(self, index) for index in range(len(levels))]
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(HALF_GAP)
        for index, made in enumerate(self._buttons):
            grid.addWidget(made, index // columns, index % columns)
            made.setObjectName(f"{question}: {levels[index]}")
            made.setToolTip(f"{levels[index]} (key {index + 1})")
            made.clicked.connect(lambda _checked=False, at=index: self._press(at))
        self.setAccessibleName(question)
        self.set_value(None)
        self._render()

    @property
    def value(self) -> str | None:
        """The chosen level."""
        return self._value

    def button(self, level: str) -> QPushButton:
        """Return the button of a level."""
        return self._buttons[self.levels.index(level)]

    def set_value(self, value: str | None) -> None:
        """Show a level as chosen, without telling anybody."""
        if value != self._value:
            self._value = value
            self._render()

    def _render(self) -> None:
        chosen = self.levels.index(self._value) if self._value in self.levels else None
        for index, made in enumerate(self._buttons):
            is_chosen = index == chosen
            with QSignalBlocker(made):
                made.setChecked(is_chosen)
            made.setText(f"{_CHOSEN if is_chosen else _OPEN} {self.levels[index].replace('&', '&&')}")
            state = "chosen" if is_chosen else "not chosen"
            made.setAccessibleName(f"{self.question} {self.levels[index]}")
            made.setAccessibleDescription(f"{state}, {index + 1} of {len(self.levels)}")
            is_stop = index == (chosen or 0)
            made.setFocusPolicy(Qt.FocusPolicy.StrongFocus if is_stop else Qt.FocusPolicy.ClickFocus)
        self.setFocusProxy(self._buttons[chosen or 0])

    def _press(self, index: int) -> None:
        level = self.levels[index]
        new = None if level == self._value and self._may_be_empty else level
        had_focus = self._buttons[index].hasFocus()
        self.set_value(new)
        self._render()
        if had_focus:
            self._buttons[index].setFocus()
        self.chosen.emit(new)

    def take_key(self, event: QKeyEvent, index: int) -> bool:
        """Handle a digit or an arrow key pressed on a button; return whether it was one."""
        key = Qt.Key(event.key())
        count = len(self.levels)
        digit = event.key() - Qt.Key.Key_1.value
        if 0 <= digit < count and not event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._choose(digit)
            return True
        if key in _FORWARD or key in _BACK:
            if self._value is None:
                self._choose(index if key in _FORWARD else count - 1)
            else:
                self._choose((index + (1 if key in _FORWARD else -1)) % count)
            return True
        return False

    def _choose(self, index: int) -> None:
        level = self.levels[index]
        changed = level != self._value
        self.set_value(level)
        self._buttons[index].setFocus(Qt.FocusReason.OtherFocusReason)
        if changed:
            self.chosen.emit(level)
