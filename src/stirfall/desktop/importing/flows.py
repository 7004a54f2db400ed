"""The ways in which a table comes to the dialog, and the new session that may be made of it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog, QWidget

from stirfall.desktop.campaign.new_dialog import SUFFIX, file_name_for
from stirfall.desktop.importing.dialog import ImportDialog
from stirfall.desktop.save_dialog import ask_where
from stirfall.reporting.sentences import error_sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import Clock

_SESSIONS = f"Stirfall sessions (*{SUFFIX})"


class ImportFlows(QObject):
    """Opens the dialog and asks for the place of a new session.

    Attributes:
        dialog, place: the dialogs that were opened last, for tests.
    """

    def __init__(
        self, workspace: Workspace, window: QWidget, opened: Callable[[Path], object], *, clock: Clock | None = None
    ) -> None:
        super().__init__(window)
        self._workspace, self._window, self._opened, self._clock = workspace, window, opened, clock
        self.dialog: ImportDialog | None = None
        self.place: QFileDialog | None = None

    def open_dialog(self, path: str = "", folder: Path | None = None) -> ImportDialog | None:
        """Open the dialog, with a file where one is named; a session that may not be written says so instead."""
        document = self._workspace.document
        if document is not None and document.read_only:
            reason = document.read_only_reason
            if reason is not None:
                self._workspace.notifier.warn(error_sentence(reason, decimal=self._workspace.decimal))
            return None
        dialog = ImportDialog(self._workspace, self._window, clock=self._clock)
        dialog.new_wanted.connect(partial(self._ask_for_place, dialog, folder))
        dialog.made.connect(self._open_made)
        dialog.folder = str(folder or "")
        self.dialog = dialog
        dialog.open()
        if path:
            dialog.model.start(path)
        else:
            dialog.ask_for_file()
        return dialog

    def _ask_for_place(self, dialog: ImportDialog, folder: Path | None, name: str) -> None:
        from stirfall.desktop.files import free_place

        place = free_place((folder or Path.home()) / file_name_for(name))
        self.place = ask_where(
            dialog,
            "Place of the new session",
            document=None,
            name=place.name,
            file_filter=_SESSIONS,
            done=dialog.model.make_session,
        )
        self.place.setDirectory(str(place.parent))
        self.place.setOption(QFileDialog.Option.DontConfirmOverwrite)  # nothing is written over
        self.place.selectFile(place.name)

    def _open_made(self, path: str) -> None:
        self._opened(Path(path))
