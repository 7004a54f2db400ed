"""The lab report as PDF: pages with a running head, their number of all, and headings of tables again on each.

Works without a screen (QT_QPA_PLATFORM=offscreen) and on a worker's thread, and makes a QApplication only where
there is none. The same report gives the same bytes.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import datetime
from functools import singledispatchmethod
from html import escape
from typing import TYPE_CHECKING

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QPointF, QRectF, QSizeF, Qt, QUuid
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter, QPdfWriter
from PySide6.QtWidgets import QApplication

from stirfall.bench.ages import as_utc
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.pdf_sheet import DOTS, MM, PT, Ink
from stirfall.desktop.report_pages import PAPERS, Item, Pages, Paper, Picture, Strip, Words
from stirfall.desktop.report_pictures import BESIDE, place_figure, place_photos, usual_height
from stirfall.desktop.report_tables import place_table
from stirfall.desktop.theme import LIGHT
from stirfall.reporting.report.plain_text import shown
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    CautionsBlock,
    FigureBlock,
    Heading,
    Notice,
    Paragraph,
    PhotoBlock,
    Report,
    TableBlock,
)

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken

_BODY = Ink(9.5, leading=1.12)
_MUTED = Ink(8.0, role="muted")
_HEADS = {2: Ink(14.0, bold=True, role="accent"), 3: Ink(10.5, bold=True)}
_TONES = {"plain": _BODY, "strong": Ink(10.5, bold=True, leading=1.1), "quiet": _MUTED}
_WORDS = {"invented": "", "stop": "Stop: ", "warning": "Warning: ", "note": "Note: "}
_EDGES = {"invented": "caution", "stop": "danger", "warning": "caution", "note": "line"}
_RIGHT = Qt.AlignmentFlag.AlignRight
_BULLET = 4 * MM
_NAMESPACE = uuid.UUID("6ba7b811-9dad-11d1-80b4-00c04fd430c8")  # that of addresses, RFC 9562
_DATES = re.compile(rb"/(CreationDate|ModDate) \(D:\d{14}([^)]*)\)")


def report_pdf(report: Report, *, paper: str = "a4", token: CancelToken | None = None) -> bytes:
    """Return the report as PDF on ``paper`` ("a4" or "letter"); raises Cancelled."""
    # The full application, though drawing needs less of it: Qt has one per process, and a window may come later.
    application = QApplication.instance() or QApplication([])
    pages = placed_pages(report, PAPERS[paper], token)
    data = _drawn(report, pages, token)
    del application
    return data


def placed_pages(report: Report, paper: Paper, token: CancelToken | None = None) -> Pages:
    """Return everything in its place, heads and feet too."""
    setter = _Setter(report, paper, (lambda: None) if token is None else token.raise_if_cancelled)
    setter.place()
    return setter.pages


class _Setter:
    """Places the blocks of a report on pages, one after the other."""

    def __init__(self, report: Report, paper: Paper, poll: Callable[[], None]) -> None:
        self.report = report
        self.pages = Pages(paper, poll)
        self._poll = poll
        self._parts: list[tuple[str, int]] = []
        self._photos: list[PhotoBlock] = []

    def place(self) -> None:
        """Place title, contents and blocks; then heads, feet and the page numbers of the contents."""
        pages = self.pages
        pages.text("LAB REPORT", Ink(9.0, bold=True, role="accent"), after=1.0 * MM)
        pages.text(shown(self.report.title), Ink(20.0, bold=True), after=2.0 * MM)
        for fact in self.report.facts:
            pages.text(shown(fact), _MUTED, after=0.4 * MM)
        pages.y += 3 * MM
        blocks = list(self.report.blocks)
        if blocks and isinstance(blocks[0], Notice):
            self._set(blocks.pop(0))
        contents_at = self._leave_contents()
        for place, block in enumerate(blocks):
            self._poll()
            if not isinstance(block, PhotoBlock):
                self._place_photos()
            if isinstance(block, Heading):
                self._heading(block, blocks[place + 1 : place + 3])
            else:
                self._set(block)
        self._place_photos()
        self._fill_contents(*contents_at)
        for page in range(1, pages.page + 1):
            self._head_and_foot(page)

    # -- contents, heads and feet ---------------------------------------------------------------------------

    def _leave_contents(self) -> tuple[int, float]:
        """Leave room for the contents, whose page numbers are not known yet; return where."""
        pages = self.pages
        count = sum(heading.level == 2 for heading in self.report.headings)
        height = pages.type(_BODY).leading * count
        pages.gap(2 * MM)
        pages.need(height + 10 * MM)
        pages.text("Contents", _HEADS[3], after=1 * MM)
        place = pages.page, pages.y
        pages.y += height
        return place

    def _fill_contents(self, page: int, y: float) -> None:
        pages = self.pages
        leading, left = pages.type(_BODY).leading, pages.body.left()
        number = Ink(_BODY.size, align=_RIGHT, leading=_BODY.leading)
        for text, on_page in self._parts:
            pages.line(text, _BODY, left, y, page=page)
            pages.line(str(on_page), number, left, y, width=110 * MM, page=page)
            y += leading

    def _head_and_foot(self, page: int) -> None:
        pages, body = self.pages, self.pages.body
        head, right = Ink(8.0, role="muted"), Ink(8.0, role="muted", align=_RIGHT)
        mark = Ink(8.0, bold=True, role="caution", align=_RIGHT)
        top, bottom = 11 * MM, pages.paper.height - 13 * MM
        notice = f"{INVENTED_NOTICE}" if self.report.invented else ""
        room = body.width() - pages.type(mark).advance(notice) - 6 * MM
        title = " ".join(shown(f"Lab report: {self.report.title}").split())
        pages.line(pages.type(head).cut(title, room), head, body.left(), top, page=page)
        pages.line(notice, mark, body.left(), top, width=body.width(), page=page)
        pages.line(self.report.foot, head, body.left(), bottom, page=page)
        pages.line(f"page {page} of {pages.page}", right, body.left(), bottom, width=body.width(), page=page)
        for y in (top + 5 * MM, bottom - 1.5 * MM):
            pages.put(Strip(QRectF(body.left(), y, body.width(), 0.5 * PT), "grid"), page)

    # -- blocks ---------------------------------------------------------------------------------------------

    @singledispatchmethod
    def _set(self, block: Block) -> None:
        raise TypeError(block)

    def _heading(self, block: Heading, following: list[Block]) -> None:
        """Place a heading; it stays with what follows, a figure as a whole."""
        pages, ink = self.pages, _HEADS[block.level]
        is_part = block.level == 2
        pages.gap((7 if is_part else 4) * MM)
        has_pictures = any(isinstance(each, (FigureBlock, PhotoBlock)) for each in following)
        keep = usual_height(pages) if has_pictures else (24 if is_part else 16) * MM
        pages.need(pages.type(ink).leading + keep)
        if is_part:
            self._parts.append((block.text, pages.page))
        pages.text(shown(block.text), ink, after=1.2 * MM)

    @_set.register
    def _paragraph(self, block: Paragraph) -> None:
        pages, ink = self.pages, _TONES[block.tone]
        if block.tone == "strong":  # it begins what follows, and stays with some of it
            lines = pages.type(ink).lines(shown(block.text), pages.body.width())
            pages.gap(1.5 * MM)
            pages.need(pages.type(ink).leading * len(lines) + 16 * MM)
        pages.text(shown(block.text), ink, after=1.2 * MM)

    @_set.register
    def _bullets(self, block: Bullets) -> None:
        for item in block.items:
            self._bullet(shown(item), _BODY)
        self.pages.y += 0.8 * MM

    def _bullet(self, text: str, ink: Ink, *, edge: float = 0.0) -> None:
        pages = self.pages
        kind = pages.type(ink)
        lines = kind.lines(text, pages.body.width() - _BULLET - edge)
        pages.need(kind.leading * min(len(lines), 4))
        pages.line("•", ink, pages.body.left() + edge + 0.8 * MM, pages.y)
        pages.text(text, ink, indent=_BULLET + edge, after=0.7 * MM)

    @_set.register
    def _notice(self, block: Notice) -> None:
        pages, ink = self.pages, Ink(9.0, bold=block.weight in ("invented", "stop"))
        text = f"{_WORDS[block.weight]}{shown(block.text)}"
        lines = pages.type(ink).lines(text, pages.body.width() - 5 * MM)
        height = pages.type(ink).leading * len(lines) + 2.4 * MM
        pages.need(height)
        left, top = pages.body.left(), pages.y
        ground = "surface" if block.weight == "note" else "caution_surface"
        pages.put(Strip(QRectF(left, top, pages.body.width(), height), ground))
        pages.put(Strip(QRectF(left, top, 1.2 * MM, height), _EDGES[block.weight]))
        for place, line in enumerate(lines):
            pages.line(line, ink, left + 3.5 * MM, top + 1.2 * MM + place * pages.type(ink).leading)
        pages.y = top + height + 1.4 * MM

    @_set.register
    def _table(self, block: TableBlock) -> None:
        place_table(self.pages, block)

    @_set.register
    def _figure(self, block: FigureBlock) -> None:
        place_figure(self.pages, block)

    @_set.register
    def _photo(self, block: PhotoBlock) -> None:
        """Keep a photo until its row is full, or until something else follows."""
        self._photos.append(block)
        if len(self._photos) == BESIDE:
            self._place_photos()

    def _place_photos(self) -> None:
        if self._photos:
            place_photos(self.pages, self._photos)
            self._photos = []

    @_set.register
    def _cautions(self, block: CautionsBlock) -> None:
        self._notice(Notice("invented", block.headline))
        for text, source in block.items:
            self._bullet(f"{shown(text)} ({shown(source)})", Ink(9.0, leading=1.1))
        self.pages.y += 1 * MM


# ---------------------------------------------------------------------------------------------------------- drawing


def _drawn(report: Report, pages: Pages, token: CancelToken | None) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(DOTS)
    size = QPageSize(
        QSizeF(pages.paper.width_mm, pages.paper.height_mm), QPageSize.Unit.Millimeter, pages.paper.key
    )
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    title = " ".join(shown(f"Lab report: {report.title}").split())
    creator = f"Stirfall {report.program_version}"
    writer.setTitle(title)
    writer.setCreator(creator)
    writer.setDocumentId(_document_id(report))
    writer.setDocumentXmpMetadata(_metadata(report, title, creator).encode("utf-8"))
    painter = QPainter(writer)
    for place, items in enumerate(pages.items):
        if token is not None and token.is_cancelled:
            painter.end()
            token.raise_if_cancelled()
        if place:
            writer.newPage()
        for item in items:
            _draw(painter, item, pages)
    painter.end()
    buffer.close()
    return dated(bytes(buffer.data().data()), report.created_at)


def _draw(painter: QPainter, item: Item, pages: Pages) -> None:
    if isinstance(item, Words):
        painter.setFont(pages.type(item.ink).font)
        painter.setPen(LIGHT.colour(item.ink.role))
        painter.drawText(QPointF(item.at), item.text)
    elif isinstance(item, Strip):
        painter.fillRect(item.rect, LIGHT.colour(item.role))
    elif isinstance(item, Picture):
        painter.setRenderHint(QPainter.RenderHint.LosslessImageRendering, item.exact)
        painter.drawImage(item.rect, QImage.fromData(item.data))


def _document_id(report: Report) -> QUuid:
    """Return an id that follows from what the report says, so that it is the same each time."""
    mark = f"{report.fingerprint} {report.created_at.isoformat()} {report.program_version} {len(report.blocks)}"
    return QUuid(str(uuid.uuid5(_NAMESPACE, mark)))


def _metadata(report: Report, title: str, creator: str) -> str:
    made = as_utc(report.created_at).isoformat(timespec="seconds")
    return (
        "<?xpacket begin='' id='W5M0MpCehiHzreSzNTczkc9d'?>"
        '<x:xmpmeta xmlns:x="adobe:ns:meta/" xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"><rdf:RDF>'
        f'<rdf:Description rdf:about="" xmp:CreatorTool="{escape(creator)}" xmp:CreateDate="{made}">'
        f'<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{escape(title)}</rdf:li></rdf:Alt></dc:title>'
        "</rdf:Description>"
        "</rdf:RDF></x:xmpmeta><?xpacket end='w'?>"
    )


def dated(data: bytes, made: datetime) -> bytes:
    """Put the report's own time in place of the clock's, as many bytes for as many, so that no offset moves."""
    stamp = as_utc(made).strftime("%Y%m%d%H%M%S").encode("ascii")

    def moved(found: re.Match[bytes]) -> bytes:
        zone = b"Z" if len(found[2]) == 1 else b"+00'00'"[: len(found[2])]
        return b"/" + found[1] + b" (D:" + stamp + zone + b")"

    return _DATES.sub(moved, data)
