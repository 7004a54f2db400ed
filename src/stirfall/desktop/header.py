"""The head of the window: which campaign, which metal, and what must be known about the file."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.history_buttons import HistoryButtons
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
        self.history = HistoryButtons()
        self._first, self._second, self._third = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        for row in (self._first, self._second, self._third):
            row.setSpacing(2 * SPACING)
        self._first.addWidget(self.title)
        self._first.addWidget(self.material)
        self._first.addStretch(1)
        self._first.addWidget(self.invented, 0, Qt.AlignmentFlag.AlignVCenter)
        self._controls: list[QWidget] = []
        self._rows = 1
        self._is_invented = False
        self.small_width: int | None = None
        self._column = column = QVBoxLayout(self)
        column.setContentsMargins(2 * SPACING, SPACING // 2, 2 * SPACING, SPACING // 2)
        column.setSpacing(SPACING // 2)
        column.addLayout(self._first)
        column.addLayout(self._second)
        column.addLayout(self._third)
        column.addWidget(self.read_only)
        self.add_at_the_end(self.history)
        self.show_document(None)

    def add_at_the_end(self, widget: QWidget) -> None:
        """Put a control at the right end of the head, or below the title where the head is narrow."""
        self._controls.append(widget)
        self._first.addWidget(widget)

    def minimumSizeHint(self) -> QSize:
        """Return the width of the widest row: controls and banner go below the title where they must."""
        widest = max(self._needed(self._controls), self._needed((self.invented,)))
        return QSize(widest, super().minimumSizeHint().height())

    def controls_fit(self, width: int) -> bool:
        """Whether what can be pressed stands in one row of this width."""
        return self._needed(self._controls) <= width

    @property
    def is_small(self) -> bool:
        """Whether only what can be pressed is shown."""
        return self.small_width is not None

    def set_small(self, width: int | None) -> None:
        """Show only what can be pressed, in one row of a width; others then say what else the head says."""
        self.small_width = width
        sides = (SPACING, 0) if self.is_small else (2 * SPACING, SPACING // 2)
        self._column.setContentsMargins(sides[0], sides[1], 2 * SPACING, sides[1])
        self._show_words()
        self._fit()
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Return the room that is there, in the small form."""
        hint = super().sizeHint()
        return hint if self.small_width is None else QSize(self.small_width, hint.height())

    def _show_words(self) -> None:
        for part in (self.title, self.material):
            part.setVisible(not self.is_small)
        self.invented.setVisible(self._is_invented and not self.is_small)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use one row or two, as the width asks."""
        super().resizeEvent(event)
        self._fit()

    def _needed(self, widgets: Iterable[QWidget]) -> int:
        shown = [each for each in widgets if not each.isHidden()]
        return sum(each.minimumSizeHint().width() + 2 * SPACING for each in shown) + 2 * SPACING

    def _fit(self) -> None:
        """Where one row would cut words, the controls get a row of their own, and then the banner as well."""
        words = (self.title, self.material, self.invented)
        rows = 1 if self.is_small or self._needed((*words, *self._controls)) <= self.width() else 2
        if rows == 2 and self._needed(words) > self.width():
            rows = 3
        if rows == self._rows:
            return
        self._rows = rows
        while self._second.count():
            self._second.takeAt(0)
        self._third.removeWidget(self.invented)
        self._first.removeWidget(self.invented)
        (self._third if rows == 3 else self._first).addWidget(self.invented, 0, Qt.AlignmentFlag.AlignVCenter)
        for widget in self._controls:
            (self._first if rows == 1 else self._second).addWidget(widget)
        if rows > 1:
            self._second.insertStretch(1, 1)

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
        self.history.show_document(document)
        self._is_invented = document is not None and document.state.settings.invented
        self._show_words()
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
        self._fit()


def _label(frame: QFrame) -> QLabel:
    label = frame.findChild(QLabel)
    assert label is not None
    return label
