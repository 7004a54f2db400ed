"""Table models of the dialog: columns of the file, attempts as they will be, refused cells; written when shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor
from stirfall.bench.records import Attempt
from stirfall.desktop.importing.state import ImportState
from stirfall.desktop.shown import Shown
from stirfall.reporting.import_words import meaning_text, place_text, reason_text, unit_text
from stirfall.reporting.sentences import error_sentence
from stirfall.storage.import_plan import ColumnPlan
from stirfall.storage.imported import RefusedCell

Index = QModelIndex | QPersistentModelIndex
_LONGEST = 120
_MOST_CONDITIONS = 40


class Grid(QAbstractTableModel):
    """Rows of text that are written when they are shown; the whole of a long cell is its tooltip."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._header: tuple[str, ...] = ()
        self._rows = 0
        self._write: Callable[[int], Sequence[str]] = lambda _row: ()

    def show_rows(self, header: Sequence[str], rows: int, write: Callable[[int], Sequence[str]]) -> None:
        """Show so many rows; ``write`` gives the cells of one."""
        self.beginResetModel()
        self._header, self._rows, self._write = tuple(header), rows, write
        self.endResetModel()

    def rows_changed(self, write: Callable[[int], Sequence[str]]) -> None:
        """Write the same number of rows anew; what is selected stays so."""
        self._write = write
        if self._rows:
            self.dataChanged.emit(self.index(0, 0), self.index(self._rows - 1, len(self._header) - 1))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        """Return how many rows there are."""
        return 0 if parent.isValid() else self._rows

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008
        """Return how many columns there are."""
        return 0 if parent.isValid() else len(self._header)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Return the text of a cell."""
        if not index.isValid() or role not in (
            Qt.ItemDataRole.DisplayRole,
            Qt.ItemDataRole.ToolTipRole,
            Qt.ItemDataRole.AccessibleTextRole,
        ):
            return None
        text = self._write(index.row())[index.column()]
        return text if role != Qt.ItemDataRole.DisplayRole or len(text) <= _LONGEST else f"{text[:_LONGEST]}…"

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Return the title of a column."""
        if orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole:
            return self._header[section]
        return None


COLUMN_HEADER = ("Column", "First cells", "What it is", "How it is read", "Remarks")


def column_cells(column: ColumnPlan) -> tuple[str, ...]:
    """Return a column of the file as a row."""
    remarks = " ".join(reason_text(each) for each in column.remarks)
    sure = {"sure": "Sure.", "likely": "Likely.", "a guess": "A guess."}.get(column.confidence, "")
    return (
        column.heading,
        ", ".join(str(each) for each in column.examples) or "blank",
        meaning_text(column),
        unit_text(column),
        f"{sure} {remarks}".strip(),
    )


REFUSED_HEADER = ("Where", "Says", "Why, and what to do")


def refused_cells(cell: RefusedCell, decimal: str) -> tuple[str, ...]:
    """Return a refused cell as a row."""
    return place_text(cell), str(cell.text), error_sentence(cell.why, decimal=decimal)


def preview_header(state: ImportState, decimal: str) -> tuple[str, ...]:
    """Return the titles of the preview: row, attempt, time, lot, result, conditions, the rest."""
    shown = Shown.of(decimal)
    names = [f"{each.name}, {shown.label(each.unit)}" if each.unit else each.name for each in _factors(state)]
    return ("Row", "When", "Lot", "Outcome", *names, "Note", "Limits")


def preview_cells(state: ImportState, place: int, decimal: str) -> tuple[str, ...]:
    """Return an attempt as it will be, as a row."""
    assert state.imported is not None
    attempt, row = state.imported.attempts[place], state.imported.rows[place]
    shown = Shown.of(decimal)
    values = []
    for factor in _factors(state):
        value = attempt.conditions.get(factor.name)
        if value is None:
            values.append("")
        else:
            values.append(value if isinstance(value, str) else shown.number(value, factor.unit, digits=4))
    finding = state.beyond.get(row)
    limit = (
        "" if finding is None else f"beyond: {reason_text(Reason(finding.code, finding.params), decimal=decimal)}"
    )
    when = "" if attempt.started_at is None else f"{attempt.started_at.astimezone():%Y-%m-%d %H:%M}"
    return (str(row), when, attempt.lot_id or "", outcome_text(attempt), *values, attempt.note, limit)


def outcome_text(attempt: Attempt) -> str:
    """Return the outcome of an attempt; of several trials, how many were clean."""
    if attempt.trials > 1:
        return f"{attempt.successes if attempt.successes is not None else 'unknown'} of {attempt.trials} clean"
    return str(attempt.outcome.value)


def _factors(state: ImportState) -> tuple[Factor, ...]:
    found = state.imported
    campaign = () if state.campaign is None else state.campaign.factors
    factors = campaign if found is None or found.factors is None else found.factors
    used = {each.factor.casefold() for each in state.plan.columns if each.factor} if state.plan else set()
    return tuple(each for each in factors if each.name.casefold() in used)[:_MOST_CONDITIONS]
