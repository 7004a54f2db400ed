"""Colours for paper: what leaves the program is drawn in ink on white, whatever the theme of the window is.

The colours of the outcomes are those of Okabe and Ito, "Color Universal Design" (2008); a shape and a word always
stand beside the colour.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.outcomes import Outcome

PAPER = "#ffffff"
INK = "#16191d"
MUTED = "#484e57"
LINE = "#7d858f"
GRID = "#d5d9de"
ACCENT = "#46408f"
BAND = "#c9c6ea"
WASH = "#f0f2f4"
CAUTION = "#6b4300"
CAUTION_WASH = "#fbeecb"
DANGER = "#9c1c10"


@dataclass(frozen=True)
class PrintMark:
    """How an outcome is drawn on paper: colour, shape as matplotlib names it, a glyph for text, and the word."""

    colour: str
    shape: str
    glyph: str
    word: str


_MARKS: tuple[tuple[Outcome, str, str, str], ...] = (
    (Outcome.CLEAN, "#0072b2", "o", "●"),
    (Outcome.PARTED_BEADS, "#d55e00", "^", "▲"),
    (Outcome.PARTLY_PARTED, "#009e73", "D", "◆"),
    (Outcome.NOTHING_PARTED, "#000000", "X", "✕"),
    (Outcome.NOT_CLEAN, "#000000", "s", "■"),
    (Outcome.COUNTED, "#0072b2", "h", "⬢"),
    (Outcome.ABORTED, "#5c636c", "P", "✚"),
    (Outcome.NOT_GRADED, "#5c636c", "v", "▽"),
)
PRINT_MARKS: Mapping[Outcome, PrintMark] = MappingProxyType(
    {outcome: PrintMark(colour, shape, glyph, outcome.value) for outcome, colour, shape, glyph in _MARKS}
)
