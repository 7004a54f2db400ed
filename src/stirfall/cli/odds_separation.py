"""Why maximum likelihood has no finite answer, for ``stirfall odds --method ml``: by what, and which terms."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.inference.separations import Separation

_WAYS = {
    "finite": "finite",
    "up": "above every number",
    "down": "below every number",
    "either": "beyond every number, up or down",
}


def separation_json(separation: Separation) -> dict[str, object]:
    """Return the finding: code and text, what it means, and the terms without and with a finite estimate."""
    return {
        "code": separation.code,
        "text": sentence(separation.code, separation.params),
        "means": sentence(separation.means.code, separation.means.params),
        "complete": separation.is_complete,
        "factors": list(separation.factors),
        "also": list(separation.also),
        "chance": separation.chance,
        "infinite": [{"term": term.name, "direction": way} for term, way in separation.infinite],
        "finite": [term.name for term in separation.finite],
    }


def separation_lines(separation: Separation) -> list[str]:
    """Return the finding as indented lines of text."""
    lines = [
        f"  {sentence(separation.code, separation.params)}",
        f"  {sentence(separation.means.code, separation.means.params)}",
    ]
    lines += [f"  {term.name}: no finite estimate, {_WAYS[way]}" for term, way in separation.infinite]
    if separation.finite:
        lines.append(f"  Finite, but not shown without the rest: {', '.join(t.name for t in separation.finite)}.")
    return lines
