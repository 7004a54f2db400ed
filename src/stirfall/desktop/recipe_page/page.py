"""The recipe page: choose the conditions, read the recipe, export it."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSignalBlocker
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QSpinBox,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import (
    GAP,
    HALF_GAP,
    TARGET,
    button,
    guard_from_wheel,
    heading,
    page_sheet,
    text_label,
)
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.recipe_page.export import FORMATS, file_name
from stirfall.desktop.recipe_page.html import recipe_html
from stirfall.desktop.recipe_page.state import DROPS, RecipeState, Source
from stirfall.desktop.recipe_page.view_model import RecipeModel
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.theme import Theme, set_surface_role, wear_sheet
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_LEVEL_SIGN = {"block": "⛔ ", "warn": "⚠ ", "note": ""}
_DROP_WORDS = {f"{100 * drop:.0f} points": drop for drop in DROPS}


class RecipePage(QWidget):
    """Choices above, the most severe warning, the recipe, and the exports at the foot."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("recipe_page")
        self.workspace = workspace
        self.model = RecipeModel(workspace, self)
        self.source = Segments("Recipe from", tuple(item.value for item in Source), columns=3, may_be_empty=False)
        self.source.setObjectName("recipe_source")
        self.attempt = QSpinBox()
        self.attempt.setObjectName("recipe_attempt")
        self.attempt.setKeyboardTracking(False)
        guard_from_wheel(self.attempt)
        self.attempt.setMinimumHeight(TARGET)
        self.attempt.setPrefix("no. ")
        self.attempt.setMaximumWidth(12 * GAP)
        name_control(self.attempt, "Number of the attempt")
        self.drop = Segments("Tolerances keep the chance within", tuple(_DROP_WORDS), columns=3, may_be_empty=False)
        self.drop.setObjectName("recipe_drop")
        self.warning_strip = QFrame()
        self.warning = text_label()
        self.warning.setObjectName("recipe_warning")
        self.said = text_label()
        self.said.setObjectName("recipe_said")
        self.preview = QTextBrowser()
        self.preview.setObjectName("recipe_preview")
        self.preview.setOpenLinks(False)
        name_control(self.preview, "The recipe")
        self.preview.setToolTip("")
        self.exports = {
            kind: button(f"Export {kind}…", f"recipe_export_{suffix}") for kind, (suffix, _) in FORMATS.items()
        }
        self._shown: tuple[object, ...] = ()
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)

    def _lay_out(self) -> None:
        grid = QGridLayout()
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        grid.addWidget(labelled("From", self.source), 0, 0)
        grid.addWidget(self.source, 0, 1)
        grid.addWidget(self.attempt, 0, 2)
        label = labelled("May drop by", self.drop)
        label.setToolTip("The lower end of the interval may fall by this much inside the ranges of the recipe")
        grid.addWidget(label, 1, 0)
        grid.addWidget(self.drop, 1, 1)
        set_surface_role(self.warning_strip, "caution")
        strip = QVBoxLayout(self.warning_strip)
        strip.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        strip.addWidget(self.warning)
        foot = QHBoxLayout()
        foot.setSpacing(GAP)
        foot.addStretch(1)
        for act in self.exports.values():
            foot.addWidget(act)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, GAP)
        whole.setSpacing(GAP)
        whole.addWidget(heading("Recipe"))
        whole.addLayout(grid)
        whole.addWidget(self.warning_strip)
        whole.addWidget(self.said)
        whole.addWidget(self.preview, 1)
        whole.addLayout(foot)
        whole.addStretch(0)
        self._whole = whole

    def _connect(self) -> None:
        model = self.model
        model.changed.connect(self.show_state)
        self.source.chosen.connect(lambda value: model.choose_source(Source(value)))
        self.attempt.valueChanged.connect(model.choose_attempt)
        self.drop.chosen.connect(lambda word: model.choose_drop(_DROP_WORDS[word]))
        for kind, act in self.exports.items():
            act.clicked.connect(partial(self._ask_where, kind))
        self.workspace.theme_changed.connect(self.apply_theme)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        wear_sheet(self, page_sheet, theme)
        self.show_state(self.model.state)

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: RecipeState | None) -> None:
        """Show the state; showing it twice changes nothing."""
        recipe = state.recipe if state else None
        for editor in (self.source, self.attempt, self.drop):
            editor.setEnabled(state is not None)
        for act in self.exports.values():
            act.setEnabled(state is not None and state.can_export)
        self.preview.setVisible(recipe is not None)
        self._whole.setStretch(self._whole.count() - 1, 0 if recipe else 1)
        self.said.setText(_said(state))
        self.said.setVisible(bool(self.said.text()))
        self._show_warning(state)
        if state is None:
            return
        self.source.set_value(state.source.value)
        self.drop.set_value(next(word for word, drop in _DROP_WORDS.items() if drop == state.drop))
        with QSignalBlocker(self.attempt):
            self.attempt.setRange(min(1, state.last_number), state.last_number)
            self.attempt.setValue(state.attempt_number)
        self.attempt.setVisible(state.source is Source.ATTEMPT)
        self._show_recipe(state)

    def _show_recipe(self, state: RecipeState) -> None:
        shown = (state.recipe, state.is_stale, self.workspace.theme.name, state.decimal)
        if state.recipe is None or shown == self._shown:
            return
        self._shown = shown
        bar = self.preview.verticalScrollBar()
        place = bar.value()
        self.preview.setHtml(
            recipe_html(state.recipe, self.workspace.theme, decimal=state.decimal, muted=state.is_stale)
        )
        bar.setValue(place)

    def _show_warning(self, state: RecipeState | None) -> None:
        recipe = state.recipe if state else None
        grave = [remark for remark in recipe.remarks if remark.level != "note"] if recipe else []
        self.warning_strip.setVisible(bool(grave))
        if grave:
            more = f" And {len(grave) - 1} more below." if len(grave) > 1 else ""
            self.warning.setText(f"{_LEVEL_SIGN[grave[0].level]}{grave[0].text}{more}")

    # -- out of the program ------------------------------------------------------------------------

    def _ask_where(self, kind: str, *_unused: object) -> None:
        state = self.model.state
        if state is None or state.recipe is None:
            return
        suffix, file_filter = FORMATS[kind]
        ask_where(
            self,
            f"Export the recipe as {kind}",
            document=self.workspace.document,
            name=file_name(state.recipe, suffix),
            file_filter=file_filter,
            done=lambda path: self.model.export(path, kind),
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Work only while the page is in front."""
        super().showEvent(event)
        self.model.set_shown(True)

    def hideEvent(self, event: QHideEvent) -> None:
        """Rest while another page is in front."""
        super().hideEvent(event)
        self.model.set_shown(False)


def _said(state: RecipeState | None) -> str:
    if state is None:
        return "Open a session or make a new one; the recipe is made from its attempts."
    if state.problem is not None and state.recipe is None:
        return sentence(state.problem.code, state.problem.params, decimal=state.decimal)
    if state.recipe is None:
        return "The recipe appears here when the attempts are worked out."
    return ""
