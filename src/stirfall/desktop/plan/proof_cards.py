"""The cards of "Proof": a plan to choose, and an attempt that was marked; and the lines of a recipe."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, set_flag
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card, fixed_label
from stirfall.desktop.plan.proof_state import PlanChoice, ProofLine, RecipeLine
from stirfall.desktop.plan.tonight_cards import ChanceView
from stirfall.desktop.theme import set_text_role

_CHOSEN, _OPEN = "●", "○"
_CHANCE_LETTERS = 18


class PlanCard(Card):
    """One plan: its size, its rule, and the chance that it succeeds if it is started now."""

    def __init__(self, at: int) -> None:
        super().__init__(f"proof_plan_{at + 1}")
        self.mark = fixed_label(role="heading")
        self.amount, self.rule = wrapped_label("", "heading"), wrapped_label("")
        self.expected = wrapped_label("", "muted")
        self.chance = ChanceView()
        grid = QGridLayout(self)
        grid.setContentsMargins(GAP, GAP, GAP, GAP)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.addWidget(self.mark, 0, 0, Qt.AlignmentFlag.AlignTop)
        words = QVBoxLayout()
        words.setSpacing(0)
        for part in (self.amount, self.rule, self.expected):
            words.addWidget(part)
        grid.addLayout(words, 0, 1, Qt.AlignmentFlag.AlignTop)
        grid.addWidget(self.chance, 0, 2, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(1, 1)
        self._grid = grid

    def render_plan(self, plan: PlanChoice, *, is_chosen: bool, is_stale: bool) -> None:
        """Show a plan."""
        self._grid.setColumnMinimumWidth(2, _CHANCE_LETTERS * self.fontMetrics().averageCharWidth())
        self.mark.setText(_CHOSEN if is_chosen else _OPEN)
        self.amount.setText(plan.size)
        self.rule.setText(plan.rule)
        self.expected.setText(plan.expected)
        self.chance.show_chance(plan.chance, self.theme, is_stale=is_stale)
        set_text_role(self.rule, "muted" if is_stale else "")
        chosen = "chosen" if is_chosen else "not chosen"
        parts = (chosen, plan.rule, f"Chance to succeed if started now: {plan.chance.in_full}", plan.expected)
        self.tell(plan.size, ". ".join(part.rstrip(".") for part in (*parts, plan.warning) if part))
        self.setToolTip("Enter takes this plan")


class AttemptCard(Card):
    """One attempt that is marked for the proof."""

    def __init__(self, at: int) -> None:
        super().__init__(f"proof_attempt_{at + 1}")
        self.place, self.number = fixed_label(role="heading"), fixed_label(role="muted")
        self.outcome, self.said = fixed_label(), wrapped_label("", "muted")
        row = QGridLayout(self)
        row.setContentsMargins(GAP, HALF_GAP, GAP, HALF_GAP)
        row.setHorizontalSpacing(2 * GAP)
        for column, part in enumerate((self.place, self.outcome, self.number, self.said)):
            row.addWidget(part, 0, column)
        row.setColumnStretch(3, 1)
        self._row = row

    def render_line(self, line: ProofLine) -> None:
        """Show an attempt."""
        letters = self.fontMetrics().averageCharWidth()
        for column, wide in ((0, 5), (1, 18), (2, 14)):
            self._row.setColumnMinimumWidth(column, wide * letters)
        self.place.setText(line.place or "–")
        self.outcome.setText(f"{line.glyph} {line.word}")
        self.number.setText(f"attempt {line.number}")
        self.said.setText(line.said)
        place = f"{line.place} of the proof" if line.place else "does not count"
        self.tell(f"Attempt {line.number}: {line.word}", f"{place}. {line.said}")
        self.setToolTip("Enter looks at its odds")


class RecipeTable(QWidget):
    """The factors of a recipe: their values, and how far an attempt may lie from them."""

    def __init__(self, typed: Callable[[str, str], None]) -> None:
        super().__init__()
        self.setObjectName("proof_recipe")
        self.setAccessibleName("The recipe of the proof")
        self._typed = typed
        self._names: tuple[tuple[str, bool], ...] = ()
        self.widths: dict[str, QLineEdit] = {}
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GAP)
        self._grid.setVerticalSpacing(HALF_GAP)
        self._grid.setColumnStretch(5, 1)

    def show_lines(self, lines: tuple[RecipeLine, ...], *, may_type: bool) -> None:
        """Show a recipe; the fields are kept while the factors stay the same."""
        self.setVisible(bool(lines))
        names = tuple((line.name, bool(line.unit or line.width) and may_type) for line in lines)
        if names != self._names:
            self._build(lines, names)
        for at, line in enumerate(lines):
            value = self._item(at, 1)
            value.setText(line.value)
            field = self.widths.get(line.name)
            if field is None:
                shown = f"± {line.width} {line.unit}".rstrip() if line.width else "the same"
                self._item(at, 2).setText(shown)
                continue
            if field.text() != line.width:
                field.setText(line.width)
            set_flag(field, "problem", bool(line.problem))
            field.setToolTip(line.problem)
            self._item(at, 4).setText(line.problem or line.unit)

    def _item(self, row: int, column: int) -> QLabel:
        item = self._grid.itemAtPosition(row, column)
        found = None if item is None else item.widget()
        assert isinstance(found, QLabel), "the table was built for these lines"
        return found

    def _build(self, lines: tuple[RecipeLine, ...], names: tuple[tuple[str, bool], ...]) -> None:
        while (item := self._grid.takeAt(0)) is not None:
            if (old := item.widget()) is not None:
                old.hide()
                old.deleteLater()
        self._names, self.widths = names, {}
        for at, (line, (_, may_type)) in enumerate(zip(lines, names, strict=True)):
            self._grid.addWidget(fixed_label(role="muted"), at, 0)
            self._item(at, 0).setText(line.name)
            self._grid.addWidget(fixed_label(), at, 1)
            if not may_type:
                self._grid.addWidget(fixed_label(role="muted"), at, 2)
                continue
            plus_minus = fixed_label(role="muted")
            plus_minus.setText("±")
            field = ValueEdit(f"proof_width_{at + 1}")
            field.setFixedWidth(80)
            field.setMinimumHeight(TARGET)
            field.setAccessibleName(f"How far {line.name} may lie from the recipe")
            field.textEdited.connect(lambda text, name=line.name: self._typed(name, text))
            for column, part in ((2, plus_minus), (3, field), (4, fixed_label(role="muted"))):
                self._grid.addWidget(part, at, column)
            self.widths[line.name] = field
