"""Sentences for the codes of the cli floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
