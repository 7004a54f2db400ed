"""Long work on the window's thread in slices too short to be noticed: threads would fight for the interpreter."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator
from typing import Any

from PySide6.QtCore import QObject, QTimer

FIRST_S, SLICE_S = 0.012, 0.006
"""What a small ledger needs is done at once; a long one goes on in slices, with drawing and keys between them."""


class Slices(QObject):
    """Runs one generator at a time; a new one takes the place of the old, whose result is dropped."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._steps: Generator[None, None, Any] | None = None
        self._done: Callable[[Any], object] | None = None
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(lambda: self._go_on(SLICE_S))

    @property
    def is_busy(self) -> bool:
        """Whether work is still going on."""
        return self._steps is not None

    def run(self, steps: Generator[None, None, Any], done: Callable[[Any], object]) -> None:
        """Run ``steps`` to its end and call ``done`` with its result, at once where that is quick."""
        self.stop()
        self._steps, self._done = steps, done
        self._go_on(FIRST_S)
        if self._steps is not None:
            self._timer.start()

    def stop(self) -> None:
        """Drop what is going on."""
        self._timer.stop()
        self._steps = self._done = None

    def _go_on(self, seconds: float) -> None:
        steps, done = self._steps, self._done
        if steps is None or done is None:
            self._timer.stop()
            return
        until = time.perf_counter() + seconds
        try:
            while time.perf_counter() < until:
                next(steps)
        except StopIteration as end:
            self.stop()
            done(end.value)
        except Exception:
            self.stop()
            raise
