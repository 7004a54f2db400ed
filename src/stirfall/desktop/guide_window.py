"""The guide: pages of plain text that come with the program, with contents, a search, and pictures that fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, QSize, Qt, QUrl
from PySide6.QtGui import QImage, QKeyEvent, QResizeEvent, QTextDocument
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSplitter,
    QStyle,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.errors import FileTroubleError
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.storage.shipped import shipped

_FOLDER = "resources/guide"
_SIZE = QSize(1080, 760)
_CONTENTS = 300
_FRAME = 48  # pixels that the frame of the window may take above and below
_ELSEWHERE = {"benches": "pool"}  # what a page of another name is about
_TALL = 44  # what a glove can press


@dataclass(frozen=True)
class GuidePage:
    """One page of the guide: its file, the title from its first heading, and its words in lower case."""

    path: Path
    title: str
    text: str


def guide_pages() -> tuple[GuidePage, ...]:
    """Return the pages of the guide in the order of their names; raises FileTroubleError when there are none."""
    paths = sorted(shipped(_FOLDER).glob("*.md"))
    if not paths:
        raise FileTroubleError("shipped.missing", path=_FOLDER)
    return tuple(_page(path) for path in paths)


def page_about(pages: tuple[GuidePage, ...], topic: str) -> GuidePage:
    """Return the page whose file name holds the topic, else the first page."""
    topic = _ELSEWHERE.get(topic, topic)
    return next((page for page in pages if topic and topic in page.path.stem), pages[0])


def pages_with(pages: Sequence[GuidePage], words: str) -> tuple[int, ...]:
    """Return the places of the pages that hold all words, whatever their case; all places where none is given.

    Those that hold the words side by side come first, those with them in their title before all.
    """
    wanted = words.casefold().split()
    together = " ".join(wanted)
    found = [place for place, page in enumerate(pages) if all(word in page.text for word in wanted)]
    return tuple(
        sorted(found, key=lambda at: (together not in pages[at].title.casefold(), together not in pages[at].text))
    )


def _page(path: Path) -> GuidePage:
    text = path.read_text(encoding="utf-8")
    heading = next((line[2:].strip() for line in text.splitlines() if line.startswith("# ")), "")
    return GuidePage(path, heading or path.stem.replace("-", " ").strip().capitalize(), text.casefold())


class GuideText(QTextBrowser):
    """The text of a page; a picture that is wider than the page is drawn smaller, sharp on any screen."""

    def loadResource(self, kind: int, name: QUrl | str) -> object:
        """Return a picture of the guide, no wider than the page."""
        if kind != QTextDocument.ResourceType.ImageResource.value:
            return super().loadResource(kind, name)
        image = QImage(self.document().baseUrl().resolved(QUrl(name)).toLocalFile())
        ratio = self.devicePixelRatioF()
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)  # which may come when all is laid out
        inside = self.width() - bar - 2 * self.frameWidth() - 2 * self.document().documentMargin()
        room = int(inside * ratio)
        if image.isNull() or room <= 0:
            return image
        if image.width() > room:
            image = image.scaledToWidth(room, Qt.TransformationMode.SmoothTransformation)
        image.setDevicePixelRatio(ratio if image.width() == room else 1.0)
        return image


class GuideWindow(QWidget):
    """Search and contents at the left, the page at the right; Escape closes, Ctrl+F searches, Alt+Left is back."""

    def __init__(self, pages: tuple[GuidePage, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setObjectName("guide_window")
        self.setWindowTitle("Guide – Stirfall")
        self._pages = pages
        self._listed: tuple[int, ...] = tuple(range(len(pages)))
        self._place = -1
        self._past: list[int] = []
        self.find_field = QLineEdit()
        self.find_field.setObjectName("guide_find")
        self.find_field.setPlaceholderText("Find in the guide")
        self.find_field.setClearButtonEnabled(True)
        self.find_field.setMinimumHeight(_TALL)
        name_control(
            self.find_field, "Find in the guide", "Words; the contents then list the pages that hold them all"
        )
        self.found = QLabel()
        self.found.setObjectName("guide_found")
        self.found.setWordWrap(True)
        set_text_role(self.found, "muted")
        self.back = QPushButton("Back")
        self.back.setObjectName("guide_back")
        self.back.setMinimumHeight(_TALL)
        self.back.setAutoDefault(False)
        name_control(self.back, "Back", "The page that was shown before (Alt+Left)")
        self.contents = QListWidget()
        self.contents.setObjectName("guide_contents")
        self.contents.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        name_control(self.contents, "Contents of the guide")
        self.text = GuideText()
        self.text.setObjectName("guide_text")
        self.text.setOpenLinks(False)
        self.text.document().setDocumentMargin(3 * SPACING)
        name_control(self.text, "Text of the guide")
        self.text.setToolTip("")
        self.contents.setToolTip("")
        self._lay_out()
        self.contents.currentRowChanged.connect(self._show_row)
        self.text.anchorClicked.connect(self._follow)
        self.find_field.textChanged.connect(self._search)
        self.find_field.returnPressed.connect(self._find_next)
        self.back.clicked.connect(self._go_back)
        self._list_pages()
        self.contents.setCurrentRow(0)

    def _lay_out(self) -> None:
        side = QWidget()
        column = QVBoxLayout(side)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        for widget in (self.find_field, self.found, self.contents, self.back):
            column.addWidget(widget, int(widget is self.contents))
        splitter = QSplitter()
        splitter.setChildrenCollapsible(False)
        splitter.addWidget(side)
        splitter.addWidget(self.text)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([_CONTENTS, _SIZE.width() - _CONTENTS])
        row = QHBoxLayout(self)
        row.setContentsMargins(SPACING, SPACING, SPACING, SPACING)
        row.addWidget(splitter)
        screen = self.screen().availableGeometry().size()
        self.resize(_SIZE.boundedTo(QSize(screen.width(), screen.height() - _FRAME)))

    def show_topic(self, topic: str) -> None:
        """Show the page about a topic, bring the window to the front."""
        self.find_field.clear()
        self._go_to(self._pages.index(page_about(self._pages, topic)))
        self.show()
        self.contents.doItemsLayout()  # what was laid out before the style sheet applied has rows too low for it
        self.raise_()
        self.activateWindow()

    @property
    def page(self) -> GuidePage:
        """The page that is shown."""
        return self._pages[self._place]

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Escape, search on Ctrl+F, go back on Alt+Left."""
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        elif event.key() == Qt.Key.Key_F and event.modifiers() == Qt.KeyboardModifier.ControlModifier:
            self.find_field.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.find_field.selectAll()
        elif event.key() == Qt.Key.Key_Left and event.modifiers() == Qt.KeyboardModifier.AltModifier:
            self._go_back()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the pictures to the new width."""
        super().resizeEvent(event)
        if self._place >= 0 and event.oldSize().width() != event.size().width():
            bar = self.text.verticalScrollBar()
            share = bar.value() / max(1, bar.maximum())
            self._render()
            bar.setValue(round(share * bar.maximum()))

    # -- pages -------------------------------------------------------------------------------------

    def _list_pages(self) -> None:
        with QSignalBlocker(self.contents):
            self.contents.clear()
            for place in self._listed:
                self.contents.addItem(QListWidgetItem(self._pages[place].title))

    def _go_to(self, place: int) -> None:
        if place in self._listed:
            self.contents.setCurrentRow(self._listed.index(place))
        else:
            self._show(place)

    def _show_row(self, row: int) -> None:
        if 0 <= row < len(self._listed):
            self._show(self._listed[row])

    def _show(self, place: int, *, is_back: bool = False) -> None:
        if place == self._place:
            return
        if self._place >= 0 and not is_back:
            self._past.append(self._place)
        self._place = place
        self.back.setEnabled(bool(self._past))
        self._render()
        self._mark_first()

    def _render(self) -> None:
        page = self.page
        self.text.document().setBaseUrl(QUrl.fromLocalFile(f"{page.path.parent}/"))
        self.text.setMarkdown(page.path.read_text(encoding="utf-8"))

    def _go_back(self) -> None:
        if self._past:
            place = self._past.pop()
            with QSignalBlocker(self.contents):
                self.contents.setCurrentRow(self._listed.index(place) if place in self._listed else -1)
            self._show(place, is_back=True)

    def _follow(self, target: QUrl) -> None:
        name = Path(target.path()).name
        for place, page in enumerate(self._pages):
            if page.path.name == name:
                if place not in self._listed:
                    self.find_field.clear()
                self._go_to(place)
                return

    # -- search ------------------------------------------------------------------------------------

    def _search(self, words: str) -> None:
        self._listed = pages_with(self._pages, words)
        self._list_pages()
        self.found.setText(_found_words(len(self._listed), words))
        place = self._place if self._place in self._listed else next(iter(self._listed), self._place)
        with QSignalBlocker(self.contents):
            self.contents.setCurrentRow(self._listed.index(place) if place in self._listed else -1)
        self._show(place)
        self._mark_first()

    def _mark_first(self) -> None:
        """Mark the first place of the page that holds the words side by side, else the first of them."""
        if self.find_field.text().split():
            self.text.moveCursor(self.text.textCursor().MoveOperation.Start)
            self._find_on()

    def _find_on(self) -> bool:
        """Mark the next place; False at the end of the page."""
        words = self.find_field.text().split()
        together = " ".join(words)
        if self.text.find(together):
            return True
        was_together = self.text.textCursor().selectedText().casefold() == together.casefold()
        return not was_together and self.text.find(words[0])

    def _find_next(self) -> None:
        words = self.find_field.text().split()
        if words and not self._find_on():
            self._mark_first()


def _found_words(count: int, words: str) -> str:
    if not words.split():
        return ""
    if not count:
        return "No page holds these words. Try fewer or shorter ones."
    return "1 page holds them." if count == 1 else f"{count} pages hold them."
