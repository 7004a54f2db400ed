"""The forms of the model as rows: name, weight as a bar, what its score says, and a button that pins it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.odds.trust_state import FormRow, FormsBlock
from stirfall.desktop.theme import SPACING, Theme, set_button_role, set_text_role
from stirfall.reporting.sentences import sentence

_WORDS, _BAR = 8, 5
_USE_ONLY, _IN_USE = "Use only this form", "In use"
_HEIGHT = 14.0


class WeightBar(QWidget):
    """A share as a bar on a full-width ground."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._weight, self._is_stale = 0.0, False
        self._text = ""
        self._theme: Theme | None = None

    def sizeHint(self) -> QSize:
        """Room for the bar and its number beside it."""
        return QSize(120, round(1.4 * self.fontMetrics().height()))

    def show_weight(self, weight: float, text: str, *, theme: Theme, is_stale: bool) -> None:
        """Show another share; ``text`` stands beside the bar."""
        self._weight, self._text, self._theme, self._is_stale = weight, text, theme, is_stale
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw ground, bar and number."""
        del event
        theme = self._theme
        if theme is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = self.fontMetrics()
        room = metrics.horizontalAdvance("below 88 % ")
        width, y = max(self.width() - room - SPACING, 10), (self.height() - _HEIGHT) / 2
        painter.setPen(QPen(QColor(theme.line), 1.0))
        painter.setBrush(QColor(theme.raised))
        painter.drawRect(QRectF(0.5, y + 0.5, width - 1, _HEIGHT - 1))
        painter.fillRect(
            QRectF(0, y, self._weight * width, _HEIGHT), QColor(theme.line if self._is_stale else theme.accent)
        )
        painter.setPen(QColor(theme.muted if self._is_stale else theme.text))
        painter.drawText(
            QRectF(width + SPACING, 0, room, self.height()),
            int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter),
            self._text,
        )
        painter.end()


class FormRowWidget(QFrame):
    """One form.

    Signals:
        pinned(str): only the form with this key shall be used.
    """

    pinned = Signal(str)

    def __init__(self, index: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key = ""
        name = f"odds_trust_form_{index + 1}"
        self.setObjectName(name)
        self.name, self.score = wrapped_label(f"{name}_name"), wrapped_label(f"{name}_score", "muted")
        self.details = wrapped_label(f"{name}_details", "muted")
        self.bar = WeightBar()
        self.use = QPushButton(_USE_ONLY)
        self.use.setObjectName(f"{name}_use")
        set_button_role(self.use, "link")
        self.use.clicked.connect(lambda: self.pinned.emit(self._key))
        right = QVBoxLayout()
        right.setSpacing(0)
        right.addWidget(self.bar)
        right.addWidget(self.use)
        right.addStretch(1)
        left = QVBoxLayout()
        left.setSpacing(0)
        for label in (self.name, self.score, self.details):
            left.addWidget(label)
        left.addStretch(1)
        whole = QHBoxLayout(self)
        whole.setContentsMargins(0, SPACING // 2, 0, SPACING // 2)
        whole.setSpacing(2 * SPACING)
        whole.addLayout(left, _WORDS)
        whole.addLayout(right, _BAR)

    def render(  # type: ignore[override]
        self, row: FormRow, block: FormsBlock, *, theme: Theme, is_stale: bool, show_details: bool
    ) -> None:
        """Show a form."""
        self._key = row.key
        self.name.setText(row.name)
        said = " ".join(part for part in (row.score_text, row.warning) if part)
        self.score.setText(said)
        self.details.setText(row.details)
        self.details.setVisible(show_details and bool(row.details))
        set_text_role(self.name, "muted" if is_stale else "")
        self.bar.show_weight(row.weight, row.weight_text, theme=theme, is_stale=is_stale)
        self.use.setText(_IN_USE if row.is_pinned else _USE_ONLY)
        self.use.setEnabled(not (row.is_pinned or block.why_fixed or is_stale))
        self.use.setAccessibleName(f"{self.use.text()}: {row.name}")
        why = block.why_fixed or f"Answer with this form alone: {row.name}"
        self.use.setAccessibleDescription(why)
        self.use.setToolTip(why)
        self.setAccessibleName(f"{row.name}, weight {row.weight_text}")
        self.setAccessibleDescription(said)
        self.bar.setAccessibleName(f"Weight {row.weight_text}")


class FormsWidget(QWidget):
    """All forms, best first.

    Signals:
        pinned(str): use only the form with this key, "" to weigh all forms again.
        details_toggled(bool): the details shall be shown or hidden.
    """

    pinned = Signal(str)
    details_toggled = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_trust_forms")
        self.note = wrapped_label("odds_trust_forms_note")
        self.about = wrapped_label("odds_trust_forms_about", "muted")
        self.about.setText(sentence("trust_view.about_scores"))
        self.fixed = wrapped_label("odds_trust_forms_fixed", "muted")
        self.rows: list[FormRowWidget] = []
        self.unpin = QPushButton("Weigh all forms again")
        self.unpin.setObjectName("odds_trust_unpin")
        name_control(self.unpin, "Weigh all forms again", "Let the attempts decide how much each form counts")
        self.unpin.clicked.connect(lambda: self.pinned.emit(""))
        self.more = QPushButton()
        self.more.setObjectName("odds_trust_form_details")
        self.more.setCheckable(True)
        name_control(self.more, "All forms", "Show every form with its scores in numbers")
        self.more.clicked.connect(self.details_toggled)
        self._column = QVBoxLayout()
        self._column.setSpacing(0)
        acts = QHBoxLayout()
        acts.setSpacing(SPACING)
        acts.addWidget(self.more)
        acts.addWidget(self.unpin)
        acts.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(SPACING // 2)
        whole.addWidget(self.note)
        whole.addWidget(self.about)
        whole.addLayout(self._column)
        whole.addWidget(self.fixed)
        whole.addLayout(acts)

    def render(  # type: ignore[override]
        self, block: FormsBlock, *, theme: Theme, is_stale: bool, show_details: bool
    ) -> None:
        """Show the foremost forms, with the details all of them."""
        shown = block.rows if show_details else block.foremost
        while len(self.rows) < len(shown):
            row = FormRowWidget(len(self.rows))
            row.pinned.connect(self.pinned)
            self.rows.append(row)
            self._column.addWidget(row)
        for index, widget in enumerate(self.rows):
            there = index < len(shown)
            if there:
                widget.render(shown[index], block, theme=theme, is_stale=is_stale, show_details=show_details)
            widget.setVisible(there)
        self.note.setText(block.note)
        self.note.setVisible(bool(block.note))
        set_text_role(self.note, "muted" if is_stale else "")
        self.about.setVisible(show_details)
        self.fixed.setText(block.why_fixed)
        self.fixed.setVisible(bool(block.why_fixed))
        self.unpin.setVisible(bool(block.pinned))
        self.unpin.setEnabled(not (block.why_fixed or is_stale))
        self.more.setText("Fewer forms" if show_details else f"All {len(block.rows)} forms and details")
        self.more.setAccessibleName(self.more.text())
        self.more.setChecked(show_details)
        self.more.setVisible(bool(block.rows))
