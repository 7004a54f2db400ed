"""The guide: pages of plain text that come with the program, with a list of contents."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QListWidgetItem, QSplitter, QTextBrowser, QWidget

from stirfall.bench.errors import FileTroubleError
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING
from stirfall.storage.shipped import shipped

_FOLDER = "resources/guide"


@dataclass(frozen=True)
class GuidePage:
    """One page of the guide: its file, and the title from its first heading."""

    path: Path
    title: str


def guide_pages() -> tuple[GuidePage, ...]:
    """Return the pages of the guide in the order of their names; raises FileTroubleError when there are none."""
    paths = sorted(shipped(_FOLDER).glob("*.md"))
    if not paths:
        raise FileTroubleError("shipped.missing", path=_FOLDER)
    return tuple(GuidePage(path, _title_of(path)) for path in paths)


def page_about(pages: tuple[GuidePage, ...], topic: str) -> GuidePage:
    """Return the page whose file name holds the topic, else the first page."""
    return next((page for page in pages if topic and topic in page.path.stem), pages[0])


def _title_of(path: Path) -> str:
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("# "):
            return line[2:].strip()
    return path.stem.replace("-", " ").strip().capitalize()


class GuideWindow(QWidget):
    """Contents at the left, the page at the right; Escape closes."""

    def __init__(self, pages: tuple[GuidePage, ...], parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setObjectName("guide_window")
        self.setWindowTitle("Guide – Stirfall")
        self._pages = pages
        self.contents = QListWidget()
        self.contents.setObjectName("guide_contents")
        name_control(self.contents, "Contents of the guide")
        for page in pages:
            self.contents.addItem(QListWidgetItem(page.title))
        self.text = QTextBrowser()
        self.text.setObjectName("guide_text")
        self.text.setOpenLinks(False)
        self.text.document().setDocumentMargin(3 * SPACING)
        name_control(self.text, "Text of the guide")
        self.text.setToolTip("")
        self.contents.setToolTip("")
        splitter = QSplitter()
        splitter.addWidget(self.contents)
        splitter.addWidget(self.text)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([240, 660])
        row = QHBoxLayout(self)
        row.setContentsMargins(SPACING, SPACING, SPACING, SPACING)
        row.addWidget(splitter)
        self.resize(900, 640)
        self.contents.currentRowChanged.connect(self._show_row)
        self.text.anchorClicked.connect(self._follow)
        self.contents.setCurrentRow(0)

    def show_topic(self, topic: str) -> None:
        """Show the page about a topic, bring the window to the front."""
        self.contents.setCurrentRow(self._pages.index(page_about(self._pages, topic)))
        self.show()
        self.contents.doItemsLayout()  # what was laid out before the style sheet applied has rows too low for it
        self.raise_()
        self.activateWindow()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close on Escape."""
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        else:
            super().keyPressEvent(event)

    def _show_row(self, row: int) -> None:
        if 0 <= row < len(self._pages):
            page = self._pages[row]
            self.text.document().setBaseUrl(QUrl.fromLocalFile(f"{page.path.parent}/"))
            self.text.setMarkdown(page.path.read_text(encoding="utf-8"))

    def _follow(self, target: QUrl) -> None:
        name = Path(target.path()).name
        for row, page in enumerate(self._pages):
            if page.path.name == name:
                self.contents.setCurrentRow(row)
                return
