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
    """One menu entry that presses a button: its text, the page or side, and the object name of the button."""

    text: str
    page: str
    button: str


SHELF = (
    Twin("&Start a jar", "shelf", "shelf_start_jar"),
    Twin("S&plit a lot", "shelf", "shelf_split_lot"),
    Twin("&Register a lot", "shelf", "shelf_register_lot"),
    Twin("C&orrect a lot", "shelf", "shelf_correct_lot"),
    Twin("Register res&idue", "shelf", "shelf_register_residue"),
    Twin("Run step b&y step", "shelf", "shelf_run"),
    Twin("&Use on the bench", "shelf", "shelf_use"),
    Twin("Start the planned &jar", "shelf", "shelf_start_planned"),
    Twin("&Drop the planned jar", "shelf", "shelf_drop_planned"),
    Twin("Insp&ect the jar", "shelf", "shelf_inspect"),
    Twin("&Correct the jar", "shelf", "shelf_correct_jar"),
    Twin("Co&mpare two jars", "shelf", "shelf_compare"),
    Twin("Print its la&bel", "shelf", "shelf_print_label"),
    Twin("&Take off the shelf", "shelf", "shelf_take_off"),
    Twin("&Hand over for disposal", "shelf", "shelf_hand_over"),
    Twin("Open &first", "shelf", "shelf_open_first"),
    Twin("Sho&w columns", "shelf", "shelf_columns"),
)
PLAN = (
    Twin("&Tonight", "plan", "plan_section_tonight"),
    Twin("&Proof", "plan", "plan_section_proof"),
    Twin("&Rehearsal", "plan", "plan_section_rehearsal"),
    Twin("How you &work…", "plan", "plan_working"),
    Twin("&Draw the order anew", "plan", "plan_draw"),
    Twin("Make these &hours usual", "plan", "plan_keep_hours"),
    Twin("&Keep the plan of the evening", "plan", "plan_keep"),
    Twin("Drop the plan of the &evening", "plan", "plan_drop"),
    Twin("Pr&int the plan of the evening…", "plan", "plan_print"),
    Twin("&Fill in the form for the next", "plan", "plan_fill_in"),
    Twin("&Begin the run of the next", "plan", "plan_begin"),
    Twin("&Start the proposed jars", "plan", "plan_start_jars"),
    Twin("St&art a proof…", "plan", "proof_start"),
    Twin("Fill in the form f&or the proof", "plan", "proof_fill_in"),
    Twin("&Give the proof up…", "plan", "proof_give_up"),
    Twin("Plan a&nother proof", "plan", "proof_another"),
    Twin("Rehearse &campaigns", "plan", "rehearsal_start"),
    Twin("Stop the rehearsa&l", "plan", "rehearsal_stop"),
    Twin("Rehearse again from &zero", "plan", "rehearsal_anew"),
    Twin("&Vary what is rehearsed", "plan", "rehearsal_change"),
)
BENCH = (
    Twin("&Record\tCtrl+Return", "bench", "record"),
    Twin("R&un step by step\tCtrl+R", "bench", "begin_run"),
    Twin("&Clear the form", "bench", "clear_form"),
)
LEDGER = (
    Twin("Repeat &this", "attempts", "ledger_repeat"),
    Twin("Sa&me but…", "attempts", "ledger_same_but"),
    Twin("All &facts", "attempts", "ledger_facts_open"),
    Twin("Wh&y?", "attempts", "ledger_why"),
    Twin("C&orrect…", "attempts", "ledger_correct"),
    Twin("&History", "attempts", "ledger_history"),
    Twin("&Strike out…", "attempts", "ledger_strike"),
    Twin("Copy as ta&ble", "attempts", "ledger_copy"),
    Twin("&Export CSV…", "attempts", "ledger_export"),
    Twin("E&xport all…", "attempts", "ledger_export_all"),
    Twin("A&dd a filter", "attempts", "ledger_add_filter"),
    Twin("Show colum&ns", "attempts", "ledger_columns"),
)
EVIDENCE = (
    Twin("&Is it chance?", "evidence", "evidence_section_compare"),
    Twin("&Compare the two groups", "evidence", "compare_start"),
    Twin("Sw&ap the two groups", "evidence", "compare_swap"),
    Twin("Pict&ure of the comparison", "evidence", "compare_picture"),
    Twin("&Drift", "evidence", "evidence_section_drift"),
    Twin("&Why", "evidence", "evidence_section_why"),
    Twin("&Rival explanations", "evidence", "evidence_section_rivals"),
    Twin("&Other benches", "evidence", "evidence_section_benches"),
    Twin("The &benches as a table", "evidence", "benches_table"),
    Twin("&Pool sessions of several benches…", "evidence", "benches_pool"),
    Twin("&Mark a change…", "evidence", "drift_mark"),
    Twin("Ta&ke the mark away", "evidence", "drift_drop"),
    Twin("&Show the attempt of the drift", "evidence", "drift_open"),
    Twin("Picture of the drif&t", "evidence", "drift_picture"),
    Twin("Say wh&y of this attempt", "evidence", "why_act"),
    Twin("Show this attempt in the &ledger", "evidence", "why_ledger"),
    Twin("Put the &first of the pair into the form", "evidence", "rivals_first"),
    Twin("Put the s&econd of the pair into the form", "evidence", "rivals_second"),
)
RECIPE = (
    Twin("The recipe as it is &now", "recipe", "recipe_section_make"),
    Twin("I&ssued recipes", "recipe", "recipe_section_issued"),
    Twin("Ranges and &batch", "recipe", "recipe_more"),
    Twin("&Issue this recipe…", "recipe", "recipe_issue"),
    Twin("P&rint…", "recipe", "recipe_print"),
    Twin("As &Markdown…", "recipe", "recipe_export_md"),
    Twin("As &JSON…", "recipe", "recipe_export_json"),
    Twin("As &PDF…", "recipe", "recipe_export_pdf"),
)
ODDS = (
    Twin("&Curve", "odds", "odds_view_curve"),
    Twin("&Map", "odds", "odds_view_map"),
    Twin("&Outcomes", "odds", "odds_view_outcomes"),
    Twin("T&ime to a clean batch", "odds", "odds_view_time"),
    Twin("&Effects", "odds", "odds_view_effects"),
    Twin("&Trust", "odds", "odds_view_trust"),
    Twin("&Both gates", "odds", "odds_gates_shown"),
    Twin("&Details", "odds", "odds_more"),
    Twin("&Put into the form", "odds", "odds_take"),
    Twin("Choose the &goal", "odds", "odds_goal"),
    Twin("Recommended &recipe", "odds", "odds_recipe"),
    Twin("Recommended recipe into the &form", "odds", "odds_why_take"),
    Twin("&Why suggestion 1", "odds", "odds_next_1_why"),
    Twin("Wh&y suggestion 2", "odds", "odds_next_2_why"),
    Twin("W&hy suggestion 3", "odds", "odds_next_3_why"),
    Twin("Suggestion &1 into the form", "odds", "odds_next_1_take"),
    Twin("Suggestion &2 into the form", "odds", "odds_next_2_take"),
    Twin("Suggestion &3 into the form", "odds", "odds_next_3_take"),
)
REPEAT_LAST = Twin("Repeat &last, change", "bench", "repeat_last")
FILL_IN = Twin("&Ways to fill in the form", "bench", "fill_in")
ODDS_PICTURE = "odds_picture_menu"


class PageMenus(QObject):
    """Adds twins to menus; a twin shows its page and presses its button, and is enabled when the button is."""

    def __init__(self, pages: Mapping[str, QWidget], show_page: Callable[[str], object], parent: QObject) -> None:
        super().__init__(parent)
        self._pages = pages
        self._show_page = show_page

    def add(self, menu: QMenu, twins: Sequence[Twin]) -> None:
        """Add the twins; a button may come later, when its page has something to show."""
        pairs: list[tuple[QAction, Twin]] = []
        for twin in twins:
            action = QAction(twin.text, menu)
            action.triggered.connect(partial(self._press, twin))
            menu.addAction(action)
            pairs.append((action, twin))
        menu.aboutToShow.connect(partial(self._follow, tuple(pairs)))

    def _follow(self, pairs: Sequence[tuple[QAction, Twin]]) -> None:
        for action, twin in pairs:
            button = self._button(twin)
            action.setEnabled(button is not None and button.isEnabled())

    def add_menus(self, menu: QMenu, twins: Sequence[Twin] = (REPEAT_LAST, FILL_IN)) -> None:
        """Add the menus of buttons as submenus that bring their page to the front."""
        for twin in twins:
            button = self._button(twin)
            choices = button.menu() if isinstance(button, QPushButton) else None
            if choices is not None:
                choices.setTitle(twin.text)
                choices.triggered.connect(partial(self._show, twin.page))
                menu.addMenu(choices)

    def _button(self, twin: Twin) -> QAbstractButton | None:
        found = self._pages[twin.page].findChild(QAbstractButton, twin.button)
        return found if isinstance(found, QAbstractButton) else None

    def _press(self, twin: Twin, _checked: bool = False) -> None:
        self._show_page(twin.page)
        button = self._button(twin)
        if button is None:
            return
        if isinstance(button, (QPushButton, QToolButton)) and button.menu() is not None:
            button.showMenu()
        else:
            button.click()

    def _show(self, page: str, _action: QAction) -> None:
        self._show_page(page)


def picture_actions(odds: QWidget) -> list[QAction]:
    """Return what the odds pane offers for its picture: table, copy and files."""
    button = odds.findChild(QToolButton, ODDS_PICTURE)
    menu = button.menu() if isinstance(button, QToolButton) else None
    return list(menu.actions()) if menu is not None else []
