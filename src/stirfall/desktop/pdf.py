"""The recipe for readers as PDF, on sheets of A4: the chance first, then the work, the evidence, and all cautions.

Works without a screen (QT_QPA_PLATFORM=offscreen) and makes a QApplication only where there is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QRectF, Qt
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication

from stirfall.bench.ages import as_utc
from stirfall.bench.errors import FileTroubleError
from stirfall.bench.estimates import whole_percent
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.pdf_cautions import draw_cautions
from stirfall.desktop.pdf_curve import CurvePicture
from stirfall.desktop.pdf_handbook import draw_amounts, draw_beside, draw_paragraphs, draw_section, draw_steps
from stirfall.desktop.pdf_recorded import RecordedPages, page_drawer
from stirfall.desktop.pdf_sheet import DOTS, FOOT, LEFT, MM, RIGHT, WIDTH, Ink, Placed, Sheet
from stirfall.desktop.printing.jobs import PrintJob, drawing_application
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.recipe_parts import Recipe
from stirfall.reporting.recipe_sections import Section, apparatus_section, last_sections, record_sections
from stirfall.reporting.shares import basis, in_full, interval, level_percent, percent
from stirfall.storage.copies import write_atomic

_SHORT = 12
_GROUP = 8
_WANTED_PAGES = 4
_HEADINGS = ("Condition", "Value", "Holds within", "What ends the range")
_PLACES = (0.0, 42 * MM, 68 * MM, 102 * MM)


@dataclass(frozen=True)
class Fit:
    """How closely things are set: the size of the cautions and the height of the curve."""

    caution_pt: float
    curve_mm: float


# Tried in this order; the first that needs the fewest sheets is taken.
_FITS = (Fit(7.8, 62.0), Fit(7.4, 56.0), Fit(7.0, 51.0))


def write_recipe_pdf(recipe: Recipe, path: Path, *, decimal: str = ".") -> tuple[Placed, ...]:
    """Write the recipe as PDF and return what was placed where; raises FileTroubleError ``recipe.not_written``."""
    data, placed = _drawn(recipe, decimal)
    try:
        write_atomic(Path(path), data)
    except OSError as error:
        raise FileTroubleError("recipe.not_written", path=str(path), why=error.strerror or "") from error
    return placed


def _drawn(recipe: Recipe, decimal: str) -> tuple[bytes, tuple[Placed, ...]]:
    """Draw first only to count the pages, so that each can say "page 1 of 2"; long cautions are set smaller."""
    # The full application, though drawing needs less of it: Qt has one per process, and a window may come later.
    application = QApplication.instance() or QApplication([])
    fit, pages = _best_fit(recipe, decimal)
    data, placed = _draw(recipe, decimal, pages, fit)
    del application
    return data, placed


def _best_fit(recipe: Recipe, decimal: str) -> tuple[Fit, int]:
    """Return how things are set, and the number of pages that they then take."""
    counted: list[tuple[int, Fit]] = []
    for fit in _FITS:
        counted.append((max(item.page for item in _draw(recipe, decimal, 0, fit)[1]), fit))
        if counted[-1][0] <= _WANTED_PAGES:
            break
    pages, fit = min(counted, key=lambda each: each[0])
    return fit, pages


def _draw(recipe: Recipe, decimal: str, pages: int, fit: Fit) -> tuple[bytes, tuple[Placed, ...]]:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(DOTS)
    writer.setPageLayout(
        QPageLayout(QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0))
    )
    writer.setTitle(f"Recipe: {recipe.title}")
    writer.setCreator(f"Stirfall {recipe.program_version}")
    painter = QPainter(writer)
    sheet = Sheet(writer, painter, lambda at: _foot(at, recipe, pages))
    draw_onto(sheet, recipe, decimal, fit)
    painter.end()
    buffer.close()
    return bytes(buffer.data().data()), tuple(sheet.placed)


def draw_onto(sheet: Sheet, recipe: Recipe, decimal: str, fit: Fit) -> None:
    """Draw the whole recipe, page after page, with the foot of the last one."""
    _first_page(sheet, recipe, decimal, fit)
    _work_pages(sheet, recipe)
    _evidence_pages(sheet, recipe)
    _limits(sheet, recipe, fit)
    sheet.heading("Cautions", keep=30 * MM)
    sheet.line(recipe.cautions.headline, Ink(9.5, bold=True), after=1.6 * MM)
    draw_cautions(sheet, recipe.cautions.items, fit.caution_pt)
    sheet.foot(sheet)


def reader_job(recipe: Recipe, *, decimal: str = ".", paper: str = "A4") -> PrintJob:
    """Return the recipe for readers as pages that draw themselves, for preview and printer.

    The pages are those of the PDF on A4; on another paper they are drawn as large as they fit. Raises InputError
    ``labels.paper``.
    """
    page_mm = paper_size(paper)
    application = drawing_application()
    fit, pages = _best_fit(recipe, decimal)
    recorded = RecordedPages()
    sheet = Sheet(recorded, recorded.painter, lambda at: _foot(at, recipe, pages))
    draw_onto(sheet, recipe, decimal, fit)
    drawers = tuple(page_drawer(picture, page_mm) for picture in recorded.finished())
    del application
    return PrintJob(f"Recipe: {recipe.title}", page_mm, drawers)


def _foot(sheet: Sheet, recipe: Recipe, pages: int) -> None:
    """Draw the foot of a page: what the sheet belongs to, and its number."""
    ink = Ink(7.0, role="muted")
    right = Ink(7.0, role="muted", align=Qt.AlignmentFlag.AlignRight)
    sheet.rule(y=FOOT - 1.4 * MM)
    mark = f" · {INVENTED_NOTICE}" if recipe.invented else ""
    text = f"Stirfall {recipe.program_version} · session {recipe.fingerprint[:_SHORT]}{mark}"
    sheet.put(text, ink, LEFT, WIDTH * 0.8, y=FOOT)
    sheet.put(f"page {sheet.page} of {pages}", right, RIGHT - 30 * MM, 30 * MM, y=FOOT)


# ------------------------------------------------------------------------------------------------------ first page


def _first_page(sheet: Sheet, recipe: Recipe, decimal: str, fit: Fit) -> None:
    _title(sheet, recipe)
    draw_paragraphs(sheet, recipe.handbook.purpose if recipe.handbook is not None else ())
    _notices(sheet, recipe)
    if recipe.blocked:
        sheet.y += 1.5 * MM
        chance = in_full(recipe.probability)
        sheet.line(f"Chance at these conditions: {chance}. This is no recommendation.", Ink(9.0))
    else:
        _odds_and_curve(sheet, recipe, decimal, fit)
    _conditions(sheet, recipe, decimal)


def _title(sheet: Sheet, recipe: Recipe) -> None:
    issued = "" if recipe.number is None else f", ISSUED NO. {recipe.number}"
    sheet.line(f"RECIPE{issued}", Ink(8.0, bold=True, role="accent"), after=0.6 * MM)
    sheet.line(recipe.title, Ink(16.0, bold=True), after=1.0 * MM)
    made = as_utc(recipe.created_at).strftime("%Y-%m-%d %H:%M UTC")
    facts = [recipe.metal, str(recipe.cautions.material), recipe.oil]
    sheet.line(" · ".join(fact for fact in facts if fact), Ink(8.5, role="muted"), after=0.5 * MM)
    source = f"{recipe.session_name}, fingerprint {recipe.fingerprint[:_SHORT]} · made {made}"
    sheet.line(source, Ink(8.5, role="muted"), after=2.2 * MM)


def _notices(sheet: Sheet, recipe: Recipe) -> None:
    blocks = [remark.text for remark in recipe.remarks if remark.level == "block"]
    if blocks:
        sheet.notice(
            [("Stop: do not do this. No steps are given.", True), *((text, False) for text in blocks)],
            edge="danger",
        )
    warnings = [(remark.text, False) for remark in recipe.remarks if remark.level != "block"]
    first = [(f"{INVENTED_NOTICE}.", True)] if recipe.invented else []
    where = "All limits and cautions stand on the next sheets and belong to this recipe."
    headline = (f"{recipe.cautions.headline} {where}", True)
    sheet.notice([*first, headline, *warnings])


def _odds_and_curve(sheet: Sheet, recipe: Recipe, decimal: str, fit: Fit) -> None:
    height, left_width = fit.curve_mm * MM, 46 * MM
    sheet.need(height)
    top = sheet.y
    end = _big_number(sheet, recipe, left_width, top)
    if recipe.curve is not None:
        area = QRectF(LEFT + left_width + 4 * MM, top + 0.5 * MM, WIDTH - left_width - 4 * MM, height - 7 * MM)
        CurvePicture(sheet, recipe.curve, area, decimal).draw()
        level = level_percent(recipe.probability.level)
        caption = (
            f"Band: {level} interval. Dots: clean attempts; crosses: not clean. Hatched: never tried. All other "
            "conditions as in the recipe."
        )
        sheet.put(caption, Ink(7.0, role="muted"), area.left(), area.width(), y=area.bottom() + 0.4 * MM)
    sheet.y = max(top + height, end)


def _big_number(sheet: Sheet, recipe: Recipe, width: float, top: float) -> float:
    """Draw the chance large at the left; return where it ends."""
    chance = recipe.probability
    y = top + 1.5 * MM
    lines = [
        (percent(chance.mean), Ink(36.0, bold=True, role="accent"), 0.0),
        ("chance of a clean separation", Ink(9.0), 2.0),
        (f"{interval(chance)}, {basis(chance)}", Ink(10.5, bold=True), 0.4),
        (f"{level_percent(chance.level)} interval", Ink(8.5, role="muted"), 2.6),
    ]
    for name, estimate in recipe.gates:
        word = "of these pooled" if name == "pooled" else name
        lines.append((f"{word}: {percent(estimate.mean)}", Ink(8.5), 0.0))
        lines.append((f"{interval(estimate)}, {basis(estimate)}", Ink(8.0, role="muted"), 0.8))
    for text, ink, after in lines:
        y += sheet.put(text, ink, LEFT, width, y=y) + after * MM
    return y


def _conditions(sheet: Sheet, recipe: Recipe, decimal: str) -> None:
    sheet.heading("Conditions", keep=20 * MM)
    header = ["Condition", "Value", "", ""] if recipe.blocked else list(_HEADINGS)
    _row(sheet, header, Ink(7.5, role="muted"))
    for value in recipe.values:
        cells = [
            value.name,
            value.shown(decimal=decimal),
            value.shown_range(decimal=decimal) or ("" if recipe.blocked else "no range"),
            "; ".join(value.notes),
        ]
        _row(sheet, cells, Ink(9.0), strong=1)
    if recipe.blocked:
        return
    note = (
        f"“Holds within”: all else as in the recipe, the lower bound of the interval stays within "
        f"{whole_percent(recipe.drop)} points."
    )
    sheet.y += 0.8 * MM
    sheet.line(note, Ink(7.5, role="muted"))


def _row(sheet: Sheet, cells: list[str], ink: Ink, *, strong: int | None = None) -> None:
    """Draw one row of the table; cell number ``strong`` is bold."""
    widths = [b - a - 2 * MM for a, b in zip(_PLACES, [*_PLACES[1:], WIDTH + 2 * MM], strict=True)]
    sizes = [ink.size, ink.size, ink.size, min(ink.size, 8.0)]
    inks = [Ink(size, place == strong, ink.role) for place, size in enumerate(sizes)]
    heights = [sheet.height(cell, own, width) for cell, own, width in zip(cells, inks, widths, strict=True)]
    height = max(heights) + 1.2 * MM
    sheet.need(height)
    for cell, own, place, width, own_height in zip(cells, inks, _PLACES, widths, heights, strict=True):
        lift = (max(heights) - own_height) / 2 + 0.6 * MM
        sheet.put(cell, own, LEFT + place, width, y=sheet.y + lift)
    sheet.y += height
    sheet.rule()


# --------------------------------------------------------------------------------------- the pages that follow


def _work_pages(sheet: Sheet, recipe: Recipe) -> None:
    """Draw materials, apparatus and amounts, and then what is done with them."""
    materials = Section("Materials", recipe.materials)
    for apparatus in apparatus_section(recipe):
        draw_beside(sheet, materials, apparatus)
        break
    else:
        draw_section(sheet, materials)
    draw_amounts(sheet, recipe)
    draw_steps(sheet, recipe)


def _evidence_pages(sheet: Sheet, recipe: Recipe) -> None:
    evidence = Section("Evidence", tuple(_evidence_lines(recipe)))
    proof = Section("Proof", recipe.proof_lines)
    records, last = record_sections(recipe), last_sections(recipe)
    tested = next((each for each in records if each.title == "Tested range"), None)
    if tested is None:
        draw_beside(sheet, evidence, proof)
    else:
        draw_beside(sheet, evidence, tested)
        draw_section(sheet, proof)
    for section in (*(each for each in records if each is not tested), *last):
        draw_section(sheet, section)


def _limits(sheet: Sheet, recipe: Recipe, fit: Fit) -> None:
    """Draw every limit over the whole width, over as many sheets as it takes: none may be left out."""
    ink = Ink(fit.caution_pt)
    sheet.heading("Limits", keep=14 * MM)
    for line in recipe.limits:
        height = sheet.height(line, ink, WIDTH - 4 * MM)
        sheet.need(height)
        sheet.bullet(LEFT, sheet.y + 0.4 * MM, 2.2 * MM)
        sheet.put(line, ink, LEFT + 4 * MM, WIDTH - 4 * MM)
        sheet.y += height + 0.6 * MM


def _evidence_lines(recipe: Recipe) -> list[str]:
    return [
        *recipe.evidence.lines("every range of the first sheet"),
        f"Session fingerprint {' '.join(wrap(recipe.fingerprint, _GROUP))}.",
    ]
