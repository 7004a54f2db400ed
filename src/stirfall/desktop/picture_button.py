"""A button with a menu for a picture: its numbers as a table, a copy, and files."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.table_dialog import PictureTable, TableDialog
from stirfall.desktop.save_dialog import ask_where
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from PySide6.QtGui import QImage

    from stirfall.desktop.workspace import Workspace


class PictureButton(QToolButton):
    """Offers what a section draws; the section's own kind says what that is, None while nothing is drawn.

    Attributes:
        dialog: the table that was opened last, for tests.
    """

    def __init__(self, workspace: Workspace, stem: str, name: str, description: str) -> None:
        """Make the button called ``name``; files are called ``stem``."""
        super().__init__()
        self.setObjectName(name)
        self.setText("Picture")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.setMinimumHeight(TARGET)
        name_control(self, "Picture", description)
        self._workspace, self._stem = workspace, stem
        self.dialog: QWidget | None = None
        menu = QMenu(self)
        menu.addAction("Show as &table", self.show_table)
        menu.addAction("&Copy picture", self.copy_picture)
        for kind, text in (("png", "Save as &PNG"), ("svg", "Save as &SVG"), ("csv", "Save numbers as CS&V")):
            menu.addAction(text, partial(self._ask_where, kind))
        self.setMenu(menu)

    def _table(self) -> tuple[PictureTable, str] | None:
        """Return the numbers and the caption."""
        raise NotImplementedError

    def _image(self) -> QImage | None:
        """Return the picture."""
        raise NotImplementedError

    def _write(self, path: Path) -> bool:
        """Write the picture or its numbers as the suffix says; False where nothing is drawn. Raises OSError."""
        raise NotImplementedError

    def show_table(self) -> None:
        """Open the numbers as a table."""
        if (found := self._table()) is not None:
            dialog = TableDialog(*found, self.window())
            dialog.open()
            self.dialog = dialog

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        if (image := self._image()) is not None:
            QGuiApplication.clipboard().setImage(image)
            self._workspace.notifier.info(sentence("course.copied"))

    def _ask_where(self, kind: str) -> None:
        ask_where(
            self.window(),
            "Save picture",
            document=self._workspace.document,
            name=f"{self._stem}.{kind}",
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save(Path(path)),
        )

    def save(self, path: Path) -> None:
        """Write the picture or its numbers as the suffix says, and tell how it went."""
        try:
            is_written = self._write(path)
        except OSError as error:
            params = {"name": path.name, "reason": error.strerror or str(error)}
            self._workspace.notifier.warn(sentence("course.not_saved", params))
            return
        if is_written:
            self._workspace.notifier.info(sentence("course.saved", {"name": path.name}))
