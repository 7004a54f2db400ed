"""Text cells for spreadsheets: none of them may run as a formula."""

from __future__ import annotations

import re

# Common practice, no standard (OWASP, "CSV Injection"): spreadsheets take a cell for a formula when it begins with
# one of = + - @, and skip blanks, tabs and line ends before it. Full-width forms count: some locales read them so.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_MARK = "'"
_NUMBER = re.compile(r"-[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?")


def is_risky(text: str) -> bool:
    """Whether a text cell must be marked: it could run as a formula, or begins with the mark itself."""
    return text.startswith(_MARK) or text.lstrip(" ").startswith(_FORMULA)


def safe_cell(text: str) -> str:
    """Return a cell for CSV or a paste that no spreadsheet runs: an apostrophe stands before a risky one.

    A plain number stays as it is: its minus sign begins it in earnest.
    """
    return f"{_MARK}{text}" if is_risky(text) and not _NUMBER.fullmatch(text) else text
