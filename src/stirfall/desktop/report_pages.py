"""Pages of a report: places text, rules and pictures from the top down and remembers them; nothing is drawn yet.

Units are tenths of a point. What is placed is a plain list per page, so that all pages can be counted before the
first is drawn, and so that tests can prove that nothing is cut.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QTextLayout, QTextOption

from stirfall.desktop.pdf_sheet import MM, Ink

_SIDE, _HEAD, _FOOT = 18 * MM, 23 * MM, 20 * MM
_HAIR = 1.0  # sums of widths are not exact; a tenth of a point is not seen


@dataclass(frozen=True)
class Paper:
    """A size of paper with its margins."""

    key: str
    width_mm: float
    height_mm: float

    @property
    def width(self) -> float:
        """The width in tenths of a point."""
        return self.width_mm * MM

    @property
    def height(self) -> float:
        """The height in tenths of a point."""
        return self.height_mm * MM

    @property
    def body(self) -> QRectF:
        """Where the text stands."""
        return QRectF(_SIDE, _HEAD, self.width - 2 * _SIDE, self.height - _HEAD - _FOOT)


PAPERS = {"a4": Paper("a4", 210.0, 297.0), "letter": Paper("letter", 215.9, 279.4)}


@dataclass(frozen=True)
class Words:
    """One line of text: the point is the start of its base line."""

    at: QPointF
    text: str
    ink: Ink
    width: float


@dataclass(frozen=True)
class Strip:
    """A filled rectangle in the colour of a role."""

    rect: QRectF
    role: str


@dataclass(frozen=True)
class Picture:
    """A picture in its rectangle; ``exact`` says that no dot of it may be changed."""

    rect: QRectF
    data: bytes = field(repr=False)
    exact: bool


Item = Words | Strip | Picture


class Type:
    """Measures and breaks text in one ink; what was measured is kept, for numbers come again and again."""

    def __init__(self, ink: Ink) -> None:
        self.ink = ink
        self.font = ink.font()
        self._metrics = QFontMetricsF(self.font)
        self._known: dict[str, float] = {}

    @cached_property
    def leading(self) -> float:
        """The distance of two base lines."""
        return float(self._metrics.height() * self.ink.leading)

    @cached_property
    def ascent(self) -> float:
        """The distance of the first base line from the top."""
        return float(self._metrics.ascent())

    def advance(self, text: str) -> float:
        """Return the width of text on one line."""
        known = self._known.get(text)
        if known is None:
            known = self._known[text] = float(self._metrics.horizontalAdvance(text))
        return known

    def longest_word(self, text: str) -> float:
        """Return the width of the longest word."""
        return max((self.advance(word) for word in text.split()), default=0.0)

    def lines(self, text: str, width: float) -> list[str]:
        """Break text at blanks where it can be, anywhere where a word is too long; units stay by their numbers."""
        lines: list[str] = []
        for part in text.split("\n"):
            lines += [part] if self.advance(part) <= width + _HAIR else self._wrapped(part, width)
        return lines

    def _wrapped(self, text: str, width: float) -> list[str]:
        blank = self.advance(" ")
        lines, line, taken = [], "", 0.0
        for word in text.split(" "):
            wide = self.advance(word)
            if line and taken + blank + wide <= width:
                line, taken = f"{line} {word}", taken + blank + wide
                continue
            lines += [line] if line else []
            line, taken = word, wide
            if wide > width + _HAIR:
                *whole, line = self._broken(word, width)
                lines += whole
                taken = self.advance(line)
        return [*lines, line]

    def cut(self, text: str, width: float) -> str:
        """Return the text, or as much of it as fits, with a sign that there is more."""
        if self.advance(text) <= width:
            return text
        return str(self._metrics.elidedText(text, Qt.TextElideMode.ElideRight, width))

    def _broken(self, text: str, width: float) -> list[str]:
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        layout = QTextLayout(text, self.font)
        layout.setTextOption(option)
        units = text.encode("utf-16-le")
        found: list[str] = []
        layout.beginLayout()
        while (line := layout.createLine()).isValid():
            line.setLineWidth(width)
            start, end = 2 * line.textStart(), 2 * (line.textStart() + line.textLength())
            found.append(units[start:end].decode("utf-16-le", "replace").rstrip())
        layout.endLayout()
        return found or [""]


class Pages:
    """The pages so far; ``y`` is where the next thing goes on the last of them."""

    def __init__(self, paper: Paper, poll: Callable[[], None]) -> None:
        self.paper = paper
        self.body = paper.body
        self.items: list[list[Item]] = [[]]
        self.y = self.body.top()
        self._types: dict[Ink, Type] = {}
        self._poll = poll

    def type(self, ink: Ink) -> Type:
        """Return the measuring of an ink."""
        if ink not in self._types:
            self._types[ink] = Type(ink)
        return self._types[ink]

    @property
    def page(self) -> int:
        """The number of the last page, from 1."""
        return len(self.items)

    @property
    def room(self) -> float:
        """The height that is left on the page."""
        return self.body.bottom() - self.y

    @property
    def is_fresh(self) -> bool:
        """Whether nothing stands on the page yet."""
        return self.y <= self.body.top()

    def need(self, height: float) -> None:
        """Begin a new page unless there is room for ``height``."""
        if height > self.room and not self.is_fresh:
            self.turn()

    def turn(self) -> None:
        """Begin the next page; raises Cancelled where nobody wants it any more."""
        self._poll()
        self.items.append([])
        self.y = self.body.top()

    def gap(self, height: float) -> None:
        """Leave room, but never at the top of a page."""
        if not self.is_fresh:
            self.y += height

    def put(self, item: Item, page: int = 0) -> None:
        """Place something on a page, the last one by default."""
        self.items[page - 1].append(item)

    def line(self, text: str, ink: Ink, x: float, y: float, *, width: float | None = None, page: int = 0) -> None:
        """Place one line; with ``width`` it ends at the right of it where its ink says so."""
        kind = self.type(ink)
        if not text:
            return
        advance = kind.advance(text)
        if width is not None and ink.align & Qt.AlignmentFlag.AlignRight:
            x += width - advance
        self.put(Words(QPointF(x, y + kind.ascent), text, ink, advance), page)

    def text(self, text: str, ink: Ink, *, indent: float = 0.0, after: float = 0.0, together: bool = False) -> None:
        """Place wrapped text over the width; a line never stands half on a page, ``together`` keeps all of it."""
        kind = self.type(ink)
        lines = kind.lines(text, self.body.width() - indent)
        if together:
            self.need(kind.leading * len(lines))
        for line in lines:
            self.need(kind.leading)
            self.line(line, ink, self.body.left() + indent, self.y)
            self.y += kind.leading
        self.y += after
