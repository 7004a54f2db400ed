"""Sentences for the codes of the storage floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "shipped.missing": "The part “{path}” of the program is missing. Install Stirfall again.",
    "file.exists": "{path} exists already. Choose another name; nothing was overwritten.",
    "file.no_folder": "The folder {folder} does not exist or cannot be read. Choose another folder.",
    "file.folder_closed": "No file may be made in the folder {folder}. Choose another folder.",
    "file.missing": "{path} was not found. Check the name, or whether its drive is connected.",
    "file.is_folder": "{path} is a folder. Choose the session file in it.",
    "file.no_permission": "You may not read or write {path}. Ask for the right, or work on a copy of your own.",
    "file.not_writable": "{path} may be read but not written, so nothing can be recorded. Work on a copy.",
    "file.cannot_open": "{path} could not be opened ({detail}). Check its folder and try again.",
    "file.foreign": "{path} is not a Stirfall session. It was left as it is. Choose a file that Stirfall made.",
    "file.newer": (
        "{path} was made by a newer Stirfall (file version {version}, this program knows {known}). "
        "It was left as it is. Install the newer program to open it."
    ),
    "file.no_migration": (
        "{path} has file version {version}, and no way leads from there to {wanted}. It was left as it is."
    ),
    "file.damaged": (
        "{path} is damaged ({detail}). It was left as it is. Open a backup, and keep this file for rescue."
    ),
    "file.unfinished_write": (
        "The last write to {path} was cut off and must be undone first. "
        "Open it once for writing; that puts it right."
    ),
    "file.disk_full": "The disk is full, so nothing was written to {path}. Make room and try again.",
    "file.io_error": "The disk did not do what was asked for {path} ({detail}). Nothing was written. Try again.",
    "file.busy": "Another program is using {path} right now. Nothing was written. Try again in a moment.",
    "file.in_use": (
        "{path} has been open for writing since {since} (computer {host}, process {pid}). "
        "Here it can only be read. Close it there to write here."
    ),
    "file.lock_failed": (
        "This drive cannot keep two writers of {path} apart ({detail}), so it can only be read. "
        "Copy it to another drive to write."
    ),
    "file.read_only_wanted": "{path} was opened for reading only, as you asked.",
    "file.gone": (
        "{path} was deleted or moved while it was open. Nothing was written. "
        "Save a copy of this session elsewhere before you go on."
    ),
    "file.replaced": (
        "Another file took the place of {path} while it was open. Nothing was written. "
        "Save a copy of this session elsewhere, then open the new file."
    ),
    "file.changed_elsewhere": (
        "Another program changed {path} while it was open. Nothing was written. Close it and open it again."
    ),
    "file.copy_onto_itself": "{path} is the open session itself. Choose another name for the copy.",
    "table.not_there": "The table {path} cannot be read: {why}. Check the path.",
    "table.not_text": "{path} is not a text table. Save it as CSV first.",
    "table.empty": "{table} holds no rows under its heading. The first row must name the columns.",
    "table.ragged": "Row {row} of {table} has cells: {cells}; the heading has {headings}. Mend the row.",
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
    "table.bad_cells": "In {table} cells cannot be used ({count}), so nothing was written: {listing}.",
    "table.not_a_count": "It must be a whole number, zero or more.",
    "table.no_trials": "It must be a whole number of trials, one or more.",
    "table.more_than_trials": "It is more than the {trials} trials of this row.",
    "table.pool_before_parting": "The pool is graded only where the solids left the metal, at least partly.",
    "limits_file.unreadable": (
        "The table {path} is missing or broken, and nothing may be judged without it. Install Stirfall anew."
    ),
    "check.page": "A page of the file is damaged: {detail}.",
    "check.reference": "Row {row} of the table {table} refers to a missing row of {parent}.",
    "check.table": "The table {table} lacks what every session has: {missing}.",
    "check.record": "A record makes no sense: {detail}.",
    "check.older": "The file has the older version {version}. It is brought up to date when it is next opened.",
    "check.unfinished_write": "A write was cut off. It is undone when the session is next opened for writing.",
    "check.counts": (
        "{lots} lots, {jars} jars, {attempts} attempts ({struck} struck out, {withdrawn} taken back), "
        "{corrections} corrections, {attachments} photos, {runs} guided runs with {run_events} events, "
        "{regrades} second grades, {temperature_logs} temperature logs, {anchors} examples of a class, "
        "{proofs} proofs, {evening_plans} plans of an evening, {comparisons} comparisons, "
        "{issued_recipes} issued recipes, {change_marks} marks of changes."
    ),
    "check.taken_back": "Row {row} of the table {table} counts, but refers to one of {parent} that was taken back.",
    "check.run_differs": "The run in row {row} and its attempt do not name each other.",
}
