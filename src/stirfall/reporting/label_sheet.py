"""Where labels stand on a page: grids of A4 or US Letter, or one label on a page of its own; lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from stirfall.bench.errors import InputError

# ISO 216 and ANSI/ASME Y14.1 (8.5 by 11 inches of 25.4 mm), from memory.
PAPERS: Mapping[str, tuple[float, float]] = MappingProxyType({"A4": (210.0, 297.0), "US Letter": (215.9, 279.4)})
LEAST_MM = (62.0, 33.8)
"""The smallest label that holds the code, the large id and the hazard words in letters that can be read."""
_MOST_MM = 400.0
_UNPRINTED_MM = 5.0  # what ordinary printers leave white at the edge of a page; common practice, no source
_SLACK_MM = 0.01


@dataclass(frozen=True)
class LabelSheet:
    """A page of labels: ``page_mm``, ``columns`` by ``rows`` of ``label_mm`` with ``gap_mm`` between, centred.

    ``is_single`` says that each page is as large as one label.
    """

    paper: str
    page_mm: tuple[float, float]
    columns: int
    rows: int
    label_mm: tuple[float, float]
    gap_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        """Check sizes; raises InputError ``labels.*``."""
        (width, height), (least_w, least_h) = self.label_mm, LEAST_MM
        if width < least_w - _SLACK_MM or height < least_h - _SLACK_MM:
            raise InputError("labels.too_small", size=size_text(self.label_mm), least=size_text(LEAST_MM))
        if max(self.label_mm) > _MOST_MM or min(self.gap_mm) < 0 or self.columns < 1 or self.rows < 1:
            raise InputError("labels.too_large", size=size_text(self.label_mm), page=self.paper)
        used = tuple(
            count * size + (count - 1) * gap
            for count, size, gap in zip((self.columns, self.rows), self.label_mm, self.gap_mm, strict=True)
        )
        if any(length > whole + _SLACK_MM for length, whole in zip(used, self.page_mm, strict=True)):
            raise InputError("labels.too_large", size=size_text(self.label_mm), page=self.paper)

    @property
    def is_single(self) -> bool:
        """Whether each page is one label."""
        return self.paper == ""

    @property
    def per_page(self) -> int:
        """The number of labels on a page."""
        return self.columns * self.rows

    def place(self, position: int) -> tuple[float, float, float, float]:
        """Return left, top, width and height of a position, counted from 0 along the rows."""
        row, column = divmod(position, self.columns)
        (width, height), (gap_x, gap_y) = self.label_mm, self.gap_mm
        left = (self.page_mm[0] - self.columns * width - (self.columns - 1) * gap_x) / 2
        top = (self.page_mm[1] - self.rows * height - (self.rows - 1) * gap_y) / 2
        return left + column * (width + gap_x), top + row * (height + gap_y), width, height

    def printable(self) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom of what a printer reaches; a label printer reaches its whole label."""
        edge = 0.0 if self.is_single else _UNPRINTED_MM
        return edge, edge, self.page_mm[0] - edge, self.page_mm[1] - edge

    def pages(self, count: int, start_at: int = 1) -> tuple[tuple[int, ...], ...]:
        """Return for each page the positions of its labels, when ``count`` labels begin at position ``start_at``.

        Positions in the result count from 0, ``start_at`` from 1 as people count. Raises InputError
        ``labels.start``.
        """
        if not 1 <= start_at <= self.per_page:
            raise InputError("labels.start", start=start_at, most=self.per_page)
        places = range(start_at - 1, start_at - 1 + count)
        last = places[-1] // self.per_page if count else -1
        pages: list[list[int]] = [[] for _ in range(last + 1)]
        for place in places:
            pages[place // self.per_page].append(place % self.per_page)
        return tuple(map(tuple, pages))


def sheet_by_grid(paper: str, columns: int, rows: int, gap_mm: tuple[float, float] = (0.0, 0.0)) -> LabelSheet:
    """Return a sheet whose labels fill the page; raises InputError ``labels.*``."""
    page = paper_size(paper)
    if columns < 1 or rows < 1:
        raise InputError("labels.grid", text=f"{columns}x{rows}")
    width = (page[0] - (columns - 1) * gap_mm[0]) / columns
    height = (page[1] - (rows - 1) * gap_mm[1]) / rows
    return LabelSheet(paper, page, columns, rows, (width, height), gap_mm)


def sheet_by_size(
    paper: str, label_mm: tuple[float, float], gap_mm: tuple[float, float] = (0.0, 0.0)
) -> LabelSheet:
    """Return a sheet with as many labels of this size as the page holds; raises InputError ``labels.*``."""
    page = paper_size(paper)
    if min(label_mm) <= 0 or min(gap_mm) < 0:
        raise InputError("labels.too_small", size=size_text(label_mm), least=size_text(LEAST_MM))
    columns, rows = (
        int((whole + gap + _SLACK_MM) // (size + gap))
        for whole, size, gap in zip(page, label_mm, gap_mm, strict=True)
    )
    if columns < 1 or rows < 1:
        raise InputError("labels.too_large", size=size_text(label_mm), page=paper)
    return LabelSheet(paper, page, columns, rows, label_mm, gap_mm)


def one_by_one(label_mm: tuple[float, float] = (70.0, 37.0)) -> LabelSheet:
    """Return pages that are each as large as one label, for a printer of labels; raises InputError ``labels.*``."""
    return LabelSheet("", label_mm, 1, 1, label_mm)


def paper_size(paper: str) -> tuple[float, float]:
    """Return the size of a paper by its name, however written; raises InputError ``labels.paper``."""
    for name, size in PAPERS.items():
        if paper.strip().casefold() in (name.casefold(), name.casefold().removeprefix("us ")):
            return size
    raise InputError("labels.paper", text=paper, known=", ".join(PAPERS))


def size_text(size_mm: tuple[float, float]) -> str:
    """Write a size as width by height."""
    return f"{size_mm[0]:.4g} × {size_mm[1]:.4g} mm"
