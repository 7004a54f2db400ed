"""The bench sheet drawn in millimetres, for preview, printer and PDF alike: large, and never without a caution.

The steps take the largest type at which they fit on the first page. Limits and cautions follow; what does not fit
goes onto a further page, and the first page says so.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QRectF, Qt

from stirfall import __version__
from stirfall.desktop.printing.blocks import (
    Block,
    Frame,
    beside,
    blank,
    heading,
    options,
    packed,
    page_of,
    space,
    stacked,
    text_block,
)
from stirfall.desktop.printing.canvas import Canvas, Placed, Type, height_of, largest_that
from stirfall.desktop.printing.jobs import PageDrawer, PrintJob, drawing_application, write_pdf
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.recipe_sheet import HEAD_BLANKS, MASS_BLANKS, QUESTIONS, BenchSheet, SheetStep, SheetValue
from stirfall.reporting.square_code import square_code

MARGIN, FOOT = 11.0, 8.0
LEAST_PT, MOST_PT = 11.4, 17.0
SMALL_PT = 8.6
_BEHIND_PT, _MOST_BEHIND = ((1, 7.8), (2, 8.6)), 11.0
"""Limits and cautions: pages that they may take, and the least size at which they may take so few."""

_FULL = 0.95
_BASE = 0.8
_CODE_MM = 24.0
_BEHIND = "All limits and cautions stand on the next page and belong to this sheet."
_RIGHT = Qt.AlignmentFlag.AlignRight


def bench_job(sheet: BenchSheet, *, paper: str = "A4") -> PrintJob:
    """Return the pages of the bench sheet; raises InputError ``labels.paper``."""
    page = paper_size(paper)
    application = drawing_application()
    frame = Frame(MARGIN, MARGIN, page[0] - 2 * MARGIN, page[1] - MARGIN - FOOT)
    size = _fit(sheet, frame)
    front = _front(sheet, frame, size)
    behind = _behind(sheet, frame)
    together = packed([*front, *behind], frame)
    # What is needed at the bench has the first page for itself, unless it runs over anyway.
    is_parted = len(together) > 1 and len(packed(front, frame)) == 1
    pages = (*packed(front, frame), *packed(behind, frame)) if is_parted else together
    drawn = [_page(blocks, frame, sheet, place, len(pages)) for place, blocks in enumerate(pages, 1)]
    del application
    return PrintJob(f"Bench sheet: {sheet.title}", page, tuple(drawn))


def write_bench_pdf(sheet: BenchSheet, path: Path, *, paper: str = "A4") -> tuple[tuple[Placed, ...], ...]:
    """Write the bench sheet as PDF; raises FileTroubleError ``printing.not_written``."""
    return write_pdf(bench_job(sheet, paper=paper), path)


def _fit(sheet: BenchSheet, frame: Frame) -> float:
    def fits(size: float) -> bool:
        return sum(block.height for block in _front(sheet, frame, size)) <= frame.height

    return largest_that(fits, LEAST_PT, MOST_PT) or LEAST_PT


def _page(blocks: tuple[Block, ...], frame: Frame, sheet: BenchSheet, place: int, count: int) -> PageDrawer:
    words = f"Stirfall {__version__} \u00b7 {sheet.title} \u00b7 {sheet.issued}, session {sheet.mark}"
    number = f"page {place} of {count}"

    def foot(canvas: Canvas) -> None:
        kind = Type(7.0, grey=True)
        canvas.text(words, kind, frame.left, frame.bottom + 1.5, frame.width - 28.0, most_mm=kind.line_mm)
        right = Type(7.0, grey=True, align=_RIGHT)
        canvas.text(number, right, frame.left + frame.width - 26.0, frame.bottom + 1.5, 26.0)

    return page_of(blocks, frame, foot)


# --------------------------------------------------------------------------------------------------- first page


def _front(sheet: BenchSheet, frame: Frame, size: float) -> list[Block]:
    small = Type(max(size - 3.0, SMALL_PT))
    row = small.line_mm * 1.5
    return [
        _head(sheet, frame, size),
        *_notices(sheet, frame, size),
        _hazards(sheet, frame, max(size - 2.6, SMALL_PT)),
        *([_blanks(HEAD_BLANKS, small, frame, row)] if sheet.steps else []),
        *[_step(step, frame, size) for step in sheet.steps],
        *_result(frame, small, row, sheet),
    ]


def _head(sheet: BenchSheet, frame: Frame, size: float) -> Block:
    """Return title, batch, chance and mark at the left, number and code of an issued recipe at the right."""
    side = _CODE_MM if sheet.code else 0.0
    left = frame.width - (side + 4.0 if side else 0.0)
    title, large, small = Type(size + 4.0, bold=True), Type(size + 2.0, bold=True), Type(max(size - 3.0, SMALL_PT))
    facts = " \u00b7 ".join(sheet.facts)
    lines = [
        (sheet.title, title),
        (sheet.notice, Type(small.size, bold=True)),
        (f"{sheet.batch} \u00b7 {sheet.issued}", large),
        (f"session {sheet.mark} \u00b7 {facts}", small),
        (f"{sheet.chance}.", small),
    ]
    told = [(text, kind, height_of(text, kind, left)) for text, kind in lines if text]
    total = max(sum(height for _, _, height in told), side) + 1.5

    def draw(canvas: Canvas, y: float) -> None:
        top = y
        for text, kind, height in told:
            canvas.text(text, kind, frame.left, top, left)
            top += height
        if sheet.code:
            canvas.square(square_code(sheet.code), QRectF(frame.left + frame.width - side, y, side, side))

    return Block(total, draw)


def _notices(sheet: BenchSheet, frame: Frame, size: float) -> list[Block]:
    kind, strong = Type(max(size - 3.4, SMALL_PT)), Type(max(size - 2.0, SMALL_PT), bold=True)
    stops = (
        [text_block("Stop: do not do this. No steps are given.", strong, frame, after=0.6)] if sheet.stops else []
    )
    stops += [text_block(text, strong, frame, after=0.6) for text in sheet.stops]
    return [*stops, *(text_block(f"Heed: {text}", kind, frame, after=0.4) for text in sheet.warnings)]


def _hazards(sheet: BenchSheet, frame: Frame, size: float) -> Block:
    """Return the box with the headline and the cautions that are needed most, beside a warning sign."""
    strong, kind = Type(size, bold=True), Type(max(size - 1.4, SMALL_PT))
    sign, pad = 8.0, 1.4
    inner = frame.width - sign - 3 * pad
    lines = [(sheet.cautions.headline, strong), *((text, kind) for text in sheet.hazards)]
    lines.append((_BEHIND, Type(SMALL_PT, bold=True)))
    heights = [height_of(text, which, inner) for text, which in lines]
    total = max(sum(heights) + 2 * pad, sign + 2 * pad)

    def draw(canvas: Canvas, y: float) -> None:
        canvas.box(QRectF(frame.left, y, frame.width, total), thickness=0.6)
        canvas.warning_sign(frame.left + pad, y + pad, sign)
        top = y + pad
        for (text, which), height in zip(lines, heights, strict=True):
            canvas.text(text, which, frame.left + sign + 2 * pad, top, inner)
            top += height

    return Block(total + 1.6, draw)


def _blanks(words: tuple[str, ...], kind: Type, frame: Frame, row: float) -> Block:
    def one(word: str) -> Callable[[Frame], Block]:
        return lambda part: blank(word, kind, part, row=row, label_mm=kind.width_mm(word) + 1.5)

    return beside([one(word) for word in words], frame, gap=3.0)


def _result(frame: Frame, kind: Type, row: float, sheet: BenchSheet) -> list[Block]:
    if not sheet.steps:
        return []
    asked = [options(question, words, kind, frame, row=row) for question, words in QUESTIONS]
    return [stacked([space(1.0), *asked, _blanks(MASS_BLANKS, kind, frame, row)])]


# --------------------------------------------------------------------------------------------------------- steps


def _step(step: SheetStep, frame: Frame, size: float) -> Block:
    """Return one step: box to tick, number and word at the left; words, amounts, values and timer at the right."""
    head, box = Type(size + 1.0, bold=True), size * 0.36
    at_head = box + 2.0
    at_text = at_head + head.width_mm("10 Prepare") + 3.0
    part = Frame(frame.left + at_text, frame.top, frame.width - at_text, frame.bottom)
    rows = _rows(step, part, size)
    label = f"{step.number} {step.heading}"
    label_mm = at_text - at_head - 1.0
    total = max(sum(row.height for row in rows), height_of(label, head, label_mm), box) + 1.2

    def draw(canvas: Canvas, y: float) -> None:
        canvas.rule(frame.left, y, frame.width, thickness=0.15, grey=True)
        top = y + 0.7
        canvas.box(QRectF(frame.left, top + 0.5, box, box), thickness=0.45)
        canvas.text(label, head, frame.left + at_head, top, label_mm)
        for row in rows:
            row.draw(canvas, top)
            top += row.height

    return Block(total, draw)


def _rows(step: SheetStep, part: Frame, size: float) -> list[Block]:
    rows = [text_block(step.text, Type(max(size - 2.0, LEAST_PT - 1.0)), part)]
    if step.amounts:
        told = "   ".join(f"{label} {amount}" for label, amount in step.amounts)
        rows.append(text_block(told, Type(size, bold=True), part))
    for value in step.values:
        timed = step.timer and value.name == step.timed
        rows.append(_timer(value, step.timer, part, size) if timed else _value(value, part, size))
    return rows


def _value(value: SheetValue, part: Frame, size: float) -> Block:
    """Return the value large, its tolerance beside it, and a line for what was reached."""
    return _wide_row(value, "reached", part, size, box=0.0)


def _timer(value: SheetValue, timer: str, part: Frame, size: float) -> Block:
    """Return the timer in minutes and seconds with a box to tick, and a line for the time it was stopped at."""
    return _wide_row(SheetValue(value.name, timer, value.tolerance), "stopped at", part, size, box=size * 0.3)


def _wide_row(value: SheetValue, written: str, part: Frame, size: float, *, box: float) -> Block:
    name, small = Type(max(size - 3.0, SMALL_PT)), Type(max(size - 2.0, SMALL_PT))
    large = Type(size + (3.0 if box else 1.0), bold=True)
    name_mm, line_mm = part.width * 0.25, 30.0 if box else 26.0
    shown_mm = max(part.width * 0.22, large.width_mm(value.value) + (box + 5.0 if box else 2.0))
    rest = part.width - name_mm - shown_mm - line_mm - 1.0
    down = [_BASE * (large.line_mm - kind.line_mm) for kind in (name, small)]
    below = [height_of(value.name, name, name_mm - 1.5), height_of(value.tolerance, small, rest - 1.0)]
    height = max(large.line_mm, *(top + tall for top, tall in zip(down, below, strict=True)))

    def draw(canvas: Canvas, y: float) -> None:
        base, left = y + large.line_mm * _BASE, part.left + name_mm
        canvas.text(value.name, name, part.left, y + down[0], name_mm - 1.5)
        canvas.text(value.value, large, left, y, large.width_mm(value.value) + 1.0)
        if box:
            canvas.box(QRectF(left + large.width_mm(value.value) + 2.5, base - box, box, box), thickness=0.4)
        canvas.text(value.tolerance, small, left + shown_mm, y + down[1], rest - 1.0)
        _written(canvas, written, part.left + part.width - line_mm, base, line_mm)

    return Block(height + 0.3, draw)


def _written(canvas: Canvas, word: str, x: float, base: float, width: float) -> None:
    """Draw a small word and a line to write on."""
    kind = Type(7.4, grey=True)
    label = kind.width_mm(word) + 1.0
    canvas.text(word, kind, x, base - kind.line_mm * _BASE, label)
    canvas.rule(x + label, base + 0.4, width - label, thickness=0.25)


# ------------------------------------------------------------------------------------------- limits and cautions


def _behind(sheet: BenchSheet, frame: Frame) -> list[Block]:
    """Return limits and cautions, as large as they fit on one page; never smaller than can be read in the hand."""
    for pages, least in _BEHIND_PT:
        room = pages * frame.height * (1.0 if pages == 1 else _FULL)

        def fits(size: float, room: float = room) -> bool:
            return sum(block.height for block in _set(sheet, frame, size)) <= room

        size = largest_that(fits, least, _MOST_BEHIND)
        if size is not None:
            return _set(sheet, frame, size)
    return _set(sheet, frame, _MOST_BEHIND)


def _set(sheet: BenchSheet, frame: Frame, size: float) -> list[Block]:
    kind = Type(size)
    blocks = [heading("Limits", size + 1.4, frame)]
    blocks += [_line(text, kind, frame, box=False) for text in sheet.limits]
    blocks.append(heading("Cautions", size + 1.4, frame))
    blocks.append(text_block(sheet.cautions.headline, Type(size + 1.0, bold=True), frame, after=0.4))
    sources = list(dict.fromkeys(item.source for item in sheet.cautions.items))
    for item in sheet.cautions.items:
        text = f"{item.text} [{sources.index(item.source) + 1}]"
        blocks.append(_line(text, kind, frame, box=item.check))
    listed = "; ".join(f"[{number}] {source}" for number, source in enumerate(sources, 1))
    blocks.append(text_block(f"Sources: {listed}.", Type(6.8, grey=True), frame))
    return blocks


def _line(text: str, kind: Type, frame: Frame, *, box: bool) -> Block:
    """Return one line with a box to tick, or a dash before it."""
    indent = kind.line_mm * 1.3
    height = height_of(text, kind, frame.width - indent)

    def draw(canvas: Canvas, y: float) -> None:
        if box:
            side = kind.line_mm * 0.72
            canvas.box(QRectF(frame.left, y + kind.line_mm * 0.14, side, side))
        else:
            canvas.rule(frame.left + 0.4, y + kind.line_mm * 0.52, 1.8, thickness=0.3)
        canvas.text(text, kind, frame.left + indent, y, frame.width - indent)

    return Block(height + 0.5, draw)
