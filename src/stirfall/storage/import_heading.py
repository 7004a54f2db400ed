"""Where a table begins: titles above, the row of headings, a row of units below, blank columns, repeated names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from statistics import median

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.storage.import_cells import DATE_CELL, NUMBER_CELL, SheetCell, is_missing
from stirfall.storage.import_source import RawTable, ReadingChoices, Records, Source, SourceTable
from stirfall.storage.import_units import is_unit

_LOOKED_AT = 40
_SAMPLE = 300
_NUMBERLIKE = re.compile(r"[+\-\u2212]?[\d.,:/ ]*\d[\d.,:/ ]*(?:[eE][+\-]?\d+)?")
_MOST_TITLE = 200
_LONGEST = 60


def headed_table(
    source: Source, sheet: str, raw: RawTable, choices: ReadingChoices, remarks: tuple[Reason, ...] = ()
) -> SourceTable:
    """Return the rows under their headings.

    Raises InputError ``import.no_rows`` where nothing stands under the headings, ``import.heading_unknown`` for a
    row that is not there.
    """
    records = raw.records
    at = _chosen(records, choices.heading) if choices.heading is not None else _heading_place(records)
    notes = [*source.remarks, *remarks, *raw.remarks]
    number, cells = records[at]
    below = records[at + 1 :]
    if choices.heading is None and _is_data(cells) and not any(_is_word(cell) for cell in cells):
        notes.append(Reason("import.no_headings", {"row": number}))
        cells, below = (), records[at:]
    units, below = _units(cells, below, notes)
    if not below:
        raise InputError("import.no_rows", name=source.name, heading=number)
    width = len(cells) if any(cells) else max(len(row) for _, row in below)
    titles = tuple(" ".join(filter(None, row))[:_MOST_TITLE] for _, row in records[:at])
    if titles:
        notes.append(Reason("import.titles_above", {"count": len(titles), "first": titles[0]}))
    rows, longer = _rows(below, width)
    places = [place for place in range(width) if place >= len(cells) or cells[place] or any(r[place] for r in rows)]
    blank = width - len(places)
    if blank:
        notes.append(Reason("import.blank_columns", {"count": blank}))
        rows = [tuple(row[place] for place in places) for row in rows]
    header = _header([cells[place] if place < len(cells) else "" for place in places], places, notes)
    return SourceTable(
        name=source.name,
        sheet=sheet,
        header=header,
        units=tuple(units[place] if place < len(units) else "" for place in places),
        rows=tuple(rows),
        row_numbers=tuple(each for each, _ in below),
        titles=titles,
        heading=number,
        longer=tuple(longer),
        encoding=raw.encoding,
        delimiter=raw.delimiter,
        sha256=source.sha256,
        remarks=tuple(notes),
    )


def _chosen(records: Records, heading: int) -> int:
    for at, (number, _) in enumerate(records):
        if number == heading:
            return at
    raise InputError("import.heading_unknown", row=heading)


def _heading_place(records: Records) -> int:
    """Return the place of the headings: the first row that is nearly as full as most rows and names its columns."""
    full = [sum(1 for cell in row if cell) for _, row in records[:_SAMPLE]]
    later = full[len(full) // 2 :] or full
    needed = max(1.0, 0.6 * median(later))
    candidates = [at for at in range(min(_LOOKED_AT, len(records))) if full[at] >= needed]
    named = [at for at in candidates if not _is_data(records[at][1])]
    first = candidates[0] if candidates else 0
    # Headings further down than the first rows of numbers are a second table, not ours.
    return named[0] if named and named[0] <= first + 2 else first


def _is_word(cell: str) -> bool:
    return bool(cell) and not is_missing(cell) and not _is_number(cell)


def _is_number(cell: str) -> bool:
    if isinstance(cell, SheetCell):
        return cell.kind in (NUMBER_CELL, DATE_CELL)
    return len(cell) <= _LONGEST and _NUMBERLIKE.fullmatch(cell) is not None


def _is_data(row: Sequence[str]) -> bool:
    """Whether a row holds more numbers than words."""
    filled = [cell for cell in row if cell]
    return 2 * sum(map(_is_number, filled)) >= max(1, len(filled))


def _units(header: Sequence[str], below: Records, notes: list[Reason]) -> tuple[tuple[str, ...], Records]:
    """Return the units in a row of their own under the headings, and the rows after it."""
    if not header or len(below) < 2:
        return (), below
    number, row = below[0]
    bare = [cell.strip("[]() ") for cell in row]
    told = [cell for cell in bare if cell and not is_missing(cell)]
    if not told or not all(is_unit(cell) for cell in told):
        return (), below
    notes.append(Reason("import.units_row", {"row": number}))
    return tuple("" if is_missing(cell) else cell for cell in bare), below[1:]


def _rows(below: Records, width: int) -> tuple[list[tuple[str, ...]], list[tuple[int, str]]]:
    rows, longer = [], []
    for number, row in below:
        if len(row) > width:
            longer.append((number, row[width]))
        rows.append(tuple(row[:width]) + ("",) * (width - len(row)))
    return rows, longer


def _header(cells: Sequence[str], places: Sequence[int], notes: list[Reason]) -> tuple[str, ...]:
    """Return one name for every column: what stands there, numbered where it repeats or is blank."""
    names: list[str] = []
    taken: set[str] = set()
    repeated: list[str] = []
    for cell, place in zip(cells, places, strict=True):
        name = " ".join(cell.split())[:_MOST_TITLE] or f"column {place + 1}"
        candidate, count = name, 1
        while candidate.casefold() in taken:
            count += 1
            candidate = f"{name} ({count})"
        if count > 1:
            repeated.append(name)
        taken.add(candidate.casefold())
        names.append(candidate)
    if repeated:
        notes.append(Reason("import.headings_repeat", {"names": ", ".join(dict.fromkeys(repeated))[:_MOST_TITLE]}))
    return tuple(names)
