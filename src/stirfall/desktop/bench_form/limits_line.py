"""What the limits say: one quiet line beside the record button, and the list that it opens."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QScrollArea, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.checklist import quiet_scroll
from stirfall.desktop.bench_form.limits_text import FoundLine, LimitsText
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label, unbroken
from stirfall.desktop.theme import set_text_role

_ROLES = {"fine": "", "note": "", "warn": "caution", "block": "error"}
_CLOSED, _OPEN = "▸", "▾"
_MOST_LINES = 5


class LimitsLine(QWidget):
    """The list of findings, and the button and the small print that stand elsewhere and belong to it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("limits")
        self.toggle = button("Limits", "limits_toggle")
        self.toggle.setCheckable(True)
        self.toggle.setProperty("kind", "fold")
        self.small = text_label(role="muted")
        self.small.setObjectName("limits_small")
        self._shown = LimitsText("fine", "Limits", "", ())
        self._content = QWidget()
        self._lines = QVBoxLayout(self._content)
        self._lines.setContentsMargins(0, 0, HALF_GAP, 0)
        self._lines.setSpacing(GAP)
        self.list: QScrollArea = quiet_scroll(self._content, "limits_list")
        self.list.setAccessibleName("What the limits say, with sources")
        self.list.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.labels: list[QLabel] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.list)
        self.toggle.toggled.connect(self._fold)
        self._fold(False)

    def _fold(self, is_open: bool) -> None:
        self.setVisible(is_open)
        self._title()
        self._fit()

    def _title(self) -> None:
        arrow = _OPEN if self.toggle.isChecked() else _CLOSED
        self.toggle.setText(f"{arrow} {self._shown.sign} {self._shown.head}")
        self.toggle.setAccessibleName(f"{self._shown.head}: {self._shown.small}")
        self.toggle.setAccessibleDescription("open" if self.toggle.isChecked() else "folded")
        self.toggle.setToolTip(f"{self._shown.head}: {self._shown.small}")

    def show_text(self, shown: LimitsText) -> None:
        """Show what the limits say; showing it twice changes nothing."""
        if shown.lines != self._shown.lines or not self.labels:
            self._rebuild(shown)
        self._shown = shown
        self.small.setText(shown.small)
        self._title()
        set_text_role(self.small, "muted" if shown.level in ("fine", "note") else _ROLES[shown.level])

    def _rebuild(self, shown: LimitsText) -> None:
        for old in self.labels:
            self._lines.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.labels = []
        for line in shown.lines:
            self._add(_words(line), _ROLES[line.level])
        if not shown.lines:
            self._add("Nothing to say about what stands in the form.", "muted")
        self._fit()

    def _add(self, text: str, role: str) -> None:
        label = text_label(text, role)
        label.setTextFormat(Qt.TextFormat.RichText)
        self.labels.append(label)
        self._lines.addWidget(label)

    def _fit(self) -> None:
        """Take the height of the list, at most a few lines: the rest scrolls."""
        width = max(200, self.list.viewport().width())
        wanted = self._lines.totalHeightForWidth(width) + HALF_GAP
        most = _MOST_LINES * self.fontMetrics().lineSpacing()
        self.list.setFixedHeight(min(max(wanted, self.fontMetrics().lineSpacing()), most))

    def showEvent(self, event: QShowEvent) -> None:
        """Take the height that the width asks for."""
        super().showEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Take the height that another size of text asks for."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._fit()


def _words(line: FoundLine) -> str:
    parts = [f"<b>{line.head}.</b> {_escaped(line.text)}"]
    if line.reason:
        parts.append(f"<b>Why:</b> {_escaped(line.reason)}")
    if line.source:
        parts.append(f"<i>Source: {_escaped(line.source)}</i>")
    return unbroken("<br>".join(parts))


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")
