"""The check of a session file in the short form of the command line."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stirfall.bench.errors import FileTroubleError
from stirfall.storage.check import check_file
from stirfall.storage.connection import file_errors
from stirfall.storage.inspection import inspect_header


@dataclass(frozen=True)
class Checkup:
    """What a check found: the schema version of the file, and its problems in short words."""

    schema_version: int
    problems: tuple[str, ...]


def examine(path: Path) -> Checkup:
    """Check every page, reference, table and record of a session file; nothing is written.

    Raises FileTroubleError ``file.*`` for a file that is missing, foreign, newer or cannot be opened at all.
    """
    with file_errors(path):
        version = inspect_header(path)
    problems = [finding for finding in check_file(path) if finding.is_problem]
    for finding in problems:
        if finding.code.startswith("file.") and finding.code != "file.damaged":
            raise FileTroubleError(finding.code, **finding.params)
    return Checkup(version, tuple(_words(finding.code, finding.params) for finding in problems))


def _words(code: str, params: dict[str, object]) -> str:
    if code == "check.reference":
        return f"row {params['row']} of {params['table']} refers to a missing row of {params['parent']}"
    if code == "check.table":
        return f"table {params['table']} lacks {params['missing']}"
    return str(params.get("detail", code))
