"""The paper sheet as pages: as large as it fits on one page, all cautions of the class on the page behind."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QRectF

from stirfall import __version__
from stirfall.desktop.printing.blocks import (
    Block,
    Frame,
    beside,
    blank,
    grid,
    heading,
    options,
    packed,
    page_of,
    space,
    stacked,
    text_block,
    ticks,
)
from stirfall.desktop.printing.canvas import Canvas, Type, height_of, largest_that
from stirfall.desktop.printing.jobs import PageDrawer, PrintJob, drawing_application
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.paper_sheet import Blank, PaperSheet

MARGIN, FOOT = 12.0, 7.0
_LEAST_PT, _READABLE_PT, _MOST_PT = 6.4, 7.2, 9.4
_LABEL_MM = 38.0
_TIMES = ("time, hh:mm:ss", "again, hh:mm:ss")
_ALL_BEHIND = "All cautions for this class of metal stand on the last page. Local rules come first."
_FIRST_OF_DAY = "Before the first attempt of the day, each line must be true:"
_WEIGHED = ("on the balance, g", "vessel (tare), g")


def paper_job(sheet: PaperSheet, *, paper: str = "A4", copies: int = 1) -> PrintJob:
    """Return ``copies`` blank records, one attempt each, and a page of all cautions behind them.

    Raises InputError ``labels.paper``.
    """
    page = paper_size(paper)
    application = drawing_application()
    frame = Frame(MARGIN, MARGIN, page[0] - 2 * MARGIN, page[1] - MARGIN - FOOT)

    record = packed(_record(sheet, frame, *_fit(sheet, frame)), frame)
    behind = packed(caution_blocks(sheet, frame, caution_size(sheet, frame)), frame)
    pages = [
        sheet_page(blocks, frame, sheet, f"record {place} of {len(record)}")
        for place, blocks in enumerate(record, 1)
    ]
    last = [sheet_page(blocks, frame, sheet, "cautions") for blocks in behind]
    del application
    return PrintJob(f"Paper sheet: {sheet.title}", page, tuple(pages * copies + last))


def _fit(sheet: PaperSheet, frame: Frame) -> tuple[float, int]:
    """Return the largest size of text at which the record fits on one page, and the lines of its note."""
    for least, note_lines in ((_READABLE_PT, 3), (_READABLE_PT, 2), (_LEAST_PT, 1)):

        def fits(size: float, lines: int = note_lines) -> bool:
            return sum(block.height for block in _record(sheet, frame, size, lines)) <= frame.height

        size = largest_that(fits, least, _MOST_PT)
        if size is not None:
            return size, note_lines
    return _READABLE_PT, 3


def sheet_page(blocks: tuple[Block, ...], frame: Frame, sheet: PaperSheet, what: str) -> PageDrawer:
    """Return a page with a foot that says of which campaign it is."""
    words = " \u00b7 ".join(part for part in (f"Stirfall {__version__}", sheet.title, what, sheet.mark) if part)

    def foot(canvas: Canvas) -> None:
        kind = Type(6.5, grey=True)
        canvas.text(words, kind, frame.left, frame.bottom + 1.5, frame.width, most_mm=kind.line_mm)

    return page_of(blocks, frame, foot)


def _record(sheet: PaperSheet, frame: Frame, size: float, note_lines: int) -> list[Block]:
    """Return the parts of the record in the order of the bench form."""
    kind, row = Type(size), size * 0.82
    return [
        _title(sheet, frame, size),
        hazards_block(sheet, frame, size),
        text_block(_FIRST_OF_DAY, Type(size, bold=True), frame, after=0.6),
        ticks(sheet.checklist, kind, frame),
        heading("Jar", size, frame),
        beside([_blank(each, kind, row, kind.width_mm(each.label) + 2.0) for each in sheet.jar], frame, gap=4.0),
        options(sheet.look.label, sheet.look.options, kind, frame, row=row),
        *([text_block(sheet.look_note, Type(size, bold=True), frame, after=0.6)] if sheet.look_note else []),
        options("The jar is used up", ("yes", "no, something is left"), kind, frame, row=row),
        heading("Conditions that were really reached", size, frame),
        *_conditions(sheet.conditions, kind, frame, row),
        beside([lambda part: _marks(sheet, kind, part, row), lambda part: _seen(sheet, kind, part, row)], frame),
        heading("Weighing, when all is cold", size, frame),
        beside(
            [lambda part: _masses(sheet, kind, part, row), lambda part: _weighing(sheet, kind, part, row)], frame
        ),
        options(sheet.weighing[-1].label, sheet.weighing[-1].options, kind, frame, row=row),
        heading("Note", size, frame),
        *[_line(frame, row) for _ in range(note_lines)],
        heading("Result", size, frame),
        *[options(each.label, each.options, kind, frame, row=row) for each in sheet.questions],
        beside(
            [lambda part: options("Aborted", ("yes",), kind, part, row=row), _blank(Blank("Why"), kind, row, 12.0)],
            frame,
        ),
    ]


def _blank(each: Blank, kind: Type, row: float, label_mm: float) -> Callable[[Frame], Block]:
    return lambda part: blank(each.label, kind, part, grey=(each.span, each.hint), row=row, label_mm=label_mm)


def _title(sheet: PaperSheet, frame: Frame, size: float) -> Block:
    large, small = Type(size + 6.0, bold=True), Type(size)
    title = f"Record of one attempt: {sheet.title}"
    facts = " \u00b7 ".join(sheet.facts)
    mark = Type(size + 1.0, bold=True)
    height = min(height_of(title, large, frame.width), 2 * large.line_mm)
    lower = height_of(facts, small, frame.width)
    extra = mark.line_mm if sheet.mark else 0.0

    def draw(canvas: Canvas, y: float) -> None:
        canvas.text(title, large, frame.left, y, frame.width, most_mm=height)
        if sheet.mark:
            canvas.text(f"{sheet.mark}.", mark, frame.left, y + height, frame.width)
        canvas.text(facts, small, frame.left, y + height + extra, frame.width)

    return Block(height + extra + lower + 1.2, draw)


def hazards_block(sheet: PaperSheet, frame: Frame, size: float) -> Block:
    """Return the box of the hazards: the headline in bold, then the lines, beside a warning sign."""
    strong, kind = Type(size + 1.0, bold=True), Type(size)
    sign, pad = 9.0, 1.6
    inner = frame.width - sign - 3 * pad
    lines = [(sheet.cautions.headline, strong), *((text, kind) for text in sheet.hazards)]
    lines.append((_ALL_BEHIND, Type(size - 0.6)))
    heights = [height_of(text, which, inner) for text, which in lines]
    total = max(sum(heights) + 2 * pad + 0.5 * len(heights), sign + 2 * pad)

    def draw(canvas: Canvas, y: float) -> None:
        canvas.box(QRectF(frame.left, y, frame.width, total), thickness=0.5)
        canvas.warning_sign(frame.left + pad, y + pad, sign)
        top = y + pad
        for (text, which), height in zip(lines, heights, strict=True):
            canvas.text(text, which, frame.left + sign + 2 * pad, top, inner)
            top += height + 0.5

    return Block(total + 1.6, draw)


def _conditions(blanks: tuple[Blank, ...], kind: Type, frame: Frame, row: float) -> list[Block]:
    """Return numbers two in a row and choices over the whole width, in their order."""
    made: list[Block] = []
    waiting: list[Blank] = []
    for each in blanks:
        if each.options:
            made += _pairs(tuple(waiting), kind, frame, row)
            waiting = []
            made.append(options(each.label, each.options, kind, frame, grey=each.hint, row=row))
        else:
            waiting.append(each)
    return [*made, *_pairs(tuple(waiting), kind, frame, row)]


def _pairs(blanks: tuple[Blank, ...], kind: Type, frame: Frame, row: float) -> list[Block]:
    rows = [blanks[start : start + 2] for start in range(0, len(blanks), 2)]
    return [beside([*(_blank(each, kind, row, _LABEL_MM) for each in pair), _nothing][:2], frame) for pair in rows]


def _nothing(_frame: Frame) -> Block:
    """The place beside an odd one."""
    return space(0.0)


def _masses(sheet: PaperSheet, kind: Type, frame: Frame, row: float) -> Block:
    return grid(_WEIGHED, sheet.masses, kind, frame, row=row * 0.86)


def _marks(sheet: PaperSheet, kind: Type, frame: Frame, row: float) -> Block:
    table = grid(_TIMES, sheet.marks, kind, frame, row=row * 0.86)
    return stacked([heading("Marks", kind.size, frame), table])


def _seen(sheet: PaperSheet, kind: Type, frame: Frame, row: float) -> Block:
    blanks = [blank(each.label, kind, frame, row=row, label_mm=_LABEL_MM) for each in sheet.seen]
    return stacked([heading("What was seen", kind.size, frame), *blanks])


def _weighing(sheet: PaperSheet, kind: Type, frame: Frame, row: float) -> Block:
    return stacked([blank(each.label, kind, frame, row=row, label_mm=_LABEL_MM) for each in sheet.weighing[:-1]])


def _line(frame: Frame, row: float) -> Block:
    return Block(row, lambda canvas, y: canvas.rule(frame.left, y + row - 1.0, frame.width))


def caution_size(sheet: PaperSheet, frame: Frame) -> float:
    """Return the largest size at which all cautions stand on one page, or the usual one where none is enough."""

    def fits(size: float) -> bool:
        return sum(block.height for block in caution_blocks(sheet, frame, size)) <= frame.height

    return largest_that(fits, _LEAST_PT, _MOST_PT) or _READABLE_PT


def caution_blocks(sheet: PaperSheet, frame: Frame, size: float) -> list[Block]:
    """Return all cautions of the class of metal."""
    kind = Type(size)
    cautions = sheet.cautions
    blocks = [
        text_block(f"All cautions: {cautions.material.value}", Type(14.0, bold=True), frame, after=1.5),
        text_block(cautions.headline, Type(9.5, bold=True), frame, after=1.5),
    ]
    lines = [f"\u2022 {item.text} [{item.source}]" for item in cautions.items]
    blocks += [text_block(line, kind, frame, after=0.9) for line in lines]
    last = "Local rules and licensed practice come first. This list is not complete."
    return [*blocks, text_block(last, Type(8.5, bold=True), frame)]
