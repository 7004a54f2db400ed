"""Where outcomes are parted without exception: one sentence, and what it means for the next attempt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.desktop.odds.pictures import GATE_WORDS
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.session.analysis import Analysis


def separation_text(analysis: Analysis, *, decimal: str = ".", token: CancelToken | None = None) -> tuple[str, ...]:
    """Return a line for each gate whose outcomes are separated; none where they overlap. For a worker thread."""
    from stirfall.session.separation import separations_of

    if token is not None:
        token.raise_if_cancelled()
    lines = []
    for found in separations_of(analysis):
        gate = f"{GATE_WORDS[found.gate].capitalize()}: " if len(analysis.rows) > 1 else ""
        said = sentence(found.code, found.params, decimal=decimal)
        lines.append(f"{gate}{said} {sentence(found.means.code, found.means.params, decimal=decimal)}")
    return tuple(lines)
