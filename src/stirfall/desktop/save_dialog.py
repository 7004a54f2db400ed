"""Asking where a file goes: one dialog for everything that leaves the program."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QWidget

if TYPE_CHECKING:
    from stirfall.session.document import Document


def ask_where(
    parent: QWidget,
    title: str,
    *,
    document: Document | None,
    name: str,
    file_filter: str,
    done: Callable[[str], object],
) -> QFileDialog:
    """Open a dialog beside the session, with ``name`` filled in; ``done`` gets the chosen path as text."""
    folder = str(document.path.resolve().parent) if document else ""
    dialog = QFileDialog(parent, title, folder, file_filter)
    dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
    dialog.setDefaultSuffix(Path(name).suffix.lstrip("."))
    dialog.selectFile(name)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.fileSelected.connect(done)
    dialog.open()
    return dialog
