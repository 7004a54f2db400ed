"""The plan of an evening as pages: each attempt with a box to tick, and all cautions of the class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF

from stirfall.desktop.printing.blocks import Block, Frame, packed, space, text_block
from stirfall.desktop.printing.canvas import Canvas, Type, height_of
from stirfall.desktop.printing.jobs import PrintJob, drawing_application
from stirfall.desktop.printing.paper_drawing import (
    FOOT,
    MARGIN,
    caution_blocks,
    caution_size,
    hazards_block,
    sheet_page,
)
from stirfall.reporting.label_sheet import paper_size
from stirfall.reporting.paper_sheet import PaperSheet

_SIZE, _LARGE = 9.4, 15.0
_BOX_MM, _JAR_MM = 7.0, 44.0
_RESULT = "Came out as:"


@dataclass(frozen=True)
class EveningLine:
    """One attempt on paper: when and with which jar, what for, under which conditions, the chance, and why."""

    clock: str
    jar: str
    purpose: str
    values: str
    chance: str
    why: str
    pause: str = ""


@dataclass(frozen=True)
class EveningSheet:
    """The plan of one evening as it is printed; ``record`` gives campaign, cautions and mark."""

    date: str
    total: str
    lines: tuple[EveningLine, ...]
    record: PaperSheet


def evening_job(sheet: EveningSheet, *, paper: str = "A4") -> PrintJob:
    """Return the plan, and a page of all cautions behind it; raises InputError ``labels.paper``."""
    page = paper_size(paper)
    application = drawing_application()
    frame = Frame(MARGIN, MARGIN, page[0] - 2 * MARGIN, page[1] - MARGIN - FOOT)
    record = sheet.record
    plan = packed([*_head(sheet, frame), *(_attempt(line, frame) for line in sheet.lines)], frame)
    behind = packed(caution_blocks(record, frame, caution_size(record, frame)), frame)
    pages = [sheet_page(blocks, frame, record, f"plan {at} of {len(plan)}") for at, blocks in enumerate(plan, 1)]
    last = [sheet_page(blocks, frame, record, "cautions") for blocks in behind]
    del application
    return PrintJob(f"Plan of the evening: {record.title}", page, (*pages, *last))


def _head(sheet: EveningSheet, frame: Frame) -> Sequence[Block]:
    record = sheet.record
    title = f"Plan of {sheet.date}: {record.title}"
    blocks = [text_block(title, Type(_LARGE, bold=True), frame, after=0.8)]
    if record.mark:
        blocks.append(text_block(f"{record.mark}.", Type(_SIZE + 1.0, bold=True), frame))
    blocks += [text_block(sheet.total, Type(_SIZE), frame, after=1.2), hazards_block(record, frame, _SIZE)]
    return [*blocks, space(2.0)]


def _attempt(line: EveningLine, frame: Frame) -> Block:
    """Return one attempt: a box, clock and jar in large letters, the rest beside them, a line for the result."""
    large, kind, strong, grey = Type(_LARGE, bold=True), Type(_SIZE), Type(_SIZE, bold=True), Type(_SIZE - 1.0)
    left = frame.left + _BOX_MM + _JAR_MM
    width = frame.width - _BOX_MM - _JAR_MM
    parts = [(line.values, strong), (line.chance, kind), (line.why, grey)]
    shown = [(text, which, height_of(text, which, width)) for text, which in parts if text]
    pause_mm = height_of(line.pause, kind, frame.width) + 1.5 if line.pause else 0.0
    beside_mm = sum(height + 0.6 for _text, _which, height in shown)
    jar_mm = 2 * large.line_mm + kind.line_mm
    body_mm = max(beside_mm, jar_mm)
    total = pause_mm + body_mm + kind.line_mm + 6.0

    def draw(canvas: Canvas, y: float) -> None:
        if line.pause:
            canvas.text(line.pause, kind, frame.left, y, frame.width)
        top = y + pause_mm
        canvas.rule(frame.left, top, frame.width, thickness=0.15, grey=True)
        top += 1.5
        canvas.box(QRectF(frame.left, top + 1.0, _BOX_MM - 2.0, _BOX_MM - 2.0))
        canvas.text(line.clock, large, frame.left + _BOX_MM, top, _JAR_MM - 2.0)
        canvas.text(line.jar, large, frame.left + _BOX_MM, top + large.line_mm, _JAR_MM - 2.0)
        canvas.text(line.purpose, kind, frame.left + _BOX_MM, top + 2 * large.line_mm, _JAR_MM - 2.0)
        at = top
        for text, which, height in shown:
            canvas.text(text, which, left, at, width)
            at += height + 0.6
        end = top + body_mm
        canvas.text(_RESULT, kind, frame.left + _BOX_MM, end, _JAR_MM)
        canvas.rule(left, end + kind.line_mm, width)

    return Block(total, draw)
