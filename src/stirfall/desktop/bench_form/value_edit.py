"""One factor as a row of the bench form: a number with steppers and a live echo, or a choice of large buttons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication, QGridLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QWidget

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.units import unit_label
from stirfall.desktop.bench_form.fields import FieldState
from stirfall.desktop.bench_form.form import Origin, is_age
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, set_flag, text_label, titled
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.theme import set_text_role
from stirfall.reporting.sentences import sentence

_ORIGINS = {Origin.JAR: "from the jar", Origin.KEPT: "as last time", Origin.USUAL: "as usual"}
_MINUS, _PLUS = "\u2212", "+"
_ROLE_OF_LEVEL = {"note": "muted", "warn": "caution", "block": "error"}
_SIGN_OF_LEVEL = {"note": "", "warn": "⚠ ", "block": "⊘ "}


@dataclass(frozen=True)
class _Words:
    """How a value that the program knows by itself is spoken of."""

    origin: str
    why: str
    use: str


_BY_CLOCK = _Words("from the clock", "Why not the clock's age?", "Use the clock")
_COMPUTED = _Words("computed from the jar", "Why not the computed index?", "Use the computed")


def label_of(factor: Factor) -> str:
    """Return the label of a factor with its unit."""
    unit = unit_label(factor.unit)
    return f"{titled(factor.name)}, {unit}" if unit else titled(factor.name)


class ValueEdit(QLineEdit):
    """A line for one value: Enter accepts it and goes on, plus and minus arrows step.

    Signals:
        stepped(int): 1 up, -1 down, asked for with the arrow keys.
    """

    stepped = Signal(int)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setProperty("kind", "value")
        self._is_entered = False
        self.returnPressed.connect(self._go_on)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Remember that nothing was done here yet."""
        super().focusInEvent(event)
        self._is_entered = True

    def _go_on(self) -> None:
        """Go to the next value; the steppers between are passed over, as the arrow keys do what they do."""
        self.focusNextChild()
        while (now := QApplication.focusWidget()) is not None and now.property("kind") == "stepper":
            self.focusNextChild()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Mark the whole value on the first click, as Tab does, so that what is typed replaces it.

        Else a click into a value that Tab had marked would unmark it, and 90 typed into 95 would become 9590.
        """
        super().mouseReleaseEvent(event)
        if self._is_entered and not self.hasSelectedText():
            self.selectAll()
        self._is_entered = False

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Step with the up and down keys."""
        self._is_entered = False
        direction = {Qt.Key.Key_Up: 1, Qt.Key.Key_Down: -1}.get(Qt.Key(event.key()))
        if direction is None:
            super().keyPressEvent(event)
        else:
            self.stepped.emit(direction)

    def show_text(self, text: str) -> None:
        """Show a text without echo; the cursor stays where the person types."""
        if self.text() != text:
            with QSignalBlocker(self):
                self.setText(text)


class FieldRow(QWidget):
    """What both kinds of rows share: the label column and the line of messages below."""

    def __init__(self, factor: Factor) -> None:
        super().__init__()
        self.factor = factor
        self.setObjectName(f"row {factor.name}")
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._grid.setColumnStretch(1, 1)
        self.message = text_label()
        self.message.setObjectName(f"message {factor.name}")
        self.message.hide()

    def _place(self, label: QLabel, editor: QWidget, label_width: int) -> None:
        label.setWordWrap(True)
        label.setFixedWidth(label_width)
        self._grid.addWidget(label, 0, 0, Qt.AlignmentFlag.AlignVCenter)
        self._grid.addWidget(editor, 0, 1)
        self._grid.addWidget(self.message, 1, 1)

    def _show_message(self, editor: QWidget, state: FieldState, decimal: str, extra: str) -> None:
        text, role = _message(state, decimal)
        set_text_role(self.message, role)
        self.message.setText(text)
        self.message.setVisible(bool(text))
        described = " ".join(part for part in (text, extra) if part)
        editor.setAccessibleDescription(described)


class NumberRow(FieldRow):
    """A number: line, steppers, what was understood, and the reason for an age that is not the clock's."""

    typed = Signal(str)
    stepped = Signal(int)
    left = Signal()
    reason_given = Signal(str)
    clock_wanted = Signal()

    def __init__(self, factor: Factor, label_width: int) -> None:
        super().__init__(factor)
        self.edit = ValueEdit(factor.name)
        self.edit.setMinimumWidth(96)
        self.edit.setMaximumWidth(132)
        self.edit.setPlaceholderText("unknown")
        self.minus = self._stepper(_MINUS, -1, "less")
        self.plus = self._stepper(_PLUS, 1, "more")
        self.echo = text_label(role="muted")
        self.echo.setObjectName(f"echo {factor.name}")
        line = QWidget()
        across = QHBoxLayout(line)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(GAP)
        for part in (self.edit, self.minus, self.plus):
            across.addWidget(part)
        across.addWidget(self.echo, 1)
        self._place(labelled(label_of(factor), self.edit), line, label_width)
        self._grid.addWidget(self._reason_line(), 2, 1)
        self.edit.textEdited.connect(self.typed)
        self.edit.stepped.connect(self.stepped)
        self.edit.editingFinished.connect(self.left)

    def _stepper(self, sign: str, direction: int, word: str) -> QPushButton:
        made = QPushButton(sign)
        made.setObjectName(f"{self.factor.name} {word}")
        made.setProperty("kind", "stepper")
        made.setAutoRepeat(True)
        made.setAutoDefault(False)
        name_control(made, f"{titled(self.factor.name)}, {word}")
        made.clicked.connect(lambda: self.stepped.emit(direction))
        return made

    def _reason_line(self) -> QWidget:
        self.reason_line = QWidget()
        across = QHBoxLayout(self.reason_line)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(GAP)
        self.reason = QLineEdit()
        self.reason.setObjectName(f"reason {self.factor.name}")
        self.reason.setProperty("kind", "value")
        words = _COMPUTED if self.factor.role is Role.FILM_INDEX else _BY_CLOCK
        self.reason.setPlaceholderText(words.why)
        name_control(self.reason, f"{titled(self.factor.name)}: {words.why}")
        self.reason.textEdited.connect(self.reason_given)
        self.clock_button = button(words.use, f"clock {self.factor.name}")
        self.clock_button.clicked.connect(self.clock_wanted)
        across.addWidget(self.reason, 1)
        across.addWidget(self.clock_button)
        self.reason_line.hide()
        return self.reason_line

    def show_state(self, state: FieldState, decimal: str) -> None:
        """Show the state of the field."""
        self.edit.show_text(state.entry.text)
        self.echo.setText(_echo_text(state))
        set_flag(self.edit, "problem", state.problem is not None)
        self.reason_line.setVisible(state.is_override)
        if not self.reason.hasFocus() or self.reason.text() != state.entry.reason:
            with QSignalBlocker(self.reason):
                self.reason.setText(state.entry.reason)
        self._show_message(self.edit, state, decimal, self.echo.text() or ("" if state.value else "unknown"))


class ChoiceRow(FieldRow):
    """A choice between levels as large buttons."""

    chosen = Signal(object)

    def __init__(self, factor: Factor, label_width: int) -> None:
        super().__init__(factor)
        self.segments = Segments(titled(factor.name), factor.levels)
        self.segments.setObjectName(factor.name)
        self._place(labelled(label_of(factor), self.segments), self.segments, label_width)
        self.segments.chosen.connect(self.chosen)

    def show_state(self, state: FieldState, decimal: str) -> None:
        """Show the state of the field."""
        self.segments.set_value(state.value if isinstance(state.value, str) else None)
        self._show_message(self.segments, state, decimal, "" if state.value else "unknown")


def make_row(
    factor: Factor,
    label_width: int,
    *,
    typed: Callable[[str, str], object],
    stepped: Callable[[str, int], object],
    left: Callable[[], object],
    chosen: Callable[[str, str | None], object],
    reason: Callable[[str, str], object],
    clock: Callable[[str], object],
) -> NumberRow | ChoiceRow:
    """Return the row for a factor with its signals tied to the intents, which take the factor's name first."""
    name = factor.name
    if factor.is_choice:
        choice = ChoiceRow(factor, label_width)
        choice.chosen.connect(lambda level: chosen(name, level))
        return choice
    row = NumberRow(factor, label_width)
    row.typed.connect(lambda text: typed(name, text))
    row.stepped.connect(lambda direction: stepped(name, direction))
    row.left.connect(left)
    row.reason_given.connect(lambda text: reason(name, text))
    row.clock_wanted.connect(lambda: clock(name))
    return row


def _echo_text(state: FieldState) -> str:
    if state.value is None:
        return ""
    by_clock = _COMPUTED if state.factor.role is Role.FILM_INDEX else _BY_CLOCK
    origin = {Origin.CLOCK: by_clock.origin, **_ORIGINS}.get(state.entry.origin, "")
    echo = state.echo if _adds_something(state) else ""
    return "\n".join(part for part in (echo, origin) if part)


def _adds_something(state: FieldState) -> bool:
    if state.echo.endswith(" kept)"):
        return True  # the unit on screen is not the one that is kept
    bare = state.entry.text.strip().replace(",", ".").replace("\u2212", "-")
    is_bare = bare.replace(".", "", 1).lstrip("+-").isdigit()
    # A bare number says itself; only an age is easier to grasp in days.
    return not is_bare or ("(" in state.echo and is_age(state.factor))


def _message(state: FieldState, decimal: str) -> tuple[str, str]:
    if state.problem is not None:
        return _sentence(state.problem, decimal), "error"
    if state.findings:
        found = state.findings[0]
        text = _SIGN_OF_LEVEL[found.level] + sentence(found.code, found.params, decimal=decimal)
        return text, _ROLE_OF_LEVEL[found.level]
    return "", ""


def _sentence(reason: Reason, decimal: str) -> str:
    return sentence(reason.code, reason.params, decimal=decimal)
