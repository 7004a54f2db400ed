"""The recipe page: choose conditions and batch, read either sheet, issue it, look back at those issued, export."""

from __future__ import annotations

from functools import partial

from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QStackedWidget, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, button, page_sheet, text_label, unbroken
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.recipe_page.compare_html import comparison_html
from stirfall.desktop.recipe_page.export import FORMATS, comparison_name, file_name
from stirfall.desktop.recipe_page.html import recipe_html
from stirfall.desktop.recipe_page.issue_dialog import IssueDialog
from stirfall.desktop.recipe_page.issued_model import IssuedModel, IssuedState
from stirfall.desktop.recipe_page.issued_part import IssuedPart
from stirfall.desktop.recipe_page.make_part import MakePart, MorePart, SizeField
from stirfall.desktop.recipe_page.sheet_view import SheetView, scrolling
from stirfall.desktop.recipe_page.sheets import SheetKind, sheet_job
from stirfall.desktop.recipe_page.state import RecipeState
from stirfall.desktop.recipe_page.view_model import RecipeModel
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.switch import Switch
from stirfall.desktop.theme import Theme, set_surface_role, wear_sheet
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.recipe_parts import Recipe
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import in_full

SECTIONS = {"make": ("The recipe", "The recipe as it is now"), "issued": ("Issued", "Recipes that were issued")}
_LEAST_SHEET = 132
_LEVEL_SIGN = {"block": "⛔ ", "warn": "⚠ ", "note": ""}


class RecipePage(QWidget):
    """Two sections, now and issued, over one place for the sheet and one row of acts."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("recipe_page")
        self.workspace = workspace
        self.model = RecipeModel(workspace, self)
        self.issued_model = IssuedModel(workspace, self._present, self)
        self.switch, self.tops = Switch(), QStackedWidget()
        self.make_part, self.more_part, self.issued_part = MakePart(), MorePart(), IssuedPart()
        self.source, self.attempt, self.drop = self.make_part.source, self.make_part.attempt, self.more_part.drop
        self.sheet = Segments("Sheet", tuple(item.value for item in SheetKind), columns=2, may_be_empty=False)
        self.sheet.setObjectName("recipe_sheet")
        self.size_field = SizeField()
        self.size_label = labelled("Batch, g", self.size_field)
        self.more = button("More", "recipe_more")
        self.more.setCheckable(True)
        name_control(self.more, "More", "How far the chance may drop, and what the batch is made in")
        self.warning_strip = QFrame()
        self.warning = text_label()
        self.warning.setObjectName("recipe_warning")
        self.said = text_label()
        self.said.setObjectName("recipe_said")
        self.sheets = SheetView(self.more_part)
        self.preview = self.sheets.words
        self.exports = {
            kind: button(f"{kind}…", f"recipe_export_{suffix}") for kind, (suffix, _) in FORMATS.items()
        }
        for kind, act in self.exports.items():
            name_control(act, f"Export as {kind}")
        self.print = button("Print…", "recipe_print")
        self.issue = button("Issue…", "recipe_issue")
        name_control(self.issue, "Issue this recipe", "Keep it in the session with its number and its evidence")
        self.dialog: QWidget | None = None
        self._lay_out()
        self._connect()
        self.apply_theme(workspace.theme)
        self.show_section("make")

    def _lay_out(self) -> None:
        for name, (word, description) in SECTIONS.items():
            made = self.switch.add_button(name, word)
            made.setObjectName(f"recipe_section_{name}")
            made.setMinimumHeight(TARGET)
            name_control(made, word, description)
        set_surface_role(self.warning_strip, "caution")
        strip = QVBoxLayout(self.warning_strip)
        strip.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, HALF_GAP)
        strip.addWidget(self.warning)
        for part in (self.make_part, self.issued_part):
            self.tops.addWidget(part)
        issued = self.issued_part
        choices = (self.sheet, self.size_label, self.size_field, self.more, issued.compare_label, issued.other)
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP)
        for row in (self.tops, row_of(*choices), self.size_field.problem, self.warning_strip, self.said):
            column.addWidget(row)
        column.addWidget(self.sheets, 1)
        column.addStretch(0)
        self._column = column
        self.sheets.setMinimumHeight(_LEAST_SHEET)
        area = scrolling(middle)  # on a low screen, or with large text
        whole = QVBoxLayout(self)
        whole.setContentsMargins(GAP, GAP, GAP, GAP)
        whole.setSpacing(GAP)
        whole.addWidget(self.switch)
        whole.addWidget(area, 1)
        whole.addWidget(row_of(*self.exports.values(), self.print, self.issue))

    def _connect(self) -> None:
        model, issued = self.model, self.issued_model
        model.changed.connect(self._show_again)
        model.changed.connect(issued.look_again)
        issued.changed.connect(self._show_again)
        self.switch.chosen.connect(self.show_section)
        self.make_part.source_chosen.connect(model.choose_source)
        self.make_part.attempt_chosen.connect(model.choose_attempt)
        self.more_part.drop_chosen.connect(model.choose_drop)
        self.more_part.batch_settled.connect(model.choose_batch)
        self.size_field.settled.connect(model.choose_batch)
        self.sheet.chosen.connect(self._choose_sheet)
        self.more.toggled.connect(self._show_again)
        self.issued_part.chosen.connect(issued.choose)
        self.issued_part.other_chosen.connect(issued.compare_with)
        for kind, act in self.exports.items():
            act.clicked.connect(partial(self._ask_where, kind))
        self.print.clicked.connect(self._open_print)
        self.issue.clicked.connect(self._open_issue)
        self.workspace.theme_changed.connect(self.apply_theme)
        self.workspace.document_opened.connect(self._on_document_opened)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        wear_sheet(self, page_sheet, theme)
        self._show_again()

    # -- sections ----------------------------------------------------------------------------------

    @property
    def front(self) -> str:
        """The section in front: "make" or "issued"."""
        return list(SECTIONS)[self.tops.currentIndex()]

    def show_section(self, name: str) -> None:
        """Bring a section to the front."""
        self.tops.setCurrentIndex(list(SECTIONS).index(name))
        self.switch.show_current(name)
        self.issued_model.set_shown(self.isVisible() and name == "issued")
        self._show_again()

    def _fit_top(self) -> None:
        """Give the top no more room than the section in front needs, so that the sheet has the rest."""
        front = self.make_part if self.front == "make" else self.issued_part
        layout = front.layout()
        needed = layout.totalHeightForWidth(self.tops.width()) if layout is not None else -1
        self.tops.setMaximumHeight(max(needed, front.sizeHint().height()))

    def _on_document_opened(self) -> None:
        self.show_section("make")

    def _present(self) -> Recipe | None:
        state = self.model.state
        return None if state is None or not state.can_export else state.for_files

    def _choose_sheet(self, word: str) -> None:
        self.more.setChecked(False)
        self.model.choose_sheet(SheetKind(word))
        self.issued_model.choose_sheet(SheetKind(word))

    # -- showing -----------------------------------------------------------------------------------

    def show_state(self, state: RecipeState | None) -> None:
        """Show a state of the present recipe; showing it twice changes nothing."""
        self.make_part.render_state(state)
        self.more_part.render_state(state)
        self.size_field.render_state(state)
        if state is not None:
            self.sheet.set_value(state.sheet.value)
        self.sheet.setEnabled(state is not None)

    def _show_again(self, *_unused: object) -> None:
        state, issued = self.model.state, self.issued_model.state
        self.show_state(state)
        self.issued_part.render_state(issued)
        is_now = self.front == "make"
        for part in (self.size_label, self.size_field, self.more, self.issue):
            part.setVisible(is_now)
        for chooser in (self.issued_part.compare_label, self.issued_part.other):
            chooser.setVisible(not is_now and bool(issued.rows))
        self.sheet.setVisible(is_now or bool(issued.rows))
        self._fit_top()
        recipe = (state.recipe if state else None) if is_now else issued.recipe
        show_text(self.said, _said(state) if is_now else _said_of_issued(issued))
        self._show_warning(recipe if is_now or issued.compared is None else None)
        can_export = (state is not None and state.can_export) if is_now else issued.can_export
        is_words = not is_now and issued.compared is not None  # a comparison has no sheet
        for kind, act in self.exports.items():
            act.setEnabled(can_export and not (is_words and kind == "PDF"))
        self.print.setEnabled(can_export and not is_words)
        self.issue.setEnabled(is_now and state is not None and state.can_issue)
        is_seen = recipe is not None or (is_now and self.more.isChecked() and state is not None)
        self.sheets.setVisible(is_seen)
        self._column.setStretch(self._column.count() - 1, 0 if is_seen else 1)
        if is_now:
            self._show_now(state)
        else:
            self._show_issued(issued)

    def _show_now(self, state: RecipeState | None) -> None:
        if state is None:
            return
        if self.more.isChecked():
            self.sheets.show_form()
        elif state.recipe is None:
            return
        elif state.sheet is SheetKind.BENCH and state.pages:
            self.sheets.show_pages(state.pages, is_stale=state.is_stale)
        else:
            theme = self.workspace.theme
            html = recipe_html(state.recipe, theme, decimal=state.decimal, muted=state.is_stale)
            self.sheets.show_words(html, "The recipe")

    def _show_issued(self, state: IssuedState) -> None:
        if state.recipe is None:
            return
        if state.compared is not None:
            self.sheets.show_words(comparison_html(state.compared, self.workspace.theme), "How the recipes differ")
        elif state.sheet is SheetKind.BENCH and state.pages:
            self.sheets.show_pages(state.pages, is_stale=False)
        else:
            html = recipe_html(state.recipe, self.workspace.theme, decimal=state.decimal)
            self.sheets.show_words(html, f"Issued recipe no. {state.recipe.number}")

    def _show_warning(self, recipe: Recipe | None) -> None:
        grave = [remark for remark in recipe.remarks if remark.level != "note"] if recipe else []
        self.warning_strip.setVisible(bool(grave))
        if grave:
            more = f" And {len(grave) - 1} more below." if len(grave) > 1 else ""
            self.warning.setText(unbroken(f"{_LEVEL_SIGN[grave[0].level]}{grave[0].text}{more}"))

    # -- out of the program ------------------------------------------------------------------------

    def _shown_recipe(self) -> tuple[Recipe, SheetKind] | None:
        """Return what would be exported: the present recipe in the units of files, or the issued one as it is."""
        state, issued = self.model.state, self.issued_model.state
        if self.front == "issued":
            return None if issued.recipe is None else (issued.recipe, issued.sheet)
        recipe = self._present()
        return None if recipe is None or state is None else (recipe, state.sheet)

    def _ask_where(self, kind: str, *_unused: object) -> None:
        shown = self._shown_recipe()
        if shown is None:
            return
        model = self.model if self.front == "make" else self.issued_model
        suffix, file_filter = FORMATS[kind]
        compared = self.issued_model.state.compared if self.front == "issued" else None
        what = "comparison" if compared is not None else f"sheet {shown[1].value}"
        ask_where(
            self,
            f"Export the {what} as {kind}",
            document=self.workspace.document,
            name=file_name(shown[0], suffix, shown[1]) if compared is None else comparison_name(compared, suffix),
            file_filter=file_filter,
            done=lambda path: model.export(path, kind),
        )

    def _open_print(self) -> None:
        from stirfall.desktop.printing.sheet_dialog import SheetDialog

        shown = self._shown_recipe()
        if shown is None:
            return
        recipe, kind = shown
        decimal = self.workspace.decimal
        self.dialog = dialog = SheetDialog(
            self.workspace,
            self,
            lambda paper, _copies: sheet_job(recipe, kind, decimal=decimal, paper=paper),
            title=f"The sheet {kind.value}",
            file_name=file_name(recipe, "pdf", kind),
            words="Limits and cautions are always on it, on a further page where they need one.",
            has_copies=False,
        )
        dialog.open()

    def _open_issue(self) -> None:
        recipe = self._present()
        if recipe is None:
            return
        self.dialog = dialog = IssueDialog(in_full(recipe.probability), self)
        dialog.agreed.connect(self._issue)
        dialog.open()

    def _issue(self, note: str) -> None:
        number = self.model.issue(note)
        if number is not None:
            self.issued_model.choose(number)
            self.show_section("issued")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the top as high as it must be at the new width."""
        super().resizeEvent(event)
        self._fit_top()

    def showEvent(self, event: QShowEvent) -> None:
        """Work only while the page is in front."""
        super().showEvent(event)
        self.model.set_shown(True)
        self.issued_model.set_shown(self.front == "issued")

    def hideEvent(self, event: QHideEvent) -> None:
        """Rest while another page is in front."""
        super().hideEvent(event)
        self.model.set_shown(False)
        self.issued_model.set_shown(False)


def _said(state: RecipeState | None) -> str:
    if state is None:
        return "Open a session or make a new one; the recipe is made from its attempts."
    if state.problem is not None and state.recipe is None:
        return sentence(state.problem.code, state.problem.params, decimal=state.decimal)
    if state.recipe is None:
        return "The recipe appears here when the attempts are worked out."
    return ""


def _said_of_issued(state: IssuedState) -> str:
    if state.problem is not None:
        return sentence(state.problem.code, state.problem.params, decimal=state.decimal)
    row = next((row for row in state.rows if row.number == state.chosen), None)
    if row is None or state.compared is not None:
        return ""
    note = f": {row.note}" if row.note else ""
    return f"No. {row.number}, as it was issued {row.issued_at.astimezone():%Y-%m-%d %H:%M}{note}"
