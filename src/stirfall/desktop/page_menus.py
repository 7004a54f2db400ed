"""Menu twins of the buttons on the pages, so that every act is reachable from the menu bar as well."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QAbstractButton, QMenu, QPushButton, QToolButton, QWidget

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True)
class Twin:
    """One menu entry that presses a button: its text, the page and the object name of the button."""

    text: str
    page: str
    button: str


SHELF = (
    Twin("&Start a jar", "shelf", "shelf_start_jar"),
    Twin("&Register a lot", "shelf", "shelf_register_lot"),
    Twin("&Use on the bench", "shelf", "shelf_use"),
    Twin("&Take off the shelf", "shelf", "shelf_take_off"),
)
BENCH = (
    Twin("&Record\tCtrl+Return", "bench", "record"),
    Twin("&Guided run\tCtrl+R", "bench", "begin_run"),
    Twin("&Clear the form", "bench", "clear_form"),
)
LEDGER = (
    Twin("Repeat &this", "attempts", "ledger_repeat"),
    Twin("All &facts", "attempts", "ledger_facts_open"),
    Twin("C&orrect…", "attempts", "ledger_correct"),
    Twin("&History", "attempts", "ledger_history"),
    Twin("&Strike out…", "attempts", "ledger_strike"),
    Twin("Copy as ta&ble", "attempts", "ledger_copy"),
    Twin("&Export CSV…", "attempts", "ledger_export"),
)
RECIPE = (
    Twin("As &Markdown…", "recipe", "recipe_export_md"),
    Twin("As &JSON…", "recipe", "recipe_export_json"),
    Twin("As &PDF…", "recipe", "recipe_export_pdf"),
)
REPEAT_LAST = Twin("Repeat &last, change", "bench", "repeat_last")
ODDS_PICTURE = "odds_picture_menu"


class PageMenus(QObject):
    """Adds twins to menus; a twin shows its page and presses its button, and is enabled when the button is."""

    def __init__(self, pages: Mapping[str, QWidget], show_page: Callable[[str], object], parent: QObject) -> None:
        super().__init__(parent)
        self._pages = pages
        self._show_page = show_page

    def add(self, menu: QMenu, twins: Sequence[Twin]) -> None:
        """Add a twin for every button that its page has."""
        pairs: list[tuple[QAction, QAbstractButton]] = []
        for twin in twins:
            button = self._button(twin)
            if button is None:
                continue
            action = QAction(twin.text, menu)
            action.triggered.connect(partial(self._press, twin.page, button))
            menu.addAction(action)
            pairs.append((action, button))
        menu.aboutToShow.connect(partial(_follow, tuple(pairs)))

    def add_repeat_menu(self, menu: QMenu) -> None:
        """Add the menu of the repeat button as a submenu that brings its page to the front."""
        button = self._button(REPEAT_LAST)
        choices = button.menu() if isinstance(button, QPushButton) else None
        if choices is None:
            return
        choices.setTitle(REPEAT_LAST.text)
        choices.triggered.connect(partial(self._show, REPEAT_LAST.page))
        menu.addMenu(choices)

    def _button(self, twin: Twin) -> QAbstractButton | None:
        found = self._pages[twin.page].findChild(QAbstractButton, twin.button)
        return found if isinstance(found, QAbstractButton) else None

    def _press(self, page: str, button: QAbstractButton, _checked: bool = False) -> None:
        self._show_page(page)
        button.click()

    def _show(self, page: str, _action: QAction) -> None:
        self._show_page(page)


def picture_actions(odds: QWidget) -> list[QAction]:
    """Return what the odds pane offers for its picture: table, copy and files."""
    button = odds.findChild(QToolButton, ODDS_PICTURE)
    menu = button.menu() if isinstance(button, QToolButton) else None
    return list(menu.actions()) if menu is not None else []


def _follow(pairs: Sequence[tuple[QAction, QAbstractButton]]) -> None:
    for action, button in pairs:
        action.setEnabled(button.isEnabled())
