"""The fields of one group: a level of a list, two ends, or numbers of attempts."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, set_flag
from stirfall.desktop.bench_form.value_edit import ValueEdit
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.evidence.compare_state import CHOSEN, LEVEL, PERIOD, RANGE, GroupState
from stirfall.desktop.labelled import name_control
from stirfall.desktop.plan.cards import fixed_label
from stirfall.desktop.plan.parts import show_text

_FEWEST, _MOST = 10, 22  # letters of a list
_HINTS = {RANGE: ("lowest", "highest"), PERIOD: ("2026-01-01", "2026-02-01")}


def fill_combo(combo: CalmCombo, choices: tuple[tuple[str, str], ...], value: str) -> None:
    """Show these choices, each as key and text, with one of them chosen; the same ones are left alone."""
    with QSignalBlocker(combo):
        if [(combo.itemData(at), combo.itemText(at)) for at in range(combo.count())] != list(choices):
            combo.clear()
            for key, text in choices:
                combo.addItem(text, key)
            longest = max((len(text) for _, text in choices), default=0)
            combo.setMinimumContentsLength(min(max(longest + 1, _FEWEST), _MOST))
        combo.setCurrentIndex(combo.findData(value))


class GroupEdit(QWidget):
    """One group; which fields it has follows from what groups are about.

    Signals:
        level_chosen(str), end_typed(str, str): the end "low" or "high" and its text; text_typed(str).
    """

    level_chosen = Signal(str)
    end_typed = Signal(str, str)
    text_typed = Signal(str)

    def __init__(self, title: str, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setAccessibleName(title)
        self.title = fixed_label(role="muted")
        self.title.setText(title)
        self.level = CalmCombo()
        self.low, self.high, self.text = (ValueEdit(f"{name}_{part}") for part in ("low", "high", "text"))
        self.to, self.unit = fixed_label(), fixed_label(role="muted")
        self.to.setText("to")
        self._lay_out(title, name)
        self.level.activated.connect(lambda place: self.level_chosen.emit(str(self.level.itemData(place))))
        self.low.textEdited.connect(lambda text: self.end_typed.emit("low", text))
        self.high.textEdited.connect(lambda text: self.end_typed.emit("high", text))
        self.text.textEdited.connect(self.text_typed)

    def _lay_out(self, title: str, name: str) -> None:
        self.level.setObjectName(f"{name}_level")
        self.level.setMinimumHeight(TARGET)
        name_control(self.level, title, "Which level this group has")
        name_control(self.low, f"{title}: from", "The lower end, included; empty for none")
        name_control(self.high, f"{title}: to", "The upper end, included; empty for none")
        name_control(self.text, f"{title}: attempts", "Numbers of attempts, such as 3, 5, 9-12")
        for field, letters in ((self.low, 12), (self.high, 12), (self.text, 24)):
            field.setMinimumHeight(TARGET)
            field.setMinimumWidth(letters * GAP)
        holder = QWidget()
        row = FlowLayout(holder, gap=HALF_GAP)
        for part in (self.level, self.low, self.to, self.high, self.unit, self.text):
            row.addWidget(part)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(HALF_GAP)
        for widget in (self.title, holder):
            column.addWidget(widget)

    def show_group(self, group: GroupState, kind: str, levels: tuple[tuple[str, str], ...], unit: str) -> None:
        """Show a group; a field that is being typed in keeps its text."""
        has_ends = kind in (RANGE, PERIOD)
        self.level.setVisible(kind == LEVEL)
        self.text.setVisible(kind == CHOSEN)
        parts: tuple[QLabel | ValueEdit, ...] = (self.low, self.to, self.high)
        for part in parts:
            part.setVisible(has_ends)
        show_text(self.unit, unit if kind == RANGE else "")
        if kind == LEVEL:
            fill_combo(self.level, levels, group.level)
        hints = _HINTS.get(kind, ("", ""))
        for field, hint, value in ((self.low, hints[0], group.low), (self.high, hints[1], group.high)):
            field.setPlaceholderText(hint)
            _show_value(field, value)
            field.setMinimumWidth((18 if kind == PERIOD else 10) * GAP)
        self.text.setPlaceholderText("3, 5, 9-12")
        _show_value(self.text, group.text)
        for field in (self.low, self.high, self.text):
            set_flag(field, "problem", bool(group.problem) and field.isVisibleTo(self))


def _show_value(field: ValueEdit, value: str) -> None:
    if field.text() != value:
        field.setText(value)
