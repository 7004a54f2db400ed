"""The parts of the recipe for readers that are lists, steps and amounts, drawn onto sheets from the top down."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.pdf_sheet import GUTTER, HALF, LEFT, MM, WIDTH, Ink, Sheet
from stirfall.reporting.recipe_parts import Recipe, Step
from stirfall.reporting.recipe_sections import BATCH_HEADINGS, Section, batch_notes, batch_rows, signs

_BODY, _SMALL = Ink(9.0), Ink(8.2, role="muted")
_LINE = Ink(8.2)
_AMOUNTS = (0.0, 44 * MM, 70 * MM, 96 * MM)


def draw_paragraphs(sheet: Sheet, lines: Sequence[str]) -> None:
    """Draw sentences as one paragraph over the whole width."""
    if lines:
        sheet.line(" ".join(lines), _BODY, after=1.6 * MM)


def draw_section(sheet: Sheet, section: Section) -> None:
    """Draw a titled list over the whole width; it may run over several pages."""
    sheet.heading(section.title, keep=12 * MM)
    for line in section.lines:
        height = sheet.height(line, _LINE, WIDTH - 4 * MM)
        sheet.need(height)
        sheet.bullet(LEFT, sheet.y + 0.4 * MM, 2.2 * MM)
        sheet.put(line, _LINE, LEFT + 4 * MM, WIDTH - 4 * MM)
        sheet.y += height + 0.6 * MM


def draw_beside(sheet: Sheet, left: Section, right: Section) -> None:
    """Draw two titled lists side by side, on one page where they fit; else one below the other."""
    tallest = max(_column_height(sheet, each) for each in (left, right))
    if tallest > sheet.room():
        sheet.turn()
    if tallest > sheet.room():
        draw_section(sheet, left)
        draw_section(sheet, right)
        return
    sheet.y += 4.0 * MM if sheet.room() - tallest > 4.0 * MM and sheet.placed else 0.0
    top = sheet.y
    ends = [_column(sheet, each, x, top) for each, x in ((left, LEFT), (right, LEFT + HALF + GUTTER))]
    sheet.y = max(ends)


def _column_height(sheet: Sheet, section: Section) -> float:
    lines = sum(sheet.height(line, _LINE, HALF - 4 * MM) + 0.8 * MM for line in section.lines)
    return lines + 12 * MM


def _column(sheet: Sheet, section: Section, x: float, top: float) -> float:
    y = top + sheet.put(section.title, Ink(11.0, bold=True, role="accent"), x, HALF, y=top) + 1.6 * MM
    for line in section.lines:
        sheet.bullet(x, y + 0.4 * MM, 2.2 * MM)
        y += sheet.put(line, _LINE, x + 4 * MM, HALF - 4 * MM, y=y) + 0.8 * MM
    return y


# ------------------------------------------------------------------------------------------------------- amounts


def draw_amounts(sheet: Sheet, recipe: Recipe) -> None:
    """Draw the batch: each quantity before and after, how it was got, and what is asked for."""
    rows, asked = batch_rows(recipe), batch_notes(recipe)
    if not rows and not asked:
        return
    sheet.heading("Amounts", keep=20 * MM)
    if rows:
        _row(sheet, BATCH_HEADINGS, header=True)
    for row in rows:
        _row(sheet, row, header=False)
    sheet.y += 0.8 * MM
    for text in asked:
        sheet.line(text, _SMALL, after=0.4 * MM)


def _row(sheet: Sheet, cells: Sequence[str], *, header: bool) -> None:
    widths = [end - start - 2 * MM for start, end in zip(_AMOUNTS, (*_AMOUNTS[1:], WIDTH + 2 * MM), strict=True)]
    inks = [Ink(7.5, role="muted")] * len(cells) if header else [Ink(8.6), Ink(8.6), Ink(8.6, bold=True), Ink(7.8)]
    heights = [sheet.height(cell, ink, width) for cell, ink, width in zip(cells, inks, widths, strict=True)]
    sheet.need(max(heights) + 1.0 * MM)
    for cell, ink, place, width in zip(cells, inks, _AMOUNTS, widths, strict=True):
        sheet.put(cell, ink, LEFT + place, width, y=sheet.y + 0.5 * MM)
    sheet.y += max(heights) + 1.0 * MM
    sheet.rule()


# --------------------------------------------------------------------------------------------------------- steps


def draw_steps(sheet: Sheet, recipe: Recipe) -> None:
    """Draw the steps with a box to tick, what goes in, what should be seen, and what to do when it is not."""
    if not recipe.steps:
        return
    sheet.heading("Steps", keep=14 * MM)
    for number, step in enumerate(recipe.steps, 1):
        _step(sheet, number, step)


def _step(sheet: Sheet, number: int, step: Step) -> None:
    box, at_heading, at_text = 3.4 * MM, 6 * MM, 28 * MM
    strong = Ink(9.0, bold=True)
    told = [(step.text, _BODY), (step.amounts_text, strong), *((line, _SMALL) for line in signs(step))]
    told = [(text, ink) for text, ink in told if text]
    heights = [sheet.height(text, ink, WIDTH - at_text) for text, ink in told]
    sheet.need(sum(heights))
    sheet.check_box(LEFT, sheet.y + 0.4 * MM, box)
    sheet.put(f"{number}{THIN_SPACE}{THIN_SPACE}{step.heading}", strong, LEFT + at_heading, at_text - at_heading)
    for (text, ink), height in zip(told, heights, strict=True):
        sheet.put(text, ink, LEFT + at_text, WIDTH - at_text)
        sheet.y += height
    sheet.y += 1.5 * MM
