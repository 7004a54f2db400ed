"""The menu that ticks the columns of the ledger and moves the one at the cursor."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu, QWidget

from stirfall.desktop.ledger.columns import GROUPS, MAIN, Column, ColumnChoice

_ALWAYS = ("number",)
_AS_USUAL = "As &usual"


class ColumnsMenu(QMenu):
    """Ticks by group; the number of an attempt always stays.

    Signals:
        chosen(ColumnChoice): other columns are wanted.
    """

    chosen = Signal(object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("ledger_columns_menu")
        self.setTitle("Columns")

    def offer(self, columns: Sequence[Column], choice: ColumnChoice, at: Column | None) -> None:
        """Fill the menu for these columns; ``at`` is the one that the cursor stands in."""
        self.clear()
        for group in GROUPS:
            menu = self if group == MAIN else self.addMenu(group)
            for column in columns:
                if column.group == group and column.key not in _ALWAYS:
                    action = menu.addAction(column.title.replace("&", "&&"))
                    action.setCheckable(True)
                    action.setChecked(choice.is_shown(column))
                    action.toggled.connect(partial(self._tick, choice, column.key))
        self.addSeparator()
        shown = [column.key for column in choice.arranged(columns)]
        for words, step in (("left", -1), ("right", 1)):
            self._offer_move(words, step, shown, choice, at)
        usual = self.addAction(_AS_USUAL)
        usual.setEnabled(choice != ColumnChoice())
        usual.triggered.connect(lambda: self.chosen.emit(ColumnChoice()))

    def _offer_move(self, words: str, step: int, shown: list[str], choice: ColumnChoice, at: Column | None) -> None:
        name = at.title.replace("&", "&&") if at else "column"
        action = self.addAction(f"Move “{name}” {words}")
        place = shown.index(at.key) if at is not None and at.key in shown else -1
        goal = place + step
        action.setEnabled(place >= 0 and 0 <= goal < len(shown))
        if action.isEnabled():
            order = list(shown)
            order.insert(goal, order.pop(place))
            action.triggered.connect(lambda: self.chosen.emit(choice.with_order(order)))

    def _tick(self, choice: ColumnChoice, key: str, is_shown: bool) -> None:
        self.chosen.emit(choice.with_shown(key, is_shown))
