"""Labels, the paper sheet and the card of acts: drawn once, for paper, for a file and for the preview.

Importing this package loads none of the drawing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtWidgets import QDialog, QWidget

    from stirfall.desktop.printing.evening_drawing import EveningSheet
    from stirfall.desktop.workspace import Workspace


def open_labels_dialog(workspace: Workspace, jar_ids: Sequence[str], parent: QWidget | None) -> QDialog:
    """Open the dialog that prints labels, with these jars chosen (none: all on the shelf), and return it."""
    from stirfall.desktop.printing.dialog import LabelsDialog

    dialog = LabelsDialog(workspace, parent, jar_ids=tuple(jar_ids))
    dialog.open()
    return dialog


def open_paper_dialog(workspace: Workspace, parent: QWidget | None) -> QDialog | None:
    """Open the dialog that prints blank records, and return it; None when no campaign is open."""
    from stirfall.desktop.printing.sheet_dialog import paper_dialog

    dialog = paper_dialog(workspace, parent)
    if dialog is not None:
        dialog.open()
    return dialog


def open_evening_dialog(workspace: Workspace, sheet: EveningSheet, parent: QWidget | None) -> QDialog:
    """Open the dialog that prints the plan of an evening, and return it."""
    from stirfall.desktop.printing.sheet_dialog import evening_dialog

    dialog = evening_dialog(workspace, sheet, parent)
    dialog.open()
    return dialog


def open_card_dialog(workspace: Workspace, parent: QWidget | None) -> QDialog:
    """Open the dialog that prints the card of acts, and return it."""
    from stirfall.desktop.printing.sheet_dialog import card_dialog

    dialog = card_dialog(workspace, parent)
    dialog.open()
    return dialog
