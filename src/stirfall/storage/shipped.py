"""Files that come with the program: resources and sample sessions, in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

from stirfall.bench.errors import FileTroubleError

_PACKAGE = Path(__file__).resolve().parents[1]


def shipped(path: str) -> Path:
    """Return the place of a shipped file or folder, such as ``resources/cautions``.

    A wheel carries both folders inside the package, a checkout beside ``src``. Raises FileTroubleError
    ``shipped.missing``.
    """
    for root in (_PACKAGE, _PACKAGE.parents[1]):
        candidate = root / path
        if candidate.exists():
            return candidate
    raise FileTroubleError("shipped.missing", path=path)
