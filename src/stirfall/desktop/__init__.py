"""Floor 5, the window; the only place that knows Qt."""

from __future__ import annotations

import ctypes
import sys


def _spare_none() -> None:
    """Give None spare references, so that a long evening at the window does not end in a fatal error.

    PySide6 6.12.0 takes one reference from None with every call that returns nothing; Python 3.11 aborts when none
    is left ("none_dealloc"). From Python 3.12 on None cannot be deallocated and nothing is done.
    """
    if sys.version_info < (3, 12):
        ctypes.c_ssize_t.from_address(id(None)).value += 1 << 40


_spare_none()
