"""Blocks of a form on paper: things of known height, one below the other, packed onto pages."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF

from stirfall.desktop.printing.canvas import Canvas, Type, height_of
from stirfall.desktop.printing.jobs import PageDrawer

_TICK_GAP, _BETWEEN, _LABEL_LINES = 1.2, 5.0, 3


@dataclass(frozen=True)
class Block:
    """One part of a form: its height in mm, and how it is drawn from a height on the page.

    ``keeps_next``: the block below it stands on the same page.
    """

    height: float
    draw: Callable[[Canvas, float], None]
    keeps_next: bool = False


@dataclass(frozen=True)
class Frame:
    """The part of a page that is written on, in mm."""

    left: float
    top: float
    width: float
    bottom: float

    @property
    def height(self) -> float:
        """The height that blocks can take."""
        return self.bottom - self.top


def packed(blocks: Sequence[Block], frame: Frame) -> tuple[tuple[Block, ...], ...]:
    """Return which blocks stand on which page; a block that is higher than a page stands alone."""
    pages: list[list[Block]] = [[]]
    y = 0.0
    for place, block in enumerate(blocks):
        needed = block.height
        if block.keeps_next and place + 1 < len(blocks):
            needed += blocks[place + 1].height
        if pages[-1] and y + needed > frame.height + 0.01:
            pages.append([])
            y = 0.0
        pages[-1].append(block)
        y += block.height
    return tuple(map(tuple, pages))


def page_of(blocks: Sequence[Block], frame: Frame, foot: Callable[[Canvas], None]) -> PageDrawer:
    """Return the function that draws these blocks from the top of the frame down, and then the foot."""

    def draw(canvas: Canvas) -> None:
        stacked(blocks).draw(canvas, frame.top)
        foot(canvas)

    return draw


# ------------------------------------------------------------------------------------------------------ kinds


def space(height: float) -> Block:
    """Return white space."""
    return Block(height, lambda _canvas, _y: None)


def text_block(text: str, kind: Type, frame: Frame, *, after: float = 0.0) -> Block:
    """Return wrapped text over the whole width."""
    height = height_of(text, kind, frame.width)
    return Block(height + after, lambda canvas, y: _ignore(canvas.text(text, kind, frame.left, y, frame.width)))


def heading(text: str, size: float, frame: Frame) -> Block:
    """Return a heading with a line below it, which stays with what follows."""
    kind = Type(size + 1.0, bold=True)

    def draw(canvas: Canvas, y: float) -> None:
        canvas.text(text, kind, frame.left, y + 1.4, frame.width)
        canvas.rule(frame.left, y + 1.4 + kind.line_mm, frame.width, thickness=0.15, grey=True)

    return Block(kind.line_mm + 2.6, draw, keeps_next=True)


def ticks(lines: Sequence[str], kind: Type, frame: Frame, *, columns: int = 2) -> Block:
    """Return lines with a box to tick, in columns filled one after the other."""
    gap, indent = 5.0, kind.line_mm * 1.25
    width = (frame.width - gap * (columns - 1)) / columns
    heights = [height_of(line, kind, width - indent) + 0.6 for line in lines]
    parts = _columns(heights, columns)

    def draw(canvas: Canvas, y: float) -> None:
        for column, part in enumerate(parts):
            left, top = frame.left + column * (width + gap), y
            for place in part:
                side = kind.line_mm * 0.78
                canvas.box(QRectF(left, top + kind.line_mm * 0.12, side, side))
                canvas.text(lines[place], kind, left + indent, top, width - indent)
                top += heights[place]

    return Block(max((sum(heights[place] for place in part) for part in parts), default=0.0), draw)


@dataclass(frozen=True)
class _Answer:
    """One answer to tick: where its box stands, on which row, and how wide and high its words are."""

    text: str
    left: float
    row: int
    width: float
    height: float


def options(label: str, words: Sequence[str], kind: Type, frame: Frame, *, grey: str = "", row: float) -> Block:
    """Return a question with its answers to tick, on as many rows as they need."""
    strong = Type(kind.size, bold=True)
    label_width = min(strong.width_mm(label) + 4.0, frame.width * 0.4)
    label_height = height_of(label, strong, label_width - 1.0)
    side = kind.line_mm * 0.95
    answers = _answers(words, kind, frame.width - label_width)
    last = max((answer.row for answer in answers), default=0)
    rows = [
        max([row, *(answer.height + row - kind.line_mm for answer in answers if answer.row == number)])
        for number in range(last + 1)
    ]
    end = max((each.left + each.width for each in answers if each.row == last), default=0.0) + 5.0
    hint = Type(kind.size - 1.0, grey=True)

    def draw(canvas: Canvas, y: float) -> None:
        base, left = y + (row - kind.line_mm) / 2, frame.left + label_width
        canvas.text(label, strong, frame.left, base, label_width - 1.0)
        for answer in answers:
            top = base + sum(rows[: answer.row])
            canvas.box(QRectF(left + answer.left, top + kind.line_mm * 0.02, side, side))
            canvas.text(answer.text, kind, left + answer.left + side + _TICK_GAP, top, answer.width)
        if grey and hint.width_mm(grey) <= frame.width - label_width - end - side:
            canvas.text(grey, hint, left + end + side, base + sum(rows[:last]) + 0.3, frame.width)

    return Block(max(sum(rows), label_height + row - kind.line_mm), draw)


def _answers(words: Sequence[str], kind: Type, width: float) -> list[_Answer]:
    """Return answers one after the other, a new row where one would not fit; a long one is wrapped."""
    made: list[_Answer] = []
    before = kind.line_mm * 0.95 + _TICK_GAP
    x, row = 0.0, 0
    for word in words:
        needed = min(kind.width_mm(word) + 0.5, width - before)
        if x > 0 and x + before + needed > width:
            x, row = 0.0, row + 1
        made.append(_Answer(word, x, row, needed, height_of(word, kind, needed)))
        x += before + needed + _BETWEEN
    return made


def stacked(blocks: Sequence[Block]) -> Block:
    """Return blocks one below the other as one that is never parted."""

    def draw(canvas: Canvas, y: float) -> None:
        for block in blocks:
            block.draw(canvas, y)
            y += block.height

    return Block(sum(block.height for block in blocks), draw)


def beside(blocks: Sequence[Callable[[Frame], Block]], frame: Frame, *, gap: float = 6.0) -> Block:
    """Return blocks side by side in columns of the same width."""
    width = (frame.width - gap * (len(blocks) - 1)) / len(blocks)
    made = [
        make(Frame(frame.left + place * (width + gap), frame.top, width, frame.bottom))
        for place, make in enumerate(blocks)
    ]

    def draw(canvas: Canvas, y: float) -> None:
        for block in made:
            block.draw(canvas, y)

    return Block(max(block.height for block in made), draw)


def blank(label: str, kind: Type, frame: Frame, *, grey: Sequence[str] = (), row: float, label_mm: float) -> Block:
    """Return a label, a line to write on, and up to two grey hints at its right."""
    hint = Type(kind.size - 1.4, grey=True, leading=0.95)
    words = [text for text in grey if text]
    hint_width = max((hint.width_mm(text) for text in words), default=0.0)
    hint_width = min(hint_width + 1.5, frame.width * 0.4) if words else 0.0
    label_mm = min(label_mm, frame.width * 0.6)
    label_height = min(height_of(label, kind, label_mm - 1.0), _LABEL_LINES * kind.line_mm)
    height = max(row, label_height + 1.6)

    def draw(canvas: Canvas, y: float) -> None:
        base = y + height - 1.4
        top = base + 0.4 - label_height
        canvas.text(label, kind, frame.left, top, label_mm - 1.0, most_mm=label_height)
        line = frame.width - label_mm - hint_width
        canvas.rule(frame.left + label_mm, base, line)
        top = base + 0.6 - hint.line_mm * len(words)
        for text in words:
            canvas.text(text, hint, frame.left + label_mm + line + 1.5, top, hint_width, most_mm=hint.line_mm)
            top += hint.line_mm

    return Block(height, draw)


def grid(head: Sequence[str], rows: Sequence[str], kind: Type, frame: Frame, *, row: float) -> Block:
    """Return a table to fill in: a head, and rows that begin with a word."""
    small = Type(kind.size - 1.2, grey=True)
    label_mm = min(max(kind.width_mm(word) for word in rows) + 2.5, frame.width * 0.6)
    width = (frame.width - label_mm) / len(head)
    top_height = small.line_mm + 0.8

    def draw(canvas: Canvas, y: float) -> None:
        for column, word in enumerate(head):
            canvas.text(word, small, frame.left + label_mm + column * width + 0.8, y, width - 0.8)
        for line, word in enumerate(rows):
            top = y + top_height + line * row
            label_top = top + (row - kind.line_mm) / 2
            canvas.text(word, kind, frame.left, label_top, label_mm - 1.0, most_mm=kind.line_mm)
            for column in range(len(head)):
                cell = QRectF(frame.left + label_mm + column * width, top, width, row)
                canvas.box(cell, thickness=0.15, grey=True)

    return Block(top_height + row * len(rows) + 0.8, draw)


def _columns(heights: Sequence[float], count: int) -> list[list[int]]:
    """Return which lines stand in which column: each is filled to the even share, in their order."""
    share = sum(heights) / count
    parts: list[list[int]] = [[] for _ in range(count)]
    column, used = 0, 0.0
    for place, height in enumerate(heights):
        if column + 1 < count and parts[column] and used + height / 2 > share:
            column, used = column + 1, 0.0
        parts[column].append(place)
        used += height
    return parts


def _ignore(_height: float) -> None:
    """Drop a height that nobody asks for."""
