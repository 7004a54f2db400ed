"""The attempts as a table model that stays fast with a hundred thousand rows: cells are written when shown."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cache

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QApplication

from stirfall.bench.campaign import CampaignState
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import Attempt
from stirfall.desktop.ledger.columns import Column, ColumnChoice, Source, all_columns
from stirfall.desktop.ledger.slices import Slices
from stirfall.desktop.theme import Theme
from stirfall.session.ledger_rows import Places, Steps, fitting_places, sorted_places

Index = QModelIndex | QPersistentModelIndex
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


@dataclass(frozen=True)
class Arrangement:
    """Which rows are shown: ``fits`` None means all; ``needle`` is looked for in all shown text."""

    fits: Callable[[Attempt], bool] | None = None
    needle: str = ""

    @property
    def is_plain(self) -> bool:
        """Whether every attempt is shown."""
        return self.fits is None and not self.needle.strip()


class LedgerTable(QAbstractTableModel):
    """Rows are attempts, the newest first until another order is asked for.

    Signals:
        arranged(): the rows that were asked for are there; what was selected must be selected again.
        columns_changed(): other columns are shown.
    """

    arranged = Signal()
    columns_changed = Signal()

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._theme, self._decimal = theme, "."
        self._attempts: tuple[Attempt, ...] = ()
        self.source = Source()
        self.choice = ColumnChoice()
        self.all_columns: tuple[Column, ...] = all_columns(self.source, self._decimal)
        self._columns = self.choice.arranged(self.all_columns)
        self._places: Places | None = None
        self._arrangement = Arrangement()
        self._sorted_by: tuple[str, bool] | None = None
        self._texts: dict[str, str] = {}
        self._slices = Slices(self)
        self._struck_font = QFont()
        self._struck_font.setStrikeOut(True)

    # -- content -----------------------------------------------------------------------------------

    @property
    def columns(self) -> tuple[Column, ...]:
        """The columns that are shown, in the order of the model."""
        return self._columns

    @property
    def is_busy(self) -> bool:
        """Whether rows are still being looked for or put in order."""
        return self._slices.is_busy

    def set_look(self, theme: Theme, decimal: str) -> None:
        """Write numbers and draw marks in another way."""
        is_other = decimal != self._decimal
        self._theme, self._decimal = theme, decimal
        if is_other:
            self._rebuild_columns()
        elif rows := self.rowCount():
            self.dataChanged.emit(self.index(0, 0), self.index(rows - 1, len(self._columns) - 1))

    def choose_columns(self, choice: ColumnChoice) -> None:
        """Show other columns, or the same in another order."""
        if choice != self.choice:
            self.choice = choice
            self._rebuild_columns()

    def _rebuild_columns(self) -> None:
        self.beginResetModel()
        self.all_columns = all_columns(self.source, self._decimal)
        self._columns = self.choice.arranged(self.all_columns)
        self._texts.clear()
        self.endResetModel()
        self.columns_changed.emit()
        if self._arrangement.needle.strip():
            self._rearrange()
        else:
            self.arranged.emit()

    def show_campaign(self, campaign: CampaignState | None, photographed: frozenset[str] = frozenset()) -> bool:
        """Show the attempts of a campaign; return whether the whole table was replaced."""
        attempts = campaign.attempts if campaign else ()
        factors = campaign.factors if campaign else ()
        old_factors = self.source.campaign.factors if self.source.campaign else ()
        is_other = self.source.show(campaign, photographed)
        if is_other:
            self._texts.clear()
        if attempts is self._attempts and factors == old_factors:
            return False
        self._forget_changed(attempts)
        if factors == old_factors and self._places is None and not self.is_busy:
            if self._is_grown(attempts):
                self._append(attempts)
                return False
            if len(attempts) == len(self._attempts):
                self._replace(attempts, all_rows=is_other)
                return False
        self.beginResetModel()
        # Until the new order is worked out the old one stays: attempts keep their places in the file.
        kept = self._places if factors == old_factors else None
        self._attempts = attempts
        self._places = None if kept is None else [place for place in kept if place < len(attempts)]
        self.all_columns = all_columns(self.source, self._decimal)
        self._columns = self.choice.arranged(self.all_columns)
        self.endResetModel()
        if factors != old_factors:
            self._texts.clear()
            self.columns_changed.emit()
        self._rearrange()
        return True

    def _is_grown(self, attempts: tuple[Attempt, ...]) -> bool:
        old = self._attempts
        return bool(old) and len(attempts) > len(old) and attempts[: len(old)] == old

    def _append(self, attempts: tuple[Attempt, ...]) -> None:
        self.beginInsertRows(QModelIndex(), 0, len(attempts) - len(self._attempts) - 1)
        self._attempts = attempts
        self.endInsertRows()

    def _replace(self, attempts: tuple[Attempt, ...], *, all_rows: bool) -> None:
        old, self._attempts = self._attempts, attempts
        count = len(attempts)
        if all_rows and count:
            self.dataChanged.emit(self.index(0, 0), self.index(count - 1, len(self._columns) - 1))
            return
        for place, (before, after) in enumerate(zip(old, attempts, strict=True)):
            if before is not after:
                row = count - 1 - place
                self.dataChanged.emit(self.index(row, 0), self.index(row, len(self._columns) - 1))

    # -- which rows, in which order ----------------------------------------------------------------

    def arrange(self, arrangement: Arrangement) -> None:
        """Show the rows that fit; ``arranged`` tells when they are there."""
        self._arrangement = arrangement
        self._rearrange()

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column; below zero is the order of the file, the newest first."""
        is_known = 0 <= column < len(self._columns)
        key = self._columns[column].key if is_known else ""
        self._sorted_by = (key, order == Qt.SortOrder.DescendingOrder) if is_known else None
        self._rearrange()

    def _rearrange(self) -> None:
        if self._is_as_in_file():
            self._slices.stop()
            self._take_places(None)
            return
        self._slices.run(self._steps(), self._take_places)

    def _is_as_in_file(self) -> bool:
        return self._arrangement.is_plain and self._sorted_by in (None, ("number", True))

    def _steps(self) -> Steps:
        attempts, asked = self._attempts, self._arrangement
        places = yield from fitting_places(attempts, asked.fits, needle=asked.needle, text=self._row_text)
        if self._sorted_by is None:
            return places
        key, descending = self._sorted_by
        column = next((each for each in self.all_columns if each.key == key), None)
        if column is None:
            return places
        return (yield from sorted_places(attempts, places, column.sort_key, descending=descending))

    def _row_text(self, attempt: Attempt) -> str:
        text = self._texts.get(attempt.id)
        if text is None:
            text = self._texts[attempt.id] = "\n".join(column.text(attempt) for column in self._columns).casefold()
        return text

    def _forget_changed(self, attempts: tuple[Attempt, ...]) -> None:
        """Forget the text of each attempt that is another record now."""
        if self._texts:
            for before, after in zip(self._attempts, attempts, strict=False):
                if before is not after:
                    self._texts.pop(before.id, None)
                    self._texts.pop(after.id, None)

    def _take_places(self, places: Places | None) -> None:
        if places is None and self._places is None:
            self.arranged.emit()
            return
        self.beginResetModel()
        self._places = places
        self.endResetModel()
        self.arranged.emit()

    def _place(self, row: int) -> int:
        return self._places[row] if self._places is not None else len(self._attempts) - 1 - row

    def attempt(self, row: int) -> Attempt | None:
        """Return the attempt of a row."""
        return self._attempts[self._place(row)] if 0 <= row < self.rowCount() else None

    def row_of(self, attempt_id: str | None) -> int | None:
        """Return the row of an attempt, None where it is not shown."""
        return None if attempt_id is None else next(iter(self.rows_of({attempt_id})), None)

    def rows_of(self, attempt_ids: Collection[str]) -> list[int]:
        """Return the rows of these attempts, those that are shown."""
        attempts = self._attempts
        places = [at for at in range(len(attempts) - 1, -1, -1) if attempts[at].id in attempt_ids]
        if self._places is None:
            return [len(attempts) - 1 - place for place in places]
        wanted = set(places)
        return [row for row, place in enumerate(self._places) if place in wanted] if wanted else []

    def shown_attempts(self) -> list[Attempt]:
        """Return all attempts that are shown, in the order shown."""
        places = range(len(self._attempts) - 1, -1, -1) if self._places is None else self._places
        return [self._attempts[place] for place in places]

    # -- Qt ----------------------------------------------------------------------------------------

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of attempts that are shown."""
        if parent.isValid():
            return 0
        return len(self._attempts) if self._places is None else len(self._places)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of columns."""
        return 0 if parent.isValid() else len(self._columns)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation != Qt.Orientation.Horizontal or not 0 <= section < len(self._columns):
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._columns[section].title
        if role == Qt.ItemDataRole.TextAlignmentRole and self._columns[section].is_number:
            return _RIGHT
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return text, mark, alignment or font of a cell."""
        if not index.isValid():
            return None
        attempt = self._attempts[self._place(index.row())]
        column = self._columns[index.column()]
        is_outcome = column.key == "outcome"
        if role == Qt.ItemDataRole.DisplayRole:
            return column.text(attempt)
        if role == Qt.ItemDataRole.DecorationRole and is_outcome:
            return mark_picture(self._theme, attempt.outcome, mark_size())
        if role == Qt.ItemDataRole.TextAlignmentRole and column.is_number:
            return _RIGHT
        if role == Qt.ItemDataRole.FontRole and attempt.is_struck and not is_outcome:
            return self._struck_font
        if role == Qt.ItemDataRole.ForegroundRole and attempt.is_struck:
            return QColor(self._theme.muted)
        if role == Qt.ItemDataRole.ToolTipRole:
            return column.text(attempt) or None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{column.title}: {column.text(attempt) or 'nothing'}"
        return None


def mark_size() -> int:
    """Return the size of a mark beside the present text, in pixels."""
    return QFontMetrics(QApplication.font()).height()


@cache
def mark_picture(theme: Theme, outcome: Outcome, size: int) -> QIcon:
    """Return the mark of an outcome in the shape and colour of the plots; in a selected row it takes the text's."""
    mark = theme.mark(outcome)
    icon = QIcon(_drawn(mark.glyph, mark.colour, size))
    icon.addPixmap(_drawn(mark.glyph, theme.on_accent, size), QIcon.Mode.Selected)
    return icon


def _drawn(glyph: str, colour: str, size: int) -> QPixmap:
    pixmap = QPixmap(2 * size, 2 * size)
    pixmap.setDevicePixelRatio(2)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    font = QFont(QApplication.font())
    font.setPixelSize(round(0.8 * size))
    painter.setFont(font)
    painter.setPen(QColor(colour))
    painter.drawText(QRectF(0, 0, size, size), Qt.AlignmentFlag.AlignCenter, glyph)
    painter.end()
    return pixmap
