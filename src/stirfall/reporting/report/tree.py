"""The lab report as a small frozen document tree: what stands where, whatever form it leaves the program in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Literal, Protocol

if TYPE_CHECKING:
    from stirfall.reporting.recipe_parts import Recipe

Tone = Literal["plain", "strong", "quiet"]
Weight = Literal["invented", "stop", "warning", "note"]


class Drawn(Protocol):
    """A figure: what it shows, the numbers behind it, and itself as vector and as dots."""

    @property
    def name(self) -> str:
        """The name of its files, without a suffix."""

    @property
    def title(self) -> str:
        """What it shows, in a few words."""

    @property
    def caption(self) -> str:
        """How to read it."""

    @property
    def columns(self) -> Sequence[str]:
        """The headings of its numbers."""

    @property
    def rows(self) -> Sequence[Sequence[object]]:
        """Its numbers."""

    def svg(self) -> bytes:
        """Draw it as SVG."""

    def png(self, dpi: int = 300) -> bytes:
        """Draw it as PNG."""


@dataclass(frozen=True)
class Heading:
    """A heading: level 2 begins a part of the report, 3 stands within it."""

    text: str
    level: int = 2


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str
    tone: Tone = "plain"


@dataclass(frozen=True)
class Bullets:
    """A list of finished sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Notice:
    """What must not be overlooked, with its weight in a word."""

    weight: Weight
    text: str


@dataclass(frozen=True)
class Column:
    """One column: numbers stand at the right, ``wide`` cells hold sentences, ``whole`` ones are never broken."""

    title: str
    is_number: bool = False
    wide: bool = False
    whole: bool = False


@dataclass(frozen=True)
class TableBlock:
    """A table with its caption; every row is as long as ``columns``. ``number`` counts the tables of a report."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...] = field(repr=False)
    note: str = ""
    number: int = 0


@dataclass(frozen=True)
class FigureBlock:
    """A figure of the report."""

    figure: Drawn = field(repr=False)
    number: int = 0


@dataclass(frozen=True)
class PhotoBlock:
    """A photo that the person chose, with the attempt that it shows and the grade of that attempt."""

    attempt: int
    grade: str
    name: str
    media_type: str
    data: bytes = field(repr=False)
    number: int = 0

    @property
    def caption(self) -> str:
        """What the photo shows."""
        return f"Attempt {self.attempt}: {self.grade}."


@dataclass(frozen=True)
class CautionsBlock:
    """All cautions of a class of metal: headline, then text and source of each."""

    headline: str
    items: tuple[tuple[str, str], ...]


Block = Heading | Paragraph | Bullets | Notice | TableBlock | FigureBlock | PhotoBlock | CautionsBlock


@dataclass(frozen=True)
class Report:
    """A whole report: ``facts`` stand under the title, ``foot`` on every page; it recommends ``recipe``."""

    title: str
    invented: bool
    facts: tuple[str, ...]
    blocks: tuple[Block, ...] = field(repr=False)
    foot: str
    fingerprint: str
    program_version: str
    created_at: datetime
    recipe: Recipe | None = field(default=None, repr=False)

    @property
    def headings(self) -> tuple[Heading, ...]:
        """The headings, in order."""
        return tuple(block for block in self.blocks if isinstance(block, Heading))

    @property
    def figures(self) -> tuple[FigureBlock, ...]:
        """The figures, in order."""
        return tuple(block for block in self.blocks if isinstance(block, FigureBlock))

    @property
    def photos(self) -> tuple[PhotoBlock, ...]:
        """The photos, in order."""
        return tuple(block for block in self.blocks if isinstance(block, PhotoBlock))

    @property
    def tables(self) -> tuple[TableBlock, ...]:
        """The tables, in order."""
        return tuple(block for block in self.blocks if isinstance(block, TableBlock))
