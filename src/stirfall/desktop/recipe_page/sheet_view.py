"""The place of the sheets: typeset words, pages of the bench sheet, or the form of the batch, one at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QScrollArea, QStackedWidget, QTextBrowser

from stirfall.desktop.labelled import name_control
from stirfall.desktop.recipe_page.pages_view import PagesView

if TYPE_CHECKING:
    from PySide6.QtGui import QImage
    from PySide6.QtWidgets import QWidget

_BLANK = "The bench sheet, {count}: steps to tick with tolerances and timers, fields, limits and all cautions"


class SheetView(QStackedWidget):
    """Shows one of its parts; words keep the place that is read when they are set anew."""

    def __init__(self, form: QWidget) -> None:
        super().__init__()
        self.setObjectName("recipe_sheets")
        self.words = QTextBrowser()
        self.words.setObjectName("recipe_preview")
        self.words.setOpenLinks(False)
        name_control(self.words, "The recipe")
        self.words.setToolTip("")
        self.pages = PagesView("recipe_pages")
        self.form = form
        for part in (self.words, self.pages, form):
            self.addWidget(part)
        self._shown: object = None

    def sizeHint(self) -> QSize:
        """Want no more height than the least: the sheet takes what the rest of the page leaves."""
        return QSize(super().sizeHint().width(), self.minimumHeight())

    def show_words(self, html: str, name: str) -> None:
        """Show typeset words."""
        self.setCurrentWidget(self.words)
        if html == self._shown:
            return
        self._shown = html
        self.words.setAccessibleName(name)
        bar = self.words.verticalScrollBar()
        place = bar.value()
        self.words.setHtml(html)
        bar.setValue(place)

    def show_pages(self, pages: Sequence[QImage], *, is_stale: bool) -> None:
        """Show the pages of the bench sheet."""
        self.setCurrentWidget(self.pages)
        count = f"{len(pages)} pages" if len(pages) != 1 else "1 page"
        self.pages.show_pages(pages, _BLANK.format(count=count), is_stale=is_stale)

    def show_form(self) -> None:
        """Show the form of the batch."""
        self.setCurrentWidget(self.form)


def scrolling(content: QWidget) -> QScrollArea:
    """Return a frame that scrolls its content where that has not room enough, and is not seen otherwise."""
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFrameShape(QScrollArea.Shape.NoFrame)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setWidget(content)
    return area
