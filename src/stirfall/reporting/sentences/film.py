"""Sentences for the codes of the film index."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
