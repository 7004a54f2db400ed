"""Menus and shortcuts: every act of the window as a QAction with a mnemonic."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from stirfall.desktop.appearance import CHOICES, SYSTEM
from stirfall.desktop.page_menus import (
    BENCH,
    EVIDENCE,
    LEDGER,
    ODDS,
    PLAN,
    RECIPE,
    SHELF,
    PageMenus,
    picture_actions,
)
from stirfall.desktop.workspace import PAGES, SIDES

if TYPE_CHECKING:
    from stirfall.desktop.window import MainWindow
    from stirfall.session.samples import SampleInfo

_PAGE_TITLES = {
    "shelf": "&Shelf",
    "plan": "&Plan",
    "bench": "&Bench",
    "attempts": "&Attempts",
    "evidence": "&Evidence",
    "recipe": "&Recipe",
}
_SIDE_TITLES = {"odds": "&Odds", "melt": "&Melt", "film": "&Film"}
_THEME_TITLES = {SYSTEM: "&As the system", "light": "&Light", "dark": "&Dark", "high contrast": "&High contrast"}


@dataclass(frozen=True)
class Intents:
    """What the menus can ask for; the shell brings one function per act."""

    new_campaign: Callable[[], object]
    open_file: Callable[[], object]
    open_sample: Callable[[str], object]
    open_recent: Callable[[str], object]
    save_copy: Callable[[], object]
    import_table: Callable[[], object]
    pool_sessions: Callable[[], object]
    export_recipe: Callable[[], object]
    report: Callable[[], object]
    export_package: Callable[[str, bool], object]
    close_campaign: Callable[[], object]
    quit_program: Callable[[], object]
    undo: Callable[[], object]
    redo: Callable[[], object]
    preferences: Callable[[], object]
    choose_theme: Callable[[str], object]
    step_text: Callable[[int], object]
    settings: Callable[[], object]
    factors: Callable[[], object]
    cautions: Callable[[], object]
    assay: Callable[[], object]
    classes: Callable[[], object]
    regrade: Callable[[], object]
    course: Callable[[], object]
    print_labels: Callable[[], object]
    paper_sheet: Callable[[], object]
    act_card: Callable[[], object]
    guide: Callable[[], object]
    tour: Callable[[], object]
    about: Callable[[], object]


class ShellActions(QObject):
    """Builds the menu bar of a window and keeps its entries true to what is open."""

    def __init__(self, window: MainWindow, intents: Intents, samples: Sequence[SampleInfo]) -> None:
        super().__init__(window)
        self._window = window
        self._intents = intents
        self._needs_document: list[QAction] = []
        places = {**window.parts.pages, "odds": window.parts.odds}
        self._page_menus = PageMenus(places, self._show_place, self)
        self._recent = QMenu("Open &recent", window)
        self.theme_actions: dict[str, QAction] = {}
        self.side_actions: dict[str, QAction] = {}
        self._add_file_menu(samples)
        self._add_edit_menu()
        self._add_shelf_menu()
        self._add_plan_menu()
        self._add_attempt_menu()
        self._add_evidence_menu()
        self._add_view_menu()
        self._add_campaign_menu()
        self._add_tools_menu()
        self._add_help_menu()
        workspace = window.workspace
        workspace.document_opened.connect(self.refresh)
        workspace.document_changed.connect(self.refresh)
        self.refresh()

    def _show_place(self, name: str) -> None:
        show = self._window.workspace.show_side if name in SIDES else self._window.workspace.show_page
        show(name)

    def refresh(self) -> None:
        """Enable what is possible now and name what undo and redo would do."""
        document = self._window.workspace.document
        for action in self._needs_document:
            action.setEnabled(document is not None)
        undo_name = document.undo_name if document is not None else None
        redo_name = document.redo_name if document is not None else None
        self.undo.setText(f"&Undo {undo_name}" if undo_name else "&Undo")
        self.redo.setText(f"&Redo {redo_name}" if redo_name else "&Redo")
        may_change = document is not None and not document.read_only
        self.undo.setEnabled(may_change and undo_name is not None)
        self.redo.setEnabled(may_change and redo_name is not None)
        for action in (self.settings, self.factors):
            action.setEnabled(may_change)

    def show_recent(self, paths: Sequence[str]) -> None:
        """List the files opened lately."""
        self._recent.clear()
        present = [path for path in paths if Path(path).exists()]
        for number, path in enumerate(present, start=1):
            action = self._recent.addAction(f"&{number}  {Path(path).name}")
            action.setToolTip(path)
            action.triggered.connect(lambda _on=False, place=path: self._intents.open_recent(place))
        self._recent.setEnabled(bool(present))

    def show_theme(self, choice: str) -> None:
        """Tick the theme that was chosen."""
        self.theme_actions[choice].setChecked(True)

    # -- menus -------------------------------------------------------------------------------------

    def _add_file_menu(self, samples: Sequence[SampleInfo]) -> None:
        menu = self._menu("&File")
        intents = self._intents
        self._act(menu, "&New campaign…", intents.new_campaign, QKeySequence.StandardKey.New)
        self._act(menu, "&Open…", intents.open_file, QKeySequence.StandardKey.Open)
        sample_menu = menu.addMenu("Open a sa&mple")
        for number, sample in enumerate(samples, start=1):
            action = self._act(sample_menu, f"&{number}  {sample.title}", partial(intents.open_sample, sample.key))
            action.setToolTip(sample.summary)
        menu.addMenu(self._recent)
        menu.addSeparator()
        self._act(menu, "&Save a copy…", intents.save_copy, "Ctrl+Shift+S", needs_document=True)
        self._act(menu, "Impor&t a table…", intents.import_table, "Ctrl+I")
        self._act(menu, "Pool sess&ions…", intents.pool_sessions)
        recipe_menu = menu.addMenu("R&ecipe")
        self._page_menus.add(recipe_menu, RECIPE)
        recipe_menu.addSeparator()
        self._act(recipe_menu, "&Look at it first", intents.export_recipe, "Ctrl+E", needs_document=True)
        self._needs_document.append(recipe_menu.menuAction())
        self._act(menu, "Report and &bundle…", intents.report, "Ctrl+Shift+E", needs_document=True)
        self._add_package_menu(menu)
        menu.addSeparator()
        self._act(menu, "&Close campaign", intents.close_campaign, "Ctrl+W", needs_document=True)
        self._act(menu, "&Quit", intents.quit_program, "Ctrl+Q")

    def _add_package_menu(self, menu: QMenu) -> None:
        """Add everything as open text: with photos, with their originals as well, or without."""
        package = menu.addMenu("Everything as a &Data Package")
        for text, photos, originals in (
            ("With &photos…", "all", False),
            ("With photos and their &originals…", "all", True),
            ("&Without photos…", "none", False),
        ):
            act = partial(self._intents.export_package, photos, originals)
            self._act(package, text, act, needs_document=True)
        self._needs_document.append(package.menuAction())

    def _add_edit_menu(self) -> None:
        menu = self._menu("&Edit")
        self.undo = self._act(menu, "&Undo", self._intents.undo, QKeySequence.StandardKey.Undo)
        self.redo = self._act(menu, "&Redo", self._intents.redo)
        self.redo.setShortcuts([QKeySequence("Ctrl+Shift+Z"), QKeySequence("Ctrl+Y")])
        menu.addSeparator()
        self._act(menu, "&Preferences…", self._intents.preferences, "Ctrl+,")

    def _add_shelf_menu(self) -> None:
        menu = self._menu("&Shelf")
        self._page_menus.add(menu, SHELF)
        self._act(menu, "Print &labels…", self._intents.print_labels, needs_document=True)
        menu.addSeparator()
        self._act(menu, "First alarm see&n", self._window.alarm_strip.see_first, "Alt+N")
        self._needs_document.append(menu.menuAction())

    def _add_plan_menu(self) -> None:
        menu = self._menu("&Plan")
        self._page_menus.add(menu, PLAN)
        self._needs_document.append(menu.menuAction())

    def _add_attempt_menu(self) -> None:
        menu = self._menu("&Attempt")
        self._page_menus.add_menus(menu)
        self._page_menus.add(menu, BENCH)
        menu.addSeparator()
        self._page_menus.add(menu, LEDGER)
        menu.addSeparator()
        self._act(menu, "Temperature lo&g and course…", self._intents.course, needs_document=True)
        self._act(menu, "Grade again, bl&ind…", self._intents.regrade, needs_document=True)
        menu.addSeparator()
        self._act(menu, "&Paper sheet…", self._intents.paper_sheet, needs_document=True)
        self._act(menu, "Card of &acts…", self._intents.act_card, needs_document=True)
        self._needs_document.append(menu.menuAction())

    def _add_evidence_menu(self) -> None:
        menu = self._menu("Evi&dence")
        self._page_menus.add(menu, EVIDENCE)
        self._needs_document.append(menu.menuAction())

    def _add_view_menu(self) -> None:
        menu = self._menu("&View")
        workspace = self._window.workspace
        for number, name in enumerate(PAGES, start=1):
            self._act(
                menu,
                _PAGE_TITLES[name],
                partial(workspace.show_page, name),
                f"Ctrl+{number}",
                needs_document=True,
            )
        self._add_side_menu(menu)
        menu.addSeparator()
        odds_menu = menu.addMenu("&Odds picture")
        odds_menu.addActions(picture_actions(self._window.parts.odds))
        self._needs_document.append(odds_menu.menuAction())
        views = menu.addMenu("Odds &views")
        self._page_menus.add(views, ODDS)
        self._needs_document.append(views.menuAction())
        themes = menu.addMenu("&Theme")
        group = QActionGroup(self)
        for choice in CHOICES:
            action = self._act(themes, _THEME_TITLES[choice], partial(self._intents.choose_theme, choice))
            action.setCheckable(True)
            group.addAction(action)
            self.theme_actions[choice] = action
        larger = self._act(menu, "&Larger text", partial(self._intents.step_text, 1))
        larger.setShortcuts([QKeySequence("Ctrl++"), QKeySequence("Ctrl+=")])
        self._act(menu, "S&maller text", partial(self._intents.step_text, -1), "Ctrl+-")

    def _add_side_menu(self, menu: QMenu) -> None:
        """Add what can stand at the right of the pages, with a tick at what stands there."""
        side = self._window.side
        sides = menu.addMenu("At the r&ight")
        group = QActionGroup(self)
        for number, name in enumerate(SIDES, start=1):
            act = partial(self._window.workspace.show_side, name)
            action = self._act(sides, _SIDE_TITLES[name], act, f"Alt+{number}", needs_document=True)
            action.setCheckable(True)
            action.setChecked(name == side.current)
            group.addAction(action)
            self.side_actions[name] = action
        self._needs_document.append(sides.menuAction())
        side.shown.connect(lambda name: self.side_actions[name].setChecked(True))

    def _add_campaign_menu(self) -> None:
        menu = self._menu("Ca&mpaign")
        self.settings = self._act(menu, "&Settings…", self._intents.settings)
        self.factors = self._act(menu, "&Factors…", self._intents.factors)
        self._act(menu, "What the classes &look like…", self._intents.classes, needs_document=True)
        self._act(menu, "&Cautions…", self._intents.cautions, needs_document=True)

    def _add_tools_menu(self) -> None:
        menu = self._menu("&Tools")
        self._act(menu, "&Assay calculator…", self._intents.assay)

    def _add_help_menu(self) -> None:
        menu = self._menu("&Help")
        self._act(menu, "&Guide", self._intents.guide, QKeySequence.StandardKey.HelpContents)
        self.tour = self._act(menu, "Show me &round, under three minutes", self._intents.tour)
        menu.aboutToShow.connect(self._follow_run)
        self._act(menu, "&Cautions…", self._intents.cautions, needs_document=True)
        menu.addSeparator()
        self._act(menu, "&About Stirfall", self._intents.about)

    def _follow_run(self) -> None:
        """The tour is not offered while a run is on."""
        self.tour.setEnabled(self._window.workspace.open_run is None)

    def _menu(self, title: str) -> QMenu:
        menu = self._window.menuBar().addMenu(title)
        menu.setToolTipsVisible(True)
        return menu

    def _act(
        self,
        menu: QMenu,
        text: str,
        act: Callable[[], object],
        keys: QKeySequence.StandardKey | str | None = None,
        *,
        needs_document: bool = False,
    ) -> QAction:
        action = QAction(text, self._window)
        action.triggered.connect(lambda _on=False: act())
        if keys is not None:
            action.setShortcut(QKeySequence(keys))
        if needs_document:
            self._needs_document.append(action)
        menu.addAction(action)
        return action
