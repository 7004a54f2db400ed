"""The head of the window: which campaign, which metal, and what must be known about the file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role
from stirfall.reporting.sentences import error_sentence

if TYPE_CHECKING:
    from stirfall.session.document import Document


_LEAST_LETTERS = 12


class ElidedLabel(QLabel):
    """One line of text that gives way: what does not fit ends in an ellipsis, and the tooltip has the whole."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)

    def minimumSizeHint(self) -> QSize:
        """Return room for a few letters."""
        return QSize(self.fontMetrics().horizontalAdvance("x" * _LEAST_LETTERS), super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw as much of the text as fits."""
        del event
        metrics = self.fontMetrics()
        shown = metrics.elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        self.setToolTip("" if shown == self.text() else self.text())
        painter = QPainter(self)
        role = QPalette.ColorRole.WindowText
        align = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        self.style().drawItemText(painter, self.rect(), align, self.palette(), self.isEnabled(), shown, role)
        painter.end()


class Header(QWidget):
    """Title and material class of the campaign; below, a strip for invented data or a read-only file."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = ElidedLabel()
        self.title.setObjectName("campaign_title")
        set_text_role(self.title, "heading")
        self.material = ElidedLabel()
        self.material.setObjectName("campaign_material")
        set_text_role(self.material, "muted")
        self.invented = self._strip("invented_banner")
        self.read_only = self._strip("read_only_banner")
        self._row = row = QHBoxLayout()
        row.setSpacing(2 * SPACING)
        row.addWidget(self.title)
        row.addWidget(self.material)
        row.addStretch(1)
        row.addWidget(self.invented)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * SPACING, SPACING // 2, 2 * SPACING, SPACING // 2)
        column.setSpacing(SPACING)
        row.setContentsMargins(0, SPACING // 2, 0, SPACING // 2)
        column.addLayout(row)
        column.addWidget(self.read_only)
        self.show_document(None)

    def add_at_the_end(self, widget: QWidget) -> None:
        """Put a control at the right end of the head; it takes the margins for its height."""
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(widget)

    def _strip(self, name: str) -> QFrame:
        frame = QFrame()
        set_surface_role(frame, "caution")
        label = QLabel()
        label.setObjectName(name)
        label.setWordWrap(name == "read_only_banner")
        box = QHBoxLayout(frame)
        box.setContentsMargins(SPACING, SPACING // 2, SPACING, SPACING // 2)
        box.addWidget(label)
        return frame

    def show_document(self, document: Document | None, decimal: str = ".") -> None:
        """Show what the head of the window says about a document."""
        self.invented.setVisible(document is not None and document.state.settings.invented)
        self.read_only.setVisible(document is not None and document.read_only)
        if document is None:
            self.title.clear()
            self.material.clear()
            return
        settings = document.state.settings
        self.title.setText(settings.title)
        metal = f"{settings.metal} · " if settings.metal else ""
        self.material.setText(f"{metal}{settings.material.value}")
        _label(self.invented).setText(INVENTED_NOTICE)
        reason = document.read_only_reason
        why = error_sentence(reason, decimal=decimal) if reason is not None else ""
        _label(self.read_only).setText(f"Open for reading only. {why}".strip())


def _label(frame: QFrame) -> QLabel:
    label = frame.findChild(QLabel)
    assert label is not None
    return label
