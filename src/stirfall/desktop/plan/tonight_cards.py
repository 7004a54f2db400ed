"""The cards of "Tonight": an attempt of the timetable, a jar that may wait, a jar to start."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.cards import Card, fixed_label, rich_label, values_html, values_text
from stirfall.desktop.plan.chance_bar import ChanceBar
from stirfall.desktop.plan.tonight_state import (
    DONE,
    GONE,
    NEXT_UP,
    PURPOSES,
    VERDICTS,
    Chance,
    DecisionLine,
    StartLine,
    TimetableLine,
)
from stirfall.desktop.theme import Theme, set_text_role

_STATUS = {NEXT_UP: "➤ in turn", DONE: "✔ done", GONE: "— gone"}
_LETTERS = {"": 0, "clock": 10, "jar": 7, "chance": 16, "when": 18, "wide chance": 20}
_WIDE = 88  # letters, beyond which a reason needs few lines beside the chance


class ChanceView(QWidget):
    """A probability: large, with its interval, a bar, and what it rests on."""

    def __init__(self) -> None:
        super().__init__()
        self.mean = fixed_label(role="heading")
        self.span = fixed_label()
        self.basis = fixed_label(role="muted")
        self.bar = ChanceBar()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for part in (self.mean, self.bar, self.span, self.basis):
            column.addWidget(part)
        column.addStretch(1)

    def show_chance(self, chance: Chance | None, theme: Theme, *, is_stale: bool, unknown: str = "") -> None:
        """Show a probability; None shows the word for what is not known."""
        self.mean.setText(chance.mean if chance else unknown)
        self.span.setText(chance.span if chance else "")
        self.basis.setText(chance.basis if chance else "")
        self.bar.setVisible(chance is not None)
        self.bar.show_chance(chance.shares if chance else None, theme, is_stale=is_stale)
        set_text_role(self.mean, "heading" if chance else "muted")
        set_text_role(self.span, "muted" if is_stale else "")


class LineCard(Card):
    """One attempt of the timetable: when, which jar, how likely, under which conditions, and why."""

    def __init__(self, at: int) -> None:
        super().__init__(f"plan_line_{at + 1}")
        self.pause = wrapped_label("", "muted")
        self.clock, self.jar = fixed_label(role="heading"), fixed_label(role="heading")
        self.purpose, self.lot = fixed_label(), fixed_label(role="muted")
        self.values = rich_label("")
        self.became = wrapped_label("")
        # What is untried, and the reason, stand in two places, of which the width chooses one: moving a widget to
        # another cell while its card is being resized is not safe.
        self._beside = (wrapped_label(""), wrapped_label("", "muted"))
        self._below = (wrapped_label(""), wrapped_label("", "muted"))
        self.chance = ChanceView()
        grid = _grid(self)
        grid.addWidget(self.pause, 0, 0, 1, 4)
        _stack(grid, 0, self.clock, self.purpose)
        _stack(grid, 1, self.jar, self.lot)
        _stack(grid, 2, self.values, self.became, *self._beside)
        grid.addWidget(self._below[0], 2, 2, 1, 2)
        grid.addWidget(self._below[1], 3, 2, 1, 2)
        grid.addWidget(self.chance, 1, 3, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(2, 1)
        self._grid = grid
        self._is_wide = False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the reason stand beside the chance where there is width for it, else below both."""
        super().resizeEvent(event)
        is_wide = self.width() > _WIDE * self.fontMetrics().averageCharWidth()
        if is_wide != self._is_wide:
            self._is_wide = is_wide
            self._show_remarks()

    def _show_remarks(self) -> None:
        for beside, below in zip(self._beside, self._below, strict=True):
            beside.setVisible(self._is_wide and bool(beside.text()))
            below.setVisible(not self._is_wide and bool(below.text()))

    def render_line(self, line: TimetableLine, *, is_stale: bool) -> None:
        """Show an attempt; one that is over says what it became and no more."""
        has_panel = line.status == NEXT_UP  # the panel above shows it large
        _keep_columns(self, self._grid, {0: "clock", 1: "jar", 3: "" if has_panel or line.is_over else "chance"})
        glyph, word = PURPOSES[line.purpose]
        self.clock.setText(line.clock)
        self.purpose.setText(_STATUS.get(line.status, f"{glyph} {word}"))
        self.jar.setText(line.jar)
        self.lot.setText(line.lot)
        self.values.setText(values_html(line.values))
        self.values.setVisible(not line.is_over and not has_panel)
        self.pause.setText(line.pause)
        remarks = ("", "") if line.is_over or has_panel else (line.outside, line.why)
        for labels in (self._beside, self._below):
            for label, text in zip(labels, remarks, strict=True):
                label.setText(text)
        self._show_remarks()
        self.became.setText(line.why if has_panel else line.became)
        self.became.setVisible(bool(self.became.text()))
        self.pause.setVisible(bool(line.pause))
        self.chance.setVisible(line.chance is not None and not has_panel)
        self.chance.show_chance(line.chance, self.theme, is_stale=is_stale)
        for label in (self.values, self.purpose):
            set_text_role(label, "muted" if is_stale or line.is_over else "")
        status = _STATUS.get(line.status, "").partition(" ")[2]
        name = ", ".join(part for part in (f"{line.place}: {line.clock}, jar {line.jar}", word, status) if part)
        chance = line.chance.in_full if line.chance else ""
        parts = (chance, values_text(line.values), line.became, line.outside, line.why, line.pause)
        self.tell(name, ". ".join(part.rstrip(".") for part in parts if part))
        self.setToolTip("Enter looks at its odds")


class DecisionCard(Card):
    """One jar of the shelf: the chance now, the best to come, and what to do about it."""

    def __init__(self, at: int) -> None:
        super().__init__(f"plan_decision_{at + 1}")
        self.jar, self.lot = fixed_label(role="heading"), fixed_label(role="muted")
        self.verdict, self.why = wrapped_label("", "heading"), wrapped_label("", "muted")
        self.now_word, self.later_word = fixed_label(role="muted"), fixed_label(role="muted")
        self.now, self.later = ChanceView(), ChanceView()
        grid = _grid(self)
        _stack(grid, 0, self.jar, self.lot)
        _stack(grid, 1, self.verdict, self.why)
        _stack(grid, 2, self.now_word, self.now)
        _stack(grid, 3, self.later_word, self.later)
        grid.setColumnStretch(1, 1)
        self._grid = grid

    def render_line(self, line: DecisionLine, *, is_stale: bool) -> None:
        """Show a jar."""
        _keep_columns(self, self._grid, {0: "jar", 2: "chance", 3: "chance"})
        glyph, word = VERDICTS[line.verdict]
        self.jar.setText(line.jar)
        self.lot.setText(line.lot)
        self.verdict.setText(f"{glyph} {word}")
        self.why.setText(line.why)
        self.now_word.setText("now" if line.now else "")
        self.later_word.setText(line.when)
        self.now.show_chance(line.now, self.theme, is_stale=is_stale)
        self.later.show_chance(line.later, self.theme, is_stale=is_stale)
        parts = (
            f"now {line.now.in_full}" if line.now else "",
            f"best {line.when} {line.later.in_full}" if line.later else "",
            line.why,
        )
        self.setToolTip("Enter looks at its odds" if line.now else "")
        self.tell(f"Jar {line.jar}: {word}", ". ".join(part.rstrip(".") for part in parts if part))


class StartCard(Card):
    """One jar to start: when, how filled, how old on the evening, how likely then, and why."""

    def __init__(self, at: int) -> None:
        super().__init__(f"plan_start_{at + 1}")
        self.when, self.lot = fixed_label(role="heading"), fixed_label(role="muted")
        self.filled, self.why = wrapped_label(""), wrapped_label("", "muted")
        self.chance = ChanceView()
        grid = _grid(self)
        _stack(grid, 0, self.when, self.lot)
        _stack(grid, 1, self.filled, self.why)
        grid.addWidget(self.chance, 1, 2, Qt.AlignmentFlag.AlignTop)
        grid.setColumnStretch(1, 1)
        self._grid = grid

    def render_line(self, line: StartLine, *, is_stale: bool) -> None:
        """Show a jar to start."""
        _keep_columns(self, self._grid, {0: "when", 2: "wide chance"})
        self.when.setText(f"{'▶' if line.is_now else '◷'} {line.when}")
        self.lot.setText(f"lot {line.lot}")
        self.filled.setText(f"{line.age} old then; {line.filled}")
        self.why.setText(line.why)
        self.chance.show_chance(line.chance, self.theme, is_stale=is_stale)
        chance = line.chance.in_full if line.chance else ""
        parts = (self.filled.text(), chance, line.why)
        self.tell(f"Start {line.when}, lot {line.lot}", ". ".join(part.rstrip(".") for part in parts if part))


def _grid(card: Card) -> QGridLayout:
    grid = QGridLayout(card)
    grid.setContentsMargins(GAP, HALF_GAP, GAP, HALF_GAP)
    grid.setHorizontalSpacing(GAP)
    grid.setVerticalSpacing(HALF_GAP)
    card.setMinimumHeight(TARGET)
    return grid


def _stack(grid: QGridLayout, column: int, *parts: QWidget) -> None:
    box = QVBoxLayout()
    box.setContentsMargins(0, 0, 0, 0)
    box.setSpacing(2)
    for part in parts:
        box.addWidget(part)
    box.addStretch(1)
    grid.addLayout(box, 1, column)


def _keep_columns(card: Card, grid: QGridLayout, columns: dict[int, str]) -> None:
    """Give columns a width that follows the text, so that they stand under each other in all cards."""
    letter = card.fontMetrics().averageCharWidth()
    for column, kind in columns.items():
        grid.setColumnMinimumWidth(column, letter * _LETTERS[kind])
