"""The products of two factors: a list, and a row to add one."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QListWidget, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING

Pair = tuple[str, str]
_TIMES = " × "
_MOST_ROWS = 3


class ProductList(QWidget):
    """Shows pairs of factors.

    Signals:
        changed(tuple of pairs): a pair was added or removed.
    """

    changed = Signal(object)

    def __init__(self, names: tuple[str, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pairs: tuple[Pair, ...] = ()
        self.first = self._chooser(names, "First factor of a product", 0)
        self.second = self._chooser(names, "Second factor of a product", 1)
        self.add = _button("A&dd", "Add the product", self._add)
        self.remove = _button("Re&move", "Remove the chosen product", self._remove)
        self.list = _PairList()
        self.list.setObjectName("campaign_products_list")
        name_control(self.list, "Products", "Delete removes the chosen one")
        self.list.currentRowChanged.connect(lambda _row: self._judge())
        self.list.removal_wanted.connect(self._remove)
        self.first.currentIndexChanged.connect(lambda _index: self._judge())
        self.second.currentIndexChanged.connect(lambda _index: self._judge())
        self.setFocusProxy(self.first)
        self._arrange()
        self._judge()

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """The pairs that are shown."""
        return self._pairs

    def show_pairs(self, pairs: tuple[Pair, ...]) -> None:
        """Show these pairs."""
        if pairs == self._pairs:
            return
        self._pairs = pairs
        row = self.list.currentRow()
        self.list.clear()
        self.list.addItems([_TIMES.join(pair) for pair in pairs])
        self.list.setCurrentRow(min(max(row, 0), len(pairs) - 1))
        rows = min(len(pairs), _MOST_ROWS)
        self.list.setFixedHeight(rows * max(self.list.sizeHintForRow(0), 0) + 2 * self.list.frameWidth())
        self._judge()

    def _arrange(self) -> None:
        row = QHBoxLayout()
        row.setSpacing(SPACING)
        row.addWidget(self.first, 1)
        row.addWidget(QLabel("×"))
        row.addWidget(self.second, 1)
        row.addWidget(self.add)
        listed = QHBoxLayout()
        listed.setSpacing(SPACING)
        listed.addWidget(self.list, 1)
        listed.addWidget(self.remove, 0, Qt.AlignmentFlag.AlignTop)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING // 2)
        column.addLayout(row)
        column.addLayout(listed)

    def _chooser(self, names: tuple[str, ...], name: str, at: int) -> QComboBox:
        chooser = CalmCombo()
        chooser.addItems(list(names))
        chooser.setCurrentIndex(min(at, len(names) - 1))
        name_control(chooser, name)
        return chooser

    def _wanted(self) -> Pair:
        return self.first.currentText(), self.second.currentText()

    def _judge(self) -> None:
        first, second = self._wanted()
        taken = {frozenset(pair) for pair in self._pairs}
        self.add.setEnabled(bool(first and second) and first != second and frozenset((first, second)) not in taken)
        self.list.setVisible(bool(self._pairs))
        self.remove.setVisible(bool(self._pairs))
        self.remove.setEnabled(self.list.currentRow() >= 0)

    def _add(self) -> None:
        self.show_pairs((*self._pairs, self._wanted()))
        self.list.setCurrentRow(len(self._pairs) - 1)
        self.changed.emit(self._pairs)

    def _remove(self) -> None:
        row = self.list.currentRow()
        if row < 0:
            return
        had_focus = self.list.hasFocus() or self.remove.hasFocus()
        self.show_pairs(self._pairs[:row] + self._pairs[row + 1 :])
        if had_focus and not self._pairs:
            self.first.setFocus()
        self.changed.emit(self._pairs)


class _PairList(QListWidget):
    """A list whose Delete key asks for the removal of the chosen row."""

    removal_wanted = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the Delete key; everything else is the list's own."""
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.removal_wanted.emit()
            return
        super().keyPressEvent(event)


def _button(text: str, name: str, act: object) -> QPushButton:
    button = QPushButton(text)
    button.setAutoDefault(False)
    name_control(button, name)
    button.clicked.connect(act)
    return button
