"""A row of large buttons of which one is chosen; its choices may change while it is shown."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QPushButton, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import HALF_GAP, TARGET, button

_CHOSEN, _OPEN = "●", "○"


class ChoiceRow(QWidget):
    """Buttons with a key each; the chosen one is marked by shape and colour.

    Signals:
        chosen(str): the key of the button that was pressed.
    """

    chosen = Signal(str)

    def __init__(self, question: str, name: str, *, target: int = TARGET) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setAccessibleName(question)
        self._question, self._target = question, target
        self._buttons: dict[str, QPushButton] = {}
        self._value = ""
        self._row = FlowLayout(self, gap=HALF_GAP)

    @property
    def value(self) -> str:
        """The key of the chosen button."""
        return self._value

    def button(self, key: str) -> QPushButton:
        """Return the button of a choice."""
        return self._buttons[key]

    def show_choices(self, choices: Sequence[tuple[str, str]], value: str) -> None:
        """Show these choices, each as key and text, with one of them chosen."""
        self._value = value
        if [key for key, _ in choices] != list(self._buttons):
            self._build([key for key, _ in choices])
        for key, text in choices:
            made, is_chosen = self._buttons[key], key == value
            with QSignalBlocker(made):
                made.setChecked(is_chosen)
            made.setText(f"{_CHOSEN if is_chosen else _OPEN} {text.replace('&', '&&')}")
            made.setAccessibleName(f"{self._question} {text}")
            made.setAccessibleDescription("chosen" if is_chosen else "not chosen")
        self.updateGeometry()

    def _build(self, keys: Sequence[str]) -> None:
        while (item := self._row.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        self._buttons = {}
        for key in keys:
            made = button(key, f"{self.objectName()}_{key or 'all'}", height=self._target)
            made.setProperty("kind", "segment")
            made.setCheckable(True)
            made.clicked.connect(lambda _checked=False, which=key: self._press(which))
            self._buttons[key] = made
            self._row.addWidget(made)

    def _press(self, key: str) -> None:
        self._buttons[key].setChecked(True)
        self.chosen.emit(key)
