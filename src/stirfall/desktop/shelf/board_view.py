"""The table of jars that are ageing: the essential columns always fit, others as far as there is room."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QMenu, QTableView

from stirfall.desktop.bench_form.look import GAP, TARGET
from stirfall.desktop.row_table import set_up_rows
from stirfall.desktop.shelf.board import OPEN_FIRST, SORTABLE
from stirfall.desktop.shelf.cells import LEAST_CURVE, USUAL_CURVE, BoardCells, Ruler
from stirfall.desktop.shelf.table import COLUMNS, ESSENTIAL, ShelfTable
from stirfall.desktop.theme import Theme

_HEADER, _HEADER_ROOM = 36, 30  # its height; margins and the arrow of the order beside a title
_UNMEASURED, _MOST_WIDTHS = 60, 5000
_MEASURED = 60  # rows whose width is measured: looking at all would take long on a large shelf


class BoardView(QTableView):
    """Shows a ``ShelfTable``; a press on a header asks for its order.

    Signals:
        order_wanted(str): the jars shall stand in the order of this column.
        columns_chosen(str): the person chose columns; as text, to be kept.
    """

    order_wanted = Signal(str)
    columns_chosen = Signal(str)

    def __init__(self, model: ShelfTable) -> None:
        super().__init__()
        self.cells = BoardCells(self)
        self._board = model
        self._order = OPEN_FIRST
        self._wanted: frozenset[str] | None = None
        self._hints: dict[tuple[str, bool], int] = {}
        self._widths: dict[tuple[str, bool], int] = {}
        set_up_rows(self, model, name="shelf_table", title="Jars that are ageing now", row_height=TARGET)
        self.setItemDelegate(self.cells)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setStretchLastSection(False)
        header.setSectionsClickable(True)
        header.setMinimumHeight(_HEADER)
        header.sectionClicked.connect(lambda at: self.order_wanted.emit(COLUMNS[at]))
        model.dataChanged.connect(lambda *_cells: self._measure())
        model.modelReset.connect(self._measure)

    def set_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.cells.theme = theme
        self.viewport().update()

    def show_order(self, order: str, *, is_reversed: bool) -> None:
        """Show in the header by which column the jars stand."""
        self._order = order
        header = self.horizontalHeader()
        header.setSortIndicatorShown(order != OPEN_FIRST and order in SORTABLE)
        if order in COLUMNS:
            way = Qt.SortOrder.DescendingOrder if is_reversed else Qt.SortOrder.AscendingOrder
            header.setSortIndicator(COLUMNS.index(order), way)

    # -- columns -----------------------------------------------------------------------------------

    @property
    def shown_columns(self) -> tuple[str, ...]:
        """The columns that are shown now."""
        return tuple(name for at, name in enumerate(COLUMNS) if not self.isColumnHidden(at))

    def choose_columns(self, wanted: frozenset[str] | None) -> None:
        """Show these columns beside the essential ones, None: as many as there is room for."""
        self._wanted = wanted
        self.fit()

    def fill_menu(self, menu: QMenu) -> None:
        """Offer the orders, every column that is not essential, and the choice by room."""
        menu.clear()
        orders = menu.addMenu("Order by")
        for name in (OPEN_FIRST, *(each for each in COLUMNS if each in SORTABLE)):
            action = QAction(name or "what to open first", orders, checkable=True, checked=name == self._order)
            action.triggered.connect(lambda _on, which=name: self.order_wanted.emit(which))
            orders.addAction(action)
        menu.addSeparator()
        by_room = QAction("As many as fit", menu, checkable=True, checked=self._wanted is None)
        by_room.triggered.connect(lambda: self._choose(None))
        menu.addAction(by_room)
        menu.addSeparator()
        for name in COLUMNS[len(ESSENTIAL) :]:
            action = QAction(name, menu, checkable=True, checked=name in self.shown_columns)
            action.triggered.connect(lambda is_on, which=name: self._toggle(which, is_on=is_on))
            menu.addAction(action)

    def _toggle(self, name: str, *, is_on: bool) -> None:
        shown = frozenset(self.shown_columns) - frozenset(ESSENTIAL)
        self._choose(shown | {name} if is_on else shown - {name})

    def _choose(self, wanted: frozenset[str] | None) -> None:
        self.choose_columns(wanted)
        self.columns_chosen.emit(columns_as_text(wanted))

    def _measure(self) -> None:
        """Measure the text of each column, then share the width anew."""
        if len(self._widths) > _MOST_WIDTHS:
            self._widths.clear()  # ages run on, so new texts come for ever
        ruler = Ruler(self.font(), self._widths)
        header = self.horizontalHeader().fontMetrics()
        rows = self._board.contents(_MEASURED)
        for name in COLUMNS:
            least = header.horizontalAdvance(name) + _HEADER_ROOM
            cells = [row[name] for row in rows]
            self._hints[name, False] = max([least, *(ruler.width(cell, cell.lines) for cell in cells)])
            self._hints[name, True] = max([least, *(ruler.width(cell, cell.narrow_lines) for cell in cells)])
        self.fit()

    def _needed(self, name: str, *, is_narrow: bool) -> int:
        return self._hints.get((name, is_narrow), _UNMEASURED)

    def fit(self) -> None:
        """Share the width: essential columns first, then others, what is left to the curve."""
        room = self.viewport().width()
        wide = sum(self._needed(name, is_narrow=False) for name in ESSENTIAL) + LEAST_CURVE + GAP
        is_narrow = wide > room
        needed = {name: self._needed(name, is_narrow=is_narrow) for name in COLUMNS}
        total = sum(needed[name] for name in ESSENTIAL) + USUAL_CURVE + GAP
        shown = set(ESSENTIAL)
        for name in COLUMNS[len(ESSENTIAL) :]:
            if name in (self._wanted or ()) or (self._wanted is None and total + needed[name] <= room):
                shown.add(name)
                total += needed[name]
        text = needed["Best"]
        rest = sum(needed[name] for name in shown if name != "Best")
        # Where even the broken lines leave no room for a curve, the text alone stands there.
        needed["Best"] = max(text, room - rest)
        self.cells.is_narrow = is_narrow
        self._board.best_text_room = text - 2 * GAP
        for at, name in enumerate(COLUMNS):
            self.setColumnHidden(at, name not in shown)
            self.setColumnWidth(at, needed[name])
        self.verticalHeader().setDefaultSectionSize(self.cells.row_height(self.fontMetrics()))
        self.viewport().update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share the new width."""
        super().resizeEvent(event)
        self.fit()
        if self.selectionModel().hasSelection():
            self.scrollTo(self.currentIndex())

    def changeEvent(self, event: QEvent) -> None:
        """Measure anew for another size of text."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange) and hasattr(self, "_widths"):
            self._widths.clear()
            self._measure()


def columns_as_text(wanted: frozenset[str] | None) -> str:
    """Return a choice of columns as settings keep it: "" for as many as fit, a dash for none of them."""
    return "" if wanted is None else ", ".join(sorted(wanted)) or "-"


def columns_of_text(text: str) -> frozenset[str] | None:
    """Read a choice of columns; what is no column of today is left out."""
    return frozenset(text.split(", ")) & frozenset(COLUMNS) if text else None
