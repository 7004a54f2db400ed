"""Sentences for the melt panel, the film page and the assay dialog of the window."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
