"""The forms of a report: HTML that needs and runs nothing, Markdown, and what hostile text does to them."""

from __future__ import annotations

import html
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report_sources import HARM, dross, source_from, with_harm

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.figures import Figure, figures_of
from stirfall.reporting.report.html import inline_svg, report_html, text_html
from stirfall.reporting.report.lab_report import lab_report
from stirfall.reporting.report.markdown import picture_files, report_markdown, text_markdown
from stirfall.reporting.report.plain_text import on_one_line, shown
from stirfall.reporting.report.tree import Block, PhotoBlock, Report
from stirfall.session.analysis import Analysis

# Elements without an end tag: HTML Living Standard, 13.1.2, "Void elements" (from memory).
VOID = {"meta", "img", "br", "hr", "link", "input"}
# What may run or fetch something: HTML Living Standard, the attributes that hold addresses (from memory).
ADDRESSES = ("src", "href", "xlink:href", "srcset", "action", "data", "poster", "background", "formaction")


class Page(HTMLParser):
    """Reads a page as a browser would, by the parser of the standard library, and keeps what a test asks for."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.unbalanced: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.unbalanced.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return "".join(self.words)

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def figures(analysis: Analysis) -> tuple[Figure, ...]:
    return figures_of(analysis)[:2]


@pytest.fixture(scope="module")
def report(analysis: Analysis, figures: tuple[Figure, ...]) -> Report:
    content = dross()
    made = lab_report(source_from(content, content.state), analysis, figures=figures)
    photo = PhotoBlock(3, "nothing parted", "one.jpg", "image/jpeg", b"\xff\xd8\xff-no-real-picture", 1)
    return replace(made, blocks=(*made.blocks, photo))


@pytest.fixture(scope="module")
def page(report: Report) -> Page:
    return Page(report_html(report))


@pytest.fixture(scope="module")
def hostile(analysis: Analysis) -> Report:
    content = dross()
    state = with_harm(content.state)
    return lab_report(source_from(content, state), replace(analysis, state=state), figures=())


def test_every_kind_of_block_is_in_these_tests(report: Report) -> None:
    # html.py and markdown.py raise TypeError for a kind that has no form there.
    assert {type(block) for block in report.blocks} == set(get_args(Block))


def test_the_page_runs_nothing_and_fetches_nothing(page: Page) -> None:
    names = {tag for tag, _ in page.tags}
    assert not names & {"script", "iframe", "object", "embed", "link", "base", "form", "audio"}
    for tag, attributes in page.tags:
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            if name in ADDRESSES:
                assert str(value).startswith(("#", "data:image/")), (tag, name, value)
    policy = next(
        each["content"] for each in page.named("meta") if each.get("http-equiv") == "Content-Security-Policy"
    )
    assert policy is not None
    assert "default-src 'none'" in policy


def test_the_style_fetches_nothing_either(report: Report) -> None:
    for style in re.findall(r"<style.*?</style>", report_html(report), re.DOTALL):
        assert "@import" not in style
        assert not re.search(r"url\((?!#)", style)


def test_the_page_is_well_formed_and_can_be_read_aloud(page: Page) -> None:
    assert page.unbalanced == []
    assert page.open == []
    assert page.named("html")[0]["lang"] == "en"
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert all(each.get("scope") in ("col", "row") for each in page.named("th"))
    assert len(page.named("table")) == len(page.named("caption"))
    assert all(each.get("alt") for each in page.named("img"))
    drawings = [each for tag, each in page.tags if tag == "div" and each.get("role") == "img"]
    assert len(drawings) == 2
    assert all(each.get("aria-label") for each in drawings)
    ids = [each["id"] for _, each in page.tags if "id" in each]
    assert len(ids) == len(set(ids))
    targets = {f"#{each}" for each in ids}
    assert {each["href"] for each in page.named("a")} <= targets


def test_figures_stand_in_the_page_as_drawings_with_names_of_their_own(report: Report) -> None:
    svg = report.figures[0].figure.svg()
    inlined = inline_svg(svg, "figure-1")
    tree = ET.fromstring(inlined)
    assert tree.tag.endswith("svg")
    assert "viewBox" in tree.attrib
    assert "width" not in tree.attrib
    assert "metadata" not in inlined
    ids = set(re.findall(r'\bid="([^"]+)"', inlined))
    assert ids
    assert all(each.startswith("figure-1-") for each in ids)
    used = {*re.findall(r'href="#([^"]+)"', inlined), *re.findall(r"url\(#([^)]+)\)", inlined)}
    assert used <= ids


def test_invented_data_say_so_at_the_top_on_every_printed_page_and_at_the_end(page: Page, report: Report) -> None:
    assert page.text.index(INVENTED_NOTICE) < page.text.index("Contents")
    assert page.text.rstrip().rindex(INVENTED_NOTICE) > page.text.index("How to cite these data")
    style = re.search(r"<style>(.*?)</style>", report_html(report), re.DOTALL)
    assert style is not None
    assert f'@top-left {{ content: "{INVENTED_NOTICE} · ' in style[1]


def test_every_attempt_number_heads_a_row(page: Page, report: Report) -> None:
    numbers = [row[0] for table in report.tables if table.caption.startswith("All attempts") for row in table.rows]
    assert len(numbers) == 56
    rows = re.findall(r"<th scope=row class=n>(\d+)</th>", report_html(report))
    assert all(rows.count(number) >= 2 for number in numbers)
    assert f"{len(numbers)} attempts" in page.text


def test_hostile_text_stays_text_in_the_page(hostile: Report) -> None:
    page = Page(report_html(hostile))
    assert "script" not in {tag for tag, _ in page.tags}
    assert page.unbalanced == []
    for text in HARM:
        for line in shown(text).split("\n"):
            assert line.strip() in page.text
    assert not re.search("[\u202a-\u202e\u2066-\u2069\x00\x1b]", page.text)
    assert page.named("a")
    assert all(str(each["href"]).startswith("#part-") for each in page.named("a"))


def test_hostile_text_stays_text_in_markdown(hostile: Report) -> None:
    text = report_markdown(hostile)
    assert "<script>" not in text
    assert not re.search(r"(?<!\\)\]\(http", text)
    assert "\x1b" not in text
    for line in text.split("\n"):
        if line.startswith("| "):
            assert len(re.findall(r"(?<!\\)\|", line)) == len(re.findall(r"(?<!\\)\|", _head(text, line)))


def _head(text: str, line: str) -> str:
    """Return the heading of the table that a line belongs to."""
    lines = text[: text.index(line) + len(line)].split("\n")
    start = len(lines) - 1
    while lines[start - 1].startswith("|"):
        start -= 1
    return lines[start]


@pytest.mark.parametrize("text", ["# no heading", "1. no list", "- no list", "> no quote", "&amp; <i>", "a\nb"])
def test_text_at_the_start_of_a_line_is_no_markup(text: str) -> None:
    written = text_markdown(text)
    assert not re.match(r"(#|>|-\s|\d+\.\s)", written)
    assert "\n" not in written
    assert "<i>" not in written
    # Escapes of CommonMark 0.31 (from memory): a backslash before punctuation, and entities.
    back = html.unescape(re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", written))
    assert back == on_one_line(text)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_back_as_it_was_from_page_and_markdown(text: str) -> None:
    page = Page(f"<p>{text_html(text)}</p>")
    assert [tag for tag, _ in page.tags] == ["p"]
    assert page.text == shown(text)
    written = text_markdown(text)
    back = html.unescape(re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", written))
    assert back == on_one_line(text)


def test_markdown_shows_its_pictures_from_the_files_beside_it(report: Report) -> None:
    text = report_markdown(report, folder="my%20report-files")
    shown_paths = re.findall(r"!\[[^\]]*\]\(my%20report-files/([^)]+)\)", text)
    assert sorted(shown_paths) == sorted(picture_files(report))
    assert text.count(INVENTED_NOTICE) >= 2


def test_both_forms_are_the_same_each_time_and_can_be_stopped(report: Report) -> None:
    assert report_html(report) == report_html(report)
    assert report_markdown(report) == report_markdown(report)
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        report_html(report, token=token)
    with pytest.raises(Cancelled):
        report_markdown(report, token=token)


def test_the_decimal_sign_of_the_reader_is_kept(analysis: Analysis) -> None:
    content = dross()
    made = lab_report(source_from(content, content.state), analysis, figures=(), decimal=",")
    page = Page(report_html(made))
    assert "0,75" in page.text
    assert not re.search(r"\d\.\d+\s?(?:g|mm|h)\b", page.text)
