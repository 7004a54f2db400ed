"""A temperature log in a workbook, as the text that a logger would have written: one sheet, cells apart by tabs."""

from __future__ import annotations

from stirfall.bench.errors import InputError
from stirfall.storage.import_cells import ERROR_CELL, FORMULA_CELL, kind_of_cell
from stirfall.storage.import_source import source_of
from stirfall.storage.import_workbook import sheet_records

WORKBOOK_START = b"PK\x03\x04"


def workbook_as_text(data: bytes, name: str) -> bytes:
    """Return the fullest of the sheets that are not hidden; a formula is no reading and becomes a blank cell.

    Raises InputError ``import.*`` for a workbook that cannot be read, or beyond the limits of a table.
    """
    source = source_of(data, name)
    fullest: list[str] = []
    trouble: InputError | None = None
    for sheet in [each for each in source.sheets if not each.is_hidden] or source.sheets[:1]:
        try:
            records = sheet_records(data, name, sheet.name, source.columns, stored=False).records
        except InputError as error:
            trouble = trouble or error
            continue
        if len(records) > len(fullest):
            width = max(len(row) for _, row in records)
            fullest = ["\t".join(_plain(row, width)) for _, row in records]
    if not fullest and trouble is not None:
        raise trouble
    return "\n".join(fullest).encode()


def _plain(row: tuple[str, ...], width: int) -> list[str]:
    cells = ["" if kind_of_cell(cell) in (FORMULA_CELL, ERROR_CELL) else " ".join(cell.split()) for cell in row]
    return cells + [""] * (width - len(cells))
