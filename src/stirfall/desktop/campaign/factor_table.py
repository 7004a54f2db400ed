"""The table model of the factors editor: rows of text with a judgement per row."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import FILM_INDEX_NAME, Factor, Role, Scale
from stirfall.desktop.campaign.factor_rows import SCALE_WORDS, FactorRow, problem_of, read_row, row_of
from stirfall.desktop.theme import Theme

COLUMNS = (
    ("name", "Name"),
    ("unit", "Unit"),
    ("low", "Lowest"),
    ("high", "Highest"),
    ("scale", "Scale"),
    ("step", "Step"),
    ("levels", "Levels of a choice"),
    ("default", "Default"),
    ("hidden", "In use"),
)
FIELDS = tuple(field for field, _ in COLUMNS)
_NUMBER_ONLY = {"unit", "low", "high", "scale", "step"}
_NONE = "–"
_ROOT = QModelIndex()
_Index = QModelIndex | QPersistentModelIndex


class FactorTable(QAbstractTableModel):
    """Rows of factors; every edit judges all rows again, ``problems`` holds one sentence per row or ``""``."""

    def __init__(self, state: CampaignState, theme: Theme, decimal: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        used = {name for attempt in state.attempts for name in attempt.conditions}
        self._decimal = decimal
        self._theme = theme
        self.rows = [row_of(factor, used=factor.name in used, decimal=decimal) for factor in state.factors]
        self.problems: list[str] = []
        self._judge()

    def factors(self) -> tuple[Factor, ...] | None:
        """Return the factors that the rows mean, or None while a row has a problem."""
        if any(self.problems):
            return None
        try:
            return tuple(read_row(row) for row in self.rows)
        except InputError:
            return None

    def add(self, *, is_choice: bool) -> int:
        """Append an empty factor and return its row."""
        at = len(self.rows)
        self.beginInsertRows(_ROOT, at, at)
        self.rows.append(FactorRow(is_choice=is_choice))
        self._judge()
        self.endInsertRows()
        return at

    @property
    def has_film_index(self) -> bool:
        """Whether one of the rows is the film index."""
        return any(
            (row.original is not None and row.original.role is Role.FILM_INDEX)
            or " ".join(row.name.split()).casefold() == FILM_INDEX_NAME
            for row in self.rows
        )

    def add_ready(self, factor: Factor) -> int:
        """Append a factor that comes ready made and return its row."""
        at = len(self.rows)
        self.beginInsertRows(_ROOT, at, at)
        self.rows.append(row_of(factor, used=False, decimal=self._decimal))
        self._judge()
        self.endInsertRows()
        return at

    def can_remove(self, row: int) -> bool:
        """Whether no recorded attempt has a value for this factor."""
        return 0 <= row < len(self.rows) and not self.rows[row].used

    def remove(self, row: int) -> None:
        """Remove a factor that no attempt uses."""
        if not self.can_remove(row):
            return
        self.beginRemoveRows(_ROOT, row, row)
        del self.rows[row]
        self._judge()
        self.endRemoveRows()

    def move(self, row: int, step: int) -> int:
        """Move a row up or down by one and return where it stands now."""
        to = row + step
        if not (0 <= row < len(self.rows) and 0 <= to < len(self.rows)):
            return row
        self.layoutAboutToBeChanged.emit()
        self.rows[row], self.rows[to] = self.rows[to], self.rows[row]
        self._judge()
        self.layoutChanged.emit()
        return to

    def rowCount(self, parent: _Index = _ROOT) -> int:
        """Return the number of factors."""
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _Index = _ROOT) -> int:
        """Return the number of fields."""
        return 0 if parent.isValid() else len(COLUMNS)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = 0) -> object:
        """Return the words over the columns."""
        if role == Qt.ItemDataRole.DisplayRole and orientation == Qt.Orientation.Horizontal:
            return COLUMNS[section][1]
        return None

    def flags(self, index: _Index) -> Qt.ItemFlag:
        """Tell which cells can be edited."""
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        row, field = self.rows[index.row()], FIELDS[index.column()]
        flags = Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled
        if field == "hidden":
            return flags | Qt.ItemFlag.ItemIsUserCheckable
        return flags | Qt.ItemFlag.ItemIsEditable if _is_open(row, field) else flags

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return what a cell shows."""
        if not index.isValid():
            return None
        row, field = self.rows[index.row()], FIELDS[index.column()]
        if field == "hidden":
            return _check_of(row, role)
        if role == Qt.ItemDataRole.EditRole:
            return row.scale if field == "scale" else getattr(row, field)
        if role == Qt.ItemDataRole.DisplayRole:
            return self._shown(index.row(), row, field)
        if role == Qt.ItemDataRole.ForegroundRole:
            return self._ink(index.row(), row, field)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.problems[index.row()] or _locked_note(row, field)
        return None

    def setData(self, index: _Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        """Take what was typed into a cell."""
        field = FIELDS[index.column()]
        row = self.rows[index.row()]
        if field == "hidden" and role == Qt.ItemDataRole.CheckStateRole:
            changed = row.with_field("hidden", Qt.CheckState(value) != Qt.CheckState.Checked)
        elif role == Qt.ItemDataRole.EditRole and _is_open(row, field):
            changed = row.with_field(field, Scale(str(value)) if field == "scale" else str(value).strip())
        else:
            return False
        self.rows[index.row()] = changed
        self._judge()
        last = self.index(len(self.rows) - 1, len(COLUMNS) - 1)
        self.dataChanged.emit(self.index(0, 0), last)
        return True

    def _shown(self, position: int, row: FactorRow, field: str) -> str:
        if (field in _NUMBER_ONLY and row.is_choice) or (field == "levels" and not row.is_choice):
            return _NONE
        if field == "scale":
            return SCALE_WORDS[row.scale]
        text = str(getattr(row, field))
        return f"■ {text}" if field == "name" and self.problems[position] else text

    def _ink(self, position: int, row: FactorRow, field: str) -> object:
        if field == "name" and self.problems[position]:
            return self._theme.colour("danger")
        return None if _is_open(row, field) else self._theme.colour("muted")

    def _judge(self) -> None:
        self.problems = [
            problem_of(row, tuple(self.rows[:at] + self.rows[at + 1 :]), decimal=self._decimal)
            for at, row in enumerate(self.rows)
        ]


def _is_open(row: FactorRow, field: str) -> bool:
    if field in row.locked:
        return False
    return field != "levels" if not row.is_choice else field not in _NUMBER_ONLY


def _check_of(row: FactorRow, role: int) -> object:
    if role == Qt.ItemDataRole.CheckStateRole:
        return Qt.CheckState.Unchecked if row.hidden else Qt.CheckState.Checked
    if role in (Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
        return "hidden" if row.hidden else "in use"
    return None


def _locked_note(row: FactorRow, field: str) -> str | None:
    if field in row.locked:
        return "Recorded attempts use this factor, so its name and unit stay. It can be hidden."
    return None
