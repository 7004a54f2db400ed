"""Sentences for the codes of the reporting floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "cautions.unreadable": (
        "The table of cautions {path} is missing or broken. Do not work without it: install the program again."
    ),
}
