"""The running program: builds the window with its parts and connects what the person asks for with what answers."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QLocale, QObject, QTimer
from PySide6.QtWidgets import QApplication, QDialog

from stirfall.bench.errors import StirfallError
from stirfall.desktop.actions import Intents, ShellActions
from stirfall.desktop.alarms.desk import AlarmDesk
from stirfall.desktop.appearance import Appearance
from stirfall.desktop.evidence.page import EvidencePage
from stirfall.desktop.executor import QtExecutor
from stirfall.desktop.files import FileFlows
from stirfall.desktop.first_run import FirstRun
from stirfall.desktop.foot_switch import FootSwitch
from stirfall.desktop.scan_routes import ScanRoutes
from stirfall.desktop.scanner import ScanRouter
from stirfall.desktop.shown import Shown
from stirfall.desktop.undo_keys import UndoKeys
from stirfall.desktop.window import MainWindow, WindowParts
from stirfall.desktop.workspace import Workspace
from stirfall.session.samples import samples

if TYPE_CHECKING:
    from stirfall.desktop.guide_window import GuideWindow
    from stirfall.desktop.theme import Theme
    from stirfall.desktop.tour.tour import Tour
    from stirfall.session.clock import Clock
    from stirfall.session.settings import Settings

PartsMaker = Callable[[Workspace, FirstRun], WindowParts]
_WARM_AFTER_MS = 300


class Shell(QObject):
    """Owns workspace, window, menus and settings; one per window.

    Attributes:
        executor, workspace, appearance, window, actions, files: the parts, for tests and for the program's start.
    """

    def __init__(
        self, app: QApplication, settings: Settings, make_parts: PartsMaker, *, clock: Clock | None = None
    ) -> None:
        super().__init__(app)
        self._app = app
        self._settings, self._clock = settings, clock
        values = settings.values
        self.appearance = Appearance(app, values.theme, values.text_scale)
        self.executor = QtExecutor(self)
        self.workspace = Workspace(
            self.executor,
            theme=self.appearance.theme,
            decimal=Shown(decimal_sign(values.decimal), values.temperature_unit).style,
            parent=self,
        )
        self.workspace.ledger_columns = values.ledger_columns
        self.workspace.shelf_columns = values.shelf_columns
        self.workspace.keep_original_photos = values.keep_original_photos
        self.samples = {sample.key: sample for sample in samples()}
        first_run = FirstRun(self.appearance.theme, tuple(self.samples.values()))
        self.window = MainWindow(self.workspace, make_parts(self.workspace, first_run))
        self.alarms = AlarmDesk(
            self.workspace, self.window.alarm_strip, self.window.parts.pages, values, parent=self
        )
        self.window.front.currentChanged.connect(self._on_front)
        self._undo_keys = UndoKeys(self.window)
        self.scanner = ScanRouter(app, parent=self)
        self._foot_switch = FootSwitch(self.workspace, values.foot_switch_key, lambda: self.window.is_running)
        self.scanner.then = self._foot_switch.take
        self._scan_routes = ScanRoutes(self.workspace, self.window.parts.pages, self)
        self.files = FileFlows(self.workspace, settings, self.window, clock=clock)
        self.actions = ShellActions(self.window, self._intents(), tuple(self.samples.values()))
        self.actions.show_theme(self.appearance.choice)
        self._guide: GuideWindow | None = None
        self.tour: Tour | None = None
        self.dialog: QDialog | None = None
        self._connect(first_run)
        self._restore_layout()
        self._show_recent()

    def start(self, path: str | Path | None = None) -> None:
        """Show the window, open a file if one is named, then load the heavy libraries behind the scenes."""
        self.window.show()
        trouble = self._settings.trouble
        if trouble is not None:
            self.workspace.notifier.fail(trouble)
        recent = self._settings.values.recent_files
        if path is not None:
            self.files.open_path(path)
        elif self._settings.values.reopen_last and recent and Path(recent[0]).exists():
            self.files.open_path(recent[0])
        QTimer.singleShot(_WARM_AFTER_MS, self._warm)

    def close(self) -> None:
        """Keep the layout, close the document and end the background work."""
        self.scanner.stop()
        self.alarms.sounds.close()
        self._keep_layout()
        self.workspace.close_document()
        self.executor.close()

    # -- wiring ------------------------------------------------------------------------------------

    def _connect(self, first_run: FirstRun) -> None:
        first_run.new_wanted.connect(self.files.new_campaign)
        first_run.open_wanted.connect(self.files.open_file)
        first_run.sample_wanted.connect(self._open_sample)
        first_run.tour_wanted.connect(self.show_round)
        first_run.recent_wanted.connect(self.files.open_path)
        evidence = self.window.parts.pages["evidence"]
        if isinstance(evidence, EvidencePage):
            evidence.benches.pool_wanted.connect(self.files.pool_sessions)
        self.window.file_dropped.connect(self.files.open_path)
        self.window.closing.connect(self.close)
        self.window.header.history.undo.clicked.connect(self.workspace.undo)
        self.window.header.history.redo.clicked.connect(self.workspace.redo)
        self.workspace.document_opened.connect(self._show_recent)
        self.workspace.settings_requested.connect(self._campaign_settings)
        self.workspace.setting_changed.connect(self._keep_setting)
        self.appearance.changed.connect(self._wear)
        self.scanner.scanned.connect(self._scan_routes.follow)
        self.scanner.misread.connect(self._scan_routes.misread)

    def _intents(self) -> Intents:
        files, workspace = self.files, self.workspace
        return Intents(
            new_campaign=files.new_campaign,
            open_file=files.open_file,
            open_sample=self._open_sample,
            open_recent=files.open_path,
            save_copy=files.save_copy,
            import_table=files.import_table,
            pool_sessions=files.pool_sessions,
            export_recipe=lambda: workspace.show_page("recipe"),
            report=self._report,
            export_package=files.packages.ask_for_export,
            close_campaign=workspace.close_document,
            quit_program=self.window.close,
            undo=workspace.undo,
            redo=workspace.redo,
            preferences=self._preferences,
            choose_theme=lambda choice: self._set("theme", choice),
            step_text=self._step_text,
            settings=self._campaign_settings,
            factors=self._factors,
            cautions=self._cautions,
            assay=self._assay,
            classes=self._classes,
            regrade=self._regrade,
            course=self._course,
            print_labels=self._print_labels,
            paper_sheet=self._paper_sheet,
            act_card=self._act_card,
            guide=self._show_guide,
            tour=self.show_round,
            about=self._about,
        )

    def _open_sample(self, key: str) -> None:
        self.files.open_sample(self.samples[key])

    def _show_recent(self) -> None:
        recent = self._settings.values.recent_files
        self.actions.show_recent(recent)
        self.window.parts.first_run.show_recent(recent)

    # -- settings ----------------------------------------------------------------------------------

    def _set(self, name: str, value: object) -> None:
        self._keep(**{name: value})
        if name == "theme":
            self.appearance.choose(str(value))
            self.actions.show_theme(self.appearance.choice)
        elif name == "text_scale" and isinstance(value, float):
            self.appearance.set_scale(value)
        elif name == "foot_switch_key":
            self._foot_switch.key = str(value)
        elif name == "alarm_sound":
            self.alarms.set_sound(is_on=bool(value))
        elif name == "alarm_volume" and isinstance(value, float):
            self.alarms.set_sound(volume=value)
        elif name == "keep_original_photos":
            self.workspace.keep_original_photos = bool(value)
        elif name == "decimal":
            self.workspace.set_decimal(decimal_sign(str(value)))
        elif name == "temperature_unit":
            self.workspace.set_temperature_unit(str(value))

    def _wear(self, theme: Theme) -> None:
        """Give all views the theme; with another size of text and the same theme they render anew as well."""
        if theme == self.workspace.theme:
            self.workspace.theme_changed.emit(theme)
        self.workspace.set_theme(theme)

    def _step_text(self, steps: int) -> None:
        self.appearance.step_scale(steps)
        self._keep(text_scale=self.appearance.scale)

    def _on_front(self, _place: int) -> None:
        self.alarms.model.set_running(self.window.is_running)

    def _keep_setting(self, name: str, value: object) -> None:
        self._keep(**{name: value})

    def _keep(self, **changes: object) -> None:
        try:
            self._settings.change(**changes)
        except StirfallError as error:
            self.workspace.notifier.fail(error)

    def _keep_layout(self) -> None:
        geometry = base64.b64encode(self.window.saveGeometry().data()).decode("ascii")
        layout = json.dumps({"geometry": geometry, "splitter": self.window.splitter_state()})
        self._keep(window_layout=layout, right_side=self.window.side.current)

    def _restore_layout(self) -> None:
        try:
            kept = json.loads(self._settings.values.window_layout)
            geometry = QByteArray(base64.b64decode(kept["geometry"], validate=True))
            sizes = tuple(int(width) for width in kept["splitter"])
        except (ValueError, KeyError, TypeError, binascii.Error):
            geometry, sizes = QByteArray(), ()
        self.window.restore(geometry, sizes)
        if self._settings.values.right_side != self.window.side.current:
            self.window.show_side(self._settings.values.right_side)
            self.window.show_page(self.window.page)

    # -- dialogs -----------------------------------------------------------------------------------

    def _open_dialog(self, dialog: QDialog) -> None:
        self.dialog = dialog
        dialog.open()

    def _preferences(self) -> None:
        from stirfall.desktop.preferences_dialog import PreferencesDialog

        dialog = PreferencesDialog(self._settings.values, self.window)
        dialog.changed.connect(self._set)
        self._open_dialog(dialog)

    def _campaign_settings(self) -> None:
        from stirfall.desktop.campaign.settings_dialog import CampaignSettingsDialog

        if (document := self.workspace.document) is not None:
            self._open_dialog(CampaignSettingsDialog(self.workspace, document.state.settings, self.window))

    def _factors(self) -> None:
        from stirfall.desktop.campaign.factors_dialog import FactorsDialog

        if (document := self.workspace.document) is not None:
            self._open_dialog(FactorsDialog(self.workspace, document.state, self.window))

    def _cautions(self) -> None:
        from stirfall.desktop.notes_dialog import NotesDialog, cautions_text

        if (document := self.workspace.document) is not None:
            text = cautions_text(document.state.settings.material)
            self._open_dialog(NotesDialog("Cautions", text, self.window))

    def _classes(self) -> None:
        from stirfall.desktop.photos.anchors import AnchorsDialog

        if self.workspace.document is not None:
            self._open_dialog(AnchorsDialog(self.workspace, self.window))

    def _report(self) -> None:
        from stirfall.desktop.report_dialog import ReportDialog

        if (document := self.workspace.document) is not None:
            self._open_dialog(ReportDialog(self.workspace, document, self.window))

    def _print_labels(self) -> None:
        from stirfall.desktop.printing import open_labels_dialog

        if self.workspace.document is not None:
            self.dialog = open_labels_dialog(self.workspace, (), self.window)

    def _paper_sheet(self) -> None:
        from stirfall.desktop.printing import open_paper_dialog

        self.dialog = open_paper_dialog(self.workspace, self.window)

    def _act_card(self) -> None:
        from stirfall.desktop.printing import open_card_dialog

        self.dialog = open_card_dialog(self.workspace, self.window)

    def _regrade(self) -> None:
        from stirfall.desktop.regrade.dialog import RegradeDialog

        if self.workspace.document is not None:
            self._open_dialog(RegradeDialog(self.workspace, self.window))

    def _course(self) -> None:
        from stirfall.desktop.course.dialog import CourseDialog, attempt_in_hand

        if (attempt_id := attempt_in_hand(self.workspace)) is not None:
            self._open_dialog(CourseDialog(self.workspace, attempt_id, self.window))

    def _assay(self) -> None:
        from stirfall.desktop.physics.assay_dialog import AssayDialog

        self._open_dialog(AssayDialog(self.workspace, self.window))

    def _about(self) -> None:
        from stirfall.desktop.notes_dialog import NotesDialog, about_text

        self._open_dialog(NotesDialog("About Stirfall", about_text(), self.window))

    def _show_guide(self) -> None:
        from stirfall.desktop.guide_window import GuideWindow, guide_pages

        try:
            if self._guide is None:
                self._guide = GuideWindow(guide_pages(), self.window)
        except StirfallError as error:
            self.workspace.notifier.fail(error)
            return
        page = "run" if self.window.is_running else self.window.topic
        self._guide.show_topic(page if self.workspace.document is not None else "first_hour")

    def show_round(self) -> bool:
        """Begin the tour of the window; never while a run is on."""
        from stirfall.desktop.tour.tour import Tour

        if self.tour is None:
            self.tour = Tour(self.window, clock=self._clock)
        return self.tour.start()

    # -- behind the scenes -------------------------------------------------------------------------

    def _warm(self) -> None:
        self.workspace.submit(lambda _token: _load_heavy_libraries(), lambda _result: None)


def _load_heavy_libraries() -> None:
    """Load what the first fit and the first typed unit need; runs on a worker after the window is shown."""
    from stirfall.bench.units import warm_units
    from stirfall.session import analysis

    warm_units()
    del analysis


def decimal_sign(choice: str) -> str:
    """Return the decimal sign for a setting; ``"system"`` means that of the system's locale."""
    return choice if choice in (".", ",") else QLocale.system().decimalPoint()
