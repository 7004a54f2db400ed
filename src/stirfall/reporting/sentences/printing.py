"""Sentences for the codes of printing: labels, the paper sheet and the card of acts."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "printing.not_written": "The file {path} could not be written: {why}. Choose another folder or name.",
}
