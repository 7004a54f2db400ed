"""The head of the window: which campaign, which metal, and what must be known about the file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role
from stirfall.reporting.sentences import error_sentence

if TYPE_CHECKING:
    from stirfall.session.document import Document


class Header(QWidget):
    """Title and material class of the campaign; below, a strip for invented data or a read-only file."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = QLabel()
        self.title.setObjectName("campaign_title")
        set_text_role(self.title, "heading")
        self.title.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        self.material = QLabel()
        self.material.setObjectName("campaign_material")
        set_text_role(self.material, "muted")
        self.invented = self._strip("invented_banner")
        self.read_only = self._strip("read_only_banner")
        row = QHBoxLayout()
        row.setSpacing(2 * SPACING)
        row.addWidget(self.title)
        row.addWidget(self.material)
        row.addStretch(1)
        row.addWidget(self.invented)
        column = QVBoxLayout(self)
        column.setContentsMargins(2 * SPACING, SPACING, 2 * SPACING, SPACING)
        column.setSpacing(SPACING)
        column.addLayout(row)
        column.addWidget(self.read_only)
        self.show_document(None)

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
