"""What a table is taken to be, in words and as JSON: its columns, what comes in, what is refused."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping

from stirfall.bench.estimates import Reason
from stirfall.bench.open_text import safe_cell
from stirfall.bench.units import unit_label
from stirfall.planning.findings import Finding
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.reporting.shares import counted
from stirfall.storage.import_plan import ASK, MASSES, ColumnPlan, ImportPlan, Meaning, Result
from stirfall.storage.import_source import SourceTable
from stirfall.storage.imported import Imported, RefusedCell

DELIMITER_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "upright lines"}
ENCODING_WORDS = {"utf-8": "UTF-8", "utf-16": "UTF-16", "cp1252": "Windows-1252"}


def reason_text(reason: Reason, *, decimal: str = ".") -> str:
    """Return the sentence of a reason."""
    return sentence(reason.code, reason.params, decimal=decimal)


def reading_text(table: SourceTable) -> str:
    """Return how a table was read, in one line."""
    if table.delimiter:
        how = (
            f"Text in {ENCODING_WORDS.get(table.encoding, table.encoding)}, cells apart by "
            f"{DELIMITER_WORDS.get(table.delimiter, table.delimiter)}"
        )
    else:
        how = f"Workbook, sheet “{table.sheet}”"
    rows, columns = counted(len(table.rows), "row"), counted(len(table.header), "column")
    return f"{how}; headings in row {table.heading}; {rows}, {columns}."


def meaning_text(column: ColumnPlan) -> str:
    """Return what a column is taken to be."""
    if column.meaning is Meaning.FACTOR:
        return f"factor: {column.factor or 'without a name'}"
    return str(column.meaning)


def unit_text(column: ColumnPlan) -> str:
    """Return how the cells of a column are read: unit, decimal sign, order of dates; "" where that is plain."""
    if not column.is_used:
        return ""
    parts = []
    is_number = column.meaning in {*MASSES, Meaning.FACTOR, Meaning.HUMIDITY, Meaning.PEAK} and not column.is_choice
    if column.meaning is Meaning.FACTOR and column.is_choice:
        parts.append("a choice")
    elif column.unit == ASK:
        parts.append("unit not told")
    elif is_number:
        parts.append(unit_label(column.unit) or "no unit")
    if column.decimal == ASK:
        parts.append("decimal sign not told")
    elif column.decimal == ",":
        parts.append("decimal comma")
    if column.dates == ASK:
        parts.append("order of dates not told")
    elif column.dates:
        parts.append(column.dates.replace("-", " "))
    return ", ".join(parts)


def column_line(column: ColumnPlan) -> str:
    """Return one column on a line: heading, first cells, what it is, and what is to be said of it."""
    unit = unit_text(column)
    cells = ", ".join(each or "blank" for each in column.examples[:3]) or "blank"
    remarks = " ".join(map(reason_text, column.remarks))
    told = f"{meaning_text(column)}{f', {unit}' if unit else ''} ({column.confidence})"
    return f"{column.heading}: {told}. First: {cells}. {remarks}".rstrip()


def word_text(result: Result | None) -> str:
    """Return what a word of an outcome means."""
    return "not known" if result is None else str(result)


def place_text(cell: RefusedCell) -> str:
    """Return where a refused cell stands."""
    return f"row {cell.row}, {cell.column}" if cell.column else f"row {cell.row}"


def refused_line(cell: RefusedCell, *, decimal: str = ".") -> str:
    """Return a refused cell on a line: where, what it says, why and what to do."""
    text = f": “{cell.text[:80]}”" if cell.text else ""
    return f"{place_text(cell)}{text}. {error_sentence(cell.why, decimal=decimal)}"


def refused_csv(cells: Iterable[RefusedCell], *, decimal: str = ".") -> str:
    """Return the refused cells as CSV (RFC 4180); what a spreadsheet would compute gets an apostrophe before it."""
    kept = io.StringIO()
    writer = csv.writer(kept)
    writer.writerow(("row", "column", "text", "why"))
    for cell in cells:
        why = error_sentence(cell.why, decimal=decimal)
        writer.writerow((cell.row, safe_cell(cell.column), safe_cell(cell.text), safe_cell(why)))
    return kept.getvalue()


def summary_lines(imported: Imported, beyond: Mapping[int, Finding], *, decimal: str = ".") -> tuple[str, ...]:
    """Return what would come in, what is new, and what stays out, one sentence each."""
    lines = [sentence("import.would_come", {"attempts": counted(len(imported.attempts), "attempt")})]
    if imported.twins:
        numbers = ", ".join(str(each.number) for each in imported.twins[:8])
        params = {"count": len(imported.twins), "numbers": numbers}
        taken = len(imported.attempts) + imported.refused_rows >= imported.rows_read
        lines.append(sentence("import.twins_taken" if taken else "import.twins_left_out", params))
    if imported.refused:
        params = {"cells": len(imported.refused), "rows": imported.refused_rows}
        lines.append(sentence("import.refused_count", params))
    lines += [reason_text(each, decimal=decimal) for each in imported.news]
    if beyond:
        rows = ", ".join(str(row) for row in list(beyond)[:8])
        lines.append(sentence("import.beyond_limits", {"count": len(beyond), "rows": rows}))
    return tuple(lines)


def import_json(
    table: SourceTable, plan: ImportPlan, imported: Imported, beyond: Mapping[int, Finding]
) -> dict[str, object]:
    """Return what a table is taken to be and what comes of it, as JSON has it."""
    return {
        "table": {
            "name": table.name,
            "sheet": table.sheet,
            "sha256": table.sha256,
            "heading_row": table.heading,
            "rows": len(table.rows),
            "remarks": [reason_text(each) for each in table.remarks],
        },
        "columns": [_column_json(each) for each in plan.columns],
        "words": [
            {
                "column": plan.column(each.place).heading,
                "word": each.word,
                "count": each.count,
                "result": None if each.result is None else str(each.result),
            }
            for each in plan.words
        ],
        "attempts": len(imported.attempts),
        "lots": [lot.id for lot in imported.lots],
        "news": [reason_text(each) for each in imported.news],
        "unclear": [reason_text(each) for each in imported.unclear],
        "duplicates": [{"row": each.row, "attempt": each.number} for each in imported.twins],
        "refused": [
            {"row": each.row, "column": each.column, "text": str(each.text), "why": error_sentence(each.why)}
            for each in imported.refused
        ],
        "beyond_limits": [{"row": row, "why": reason_text(Reason(f.code, f.params))} for row, f in beyond.items()],
    }


def _column_json(column: ColumnPlan) -> dict[str, object]:
    return {
        "heading": column.heading,
        "meaning": str(column.meaning),
        "factor": column.factor,
        "unit": column.unit,
        "choice": column.is_choice,
        "decimal": column.decimal,
        "dates": column.dates,
        "confidence": column.confidence,
        "remarks": [reason_text(each) for each in column.remarks],
    }
