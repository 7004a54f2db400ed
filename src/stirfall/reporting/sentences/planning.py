"""Sentences for the codes of the planning floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
