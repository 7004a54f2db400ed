"""The parts of a campaign dialog: one button per part, and the page of the part that is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_button_role

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stirfall.desktop.campaign.form_grid import FormGrid

PART_WORDS = {
    "metal": "Metal and o&il",
    "materials": "Solids a&nd vessel",
    "limits": "Additi&ves and limits",
    "model": "&What the model assumes",
}


class Parts(QWidget):
    """Shows one page at a time; only that page takes room.

    Signals:
        shown(str): another part is shown.
    """

    shown = Signal(str)

    def __init__(self, pages: Mapping[str, FormGrid], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.pages = dict(pages)
        self.part = ""
        self._buttons = {name: self._button(name) for name in self.pages}
        row = QHBoxLayout()
        row.setSpacing(0)
        group = QButtonGroup(self)
        for button in self._buttons.values():
            group.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2 * SPACING)
        column.addLayout(row)
        for page in self.pages.values():
            column.addWidget(page)
            page.hide()
        column.addStretch(1)
        self.show_part(next(iter(self.pages)))

    def button(self, part: str) -> QPushButton:
        """Return the button that shows a part."""
        return self._buttons[part]

    def show_part(self, part: str) -> None:
        """Show one of the parts."""
        if part == self.part:
            return
        if self.part:
            self.pages[self.part].hide()
        self.part = part
        self._buttons[part].setChecked(True)
        self.pages[part].show()
        self.shown.emit(part)

    def show_problem(self) -> None:
        """Show the part with the first problem, the keyboard on its field."""
        for part in (self.part, *self.pages):
            if self.pages[part].focus_first_problem():
                self.show_part(part)
                self.pages[part].focus_first_problem()
                return

    def _button(self, part: str) -> QPushButton:
        button = QPushButton(PART_WORDS[part])
        button.setObjectName(f"campaign_part_{part}")
        button.setCheckable(True)
        button.setAutoDefault(False)
        set_button_role(button, "step")
        name_control(button, PART_WORDS[part].replace("&", ""))
        button.toggled.connect(lambda on: self.show_part(part) if on else None)
        return button
