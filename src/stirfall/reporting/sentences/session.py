"""Sentences for the codes of the session floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
