"""Opening, creating and copying session files, with the dialogs that ask for places."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QStandardPaths, Qt
from PySide6.QtWidgets import QFileDialog, QWidget

from stirfall.bench.errors import StirfallError
from stirfall.desktop.campaign.new_dialog import SUFFIX, NewCampaignDialog, file_name_for
from stirfall.desktop.package_flows import DESCRIPTOR, PackageFlows, is_package
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.document import Document
from stirfall.storage.import_cells import TABLE_SUFFIXES

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.bench.records import CampaignSettings
    from stirfall.desktop.importing.dialog import ImportDialog
    from stirfall.desktop.importing.flows import ImportFlows
    from stirfall.desktop.pooling.dialog import PoolingDialog
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import Clock
    from stirfall.session.samples import SampleInfo
    from stirfall.session.settings import Settings

_LARGE = 8 * 1024 * 1024  # bytes; some 15,000 attempts, or fewer with photos
FILTER = f"Stirfall sessions (*{SUFFIX})"
OPEN_FILTER = f"Sessions and Data Packages (*{SUFFIX} *.zip {DESCRIPTOR})"


class FileFlows(QObject):
    """Every way in which a session comes into the window or leaves it.

    Attributes:
        dialog: the dialog that was opened last, while it is open, for tests.
    """

    def __init__(
        self, workspace: Workspace, settings: Settings, window: QWidget, *, clock: Clock | None = None
    ) -> None:
        super().__init__(window)
        self._clock = clock
        self._workspace = workspace
        self._settings = settings
        self._window = window
        self.dialog: NewCampaignDialog | PoolingDialog | ImportDialog | QFileDialog | None = None
        self._imports: ImportFlows | None = None
        self.packages = PackageFlows(workspace, window, self.open_path, clock=clock)

    @property
    def folder(self) -> Path:
        """The folder in which file dialogs start: the last one used, else the person's documents."""
        last = Path(self._settings.values.last_folder)
        if self._settings.values.last_folder and last.is_dir():
            return last
        documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        return Path(documents) if documents and Path(documents).is_dir() else Path.home()

    def new_campaign(self) -> None:
        """Ask for a new campaign and create it."""
        dialog = NewCampaignDialog(self.folder, decimal=self._workspace.decimal, parent=self._window)
        dialog.wanted.connect(lambda settings, path: self._create(dialog, settings, path))
        self.dialog = dialog
        dialog.open()

    def open_file(self) -> None:
        """Ask for a session file and open it."""
        self._ask(
            "Open a session or a Data Package", QFileDialog.AcceptMode.AcceptOpen, self.folder, self.open_path
        )

    def open_path(self, path: str | Path) -> bool:
        """Open a session file; a failure becomes a notice, and what was open stays open.

        Of a Data Package a session is made at a place that is asked for; a table of attempts is shown first.
        """
        place = Path(path).expanduser()
        if is_package(place):
            self.packages.ask_for_import(place, self.folder)
            return True
        if place.suffix.lower() in TABLE_SUFFIXES:
            self.import_table(str(place))
            return True
        current = self._workspace.document
        if current is not None and place.exists() and current.path.resolve() == place.resolve():
            self._workspace.notifier.info(sentence("desktop.already_open", {"name": place.name}))
            return True
        if _is_large(place):
            self._workspace.notifier.info(sentence("desktop.opening", {"name": place.name}))
            self._workspace.submit(partial(_open_large, place, self._clock), self._show_opened)
            return True
        return self._show(lambda: Document.open(place, clock=self._clock))

    def _show_opened(self, document: Document) -> None:
        self._show(lambda: document)

    def open_sample(self, sample: SampleInfo) -> None:
        """Ask where the file of a sample goes, make it and open it."""
        place = free_place(self.folder / file_name_for(sample.title))
        self._ask(
            f"Place for the sample “{sample.title}”",
            QFileDialog.AcceptMode.AcceptSave,
            place,
            lambda path: self.make_sample(sample.key, Path(path)),
        )

    def make_sample(self, key: str, path: Path) -> bool:
        """Make a session file from a sample at a place and open it."""
        from stirfall.session.samples import open_sample

        return self._show(lambda: open_sample(key, path, clock=self._clock))

    def pool_sessions(self) -> None:
        """Ask which sessions shall be pooled, make the new session and open it."""
        from stirfall.desktop.pooling.dialog import PoolingDialog

        dialog = PoolingDialog(self._workspace, self.folder, self._window)
        dialog.pooled.connect(self._open_pooled)
        if self._workspace.document is not None:
            dialog.model.add([str(self._workspace.document.path)])
        self.dialog = dialog
        dialog.open()

    def import_table(self, path: str = "") -> ImportDialog | None:
        """Show a table of attempts, asked for where none is named, to be taken into the session or a new one."""
        from stirfall.desktop.importing.flows import ImportFlows

        if self._imports is None:
            self._imports = ImportFlows(self._workspace, self._window, self.open_path, clock=self._clock)
        dialog = self._imports.open_dialog(path, self.folder)
        self.dialog = dialog or self.dialog
        return dialog

    def _open_pooled(self, place: str) -> None:
        if self.open_path(place):
            self._workspace.notifier.info(sentence("pooling.written", {"name": Path(place).name}))

    def save_copy(self) -> None:
        """Ask for a place and write a complete copy there; the open file stays the one in use."""
        document = self._workspace.document
        if document is not None:
            place = free_place(document.path.with_name(f"{document.path.stem} copy{SUFFIX}"))
            self._ask("Place of the copy", QFileDialog.AcceptMode.AcceptSave, place, self.copy_to)

    def copy_to(self, path: str | Path) -> bool:
        """Write a complete copy of the open session."""
        document = self._workspace.document
        if document is None:
            return False
        try:
            document.save_copy(path)
        except (StirfallError, OSError) as error:
            self._workspace.notifier.fail(error)
            return False
        self._workspace.notifier.info(sentence("desktop.copy_saved", {"name": Path(path).name}))
        return True

    def _create(self, dialog: NewCampaignDialog, settings: CampaignSettings, path: Path) -> None:
        try:
            document = Document.create(path, settings, clock=self._clock)
        except StirfallError as error:
            dialog.show_trouble(error_sentence(error, decimal=self._workspace.decimal))
            return
        except OSError:
            dialog.show_trouble(sentence("desktop.place_unusable"))
            return
        dialog.accept()
        self._show(lambda: document)

    def _show(self, opened: Callable[[], Document]) -> bool:
        try:
            document = opened()
        except (StirfallError, OSError) as error:
            self._workspace.notifier.fail(error)
            return False
        try:
            self._settings.add_recent(document.path)
        except StirfallError as error:
            self._workspace.notifier.fail(error)
        self._workspace.open_document(document)
        return True

    def _ask(self, title: str, mode: QFileDialog.AcceptMode, start: Path, then: Callable[[str], object]) -> None:
        saves = mode == QFileDialog.AcceptMode.AcceptSave
        dialog = QFileDialog(
            self._window, title, str(start.parent if saves else start), FILTER if saves else OPEN_FILTER
        )
        dialog.setAcceptMode(mode)
        dialog.setFileMode(QFileDialog.FileMode.AnyFile if saves else QFileDialog.FileMode.ExistingFile)
        if saves:
            dialog.setDefaultSuffix(SUFFIX.lstrip("."))
            dialog.setOption(QFileDialog.Option.DontConfirmOverwrite)  # nothing is written over, see place_taken
            dialog.selectFile(start.name)
        # A dialog that stayed would notice the new file in its folder and let its list of names pop up again.
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.fileSelected.connect(then)
        self.dialog = dialog
        dialog.open()


def _is_large(place: Path) -> bool:
    """Whether a file takes so long to read that the window must not wait for it."""
    try:
        return place.is_file() and place.stat().st_size > _LARGE
    except OSError:
        return False  # opening it says what is wrong


def _open_large(place: Path, clock: Clock | None, _token: CancelToken) -> Document:
    return Document.open(place, clock=clock)


def free_place(path: Path) -> Path:
    """Return the path, or the first of "name 2", "name 3" that is free."""
    number, candidate = 1, path
    while candidate.exists():
        number += 1
        candidate = path.with_name(f"{path.stem} {number}{path.suffix}")
    return candidate
