"""Tables of whole rows of words, as high as their rows: signals, and changes at the bench."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from stirfall.desktop.bench_form.look import GAP, TARGET
from stirfall.desktop.row_table import set_up_rows

_MOST_ROWS = 6


class WordTable(QTableView):
    """Rows of words; the last column wraps its words and takes the room that is left.

    Signals:
        picked(int): a row was chosen by the keyboard or the pointer; -1 for none.
        opened(int): Enter was pressed on a row, or it was clicked twice.
    """

    picked = Signal(int)
    opened = Signal(int)

    def __init__(self, name: str, title: str, header: Sequence[str]) -> None:
        super().__init__()
        self._rows: tuple[tuple[str, ...], ...] = ()
        self._header = list(header)
        self._model = QStandardItemModel(0, len(header), self)
        self._model.setHorizontalHeaderLabels(self._header)
        set_up_rows(self, self._model, name=name, title=title, row_height=TARGET)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setWordWrap(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.verticalHeader().setMinimumSectionSize(TARGET)
        header_view = self.horizontalHeader()
        header_view.setSectionResizeMode(len(header) - 1, QHeaderView.ResizeMode.Stretch)
        self.selectionModel().currentRowChanged.connect(self._tell_row)
        self.doubleClicked.connect(lambda index: self.opened.emit(index.row()))

    @property
    def row(self) -> int:
        """The row in hand, -1 for none."""
        return self.currentIndex().row()

    def show_rows(self, rows: Sequence[tuple[str, ...]]) -> None:
        """Show these rows; the same rows change nothing."""
        wanted = tuple(rows)
        if wanted != self._rows:
            self._rows = wanted
            self._model.removeRows(0, self._model.rowCount())
            for row in wanted:
                self._model.appendRow([_item(cell) for cell in row])
            self._fit_columns()
            self._fit()
            self.picked.emit(self.row)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another width breaks words elsewhere."""
        super().resizeEvent(event)
        self._fit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the row in hand."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.row >= 0:
            self.opened.emit(self.row)
            event.accept()
        else:
            super().keyPressEvent(event)

    def _tell_row(self, current: QModelIndex, _previous: QModelIndex) -> None:
        self.picked.emit(current.row())

    def changeEvent(self, event: QEvent) -> None:
        """Another font takes another width."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_columns()

    def _fit_columns(self) -> None:
        """Give each column but the last the width of its longest words."""
        metrics = self.fontMetrics()
        for column, title in enumerate(self._header[:-1]):
            words = [title, *(row[column] for row in self._rows)]
            self.setColumnWidth(column, round(1.15 * max(map(metrics.horizontalAdvance, words))) + 3 * GAP)

    def _fit(self) -> None:
        """Be as high as the rows, up to six of them; more scroll."""
        shown = range(min(len(self._rows), _MOST_ROWS))
        rows = sum(max(self.rowHeight(at), TARGET) for at in shown)
        height = self.horizontalHeader().sizeHint().height() + rows + 2 * self.frameWidth()
        if self.height() != height or self.minimumHeight() != height:
            self.setFixedHeight(height)


def _item(text: str) -> QStandardItem:
    item = QStandardItem(text)
    item.setEditable(False)
    item.setToolTip(text)
    item.setTextAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
    return item
