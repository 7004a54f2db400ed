"""The look and keys that all tables of whole rows share."""

from __future__ import annotations

from PySide6.QtCore import QAbstractItemModel, Qt
from PySide6.QtWidgets import QAbstractItemView, QTableView


def set_up_rows(table: QTableView, model: QAbstractItemModel, *, name: str, title: str, row_height: int) -> None:
    """Make ``table`` show whole rows of ``model``: object name, accessible name, selection by row, no grid.

    Tab leaves the table, so that every control stays within reach of the keyboard.
    """
    table.setObjectName(name)
    table.setAccessibleName(title)
    table.setModel(model)
    table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    table.setTabKeyNavigation(False)
    table.setShowGrid(False)
    table.setWordWrap(False)
    table.verticalHeader().hide()
    table.verticalHeader().setDefaultSectionSize(row_height)
    table.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    header = table.horizontalHeader()
    header.setHighlightSections(False)
    header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    header.setStretchLastSection(True)
