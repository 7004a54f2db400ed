"""The lab report as PDF: nothing is cut, headings come again, pages are counted, the same bytes each time."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, get_args

import pytest
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QImage

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.report_pages import PAPERS, Pages, Picture, Strip, Words
from stirfall.desktop.report_pdf import placed_pages, report_pdf
from stirfall.reporting.figures import Figure
from stirfall.reporting.report.lab_report import lab_report
from stirfall.reporting.report.source import ReportSource
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    CautionsBlock,
    Column,
    FigureBlock,
    Heading,
    Notice,
    Paragraph,
    PhotoBlock,
    Report,
    TableBlock,
)
from stirfall.session.analysis import analyse
from stirfall.storage.package import read_package

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
MADE = datetime(2026, 11, 24, 18, tzinfo=UTC)
ROWS = 150
POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not there")


def poppler(*command: object) -> str:
    """Return what a program of poppler says."""
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, check=True)
    return done.stdout


def picture() -> bytes:
    image = QImage(300, 200, QImage.Format.Format_RGB32)
    image.fill(0xFF77AA55)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return bytes(buffer.data().data())


@pytest.fixture
def made(qapp: QApplication) -> Report:
    """A report with everything that is hard to place: long tables, long words, turned text, a broken photo."""
    del qapp
    columns = (Column("No.", is_number=True), Column("What"), Column("In words", wide=True))
    rows = tuple((str(number), "note", f"row {number} of the table") for number in range(1, ROWS + 1))
    tall = (("1", "note", "\n".join(f"line {number}" for number in range(200))),)
    wide = tuple(Column(f"condition number {place}", is_number=True) for place in range(14))
    blocks = (
        Notice("invented", f"{INVENTED_NOTICE}."),
        Heading("First part"),
        Paragraph("W" * 3000),
        Bullets(("right \u202eto left", "x" * 400, "<b>no markup</b>")),
        TableBlock("Long.", columns, rows, "A note.", 1),
        TableBlock("Tall.", columns, tall, "", 2),
        TableBlock("Wide.", wide, (tuple("123.456" for _ in wide),), "", 3),
        Heading("Second part"),
        Heading("Within it", 3),
        Notice("stop", "Do not."),
        FigureBlock(Figure("bare", "Bare", "A figure without lines.", (), (), lambda _canvas: None), 1),
        PhotoBlock(3, "clean separation", "one.png", "image/png", picture(), 1),
        PhotoBlock(4, "aborted", "two.png", "image/png", b"no picture", 2),
        CautionsBlock("Hot oil.", (("Stay by it.", "a source"),)),
    )
    return Report("A title " * 20, True, ("a fact",), blocks, "Stirfall 9.9 · session 0123", "f" * 64, "9.9", MADE)


@pytest.fixture(params=sorted(PAPERS))
def pages(request: pytest.FixtureRequest, made: Report) -> Pages:
    return placed_pages(made, PAPERS[request.param])


def words(pages: Pages, page: int) -> list[str]:
    return [item.text for item in pages.items[page] if isinstance(item, Words)]


def test_every_kind_of_block_is_in_these_tests(made: Report) -> None:
    assert {type(block) for block in made.blocks} == set(get_args(Block))


def test_nothing_stands_outside_the_page_or_over_its_foot(pages: Pages) -> None:
    body, slack = pages.body, 2.0
    for items in pages.items:
        for item in items:
            if isinstance(item, Words):
                assert item.at.x() >= body.left() - slack
                assert item.at.x() + item.width <= body.right() + slack, item.text[:60]
            elif isinstance(item, Picture):
                assert body.contains(item.rect)
            elif isinstance(item, Strip):
                assert item.rect.right() <= body.right() + slack
                assert item.rect.bottom() <= pages.paper.height
        lines = [item for item in items if isinstance(item, Words) and body.top() < item.at.y() < body.bottom()]
        assert all(line.at.y() < body.bottom() for line in lines)


def test_lines_of_one_column_do_not_run_into_each_other(pages: Pages) -> None:
    for items in pages.items:
        rows: dict[float, list[tuple[float, float]]] = {}
        for item in items:
            if isinstance(item, Words):
                rows.setdefault(round(item.at.y(), 1), []).append((item.at.x(), item.at.x() + item.width))
        for spans in rows.values():
            spans.sort()
            assert all(left[1] <= right[0] + 2.0 for left, right in pairwise(spans))


def test_the_headings_of_a_table_come_again_on_each_page(pages: Pages) -> None:
    on_pages = [set(words(pages, page)) for page in range(len(pages.items))]
    with_rows = [
        page
        for page, said in enumerate(on_pages)
        if any(re.fullmatch(r"row \d+ of the table", each) for each in said)
    ]
    assert len(with_rows) > 2
    for page in with_rows:
        assert "In words" in on_pages[page]
    assert all("Table 1, continued" in on_pages[page] for page in with_rows[1:])
    found = [each for said in on_pages for each in said if each.startswith("row ")]
    assert len(found) == ROWS


def test_a_row_higher_than_a_page_loses_no_line(pages: Pages) -> None:
    said = [each for page in range(len(pages.items)) for each in words(pages, page)]
    assert all(f"line {number}" in said for number in range(200))


def test_every_page_says_that_the_data_are_invented_and_which_page_it_is(pages: Pages) -> None:
    count = len(pages.items)
    for page in range(count):
        said = words(pages, page)
        assert INVENTED_NOTICE in said
        assert f"page {page + 1} of {count}" in said
        assert "Stirfall 9.9 · session 0123" in said


def test_the_contents_name_the_pages_of_the_parts(pages: Pages) -> None:
    said = words(pages, 0) + words(pages, 1)
    at = said.index("Second part")
    page = int(said[at + 1])
    assert "Second part" in words(pages, page - 1)


def test_no_word_turns_the_line_around(pages: Pages) -> None:
    for page in range(len(pages.items)):
        assert not any("\u202e" in each for each in words(pages, page))


def test_a_photo_that_cannot_be_read_is_told(pages: Pages) -> None:
    said = "".join(each for page in range(len(pages.items)) for each in words(pages, page))
    assert "This picture cannot be read." in said
    assert sum(isinstance(item, Picture) for items in pages.items for item in items) == 2


def test_the_same_report_gives_the_same_bytes_with_the_time_of_the_report(made: Report) -> None:
    first = report_pdf(made)
    assert report_pdf(made) == first
    assert first.count(b"(D:20261124180000") == 2
    assert report_pdf(replace(made, fingerprint="0" * 64)) != first


def test_it_can_be_stopped(made: Report) -> None:
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        report_pdf(made, token=token)


@pytest.mark.parametrize(("paper", "size"), [("a4", "595 x 842"), ("letter", "612 x 792")])
@POPPLER
def test_another_program_reads_pages_text_and_paper(made: Report, tmp_path: Path, paper: str, size: str) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(report_pdf(made, paper=paper))
    told = subprocess.run(["pdfinfo", str(path)], capture_output=True, text=True, check=True).stdout
    pages = int(re.search(r"Pages:\s+(\d+)", told)[1])  # type: ignore[index]
    assert size in told
    text = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert len(text.split("\f")) - 1 == pages
    assert all(f"page {page} of {pages}" in text for page in range(1, pages + 1))
    assert "<b>no markup</b>" in text


@POPPLER
def test_every_attempt_of_a_campaign_is_on_paper(qapp: QApplication, tmp_path: Path) -> None:
    del qapp
    content = read_package(SAMPLES / "work-holding-alloy")
    source = ReportSource(content.state, content.corrections, "holding.stirfall", "0123456789abcdef" * 4, MADE)
    path = tmp_path / "report.pdf"
    path.write_bytes(report_pdf(lab_report(source, analyse(content.state), figures=())))
    text = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    part = text[text.index("All attempts and how they came out") : text.index("Conditions that were reached")]
    rows = re.findall(r"^\s*(\d+)\s+20\d\d-\d\d-\d\d", part, re.MULTILINE)
    assert rows == [str(each.number) for each in sorted(content.state.attempts, key=lambda each: each.number)]
    struck = next(each for each in content.state.attempts if each.is_struck)
    assert " ".join(struck.struck_reason.split()[:4]) in " ".join(text.split())
