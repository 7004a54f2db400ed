"""The cautions of a recipe in two columns, with boxes to tick and numbered sources; all of them, always."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.materials import Caution
from stirfall.desktop.pdf_sheet import GUTTER, HALF, LEFT, MM, WIDTH, Ink, Sheet

_INDENT = 4.2 * MM
_GAP = 1.5 * MM
_SOURCES = Ink(6.5, role="muted")


@dataclass(frozen=True)
class _Line:
    """One caution as it is printed, with the number of its source."""

    text: str
    check: bool
    height: float


def draw_cautions(sheet: Sheet, items: tuple[Caution, ...], size: float) -> None:
    """Fill two columns of even height; lines of the start checklist have a box to tick."""
    sources = list(dict.fromkeys(item.source for item in items))
    listed = "Sources: " + "; ".join(f"[{number}] {source}" for number, source in enumerate(sources, 1)) + "."
    ink = Ink(size)
    lines = []
    for item in items:
        text = f"{item.text} [{sources.index(item.source) + 1}]"
        lines.append(_Line(text, item.check, sheet.height(text, ink, HALF - _INDENT) + _GAP))
    _fill_columns(sheet, lines, ink)
    sheet.y += 0.8 * MM
    sheet.need(sheet.height(listed, _SOURCES, WIDTH))
    sheet.y += sheet.put(listed, _SOURCES, LEFT, WIDTH)


def _fill_columns(sheet: Sheet, lines: list[_Line], ink: Ink) -> None:
    while lines:
        heights = [line.height for line in lines]
        left, right = _split(heights, max(sum(heights) / 2, *heights), sheet.room())
        if left == 0:
            sheet.turn()
            continue
        ends = [
            _column(sheet, lines[:left], ink, LEFT),
            _column(sheet, lines[left : left + right], ink, LEFT + HALF + GUTTER),
        ]
        sheet.y = max(ends)
        lines = lines[left + right :]
        if lines:
            sheet.turn()


def _split(heights: list[float], wanted: float, room: float) -> tuple[int, int]:
    """Return how many lines go into the left and the right column: the left is filled to ``wanted``."""
    left, used = 0, 0.0
    while left < len(heights) and used + heights[left] <= room and used < wanted:
        used += heights[left]
        left += 1
    right, used = 0, 0.0
    while left + right < len(heights) and used + heights[left + right] <= room:
        used += heights[left + right]
        right += 1
    return left, right


def _column(sheet: Sheet, lines: list[_Line], ink: Ink, x: float) -> float:
    y = sheet.y
    for line in lines:
        draw = sheet.check_box if line.check else sheet.bullet
        draw(x, y + 0.5 * MM, 2.4 * MM)
        sheet.put(line.text, ink, x + _INDENT, HALF - _INDENT, y=y)
        y += line.height
    return y
