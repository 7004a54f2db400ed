"""The work of the report dialog, done on a worker: small photos, what the report will hold, and writing it.

Everything is read from the session's file by an opening of its own, so that the window's stays free.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.photos.scaling import thumbnail
from stirfall.reporting.shares import counted

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.bench.cancel import CancelToken
    from stirfall.reporting.report.tree import Report
    from stirfall.reporting.report.writing import WrittenReport
    from stirfall.session.analysis import Analysis
    from stirfall.session.document import Document

SIDE = 96
"""The side of a small photo in device-independent pixels."""
_MOST_LINES = 8


@dataclass(frozen=True)
class SmallPhoto:
    """One photo that may go into the report; its small picture is a null image where it cannot be read."""

    id: str
    number: int
    grade: str
    name: str
    image: QImage = field(repr=False, compare=False)


@dataclass(frozen=True)
class Foreseen:
    """What a report would hold: its title, its first lines, its parts with their counts, and its operators."""

    title: str
    facts: tuple[str, ...]
    lines: tuple[str, ...]
    parts: tuple[str, ...]
    operators: int


@dataclass(frozen=True)
class ReportWish:
    """What the person wants to have written, of which session, as of when."""

    session: Path
    path: Path
    created_at: datetime
    paper: str = "a4"
    with_names: bool = False
    photo_ids: tuple[str, ...] = ()
    decimal: str = "."
    analysis: Analysis | None = field(default=None, repr=False, compare=False)


def small_photos(session: Path, token: CancelToken) -> tuple[SmallPhoto, ...]:
    """Return all photos of a session, small, in the order of the attempts' numbers. Raises Cancelled."""
    with _opened(session) as document:
        return tuple(_small(document, token))


def _small(document: Document, token: CancelToken) -> Iterator[SmallPhoto]:
    photographed = document.photographed()
    for attempt in sorted(document.state.attempts, key=lambda each: each.number):
        if attempt.id not in photographed:
            continue
        for photo in document.photos(attempt.id):
            token.raise_if_cancelled()
            grade = attempt.outcome.value
            yield SmallPhoto(photo.id, attempt.number, grade, photo.name, thumbnail(photo.data, 2 * SIDE))


def foresee(wish: ReportWish, token: CancelToken) -> Foreseen:
    """Return what the report would hold; its figures are counted and not drawn. Raises Cancelled."""
    from stirfall.reporting.report.lab_report import lab_report
    from stirfall.reporting.report.source import source_of
    from stirfall.reporting.report.tree import Bullets, FigureBlock, Heading, TableBlock

    with _opened(wish.session) as document:
        source = source_of(document, with_names=wish.with_names, created_at=wish.created_at)
        analysis = _analysis(wish, document, token)
    report = lab_report(source, analysis, decimal=wish.decimal, token=token)
    parts: list[tuple[str, Counter[str]]] = []
    for block in report.blocks:
        if isinstance(block, Heading) and block.level == 2:
            parts.append((block.text, Counter()))
        elif isinstance(block, (TableBlock, FigureBlock)) and parts:
            parts[-1][1]["table" if isinstance(block, TableBlock) else "figure"] += 1
    first = next((block.items for block in report.blocks if isinstance(block, Bullets)), ())
    first = (f"{INVENTED_NOTICE}.", *first) if report.invented else first
    told = tuple(_part(text, counts) for text, counts in parts)
    return Foreseen(report.title, report.facts, first[:_MOST_LINES], told, source.operators)


def _part(text: str, counts: Mapping[str, int]) -> str:
    held = ", ".join(counted(count, noun) for noun, count in counts.items())
    return f"{text} ({held})" if held else text


def write_wish(wish: ReportWish, tell: Callable[[str], object], token: CancelToken) -> WrittenReport:
    """Make and write the report; ``tell`` hears the code of each step. Raises Cancelled and what writing raises."""
    from stirfall.desktop.report_printer import QtPrinter
    from stirfall.reporting.report.lab_report import lab_report
    from stirfall.reporting.report.source import data_of, source_of
    from stirfall.reporting.report.writing import Order, write_report

    order = Order(wish.path, wish.paper, decimal=wish.decimal, photo_ids=wish.photo_ids)
    with _opened(wish.session) as document:
        tell("report.step_reading")
        source = source_of(
            document, photo_ids=wish.photo_ids, with_names=wish.with_names, created_at=wish.created_at
        )
        tell("report.step_counting")
        analysis = _analysis(wish, document, token)
        report: Report = lab_report(source, analysis, decimal=wish.decimal, token=token)
        tell("report.step_writing")
        if wish.path.suffix.lower() == ".zip":
            order = replace(order, content=data_of(document, source))
        return write_report(report, order, QtPrinter(), token=token)


def _analysis(wish: ReportWish, document: Document, token: CancelToken) -> Analysis:
    """Return the refined answer: the window's where it is of the same attempts, else a new one."""
    from stirfall.session.analysis import analyse

    known = wish.analysis
    if known is not None and known.stage == "refined":
        return known
    return analyse(document.state, refined=True, token=token)


def _opened(session: Path) -> Document:
    from stirfall.session.document import Document

    return Document.open(session, read_only=True)
