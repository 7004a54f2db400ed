"""The shelf as table models: jars that are ageing, jars that shall be started, and jars of residue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt
from PySide6.QtGui import QColor

from stirfall.bench.units import format_quantity
from stirfall.desktop.shelf.board import (
    best_lines,
    chance_lines,
    curve_in_words,
    in_words,
    use_by_lines,
    window_lines,
)
from stirfall.desktop.shelf.cells import CONTENT_ROLE
from stirfall.desktop.shelf.planned import PlannedRow
from stirfall.desktop.shelf.residue_note import read_note
from stirfall.desktop.shelf.state import JarRow, ShelfState, look_text
from stirfall.desktop.theme import LIGHT, Theme

if TYPE_CHECKING:
    from stirfall.session.forecast import JarForecast

ESSENTIAL = ("Jar", "Says", "Age", "Now", "Best")
COLUMNS = (*ESSENTIAL, "Window", "Tonight", "Tomorrow", "Use by", "Look", "Film index", "Kept under")
PLANNED_COLUMNS = ("Jar", "Starts", "Due", "Lot", "Mass", "Kept under")
RESIDUE_COLUMNS = ("Jar", "Says", "Waits", "From", "Stands", "Mass", "Look", "Lot", "Kept under")
Index = QModelIndex | QPersistentModelIndex
Lines = tuple[str, ...]


@dataclass(frozen=True)
class CellContent:
    """What a cell shows: its lines, and for the best time the curve beside them.

    ``narrow_lines`` break where there is little room. ``role`` is a colour of the theme, "" for that of the text.
    ``text_room`` is the width of the widest text of a column with curves, so that all curves begin in one line.
    """

    lines: Lines
    narrow_lines: Lines
    now: datetime
    role: str = ""
    is_strong: bool = False
    is_stale: bool = False
    has_curve_column: bool = False
    forecast: JarForecast | None = None
    text_room: int = 0


def broken(text: str) -> Lines:
    """Break a text into two lines of about equal length, at a space."""
    words = text.split(" ")
    if len(words) < 3 and len(text) < 12:
        return (text,)
    # The shape stays with its word.
    breaks = range(2 if words[0] and not words[0][0].isalnum() else 1, len(words))
    halves = [(" ".join(words[:at]), " ".join(words[at:])) for at in breaks]
    return min(halves, key=lambda pair: max(len(pair[0]), len(pair[1])), default=(text,))


def _one_per_line(lines: Lines) -> Lines:
    """Break a chance from its interval, for three lines in a narrow cell."""
    return tuple(part for line in lines for part in line.split(", "))


_LINES: Mapping[str, Callable[[JarRow, ShelfState], Lines]] = {
    "Jar": lambda row, _state: (row.jar.id, f"lot {row.jar.lot_id}"),
    "Says": lambda row, _state: broken(row.mark),
    "Age": lambda row, _state: (row.age,),
    "Now": lambda row, _state: chance_lines(row.estimate, row),
    "Best": lambda row, state: best_lines(row, state.now),
    "Window": lambda row, state: window_lines(row, state.now),
    "Tonight": lambda row, _state: chance_lines(row.forecast.tonight if row.forecast else None, row),
    "Tomorrow": lambda row, _state: chance_lines(row.forecast.tomorrow if row.forecast else None, row),
    "Use by": lambda row, state: use_by_lines(row, state.now),
    "Look": lambda row, state: tuple(look_text(row, state.now).split(", ")),
    "Film index": lambda row, _state: tuple(row.film_text.replace(" (", "\n").rstrip(")").split("\n")),
    "Kept under": lambda row, _state: tuple(row.kept.split(", lid ", 1)),
}
_TEXTS: Mapping[str, Callable[[JarRow, ShelfState], str]] = {
    "Jar": lambda row, _state: row.jar.id,
    "Says": lambda row, _state: row.mark,
    "Film index": lambda row, _state: row.film_text,
    "Kept under": lambda row, _state: row.kept,
}


class RowsTable(QAbstractTableModel):
    """Rows of a shelf state in columns; each kind of row says what its cells hold."""

    columns: ClassVar[tuple[str, ...]] = ()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[Any, ...] = ()
        self._state: ShelfState | None = None
        self._theme = LIGHT

    def set_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self._theme = theme

    def show_state(self, state: ShelfState | None) -> None:
        """Take new rows; the selection survives when the jars are the same."""
        rows = self.rows_of(state) if state else ()
        is_same = [row.jar.id for row in rows] == [row.jar.id for row in self._rows]
        if is_same:
            self._rows, self._state = rows, state
            if rows:
                self.dataChanged.emit(self.index(0, 0), self.index(len(rows) - 1, len(self.columns) - 1))
            return
        self.beginResetModel()
        self._rows, self._state = rows, state
        self.endResetModel()

    def rows_of(self, state: ShelfState) -> tuple[Any, ...]:
        """Return the rows of a state that this table shows."""
        raise NotImplementedError

    def text(self, row: Any, column: str, state: ShelfState) -> str:  # noqa: ANN401  # a row of this table
        """Return what a cell says in one line."""
        raise NotImplementedError

    def jar_id(self, row: int) -> str | None:
        """Return the jar of a row."""
        return self._rows[row].jar.id if 0 <= row < len(self._rows) else None

    def row_of(self, jar_id: str | None) -> int | None:
        """Return the row of a jar."""
        return next((at for at, row in enumerate(self._rows) if row.jar.id == jar_id), None)

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of jars."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008  # Qt's own signature
        """Return the number of columns."""
        return 0 if parent.isValid() else len(self.columns)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self.columns[section]
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell, its tip, its words for screen readers, and its colour."""
        if not index.isValid() or self._state is None:
            return None
        row, column = self._rows[index.row()], self.columns[index.column()]
        if role == Qt.ItemDataRole.DisplayRole:
            return self.text(row, column, self._state)
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{column}: {self.spoken(row, column, self._state)}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.tip(row, column, self._state)
        if role == Qt.ItemDataRole.ForegroundRole and (name := self.role_of(row, column)):
            return QColor(self._theme.colour(name))
        if role == CONTENT_ROLE:
            return self.content(row, column, self._state)
        return None

    def spoken(self, row: Any, column: str, state: ShelfState) -> str:  # noqa: ANN401  # a row of this table
        """Return what a screen reader says of a cell."""
        return self.text(row, column, state)

    def tip(self, row: Any, column: str, state: ShelfState) -> str | None:  # noqa: ANN401, ARG002  # as above
        """Return the tip of a cell."""
        return None

    def role_of(self, row: Any, column: str) -> str:  # noqa: ANN401, ARG002  # as above
        """Return the role of the colour of a cell, "" for the usual one."""
        return ""

    def content(self, row: Any, column: str, state: ShelfState) -> CellContent | None:  # noqa: ANN401, ARG002
        """Return how a cell is drawn, None for one plain line."""
        return None


class ShelfTable(RowsTable):
    """Rows are the jars that are ageing now."""

    columns: ClassVar[tuple[str, ...]] = COLUMNS

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.best_text_room = 0

    def rows_of(self, state: ShelfState) -> tuple[JarRow, ...]:
        """Return the jars that are ageing, of the chosen lot."""
        return state.rows

    def contents(self, most: int) -> tuple[Mapping[str, CellContent], ...]:
        """Return the cells of the first rows by column, to be measured."""
        state = self._state
        if state is None:
            return ()
        rows: tuple[JarRow, ...] = self._rows[:most]
        return tuple({name: self.content(row, name, state) for name in COLUMNS} for row in rows)

    def text(self, row: JarRow, column: str, state: ShelfState) -> str:
        """Return what a cell says in one line."""
        if column in _TEXTS:
            return _TEXTS[column](row, state)
        return ", ".join(_LINES[column](row, state))

    def spoken(self, row: JarRow, column: str, state: ShelfState) -> str:
        """Return what a screen reader says: of the best time also the window and the course of the curve."""
        text = self.text(row, column, state)
        if column != "Best" or row.forecast is None or row.is_blocked:
            return text
        window = ", ".join(window_lines(row, state.now))
        return "; ".join(part for part in (text, f"window {window}", curve_in_words(row.forecast)) if part)

    def tip(self, row: JarRow, column: str, state: ShelfState) -> str | None:
        """Return what stands behind a cell."""
        if column == "Film index":
            return row.film_why
        if column == "Says":
            return "\n".join(row.said) or None
        if column == "Kept under":
            return ", ".join(part for part in (row.jar.oil, row.jar.note) if part) or None
        return in_words(row, state.now) or None if column in ("Best", "Window", "Now") else None

    def role_of(self, row: JarRow, column: str) -> str:
        """Warnings have their colour, beside their shape and words."""
        if column == "Says" and (row.findings or row.trouble or row.caution):
            return "danger" if row.is_blocked else "caution"
        return ""

    def content(self, row: JarRow, column: str, state: ShelfState) -> CellContent:
        """Return how a cell is drawn."""
        lines = _LINES[column](row, state)
        is_chance = column in ("Now", "Tonight", "Tomorrow", "Best")
        return CellContent(
            lines,
            _one_per_line(lines) if column == "Best" else lines,
            state.now,
            role=self.role_of(row, column),
            is_strong=column in ("Jar", "Now", "Tonight", "Tomorrow", "Best"),
            is_stale=state.is_stale and is_chance,
            has_curve_column=column == "Best",
            forecast=row.forecast if column == "Best" and not row.is_blocked else None,
            text_room=self.best_text_room,
        )


class PlannedTable(RowsTable):
    """Rows are the jars that shall be started later, the next one first."""

    columns: ClassVar[tuple[str, ...]] = PLANNED_COLUMNS

    def rows_of(self, state: ShelfState) -> tuple[PlannedRow, ...]:
        """Return the jars that are planned."""
        return state.planned

    def text(self, row: PlannedRow, column: str, state: ShelfState) -> str:
        """Return what a cell says."""
        cells = {
            "Jar": row.jar.id,
            "Starts": row.starts,
            "Due": row.wait,
            "Lot": row.jar.lot_id,
            "Mass": _mass(row.jar.charge_g, state),
        }
        return cells.get(column, row.kept)

    def role_of(self, row: PlannedRow, column: str) -> str:
        """A start that is due has the colour of a caution, beside its shape and words."""
        return "caution" if row.is_due and column == "Due" else ""


class ResidueTable(RowsTable):
    """Rows are the jars of residue that wait for disposal, the longest first."""

    columns: ClassVar[tuple[str, ...]] = RESIDUE_COLUMNS

    def rows_of(self, state: ShelfState) -> tuple[JarRow, ...]:
        """Return the jars of residue."""
        return state.residues

    def text(self, row: JarRow, column: str, state: ShelfState) -> str:
        """Return what a cell says."""
        note = read_note(row.jar.note)
        cells = {
            "Jar": row.jar.id,
            "Says": row.mark,
            "Waits": row.age,
            "From": note.attempts_text or "unknown",
            "Stands": note.place or "unknown",
            "Mass": _mass(row.jar.charge_g, state),
            "Look": look_text(row, state.now),
            "Lot": row.jar.lot_id,
        }
        return cells.get(column, row.kept)

    def tip(self, row: JarRow, column: str, state: ShelfState) -> str | None:
        """Return what stands behind a cell."""
        del state
        return "\n".join(row.said) or None if column == "Says" else row.jar.note or None

    def role_of(self, row: JarRow, column: str) -> str:
        """Warnings have their colour, beside their shape and words."""
        return ("danger" if row.is_blocked else "caution") if column == "Says" and row.findings else ""


def _mass(mass_g: float | None, state: ShelfState) -> str:
    return "unknown" if mass_g is None else format_quantity(mass_g, "g", digits=4, decimal=state.decimal)
