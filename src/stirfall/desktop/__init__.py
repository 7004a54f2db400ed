"""Floor 5, the window; the only place that knows Qt."""

from __future__ import annotations

import ctypes
import sys


def _spare_constants() -> None:
    """Give None, True and False spare references, so that a long evening does not end in a fatal error.

    PySide6 6.12.0 hands these constants out without counting the reference, as is right from Python 3.12 on, where
    they cannot be deallocated. Python 3.11 aborts when no reference is left ("none_dealloc", "bool_dealloc").
    """
    if sys.version_info < (3, 12):
        for constant in (None, True, False, NotImplemented, Ellipsis):
            ctypes.c_ssize_t.from_address(id(constant)).value += 1 << 40


_spare_constants()
