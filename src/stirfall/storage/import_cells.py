"""Cells of a table that is brought in: text, with what a workbook tells beyond it; and the limits of a table."""

from __future__ import annotations

TABLE_SUFFIXES = (".csv", ".tsv", ".xlsx")
"""The names of files end so that are taken for tables when they are dropped or opened."""

MOST_ROWS = 200_000
MOST_COLUMNS = 1_000
MOST_LETTERS = 32_767
MOST_BYTES = 200 * 1024 * 1024
MOST_CELLS = 8_000_000
"""Cells with their blanks: what a table may hold in the memory of a small computer; our own choice."""

NUMBER_CELL, DATE_CELL, FORMULA_CELL, ERROR_CELL = "number", "date", "formula", "error"

MISSING = frozenset({"", "na", "n/a", "n.a.", "nan", "-", "–", "—", "?", "null", "none noted", "missing", "#n/a"})


class SheetCell(str):
    """The text of a cell of a workbook that is no text there: ``kind`` says what it is.

    A number has a decimal point and a date is as ISO 8601 writes it, whatever the reader of the table is used to.
    Of a formula the text is the value that was stored with it, and ``formula`` what it computes.
    """

    __slots__ = ("formula", "kind")

    kind: str
    formula: str

    def __new__(cls, text: str, kind: str, formula: str = "") -> SheetCell:
        """Make a cell."""
        made = super().__new__(cls, text)
        made.kind = kind
        made.formula = formula
        return made


def kind_of_cell(cell: str) -> str:
    """Return what a workbook says of a cell; "" for text."""
    return cell.kind if isinstance(cell, SheetCell) else ""


def is_missing(cell: str) -> bool:
    """Whether a cell says that nothing is known."""
    return cell.strip().casefold() in MISSING if len(cell) < 16 else not cell.strip()
