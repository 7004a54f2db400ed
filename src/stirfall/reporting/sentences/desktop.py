"""Sentences for the codes of the desktop floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "desktop.bug": (
        "Something in the program went wrong ({kind}: {detail}). What was recorded is safe in the file. "
        "Go on working, or close and open the file again."
    ),
}
