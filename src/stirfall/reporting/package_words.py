"""What went into a package, in words and as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted
from stirfall.storage.package import Written

SCHEMA = "stirfall.export/1"
_NAMES: Mapping[str, str] = {
    "attempts": "attempt",
    "lots": "lot",
    "jars": "jar",
    "runs": "guided run",
    "proofs": "proof",
    "comparisons": "comparison",
    "recipes": "issued recipe",
    "photos": "photo",
    "examples": "example photo",
    "temperature_logs": "temperature log",
    "corrections": "correction",
}
_LEFT_OUT: Mapping[str, str] = {
    "photos": "photo",
    "originals": "photo",
    "undone": "record",
    "drafts": "half-filled form",
}


def written_lines(written: Written, path: Path) -> tuple[str, ...]:
    """Return what a package got, and what it did not get, as finished sentences."""
    counts = [counted(written.rows[name], word) for name, word in _NAMES.items() if written.rows.get(name)]
    said = [sentence("package.written", {"path": str(path), "what": ", ".join(counts) or "settings and factors"})]
    for name, count in asdict(written.left_out).items():
        if count:
            said.append(sentence(f"package.left_{name}", {"what": counted(count, _LEFT_OUT[name])}))
    return tuple(said)


def written_json(written: Written, path: Path) -> dict[str, object]:
    """Return what a package got as a JSON document ``stirfall.export/1``."""
    return {
        "schema": SCHEMA,
        "path": str(path),
        "bytes": written.size,
        "rows": dict(written.rows),
        "left_out": asdict(written.left_out),
    }
