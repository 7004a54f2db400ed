"""Sentences for the codes of printing: labels, the paper sheet and the card of acts."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "printing.not_written": "The file {path} could not be written: {why}. Choose another folder or name.",
    "printing.printer_refused": "The printer {name} took no page. Check it, or save a PDF and print that.",
    "printing.no_label": "Tick at least one jar.",
}
