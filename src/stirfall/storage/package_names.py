"""Names of files inside a package: what may stand there, so that nothing can lead out of it on any system."""

from __future__ import annotations

import re

from stirfall.bench.errors import InputError

MOST_NAME = 240
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
# Names that Windows keeps for devices, with any suffix (Microsoft, "Naming Files, Paths, and Namespaces").
_DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)


def is_safe(name: str) -> bool:
    """Whether a name stays inside its package on every system: parts with slashes between them, nothing else."""
    if not name or len(name) > MOST_NAME or _CONTROL.search(name):
        return False
    if any(sign in name for sign in '\\:<>"|?*'):
        return False
    return all(
        part not in ("", ".", "..") and part == part.strip(" ") and part[-1] != "." and not _DEVICE.fullmatch(part)
        for part in name.split("/")
    )


def checked_name(name: str) -> str:
    """Return the name; raises InputError ``package.unsafe_name`` where it could lead out of the package."""
    if not is_safe(name):
        raise InputError("package.unsafe_name", name=shortened(name))
    return name


def shortened(text: str, most: int = 60) -> str:
    """Return text for a sentence: without control characters, and never long."""
    plain = _CONTROL.sub("\ufffd", text[: most + 1])
    plain = plain.encode("utf-8", "replace").decode("utf-8")
    return plain if len(text) <= most else f"{plain[:most]}…"


def clash(names: list[str]) -> str | None:
    """Return a name that stands twice, differs from another in letter case only, or is a file and a folder."""
    seen: dict[str, str] = {}
    folders: set[str] = set()
    for name in names:
        folded = name.casefold()
        if folded in seen:
            return name
        seen[folded] = name
        parts = folded.split("/")
        folders.update("/".join(parts[:end]) for end in range(1, len(parts)))
    return next((seen[folder] for folder in sorted(folders) if folder in seen), None)
