"""Sentences for the codes of the storage floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "shipped.missing": "The part “{path}” of the program is missing. Install Stirfall again.",
    "file.exists": "{path} exists already. Choose another name; nothing was overwritten.",
    "file.no_folder": "The folder {folder} does not exist or cannot be read. Choose another folder.",
    "file.missing": "{path} was not found. Check the name, or whether its drive is connected.",
    "file.is_folder": "{path} is a folder. Choose the session file in it.",
    "file.no_permission": "{path} may not be read or written by you. Ask for the right, or work on a copy of your own.",
    "file.not_writable": "{path} may be read but not written, so nothing can be recorded. Work on a copy elsewhere.",
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
        "{path} is damaged ({detail}). It was left as it is. Open a copy or a backup, and keep this file for rescue."
    ),
    "file.unfinished_write": (
        "The last write to {path} was cut off and must be undone first. "
        "Open it once for writing; that puts it right."
    ),
    "file.disk_full": "The disk is full, so nothing was written to {path}. Make room and try again.",
    "file.io_error": "The disk did not do what was asked for {path} ({detail}). Nothing was written. Try again.",
    "file.busy": "Another program is using {path} right now. Nothing was written. Try again in a moment.",
    "file.in_use": (
        "{path} has been open for writing since {since} (computer {host}, process {pid}), so here it can only be read. "
        "Close it there to write here."
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
}
