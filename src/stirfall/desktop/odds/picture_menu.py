"""The menu of the picture in view: as table, to the clipboard, to a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QMenu, QToolButton, QWidget

from stirfall.desktop.labelled import name_control
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.state import OddsState
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.save_dialog import ask_where
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence


class PictureMenu(QToolButton):
    """A button with what can be done with the picture in view."""

    def __init__(self, workspace: Workspace, view_model: OddsViewModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._workspace, self._view_model = workspace, view_model
        self.setObjectName("odds_picture_menu")
        self.setText("Picture")
        self.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        name_control(self, "Picture", "Show as table, copy or save the picture")
        menu = QMenu(self)
        self.actions_by_name: dict[str, QAction] = {}
        for name, text, act in (
            ("table", "Show as &table", self.show_table),
            ("copy", "&Copy picture", self.copy_picture),
            ("png", "Save as &PNG", lambda: self._ask_where("png")),
            ("svg", "Save as &SVG", lambda: self._ask_where("svg")),
            ("csv", "Save numbers as CS&V", lambda: self._ask_where("csv")),
        ):
            action = menu.addAction(text)
            action.setObjectName(f"odds_{name}")
            action.triggered.connect(act)
            self.actions_by_name[name] = action
        self.setMenu(menu)

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Offer what can be done with the picture of a state, nothing where there is none."""
        for action in self.actions_by_name.values():
            action.setEnabled(state.picture is not None)

    def show_table(self) -> None:
        """Open the numbers of the picture as a table."""
        from stirfall.desktop.odds.export import table_of

        state = self._view_model.state
        table, picture = table_of(state), state.picture
        if table is None or picture is None:
            return
        dialog = TableDialog(table, f"{picture.sentence} {picture.caption}", self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        from stirfall.desktop.odds.export import picture_image

        QGuiApplication.clipboard().setImage(picture_image(self._view_model.state))
        self._workspace.notify(Notice("info", sentence("odds.copied")))

    def _ask_where(self, kind: str) -> None:
        name = f"odds-{self._view_model.state.view}.{kind}"
        dialog = ask_where(
            self,
            "Save picture",
            document=self._workspace.document,
            name=name,
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save_picture(Path(path)),
        )
        dialog.setObjectName("odds_save_dialog")

    def save_picture(self, path: Path) -> None:
        """Write the picture in view to ``path`` as its suffix says: .png, .svg or .csv."""
        from stirfall.desktop.odds.export import save_csv, save_png, save_svg

        writers: dict[str, Callable[[OddsState, Path], None]] = {
            ".png": save_png,
            ".svg": save_svg,
            ".csv": save_csv,
        }
        try:
            writers[path.suffix.lower()](self._view_model.state, path)
        except OSError as error:
            reason = error.strerror or str(error)
            self._workspace.notify(
                Notice("error", sentence("odds.file_failed", {"name": path.name, "reason": reason}))
            )
            return
        self._workspace.notify(Notice("info", sentence("odds.file_saved", {"name": path.name})))
