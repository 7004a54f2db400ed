"""Tables of a report on pages: columns as wide as they need, headings again on each page, rows kept whole."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, Qt

from stirfall.desktop.pdf_sheet import MM, PT, Ink
from stirfall.desktop.report_pages import Pages, Strip, Type
from stirfall.reporting.report.plain_text import shown
from stirfall.reporting.report.tree import Column, TableBlock

_RIGHT, _LEFT = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignLeft
_SIZES = (8.0, 7.5, 7.0, 6.5, 6.0)
_PAD_X, _PAD_Y = 1.2 * MM, 0.55 * MM
_LONGEST_WORD = 30 * MM
_CAPTION, _NOTE, _AGAIN = Ink(8.5, bold=True), Ink(7.5, role="muted"), Ink(7.5, role="muted")
_SAMPLE = 4000


def place_table(pages: Pages, block: TableBlock) -> None:
    """Place a table with its caption and note."""
    _Table(pages, block).place()


class _Table:
    def __init__(self, pages: Pages, block: TableBlock) -> None:
        self._pages, self._block = pages, block
        self._cells = [[shown(cell) for cell in row] for row in block.rows]
        self._size, self._widths = self._fitted()
        aligns = [_RIGHT if column.is_number else _LEFT for column in block.columns]
        self._inks = [Ink(self._size, align=align) for align in aligns]
        self._heads = [Ink(self._size, bold=True, align=align) for align in aligns]
        self._total = sum(self._widths)

    # -- columns ------------------------------------------------------------------------------------------

    def _fitted(self) -> tuple[float, list[float]]:
        """Return the largest size at which no word is broken, and the widths; the smallest where none is."""
        room = self._pages.body.width()
        least: list[float] = []
        for size in _SIZES:
            least, wanted = self._needs(size)
            if sum(least) <= room:
                return size, _shared(least, wanted, room)
        return _SIZES[-1], [room * width / sum(least) for width in least]

    def _needs(self, size: float) -> tuple[list[float], list[float]]:
        body, head = self._pages.type(Ink(size)), self._pages.type(Ink(size, bold=True))
        least, wanted = [], []
        for place, column in enumerate(self._block.columns):
            cells = list(dict.fromkeys(row[place] for row in self._cells[:_SAMPLE]))
            word = max((body.longest_word(cell) for cell in cells), default=0.0)
            whole = max((_widest_line(body, cell) for cell in cells), default=0.0)
            title = head.longest_word(column.title)
            least.append(min(max(word, title), _LONGEST_WORD) + 2 * _PAD_X)
            wanted.append(max(whole, title, _title_in_two(head, column)) + 2 * _PAD_X)
        return least, wanted

    # -- rows ---------------------------------------------------------------------------------------------

    def place(self) -> None:
        """Place caption, headings, rows and note."""
        pages, block = self._pages, self._block
        pages.gap(2.5 * MM)
        pages.need(22 * MM)
        pages.text(f"Table {block.number}. {shown(block.caption)}", _CAPTION, after=1.0 * MM, together=True)
        self._headings()
        for row in self._cells:
            self._row([pages.type(ink).lines(cell, width - 2 * _PAD_X) for ink, cell, width in self._of(row)])
        pages.y += 0.8 * MM
        if block.note:
            pages.text(shown(block.note), _NOTE, together=True)
        pages.gap(1.5 * MM)

    def _of(self, row: Sequence[str]) -> list[tuple[Ink, str, float]]:
        return list(zip(self._inks, row, self._widths, strict=True))

    def _headings(self) -> None:
        pages = self._pages
        titles = [column.title for column in self._block.columns]
        kinds = [pages.type(ink) for ink in self._heads]
        cells = [
            kind.lines(title, width - 2 * _PAD_X)
            for kind, title, width in zip(kinds, titles, self._widths, strict=True)
        ]
        most = max(len(lines) for lines in cells)
        height = most * kinds[0].leading + 2 * _PAD_Y
        pages.put(Strip(QRectF(pages.body.left(), pages.y, self._total, height), "surface"))
        # Headings stand at the foot of their strip, just above the first row.
        padded = [[""] * (most - len(lines)) + lines for lines in cells]
        self._lines(padded, self._heads)
        self._rule("line")

    def _row(self, cells: list[list[str]]) -> None:
        """Place one row; one that is higher than a page goes on where the page ends."""
        pages = self._pages
        leading = pages.type(self._inks[0]).leading
        most = max(len(lines) for lines in cells)
        if most * leading + 2 * _PAD_Y > pages.room:
            self._turn()
        while most * leading + 2 * _PAD_Y > pages.room:
            fit = max(1, int((pages.room - 2 * _PAD_Y) // leading))
            self._lines([lines[:fit] for lines in cells], self._inks)
            cells = [lines[fit:] for lines in cells]
            most = max(len(lines) for lines in cells)
            self._turn()
        self._lines(cells, self._inks)
        self._rule("grid")

    def _turn(self) -> None:
        if self._pages.is_fresh:
            return
        self._pages.turn()
        self._pages.text(f"Table {self._block.number}, continued", _AGAIN, after=0.6 * MM)
        self._headings()

    def _lines(self, cells: list[list[str]], inks: Sequence[Ink]) -> None:
        pages = self._pages
        leading = pages.type(inks[0]).leading
        x, top = pages.body.left(), pages.y + _PAD_Y
        for lines, ink, width in zip(cells, inks, self._widths, strict=True):
            for place, line in enumerate(lines):
                pages.line(line, ink, x + _PAD_X, top + place * leading, width=width - 2 * _PAD_X)
            x += width
        pages.y = top + max(len(lines) for lines in cells) * leading + _PAD_Y

    def _rule(self, role: str) -> None:
        left, y = self._pages.body.left(), self._pages.y
        self._pages.put(Strip(QRectF(left, y - 0.25 * PT, self._total, 0.5 * PT), role))


def _widest_line(kind: Type, text: str) -> float:
    return max(kind.advance(line) for line in text.split("\n"))


def _title_in_two(head: Type, column: Column) -> float:
    """Return about the width at which a heading takes two lines."""
    return head.advance(column.title) / 2 + 2 * MM


def _shared(least: list[float], wanted: list[float], room: float) -> list[float]:
    """Return widths between what each column needs and what it wants, so that they fill no more than the room.

    Columns that want little get all of it first; what is left is shared by those that want more.
    """
    if sum(wanted) <= room:
        return wanted
    widths = list(least)
    left = room - sum(least)
    open_places = sorted(range(len(least)), key=lambda place: wanted[place] - least[place])
    for done, place in enumerate(open_places):
        share = left / (len(open_places) - done)
        more = min(share, max(wanted[place] - least[place], 0.0))
        widths[place] += more
        left -= more
    return widths
