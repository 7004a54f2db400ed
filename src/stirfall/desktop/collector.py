"""Collection of reference cycles on the window's thread only.

Python collects on whatever thread happens to make the next object. What is freed there may be a widget, and only
the window's own thread may free widgets; a worker that did so brought the program down now and then.
"""

from __future__ import annotations

import gc
import time
from contextlib import ExitStack

from PySide6.QtCore import QObject, QTimer

from stirfall.bench.collecting import collection_held

INTERVAL_MS = 500
_FULL_EVERY_S = 30.0


def set_aside() -> None:
    """Leave all there is now out of collections: a large session lasts, and looking it through takes long."""
    gc.freeze()


def take_back() -> None:
    """Let collections look through what was set aside."""
    gc.unfreeze()


class Collector(QObject):
    """Holds off Python's own collections for as long as it works, and collects by a timer on its own thread."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._held = ExitStack()
        self._held.enter_context(collection_held())
        self._last_full = time.monotonic()
        self._timer = QTimer(self)
        self._timer.setInterval(INTERVAL_MS)
        self._timer.timeout.connect(self.collect)
        self._timer.start()
        self.destroyed.connect(self._held.close)

    def collect(self) -> None:
        """Collect the oldest generation that is due, as Python would; all objects seldom, as that takes longest."""
        counts = zip(gc.get_count(), gc.get_threshold(), strict=True)
        due = [at for at, (count, most) in enumerate(counts) if count > most > 0]
        if not due:
            return
        now = time.monotonic()
        generation = max(due)
        if generation == 2 and now - self._last_full < _FULL_EVERY_S:
            generation = 1
        if generation == 2:
            self._last_full = now
        gc.collect(generation)

    def stop(self) -> None:
        """Let Python collect by itself again; called once no worker is left."""
        self._timer.stop()
        self._held.close()
