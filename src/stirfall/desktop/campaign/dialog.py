"""The frame that all our dialogs share: content, one line for problems, and verbs at the foot."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from stirfall.desktop.focus_ring import FocusRing
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import BODY_PT, SPACING, set_primary, set_text_role

LOWEST_SCREEN = 720
_TARGET = 44  # the least height of what is pressed with a glove on
"""The height of the lowest screen in pixels: no dialog is higher at the usual size of text, its content scrolls."""


class FramedDialog(QDialog):
    """A window-modal dialog, opened with ``open()``; Escape leaves without a change."""

    def __init__(self, title: str, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.problem = QLabel()
        self.problem.setObjectName("dialog_problem")
        self.problem.setWordWrap(True)
        set_text_role(self.problem, "error")
        self.ring = FocusRing(self)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(3 * SPACING, 2 * SPACING, 3 * SPACING, 2 * SPACING)
        self._column.setSpacing(2 * SPACING)

    def build(self, content: QWidget, verb: str, *, cancel: str = "Cancel") -> QPushButton:
        """Lay out the content, scrollable where the screen is low, and return the button with the verb."""
        area = QScrollArea()
        area.setWidgetResizable(True)
        area.setFrameShape(QScrollArea.Shape.NoFrame)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(content)
        self._content = content
        self._column.addWidget(area, 1)
        self._column.addWidget(self.problem)
        self.problem.setVisible(False)
        verb_button = QPushButton(verb)
        verb_button.setObjectName("dialog_verb")
        verb_button.setDefault(True)
        self._verb_button = verb_button
        set_primary(verb_button)
        name_control(verb_button, verb.replace("&", ""))
        verb_button.setMinimumHeight(_TARGET)
        row = QHBoxLayout()
        row.setSpacing(SPACING)
        row.addStretch(1)
        if cancel:
            leave = QPushButton(cancel)
            leave.setMinimumHeight(_TARGET)
            leave.setObjectName("dialog_cancel")
            name_control(leave, cancel)
            leave.clicked.connect(self.reject)
            row.addWidget(leave)
        row.addWidget(verb_button)
        self._column.addLayout(row)
        self._foot = row
        return verb_button

    def add_act(self, act: QPushButton) -> None:
        """Place another button before the verb; Enter does not press it."""
        act.setAutoDefault(False)
        self._foot.insertWidget(self._foot.indexOf(self._verb_button), act)

    def insert_above_problem(self, label: QLabel) -> None:
        """Place a line between the content and the line for problems."""
        self._column.insertWidget(self._column.indexOf(self.problem), label)

    def fit(self, width: int) -> None:
        """Take ``width``, more for larger text, less on a narrow screen, and the height that the content needs."""
        screen = self.screen().availableSize()
        larger = max(self.font().pointSizeF() / BODY_PT, 1.0)
        least = self._content.minimumSizeHint().width() + 8 * SPACING  # it never scrolls sideways
        width = max(least, min(round(larger * width), screen.width() - 6 * SPACING))
        layout = self._content.layout()
        inner = width - 6 * SPACING
        needed = layout.totalHeightForWidth(inner) if layout is not None else -1
        if needed < 0:
            needed = self._content.sizeHint().height()
        foot = self._verb_button.sizeHint().height() + 12 * SPACING
        room = min(screen.height(), round(larger * LOWEST_SCREEN)) - 6 * SPACING
        self.resize(width, min(needed + foot, room))

    def take_room(self, width: int, height: int) -> None:
        """Take so much room, or more for larger text, as far as the screen has it: for pictures, which fill it."""
        screen = self.screen().availableSize()
        larger = max(self.font().pointSizeF() / BODY_PT, 1.0)
        self.resize(
            min(round(larger * width), screen.width() - 6 * SPACING),
            min(round(larger * height), screen.height() - 8 * SPACING, round(larger * LOWEST_SCREEN) - 6 * SPACING),
        )

    def show_problem(self, text: str) -> None:
        """Say above the verbs what stands in the way; an empty text removes it."""
        self.problem.setText(text)
        self.problem.setVisible(bool(text))
