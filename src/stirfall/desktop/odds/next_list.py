"""The next attempts as rows: what to set, what to expect, why, and a button that puts it into the form."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import Literal

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.elided import ElidedLabel
from stirfall.desktop.odds.goal_choice import GoalButton, goal_meaning
from stirfall.desktop.odds.phrases import sure
from stirfall.desktop.odds.state import OddsState, SuggestionRow, ValueShown
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent, span

ROWS = 3
_LINES, _BOLD = 2, 1.08
Density = Literal["brief", "normal", "roomy"]


class SuggestionWidget(QFrame):
    """One suggestion. The whole row takes it in hand, its button puts it into the form.

    Signals:
        looked_at(int): the row was clicked or confirmed by key.
        taken(int): the button was pressed.
        opened(int): the row got the focus, so its reason shall show.
        asked_why(str): the button "Why" was pressed; carries the place of the row.
    """

    looked_at = Signal(int)
    taken = Signal(int)
    opened = Signal(int)
    asked_why = Signal(str)

    def __init__(self, index: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._index = index
        self._row: SuggestionRow | None = None
        self.setObjectName(f"odds_next_{index + 1}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        set_surface_role(self, "raised")
        self._is_brief = False
        self.values = QLabel()
        self.values.setTextFormat(Qt.TextFormat.RichText)
        self.values.setWordWrap(True)
        self.values.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.chance = QLabel()
        self.chance.setTextFormat(Qt.TextFormat.RichText)
        self.chance.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self.why = QLabel()
        self.why.setTextFormat(Qt.TextFormat.RichText)
        self.why.setWordWrap(True)
        set_text_role(self.why, "muted")
        self.button = QPushButton("Put into form")
        self.button.setObjectName(f"odds_next_{index + 1}_take")
        self.button.clicked.connect(lambda: self.taken.emit(self._index))
        self.ask_why = QPushButton("Why")
        self.ask_why.setObjectName(f"odds_next_{index + 1}_why")
        self.ask_why.setCheckable(True)
        self.ask_why.clicked.connect(lambda: self.asked_why.emit(str(self._index)))
        for button in (self.button, self.ask_why):
            button.setMinimumHeight(TARGET)
        grid = QGridLayout(self)
        grid.setContentsMargins(SPACING, SPACING // 4, SPACING // 4, SPACING // 4)
        grid.setHorizontalSpacing(SPACING)
        grid.setVerticalSpacing(2)
        grid.addWidget(self.values, 0, 0)
        grid.addWidget(self.chance, 0, 1)
        grid.addWidget(self.ask_why, 0, 2)
        grid.addWidget(self.button, 0, 3)
        grid.addWidget(self.why, 1, 0, 1, 4)
        grid.setColumnStretch(0, 1)

    def render(  # type: ignore[override]
        self, row: SuggestionRow, *, is_open: bool, is_brief: bool, is_stale: bool, is_explained: bool
    ) -> None:
        """Show a suggestion; ``is_open`` adds its reason, ``is_brief`` saves lines where there are few."""
        self._row, self._is_brief = row, is_brief
        bounds = escape(span(row.estimate.lower, row.estimate.upper))
        self.chance.setText(f"<b>{escape(percent(row.estimate.mean))}</b><br>{bounds}")
        self.why.setVisible(is_open and not is_brief)
        for label in (self.values, self.chance):
            set_text_role(label, "muted" if is_stale else "")
        self.button.setEnabled(not is_stale)
        whole = ", ".join(f"{value.name} {value.text}" for value in row.values)
        name = f"Suggestion {self._index + 1}: {whole}"
        remarks = " ".join(part for part in (row.flag, row.jar) if part)
        said = f"{sure(row.estimate)}. {row.reason} {remarks}"
        self.setAccessibleName(name)
        self.setAccessibleDescription(said.strip())
        self.setToolTip(whole)
        name_control(self.button, f"Put suggestion {self._index + 1} into the form", whole)
        self.ask_why.setChecked(is_explained)
        name_control(self.ask_why, f"Why suggestion {self._index + 1}", sentence("next.about_why"))
        self._fit()

    def _fit(self) -> None:
        """Show as many values as fit beside the button, those that differ first; the others go below."""
        row = self._row
        if row is None:
            return
        room = max(self.values.width(), 120)
        flag = sentence("next.untried") if row.flag and self._is_brief else row.flag
        marks = " ".join(escape(part) for part in (row.jar, flag) if part)
        lines_of_values = 1 if self._is_brief and marks else _LINES
        width_of = self.values.fontMetrics().horizontalAdvance
        shown, rest = _fitting(row, width_of, room, most=lines_of_values)
        if self._is_brief:
            below = f"<br><b>{marks}</b>" if marks else ""
            line = f"1   {shown[0].name} {shown[0].text}  +88 " if shown else ""
            more = len(rest) if lines_of_values > 1 or width_of(line) * _BOLD <= room else 0
            self.values.setText(_values_html(self._index, shown, more=more) + below)
            return
        self.values.setText(_values_html(self._index, shown, more=0))
        lines = [escape(_rest_text(row, rest)), escape(row.reason), f"<b>{marks}</b>" if marks else ""]
        self.why.setText("<br>".join(line for line in lines if line))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the values to the new width."""
        super().resizeEvent(event)
        self._fit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the suggestion in hand."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.looked_at.emit(self._index)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter or Space takes it in hand; up and down go to the neighbours."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.looked_at.emit(self._index)
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.opened.emit(self._index + (1 if event.key() == Qt.Key.Key_Down else -1))
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: object) -> None:
        """Show the reason of the row that has the keyboard."""
        super().focusInEvent(event)  # type: ignore[arg-type]
        self.opened.emit(self._index)


class NextList(QWidget):
    """Heading, recipe, choice of a goal, up to three suggestions, and a note where there is something to say.

    Signals:
        goal_chosen(str), looked_at(int), taken(int).
        asked_why(str): a suggestion by its place, or "recipe", shall be explained, or no longer.
    """

    goal_chosen = Signal(str)
    looked_at = Signal(int)
    taken = Signal(int)
    asked_why = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_next")
        self._open = 0
        self._density: Density = "normal"
        self._state = OddsState()
        self.heading = QLabel("Next attempts")
        set_text_role(self.heading, "heading")
        self.lot = ElidedLabel()
        self.lot.setObjectName("odds_next_lot")
        set_text_role(self.lot, "muted")
        self.recipe = QPushButton("Recipe")
        self.recipe.setObjectName("odds_recipe")
        self.recipe.setCheckable(True)
        self.recipe.setMinimumHeight(TARGET)
        name_control(self.recipe, "Recommended recipe", sentence("next.about_recipe"))
        self.recipe.clicked.connect(lambda: self.asked_why.emit("recipe"))
        self.goal = GoalButton()
        self.goal.chosen.connect(self.goal_chosen)
        self.note = QLabel()
        self.note.setObjectName("odds_next_note")
        self.note.setWordWrap(True)
        self.rows = [SuggestionWidget(index) for index in range(ROWS)]
        self._arrange()

    def _arrange(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(SPACING // 2)
        top.addWidget(self.heading)
        top.addSpacing(SPACING // 2)
        top.addWidget(self.lot, 1)
        top.addWidget(self.recipe)
        top.addWidget(self.goal)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING // 4)
        column.addLayout(top)
        column.addWidget(self.note)
        for row in self.rows:
            column.addWidget(row)
            row.looked_at.connect(self.looked_at)
            row.taken.connect(self.taken)
            row.opened.connect(self._open_row)
            row.asked_why.connect(self.asked_why)

    def set_density(self, density: Density) -> None:
        """Show all reasons at once where there is room for them, only the short form where there is little."""
        if density != self._density:
            self._density = density
            self.render(self._state)

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show the next attempts of a state."""
        self._state = state
        self.goal.show_goal(state.goal)
        self.recipe.setChecked(state.why == "recipe")
        meaning = goal_meaning(state.goal)
        self.lot.setText(f"{state.suggestions_for} {meaning[:1].upper()}{meaning[1:]}.".strip())
        self.note.setText(state.suggestions_note)
        self.note.setVisible(bool(state.suggestions_note))
        self._open = min(self._open, max(len(state.suggestions) - 1, 0))
        for index, row in enumerate(self.rows):
            there = index < len(state.suggestions)
            row.setVisible(there)
            if there:
                row.render(
                    state.suggestions[index],
                    is_open=self._density == "roomy" or index == self._open,
                    is_brief=self._density == "brief",
                    is_stale=state.suggestions_are_stale,
                    is_explained=state.why == str(index),
                )

    def focus_why(self, why: str) -> None:
        """Give the keyboard to the button that explains a suggestion or the recipe."""
        button = self.recipe if why == "recipe" else self.rows[int(why or "0")].ask_why
        button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _open_row(self, index: int) -> None:
        if not 0 <= index < len(self._state.suggestions):
            return
        if index != self._open:
            self._open = index
            self.render(self._state)
        if not self.rows[index].hasFocus():
            self.rows[index].setFocus(Qt.FocusReason.OtherFocusReason)


def _fitting(
    row: SuggestionRow, width_of: Callable[[str], int], room: float, *, most: int
) -> tuple[list[ValueShown], list[ValueShown]]:
    """Split the values into those that fit on ``most`` lines and the rest; values that differ come first."""
    ordered = [value for value in row.values if value.differs] or list(row.values)
    shown: list[ValueShown] = []
    line, used = 1, float(width_of("1   +88 "))
    for value in ordered:
        width = float(width_of(f"{value.name} {value.text}   ")) * _BOLD
        if used + width > room:
            line, used = line + 1, 0.0
        if shown and line > most:
            break
        used += width
        shown.append(value)
    return shown, ordered[len(shown) :]


def _values_html(index: int, shown: list[ValueShown], *, more: int) -> str:
    parts = [f"{_unbroken(value.name)}&nbsp;<b>{_unbroken(value.text)}</b>" for value in shown]
    parts += [f"+{more}"] if more else []
    return f"{index + 1}&nbsp;&nbsp; " + "&nbsp; ".join(parts)


def _unbroken(text: str) -> str:
    """Return the text as HTML that stays on one line; a word joiner keeps "1/min" whole."""
    return escape(text).replace(" ", "&nbsp;").replace("\u2009", "&nbsp;").replace("/", "/&#8288;")


def _rest_text(row: SuggestionRow, rest: list[ValueShown]) -> str:
    more = ", ".join(f"{value.name} {value.text}" for value in rest)
    same = any(not value.differs for value in row.values) and any(value.differs for value in row.values)
    if same and row.compared_with:
        tail = f"otherwise as {row.compared_with}"
        more = f"{more}; {tail}" if more else tail
    return f"{more[:1].upper()}{more[1:]}." if more else ""
