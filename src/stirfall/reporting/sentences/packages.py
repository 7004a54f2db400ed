"""Sentences for Data Packages: what cannot be written, what cannot be read, and what to do."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "package.folder_in_use": "The folder {path} holds other files. Choose an empty or a new folder.",
    "package.cannot_write": "The package cannot be written to {path}: {why}. Choose another folder.",
    "package.not_finite": "{value} is no finite number and cannot be written. Correct it first.",
    "package.mixed_condition": "“{name}” is a number in one attempt, a word in another. Correct attempt {number}.",
    "package.no_descriptor": "{path} holds no datapackage.json, so it is no package. Choose another folder.",
    "package.missing_file": "The file {path} is missing. The package is not whole, so nothing was read.",
    "package.unreadable": "{path} cannot be read as UTF-8 text. Save it as UTF-8 again. Nothing was read.",
    "package.foreign": "{path} describes data of another kind. Nothing was read.",
    "package.newer": "{path} has format version {version}, which is newer than this program. Update the program.",
    "package.wrong_header": "The headings of {table} do not fit: {odd}. They must be: {wanted}. Nothing was read.",
    "package.ragged": "Row {row} of {table} does not have {wanted} cells. Nothing was read.",
    "package.bad_cells": "{count} cells cannot be used, so nothing was read: {listing}.",
    "package.bad_row": "Row {row} of {table} contradicts itself: {why} Nothing was read.",
    "package.repeated_id": "Row {row} of {table} uses “{id}” a second time. Nothing was read.",
    "package.unknown_link": "Row {row} of {table} names “{id}”, which {target} does not hold. Nothing was read.",
    "package.one_settings_row": "settings.csv must hold one row, not {count}. Nothing was read.",
    "package.writing": "Writing {name}…",
    "package.reading": "Reading {name}…",
    "package.written": "Wrote {path}: {what}.",
    "package.left_photos": "Left out: {what}, as asked for.",
    "package.left_originals": "Left out: the originals of {what}. Ask for originals to take them in.",
    "package.left_undone": "Left out: {what} whose making was undone.",
    "package.left_drafts": "Left out: {what} of an attempt.",
    "package.photos_unreadable": "“{text}” does not say which photos. Write all, none, or numbers as in 3,7,10-14.",
    "package.photos_unknown": "There is no attempt {number} whose photos could go out.",
    "package.too_much": "{rows} records are more than a package may hold, {most}. Copy the session file.",
    "package.long_id": "The name “{id}” is longer than {most} characters. Shorten it first.",
    "package.not_text": "The text after “{near}” holds a character that no text file can hold. Correct it first.",
    "package.unsafe_name": "“{name}” cannot be the name of a file in a package. Choose a plain name.",
    "package.name_taken": "The package holds “{name}” already. Choose another name for the file beside it.",
    "package.is_folder": "{path} is a folder. Choose the name of a file, such as campaign.zip.",
    "package.broken_file": "{path} is broken: {why}. Get the package anew. Nothing was read.",
    "package.no_zip": "{path} is no whole zip file: {why}. Get it anew, or unpack it and choose its folder.",
    "package.too_large": "{path} holds more than {most} MB, more than a campaign can. Nothing was read.",
    "package.bomb": (
        "{path} grows to more than {most} times its packed size, as no campaign does. "
        "Do not trust it. Nothing was read."
    ),
    "package.too_many_files": "{path} lists more than {most} files. No campaign has so many. Nothing was read.",
    "package.link": "{path} is a link that leads out of the package. Put the file itself there. Nothing was read.",
    "package.zip_name": (
        "{path} holds a file named “{name}”, which could lead out of it. Do not trust it. Nothing was read."
    ),
    "package.zip_clash": (
        "{path} holds “{name}” twice, or as a file and as a folder. Pack the folder anew. Nothing was read."
    ),
    "package.zip_link": "{path} holds the link “{name}”. Pack the file itself instead. Nothing was read.",
    "package.zip_encrypted": "“{name}” in {path} is locked with a password. Unpack it and choose its folder.",
    "package.zip_compression": (
        "“{name}” in {path} is packed in a way that is not read here. Unpack it and choose its folder."
    ),
    "package.zip_nested": (
        "{path} holds another zip file, “{name}”. Unpack it and choose the inner one. Nothing was read."
    ),
    "package.path_outside": (
        "The descriptor names “{path}”, which is no file inside the package. Do not trust it. Nothing was read."
    ),
    "package.file_twice": "Two rows name the picture “{name}”. Each needs a file of its own. Nothing was read.",
    "package.other_file": (
        "{path} is not the picture that was packed: its SHA-256 differs. Get the package anew. Nothing was read."
    ),
    "package.too_many_rows": "{table} has, with those before it, more than {most} rows. Nothing was read.",
    "package.too_many_columns": "{table} has more than {most} columns. Remove what is none. Nothing was read.",
    "package.long_line": (
        "A line of {table} is longer than {most} characters, so it is no table of a campaign. Nothing was read."
    ),
    "package.zero_bytes": "{table} holds zero bytes. Save it as plain UTF-8 text again. Nothing was read.",
    "package.broken_csv": "{table} is no CSV near line {row}: {why}. Save it as CSV again. Nothing was read.",
    "package.bad_json": (
        "Row {row} of {table} holds JSON that does not fit: a list, a word or a number of the wrong kind. "
        "Correct it. Nothing was read."
    ),
}
