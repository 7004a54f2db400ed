"""Sentences for photos, second grades and temperature logs."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "agreement.class": "“{value}” is no class to grade into. Use one of: {known}.",
    "agreement.none": "Nothing was graded twice yet, so nothing is known about the agreement.",
    "agreement.one_class": (
        "Both gradings put everything into one class. Chance would agree as well there, so kappa is unknown."
    ),
}
