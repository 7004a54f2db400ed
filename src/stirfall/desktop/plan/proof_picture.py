"""The menu of the picture of a proof: its table, its copy, and its files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtGui import QImage

from stirfall.desktop.odds.table_dialog import PictureTable
from stirfall.desktop.picture_button import PictureButton
from stirfall.desktop.plan.proof_export import proof_image, proof_table, save_proof
from stirfall.desktop.plan.proof_state import Steps
from stirfall.desktop.workspace import Workspace


class ProofPicture(PictureButton):
    """A button with a menu; ``told`` gives what is drawn now, with its caption."""

    def __init__(self, workspace: Workspace, told: Callable[[], tuple[Steps, str] | None]) -> None:
        super().__init__(
            workspace, "proof", "proof_picture", "The picture of the proof as a table, a copy or a file"
        )
        self._told = told

    def _table(self) -> tuple[PictureTable, str] | None:
        told = self._told()
        return None if told is None else (proof_table(told[0]), told[1])

    def _image(self) -> QImage | None:
        told = self._told()
        return None if told is None else proof_image(*told)

    def _write(self, path: Path) -> bool:
        if (told := self._told()) is None:
            return False
        save_proof(*told, path)
        return True
