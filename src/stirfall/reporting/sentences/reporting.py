"""Sentences for the codes of the reporting floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
