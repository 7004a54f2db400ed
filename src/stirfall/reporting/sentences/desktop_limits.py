"""Sentences for limits, looks and weighings on the bench form, and for the jars of the shelf."""

from __future__ import annotations

SENTENCES: dict[str, str] = {}
