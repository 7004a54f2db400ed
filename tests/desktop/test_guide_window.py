"""The guide: every place of the window has its page, words are found, pictures fit, links and Back work."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSize, Qt, QUrl
from PySide6.QtGui import QImage, QTextDocument
from pytestqt.qtbot import QtBot

from stirfall.desktop.evidence.page import SECTIONS as EVIDENCE
from stirfall.desktop.guide_window import GuidePage, GuideWindow, guide_pages, page_about, pages_with
from stirfall.desktop.plan.page import SECTIONS as PLAN
from stirfall.desktop.workspace import PAGES, SIDES

_PICTURE = re.compile(r"!\[([^\]]*)\]\(([^)]+)\)")
_LINK = re.compile(r"(?<!!)\[[^\]]+\]\(([^)#]+)\)")


@pytest.fixture
def guide(qtbot: QtBot) -> Iterator[GuideWindow]:
    window = GuideWindow(guide_pages())
    qtbot.addWidget(window)
    window.show()
    yield window
    window.close()


def test_every_place_of_the_window_has_a_page_of_its_own() -> None:
    pages = guide_pages()
    topics = [
        "shelf",
        "bench",
        "attempts",
        "recipe",
        *SIDES,
        *PLAN,
        *EVIDENCE,
        "run",
        "alarms",
        "photos",
        "first_hour",
    ]
    assert set(PAGES) - {"plan", "evidence"} <= set(topics)
    found = {topic: page_about(pages, topic).path.stem for topic in topics}
    assert pages[0].path.stem not in found.values()
    assert len(set(found.values())) == len(topics)


def test_pictures_and_links_of_the_guide_lead_somewhere() -> None:
    pages = guide_pages()
    names = {page.path.name for page in pages}
    pictures = [
        (page, alt, place) for page in pages for alt, place in _PICTURE.findall(page.path.read_text("utf-8"))
    ]
    assert [
        f"{page.title}: {place}" for page, _, place in pictures if not (page.path.parent / place).is_file()
    ] == []
    assert [f"{page.title}: {place}" for page, alt, place in pictures if len(alt) < 20] == []
    links = [(page, link) for page in pages for link in _LINK.findall(page.path.read_text("utf-8"))]
    assert links
    assert [f"{page.title}: {link}" for page, link in links if link not in names] == []


def test_words_narrow_the_contents_and_are_marked(guide: GuideWindow, qtbot: QtBot) -> None:
    qtbot.keyClick(guide, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    qtbot.keyClicks(guide.find_field, "flash point")
    wanted = pages_with(guide_pages(), "flash point")
    assert 0 < len(wanted) < len(guide_pages())
    assert guide.contents.count() == len(wanted)
    assert str(len(wanted)) in guide.found.text()
    assert guide.text.textCursor().selectedText().lower() == "flash point"
    first = guide.text.textCursor().position()
    qtbot.keyClick(guide.find_field, Qt.Key.Key_Return)
    assert guide.text.textCursor().selectedText().lower() == "flash point"
    assert guide.text.textCursor().position() != first or guide.page.text.count("flash point") == 1
    qtbot.keyClicks(guide.find_field, " qqqq")
    assert guide.contents.count() == 0
    assert "No page" in guide.found.text()
    guide.find_field.clear()
    assert guide.contents.count() == len(guide_pages())


def test_pages_with_the_words_side_by_side_come_first() -> None:
    pages = guide_pages()
    found = [pages[place] for place in pages_with(pages, "bench sheet")]
    together = ["bench sheet" in page.text for page in found]
    assert together == sorted(together, reverse=True)
    assert 0 < sum(together) < len(together)
    assert pages[pages_with(pages, "drift")[0]].title == "Drift"


def test_back_leads_to_the_page_before_also_after_a_search(guide: GuideWindow, qtbot: QtBot) -> None:
    assert not guide.back.isEnabled()
    guide.show_topic("shelf")
    guide.show_topic("recipe")
    guide.find_field.setText(guide.page.title)
    qtbot.mouseClick(guide.back, Qt.MouseButton.LeftButton)
    assert guide.page == page_about(guide_pages(), "shelf")
    qtbot.keyClick(guide, Qt.Key.Key_Left, Qt.KeyboardModifier.AltModifier)
    assert guide.page == guide_pages()[0]
    assert not guide.back.isEnabled()


def test_a_link_shows_its_page(guide: GuideWindow) -> None:
    guide.find_field.setText("completion")
    guide.text.anchorClicked.emit(QUrl("20_shelf.md"))
    assert guide.page == page_about(guide_pages(), "shelf")


@pytest.fixture
def wide(tmp_path: Path) -> GuidePage:
    image = QImage(QSize(3000, 300), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.gray)
    assert image.save(str(tmp_path / "wide.png"))
    path = tmp_path / "10_page.md"
    path.write_text("# A page\n\n![a wide picture](wide.png)\n", encoding="utf-8")
    return GuidePage(path, "A page", "")


def test_a_wide_picture_is_never_wider_than_the_page(
    wide: GuidePage, put_on_screen: Callable[..., GuideWindow]
) -> None:
    window = put_on_screen(GuideWindow((wide,)), 900, 600)
    for width in (1200, 700):
        window.resize(width, 600)
        kind = QTextDocument.ResourceType.ImageResource.value
        drawn = window.text.loadResource(kind, QUrl("wide.png"))
        assert isinstance(drawn, QImage)
        assert 100 < drawn.deviceIndependentSize().width() <= window.text.viewport().width()
        assert window.text.document().idealWidth() <= window.text.viewport().width()
