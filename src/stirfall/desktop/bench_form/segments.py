"""A choice between a few levels as large buttons: one press, a digit or the arrow keys choose."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from stirfall.desktop.bench_form.look import HALF_GAP, TARGET

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
        self._most_columns = min(columns, len(levels))
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        for index, made in enumerate(self._buttons):
            made.setObjectName(f"{question}: {levels[index]}")
            made.setToolTip(f"{levels[index]} (key {index + 1})")
            made.clicked.connect(lambda _checked=False, at=index: self._press(at))
        self.setAccessibleName(question)
        self._render()

    # -- rows and columns --------------------------------------------------------------------------

    def _arrange(self) -> None:
        # By hand: a layout inside a widget hides the widget's own height for a width from the layout around it.
        columns = self._columns_for(self.width())
        rows = -(-len(self._buttons) // columns)
        height = (self.height() - HALF_GAP * (rows - 1)) // rows
        spare = max(0, self.width() - self._width_of(columns)) // columns
        left = 0
        for column in range(columns):
            stack = self._buttons[column::columns]
            width = max(made.minimumSizeHint().width() for made in stack) + spare
            if column == columns - 1:
                width = max(width, self.width() - left)
            for row, made in enumerate(stack):
                made.setGeometry(left, row * (height + HALF_GAP), width, height)
            left += width + HALF_GAP

    def _width_of(self, columns: int) -> int:
        widths = [made.minimumSizeHint().width() for made in self._buttons]
        return sum(max(widths[at::columns]) for at in range(columns)) + HALF_GAP * (columns - 1)

    def _columns_for(self, width: int) -> int:
        # Rows of about equal length: four buttons stand in one row or two by two, never three and one.
        even = (-(-len(self._buttons) // rows) for rows in range(1, len(self._buttons) + 1))
        fitting = (count for count in even if count <= self._most_columns and self._width_of(count) <= width)
        return next(fitting, 1)

    def _height_of(self, columns: int) -> int:
        rows = -(-len(self._buttons) // columns)
        one = max(TARGET, *(max(made.minimumHeight(), made.sizeHint().height()) for made in self._buttons))
        return rows * one + HALF_GAP * (rows - 1)

    def hasHeightForWidth(self) -> bool:
        """The buttons go into two rows where one is too narrow for large text."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return the height of as many rows as the width asks for."""
        return self._height_of(self._columns_for(width))

    def minimumSizeHint(self) -> QSize:
        """Return the size of two columns, which always fit."""
        columns = min(2, self._most_columns)
        return QSize(self._width_of(columns), self._height_of(self._most_columns))

    def sizeHint(self) -> QSize:
        """Return the size of the fewest rows."""
        return QSize(self._width_of(self._most_columns), self._height_of(self._most_columns))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Arrange the buttons for the new width."""
        super().resizeEvent(event)
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        """Arrange the buttons anew for another size of text."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.updateGeometry()
            self._arrange()

    # -- the choice --------------------------------------------------------------------------------

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
