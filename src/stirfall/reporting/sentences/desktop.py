"""Sentences for the codes of the desktop floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
