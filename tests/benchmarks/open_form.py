"""Open a session in the window and print “ready” once the bench form is enabled and painted; for run.py."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from PySide6.QtCore import QEvent, QObject, QTimer

from stirfall.desktop.app import application, make_parts
from stirfall.desktop.shell import Shell
from stirfall.session.settings import Settings


class FirstPaint(QObject):
    """Says when the page is painted while it can be used."""

    def __init__(self, shell: Shell) -> None:
        super().__init__(shell.window)
        self.shell = shell
        shell.window.parts.pages["bench"].installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Watch for a paint of the page with a session in it."""
        page = self.shell.window.parts.pages["bench"]
        if (
            event.type() == QEvent.Type.Paint
            and page.isEnabled()
            and page.isVisible()
            and self.shell.workspace.document is not None
        ):
            QTimer.singleShot(0, leave)
        return super().eventFilter(watched, event)


def leave() -> None:
    """Tell the parent and end without tidying up, which would not be part of the start."""
    print("ready", flush=True)
    os._exit(0)


if __name__ == "__main__":
    app = application()
    shell = Shell(app, Settings(Path(sys.argv[2]) / "settings.json"), make_parts)
    watch = FirstPaint(shell)
    shell.start(sys.argv[1])
    app.exec()
