"""Starting the window, and taking a picture of it where there is no screen."""

from __future__ import annotations

import logging
import os
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from PySide6.QtCore import QEventLoop, QMessageLogContext, QStandardPaths, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QFontDatabase
from PySide6.QtWidgets import QApplication, QWidget

from stirfall.bench.errors import FileTroubleError
from stirfall.desktop.first_run import FirstRun
from stirfall.desktop.icons import app_icon
from stirfall.desktop.shell import Shell
from stirfall.desktop.window import WindowParts
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.clock import Clock

_log = logging.getLogger(__name__)

SETTINGS_VARIABLE = "STIRFALL_SETTINGS_DIR"
_PICTURE_WAITS_S = 60.0
_QUIET_S = 0.4


def settings_folder() -> Path:
    """Return where the program keeps its settings; the variable STIRFALL_SETTINGS_DIR overrides the usual place."""
    chosen = os.environ.get(SETTINGS_VARIABLE)
    if chosen:
        return Path(chosen)
    place = QStandardPaths.StandardLocation.GenericConfigLocation
    return Path(QStandardPaths.writableLocation(place)) / "stirfall"


def run(argv: Sequence[str] = (), *, clock: Clock | None = None) -> int:
    """Show the window, with the session that ``argv`` may name, until it is closed; returns the exit code.

    ``clock`` is that of the sessions; without one it is the computer's.

    Raises FileTroubleError ``desktop.no_display`` and ``desktop.no_fonts``.
    """
    _require_display()
    app = application()
    folder = settings_folder()
    _log_to(folder)
    shell = Shell(app, Settings(folder / "settings.json"), make_parts, clock=clock)
    _catch_bugs(shell)
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Ctrl+C ends the program; everything recorded is on disk
    shell.start(argv[0] if argv else None)
    return app.exec()


def grab_window(
    path: str | Path, session: str | Path, *, size: tuple[int, int] = (1440, 900), theme: str = "light"
) -> None:
    """Write a PNG picture of the whole window with a session opened in it, after its odds are computed.

    Works without a screen. The session file is copied first and stays as it is. Raises FileTroubleError
    ``desktop.no_fonts``, ``desktop.analysis_slow``, ``desktop.picture_failed`` and those of opening a session.
    """
    if not _has_display():
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = application()
    with tempfile.TemporaryDirectory(prefix="stirfall-") as folder:
        copy = Path(folder) / Path(session).name
        shutil.copyfile(session, copy)
        settings = Settings(Path(folder) / "settings.json")
        settings.change(theme=theme)
        shell = Shell(app, settings, make_parts)
        shell.window.setAttribute(Qt.WidgetAttribute.WA_DontShowOnScreen)
        shell.window.resize(*size)
        shell.window.show()
        try:
            shell.files.open_path(copy)
            settle(app, shell, _PICTURE_WAITS_S)
            if not shell.window.grab().save(str(path), "PNG"):
                raise FileTroubleError("desktop.picture_failed", path=str(path))
        finally:
            shell.window.close()
            shell.window.deleteLater()
            shell.deleteLater()


def settle(app: QApplication, shell: Shell, seconds: float) -> None:
    """Let the window work until nothing is computed any more; raises FileTroubleError ``desktop.analysis_slow``."""
    begin = quiet_since = time.monotonic()
    while time.monotonic() - quiet_since < _QUIET_S:  # views wait a moment before they ask for new work
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)
        now = time.monotonic()
        if not shell.executor.is_idle or shell.workspace.is_stale:
            quiet_since = now
        if now - begin > seconds:
            raise FileTroubleError("desktop.analysis_slow", seconds=seconds)
        time.sleep(0.01)


def application() -> QApplication:
    """Return the one application, made on first use; raises FileTroubleError ``desktop.no_fonts``."""
    existing = QApplication.instance()
    if isinstance(existing, QApplication):
        app = existing
    else:
        qInstallMessageHandler(_log_qt)
        app = QApplication([sys.argv[0]])
    app.setApplicationName("stirfall")
    app.setApplicationDisplayName("Stirfall")
    app.setDesktopFileName("stirfall")
    app.setWindowIcon(app_icon())
    if not QFontDatabase.families():
        raise FileTroubleError("desktop.no_fonts")
    return app


def _log_qt(kind: QtMsgType, _context: QMessageLogContext, message: str) -> None:
    """Send Qt's own messages to the log; that the offscreen platform has no window manager is no news."""
    if "propagateSizeHints" in message:
        return
    levels = {
        QtMsgType.QtDebugMsg: logging.DEBUG,
        QtMsgType.QtInfoMsg: logging.INFO,
        QtMsgType.QtWarningMsg: logging.WARNING,
    }
    logging.getLogger("stirfall.qt").log(levels.get(kind, logging.ERROR), "%s", message)


def make_parts(workspace: Workspace, first_run: FirstRun) -> WindowParts:
    """Build the pages of the job and the odds pane for a window; panels wait for their first look."""
    from stirfall.desktop.bench_form.page import BenchPage
    from stirfall.desktop.evidence.page import EvidencePage
    from stirfall.desktop.ledger.page import LedgerPage
    from stirfall.desktop.odds.pane import OddsPane
    from stirfall.desktop.plan.page import PlanPage
    from stirfall.desktop.recipe_page.page import RecipePage
    from stirfall.desktop.run.page import RunPage
    from stirfall.desktop.shelf.page import ShelfPage

    bench = BenchPage(workspace)
    pages = {
        "shelf": ShelfPage(workspace),
        "plan": PlanPage(workspace),
        "bench": bench,
        "attempts": LedgerPage(workspace),
        "evidence": EvidencePage(workspace),
        "recipe": RecipePage(workspace),
    }
    panels = {"melt": lambda: _melt_panel(workspace), "film": lambda: _film_page(workspace)}
    return WindowParts(pages, OddsPane(workspace), first_run, panels, RunPage(workspace, bench.model))


def _melt_panel(workspace: Workspace) -> QWidget:
    from stirfall.desktop.physics.melt_panel import MeltPanel

    return MeltPanel(workspace)


def _film_page(workspace: Workspace) -> QWidget:
    from stirfall.desktop.physics.film_page import FilmPage

    return FilmPage(workspace)


def _has_display() -> bool:
    if not sys.platform.startswith("linux"):
        return True
    return any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))


def _require_display() -> None:
    if QApplication.instance() is None and not _has_display():
        raise FileTroubleError("desktop.no_display")


def _log_to(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handler = logging.FileHandler(folder / "stirfall.log", encoding="utf-8", delay=True)
    except OSError as error:
        _log.warning("no log file: %s", error)
        return
    handler.setLevel(logging.WARNING)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logging.getLogger().addHandler(handler)


class BugCatcher:
    """Turns an error that nobody expected into a log entry and one notice; the session on disk is not touched."""

    def __init__(self, shell: Shell) -> None:
        self._shell = shell
        self._told: set[str] = set()

    def __call__(self, kind: type[BaseException], error: BaseException | None, trace: TracebackType | None) -> None:
        """Handle what ``sys.excepthook`` hands over; the same error is told once."""
        if error is None or issubclass(kind, KeyboardInterrupt):
            return
        last = trace
        while last is not None and last.tb_next is not None:
            last = last.tb_next
        key = f"{kind.__name__}:{last.tb_frame.f_code.co_filename}:{last.tb_lineno}" if last else kind.__name__
        if key in self._told:
            _log.error("again: %r", error)
            return
        self._told.add(key)
        self._shell.workspace.notifier.fail(error.with_traceback(trace))


def _catch_bugs(shell: Shell) -> None:
    catcher = BugCatcher(shell)
    sys.excepthook = catcher
    threading.excepthook = lambda args: _log.error("a worker failed: %r", args.exc_value)
