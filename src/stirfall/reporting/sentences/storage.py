"""Sentences for the codes of the storage floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "table.not_there": "The table {path} cannot be read: {why}. Check the path.",
    "table.not_text": "{path} is not a text table. Save it as CSV first.",
    "table.empty": "{table} holds no rows under its heading. The first row must name the columns.",
    "table.ragged": "Row {row} of {table} has {cells} cells where the heading has {headings}. Mend the row.",
    "table.quotes": "A quotation mark in {table} is never closed. Mend the table.",
    "table.column_unknown": "The table has no column “{column}”. Its columns are: {known}.",
    "table.column_repeats": "The table has more than one column “{column}”. Rename one of them.",
    "table.column_blank": "The column “{column}” holds no value at all. Leave it out.",
    "table.factor_twice": "A column is named twice as a factor. Name each once.",
    "table.too_many_levels": (
        "The text column “{column}” holds {count} different values; a choice may have {most}. "
        "Leave it out, or group its values."
    ),
    "table.never_a_success": "The column “{column}” never says {success}. It says: {seen}.",
    "table.mapping_no_factor": "Name at least one column as a factor.",
    "table.mapping_result": (
        "Say in one way how it went: an outcome column with its success value, an outcome column with a trials "
        "column, or the two columns parted and pooled."
    ),
    "table.bad_cells": "{count} cells of {table} cannot be used, so nothing was written: {listing}.",
    "table.not_a_count": "It must be a whole number, zero or more.",
    "table.no_trials": "It must be a whole number of trials, one or more.",
    "table.more_than_trials": "It is more than the {trials} trials of this row.",
    "table.pool_before_parting": "The pool is graded only where the solids left the metal, at least partly.",
}
