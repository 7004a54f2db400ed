"""The menu of the picture of a proof: its table, its copy, and its files."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.plan.proof_export import proof_image, proof_table, save_proof
from stirfall.desktop.plan.proof_state import Steps
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence


class ProofPicture(QToolButton):
    """A button with a menu; ``told`` gives what is drawn now, with its caption."""

    def __init__(self, workspace: Workspace, told: Callable[[], tuple[Steps, str] | None]) -> None:
        super().__init__()
        self.setObjectName("proof_picture")
        self.setText("Picture")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumHeight(TARGET)
        name_control(self, "Picture", "The picture of the proof as a table, a copy or a file")
        self._workspace, self._told = workspace, told
        self.dialog: QWidget | None = None
        menu = QMenu(self)
        menu.addAction("Show as &table", self.show_table)
        menu.addAction("&Copy picture", self.copy_picture)
        for kind, text in (("png", "Save as &PNG"), ("svg", "Save as &SVG"), ("csv", "Save numbers as CS&V")):
            menu.addAction(text, partial(self._ask_where, kind))
        self.setMenu(menu)

    def show_table(self) -> None:
        """Open the numbers as a table."""
        if (told := self._told()) is not None:
            dialog = TableDialog(proof_table(told[0]), told[1], self.window())
            dialog.open()
            self.dialog = dialog

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        if (told := self._told()) is not None:
            QGuiApplication.clipboard().setImage(proof_image(*told))
            self._workspace.notifier.info(sentence("course.copied"))

    def _ask_where(self, kind: str) -> None:
        ask_where(
            self.window(),
            "Save picture",
            document=self._workspace.document,
            name=f"proof.{kind}",
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save(Path(path)),
        )

    def save(self, path: Path) -> None:
        """Write the picture or its numbers as the suffix says, and tell how it went."""
        if (told := self._told()) is None:
            return
        try:
            save_proof(*told, path)
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        self._workspace.notifier.info(sentence("course.saved", {"name": path.name}))
