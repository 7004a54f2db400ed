"""Data Packages for scripts: everything of a session goes out as open text, and comes back as a session."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.script_plans import explained

if TYPE_CHECKING:
    from stirfall.scripting import Campaign
    from stirfall.storage.package import Written


@dataclass(frozen=True)
class ExportReport:
    """What a package got: ``text`` in finished sentences, ``found`` with rows by table and what was left out."""

    path: Path
    found: Written
    text: tuple[str, ...]


@explained
def import_package(source: str | Path, path: str | Path) -> Campaign:
    """Make a session file of a Data Package, a folder or a zip file, and open it.

    Raises FileTroubleError and InputError where the package cannot be read, or ``path`` is taken; then no file is
    left behind.
    """
    from stirfall.scripting import Campaign
    from stirfall.session.packages import import_package as read

    return Campaign(read(source, path))
