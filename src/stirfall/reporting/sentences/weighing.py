"""Sentences for the codes of weighings and assays."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
