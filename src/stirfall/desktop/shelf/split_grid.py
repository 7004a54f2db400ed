"""The jars that a split would make as a table: mass and depth of each can be typed over."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QColor

from stirfall.bench.units import format_number, human_time
from stirfall.desktop.shelf.amounts import typed
from stirfall.desktop.shelf.split_form import ReadSplit, SplitJar
from stirfall.desktop.shelf.state import FINDING_SIGNS, JarFilm, film_band
from stirfall.desktop.theme import LIGHT, Theme
from stirfall.reporting.sentences import sentence
from stirfall.session.forecast_evenings import said_moment

SPLIT_COLUMNS = ("Jar", "Mass, g", "Depth, mm", "Starts", "Age", "Film index", "Says")
EDITABLE = {"Mass, g": "charge", "Depth, mm": "depth"}
_MARKS = {"block": "■ Do not", "warn": "⚠ See below", "note": "• See below"}
Index = QModelIndex | QPersistentModelIndex
_NO_FILMS: Mapping[str, JarFilm] = MappingProxyType({})


class SplitGrid(QAbstractTableModel):
    """Rows are jars in the order of their ids.

    Signals:
        typed_over(name, place, text): ``charge`` or ``depth`` of one jar was typed; the place counts from 0.
    """

    typed_over = Signal(str, int, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._read = ReadSplit("")
        self._films = _NO_FILMS
        self._decimal = "."
        self._own: Mapping[str, Mapping[int, str]] = {}
        self._theme = LIGHT

    def set_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme

    def show_read(self, read: ReadSplit, own: Mapping[str, Mapping[int, str]], decimal: str) -> None:
        """Show the jars of a split; ``own`` is what was typed over, by name and place."""
        is_same = len(read.jars) == len(self._read.jars)
        if not is_same:
            self.beginResetModel()
        self._read, self._own, self._decimal = read, own, decimal
        if not is_same:
            self.endResetModel()
        self._tell()

    def show_films(self, films: Mapping[str, JarFilm]) -> None:
        """Show film indices by the id of the jar."""
        self._films = films
        at = SPLIT_COLUMNS.index("Film index")
        self._tell(at, at)  # a change of the whole row would empty an editor that is open in it

    def _tell(self, first: int = 0, last: int = len(SPLIT_COLUMNS) - 1) -> None:
        if self._read.jars:
            self.dataChanged.emit(self.index(0, first), self.index(len(self._read.jars) - 1, last))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of jars."""
        return 0 if parent.isValid() else len(self._read.jars)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of columns."""
        return 0 if parent.isValid() else len(SPLIT_COLUMNS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return SPLIT_COLUMNS[section]
        return None

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Mass and depth can be typed over."""
        flags = super().flags(index)
        is_open = index.isValid() and SPLIT_COLUMNS[index.column()] in EDITABLE
        return flags | Qt.ItemFlag.ItemIsEditable if is_open else flags

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take what was typed; the form reads it."""
        name = EDITABLE.get(SPLIT_COLUMNS[index.column()])
        if role != Qt.ItemDataRole.EditRole or name is None or str(value) == self._raw(index.row(), name):
            return False
        self.typed_over.emit(name, index.row(), str(value))
        return True

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell."""
        if not index.isValid():
            return None
        row, column = self._read.jars[index.row()], SPLIT_COLUMNS[index.column()]
        name = EDITABLE.get(column)
        problem = self._read.problems.get(f"{name}:{index.row()}") if name else None
        if role == Qt.ItemDataRole.DisplayRole:
            return f"⚠ {self._raw(index.row(), name)}" if problem and name else self._cell(row, column)
        if role == Qt.ItemDataRole.EditRole and name:
            return self._raw(index.row(), name)
        if role == Qt.ItemDataRole.ToolTipRole:
            if problem is not None:
                return sentence(problem.code, problem.params, decimal=self._decimal)
            return "\n".join(said_findings(row, self._decimal)) or None if column == "Says" else None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{column}: {self._cell(row, column)}"
        if role == Qt.ItemDataRole.ForegroundRole and (problem or (column == "Says" and row.findings)):
            is_stop = problem is not None or row.findings[0].level == "block"
            return QColor(self._theme.danger if is_stop else self._theme.caution)
        return None

    def _raw(self, place: int, name: str) -> str:
        own = self._own.get(name, {})
        if place in own:
            return own[place]
        jar = self._read.jars[place].jar
        return typed(jar.charge_g if name == "charge" else jar.oil_depth_mm, self._decimal)

    def _cell(self, row: SplitJar, column: str) -> str:
        jar = row.jar
        if column == "Jar":
            return jar.id
        if column == "Mass, g":
            return "–" if jar.charge_g is None else format_number(jar.charge_g, digits=4, decimal=self._decimal)
        if column == "Depth, mm":
            return "–" if jar.oil_depth_mm is None else format_number(jar.oil_depth_mm, decimal=self._decimal)
        if column == "Starts":
            return said_moment(jar.started_at, row.now) if jar.planned else "now"
        if column == "Age":
            return "–" if row.age_h is None else human_time(row.age_h, "h", decimal=self._decimal)
        if column == "Film index":
            film = self._films.get(jar.id)
            return film_band(film.film if film else None, self._decimal)
        return _MARKS[row.findings[0].level] if row.findings else ""


def said_findings(row: SplitJar, decimal: str) -> tuple[str, ...]:
    """Return what the limits say of one jar, each with its shape."""
    return tuple(
        f"{FINDING_SIGNS[each.level]} {sentence(each.code, each.params, decimal=decimal)}" for each in row.findings
    )
