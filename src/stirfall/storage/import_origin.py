"""Where an attempt of a table comes from, as the end of its note: file, sheet, row, number there, SHA-256."""

from __future__ import annotations

import re
from typing import NamedTuple

_SHOWN = 16  # characters of the SHA-256: enough that no two tables of one bench share them
_TOLD = re.compile(r"\[([^\[\]]+), row (\d+)(?:, number \d+)?, SHA-256 ([0-9a-f]{16})\]$")


class Place(NamedTuple):
    """A row of a table: the file with its sheet, the row, the first characters of the file's SHA-256."""

    table: str
    row: int
    sha256: str


def origin_note(name: str, sheet: str, row: int, number: int, sha256: str) -> str:
    """Return such as "[spring.csv, row 4, number 12, SHA-256 0123456789abcdef]"; number 0 is left out."""
    table = re.sub(r"[\[\]]", "", " ".join(f"{name}, {sheet}".split() if sheet else name.split()))
    told = f", number {number}" if number else ""
    return f"[{table or 'a table'}, row {row}{told}, SHA-256 {sha256[:_SHOWN]}]"


def place_of(note: str) -> Place | None:
    """Return the row that a note ends with, None where it names none."""
    match = _TOLD.search(note)
    return None if match is None else Place(match[1], int(match[2]), match[3])
