"""The checks as lines with their details on demand, and the attempts that pull the fit."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.odds.trust_state import STANDING_MARKS, CheckLine, PullLine
from stirfall.desktop.theme import SPACING, Theme, set_button_role, set_text_role

_MARK_LETTERS = "▲ too few to say "
_LINK_PADDING = 5  # what a link has above its text, so that both stand on one line


class CheckWidget(QWidget):
    """One check: its mark as shape and word, its sentence, and a button for the details.

    Signals:
        toggled(str, bool): the details of the check with this key shall be shown or hidden.
    """

    toggled = Signal(str, bool)

    def __init__(self, index: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key = ""
        name = f"odds_trust_check_{index + 1}"
        self.setObjectName(name)
        self.mark = QLabel()
        self.mark.setObjectName(f"{name}_mark")
        self.mark.setTextFormat(Qt.TextFormat.RichText)
        self.text, self.details = wrapped_label(f"{name}_text"), wrapped_label(f"{name}_details", "muted")
        self.more = QPushButton("Details")
        self.more.setObjectName(f"{name}_more")
        self.more.setCheckable(True)
        set_button_role(self.more, "link")
        self.more.clicked.connect(lambda shown: self.toggled.emit(self._key, shown))
        for label in (self.mark, self.text):
            label.setContentsMargins(0, _LINK_PADDING, 0, 0)
        self.text.setAlignment(Qt.AlignmentFlag.AlignTop)
        top = QHBoxLayout()
        top.setSpacing(SPACING)
        top.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        top.addWidget(self.text, 1)
        top.addWidget(self.more, 0, Qt.AlignmentFlag.AlignTop)
        self._indent = QHBoxLayout()
        self._indent.addWidget(self.details)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(top)
        column.addLayout(self._indent)

    def render(self, line: CheckLine, *, theme: Theme, is_stale: bool, is_open: bool) -> None:  # type: ignore[override]
        """Show a check."""
        self._key = line.key
        glyph, word = STANDING_MARKS[line.standing]
        colour = theme.caution if line.standing == "look" and not is_stale else theme.muted
        weight = "bold" if line.standing == "look" else "normal"
        self.mark.setText(
            f'<span style="color:{colour}; font-weight:{weight}">{escape(glyph)}&nbsp;{escape(word)}</span>'
        )
        wide = self.fontMetrics().horizontalAdvance(_MARK_LETTERS)
        self.mark.setFixedWidth(wide)
        self._indent.setContentsMargins(wide + SPACING, 0, 0, 0)
        self.text.setText(line.text)
        set_text_role(self.text, "muted" if is_stale else "")
        self.details.setText("\n".join(line.details))
        self.details.setVisible(is_open and bool(line.details))
        self.more.setVisible(bool(line.details))
        self.more.setChecked(is_open)
        self.more.setText("Less" if is_open else "Details")
        self.more.setAccessibleName(f"{self.more.text()}: {word}: {line.text}")
        self.more.setAccessibleDescription(" ".join(line.details) if is_open else "")
        self.more.setToolTip("Hide the numbers" if is_open else "Show the numbers behind this")
        self.setAccessibleName(f"{word}: {line.text}")


class PullWidget(QWidget):
    """One attempt that pulls the fit, with the way to its row.

    Signals:
        chosen(str): the attempt with this id shall be shown.
    """

    chosen = Signal(str)

    def __init__(self, index: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._attempt_id = ""
        name = f"odds_trust_pull_{index + 1}"
        self.setObjectName(name)
        self.text = wrapped_label(f"{name}_text")
        self.show_attempt = QPushButton()
        self.show_attempt.setObjectName(f"{name}_show")
        set_button_role(self.show_attempt, "link")
        self.show_attempt.clicked.connect(lambda: self.chosen.emit(self._attempt_id))
        self.text.setContentsMargins(0, _LINK_PADDING, 0, 0)
        self.text.setAlignment(Qt.AlignmentFlag.AlignTop)
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(SPACING)
        line.addWidget(self.text, 1)
        line.addWidget(self.show_attempt, 0, Qt.AlignmentFlag.AlignTop)

    def render(self, line: PullLine, *, is_stale: bool) -> None:  # type: ignore[override]
        """Show an attempt."""
        self._attempt_id = line.attempt_id
        self.text.setText(line.text)
        set_text_role(self.text, "muted" if is_stale else "")
        self.show_attempt.setText(f"Show attempt {line.number}")
        self.show_attempt.setAccessibleName(self.show_attempt.text())
        self.show_attempt.setAccessibleDescription(line.text)
        self.show_attempt.setToolTip("Go to its row among the attempts")
        self.setAccessibleName(line.text)
