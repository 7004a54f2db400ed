"""Sentences for the codes of the inference floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
