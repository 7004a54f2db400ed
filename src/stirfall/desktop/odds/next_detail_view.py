"""What is said of one suggestion, in the place of the picture: it opens there, so that nothing else moves."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.elided import ElidedLabel
from stirfall.desktop.odds.goal_choice import recipe_goal
from stirfall.desktop.odds.scrolled import KeyScroll, WrappedLabel, wrapped_label
from stirfall.desktop.odds.state import DetailLine, OddsState, SuggestionRow
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence

_CAUTION_SIGN = "⚠"
_JOINER = "\u2060"  # no line ends between a stroke and what follows it


class NextDetailView(QFrame):
    """The title, the values and the labelled paragraphs of one suggestion or of the recommended recipe.

    Signals:
        closed(): the picture shall come back.
        taken(): what is explained shall go into the form.
    """

    closed = Signal()
    taken = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_why")
        set_surface_role(self, "raised")
        self._shown: tuple[DetailLine, ...] | None = None
        self.title = ElidedLabel()
        self.title.setObjectName("odds_why_title")
        set_text_role(self.title, "heading")
        self.take = self._button("odds_why_take", "Put into form")
        name_control(self.take, "Put into form", "Put these conditions into the bench form")
        self.take.clicked.connect(self.taken)
        self.close_button = self._button("odds_why_close", "Close")
        name_control(self.close_button, "Close the explanation", "Close this and show the picture again")
        self.close_button.clicked.connect(self.closed)
        self.values = wrapped_label("odds_why_values")
        self.area = KeyScroll()
        self.area.setObjectName("odds_why_area")
        self.area.setWidgetResizable(True)
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumHeight(150)
        self._arrange()

    def _button(self, name: str, text: str) -> QPushButton:
        button = QPushButton(text)
        button.setObjectName(name)
        button.setMinimumHeight(TARGET)
        return button

    def _arrange(self) -> None:
        top = QHBoxLayout()
        top.setSpacing(SPACING)
        top.addWidget(self.title, 1)
        top.addWidget(self.take)
        top.addWidget(self.close_button)
        column = QVBoxLayout(self)
        column.setContentsMargins(SPACING, SPACING // 2, SPACING // 2, SPACING // 2)
        column.setSpacing(SPACING // 2)
        column.addLayout(top)
        column.addWidget(self.area, 1)

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show what is explained in a state; the same lines again change nothing."""
        row = state.explained
        self.title.setText(self._title(state))
        self.take.setVisible(state.why == "recipe")  # a suggestion has the button of its row
        self.take.setEnabled(row is not None and not state.suggestions_are_stale)
        lines = _lines(row, state)
        if lines == self._shown:
            return
        self._shown = lines
        name_control(self.area, self.title.text(), _said(lines))
        old = self.area.takeWidget()
        if old is not None:
            old.deleteLater()
        self.area.setWidget(_filled(lines))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape brings the picture back."""
        if event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

    def _title(self, state: OddsState) -> str:
        if state.why == "recipe":
            return sentence("next.recipe_title", {"goal": recipe_goal(state.goal)})
        return sentence("next.suggestion_title", {"number": int(state.why or "0") + 1})


def _lines(row: SuggestionRow | None, state: OddsState) -> tuple[DetailLine, ...]:
    if row is None:
        note = state.recipe_note if state.why == "recipe" else state.suggestions_note
        return (DetailLine("", (note,)),)
    values = ", ".join(f"{value.name} {value.text}" for value in row.values)
    return (DetailLine("Set", (values,)), *row.details)


def _said(lines: tuple[DetailLine, ...]) -> str:
    return " ".join(
        f"{line.label}: {' '.join(line.texts)}" if line.label else " ".join(line.texts) for line in lines
    )


def _filled(lines: tuple[DetailLine, ...]) -> QWidget:
    sheet = QWidget()
    sheet.setBackgroundRole(QPalette.ColorRole.Base)  # the raised surface, without the edge of a second box
    grid = QGridLayout(sheet)
    grid.setContentsMargins(0, 0, SPACING, 0)
    grid.setHorizontalSpacing(2 * SPACING)
    grid.setVerticalSpacing(SPACING // 2)
    grid.setColumnStretch(1, 1)
    for place, line in enumerate(lines):
        label = WrappedLabel(line.label)
        set_text_role(label, "muted")
        grid.addWidget(label, place, 0, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(_paragraphs(line), place, 1)
    grid.setRowStretch(len(lines), 1)
    return sheet


def _paragraphs(line: DetailLine) -> QWidget:
    sheet = QWidget()
    column = QVBoxLayout(sheet)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(2)
    for text in line.texts:
        paragraph = wrapped_label("")
        paragraph.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        whole = text.replace("/", f"/{_JOINER}")
        paragraph.setText(f"{_CAUTION_SIGN} {whole}" if line.is_caution else whole)
        if line.is_caution:
            set_text_role(paragraph, "caution")
        column.addWidget(paragraph)
    return sheet
