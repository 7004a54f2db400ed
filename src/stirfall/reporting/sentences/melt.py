"""Sentences for the codes of the melt physics."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
