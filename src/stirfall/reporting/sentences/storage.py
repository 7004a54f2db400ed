"""Sentences for the codes of the storage floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
