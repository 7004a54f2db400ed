"""The optional parts of the form: one row of buttons, each of which opens its part below."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, button

_CLOSED, _OPEN = "▸", "▾"


class Folds(QWidget):
    """Parts that are folded away until their button is pressed; several may stand open at once."""

    def __init__(self, parts: tuple[tuple[str, str, QWidget], ...]) -> None:
        super().__init__()
        self.toggles: dict[str, QPushButton] = {}
        row = QWidget()
        flow = FlowLayout(row)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        column.addWidget(row)
        for title, name, content in parts:
            toggle = button(title, name)
            toggle.setCheckable(True)
            toggle.setProperty("kind", "fold")
            toggle.toggled.connect(lambda is_open, which=name: self._fold(which, is_open))
            self.toggles[name] = toggle
            flow.addWidget(toggle)
            column.addWidget(content)
        self._words: dict[str, str] = {}
        self._parts = {name: (title, content) for title, name, content in parts}
        for name in self._parts:
            self._fold(name, False)

    def _fold(self, name: str, is_open: bool) -> None:
        title, content = self._parts[name]
        content.setVisible(is_open)
        toggle = self.toggles[name]
        words = self._words.get(name, "")
        whole = f"{title}: {words}" if words else title
        toggle.setText(f"{_OPEN if is_open else _CLOSED} {whole}")
        toggle.setAccessibleName(whole)
        toggle.setAccessibleDescription("open" if is_open else "folded")

    def add_words(self, name: str, words: str) -> None:
        """Say in a few words beside the title what the part holds."""
        if words != self._words.get(name, ""):
            self._words[name] = words
            self._fold(name, self.toggles[name].isChecked())

    def open(self, name: str) -> None:
        """Open a part."""
        self.toggles[name].setChecked(True)
