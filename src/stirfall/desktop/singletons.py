"""A guard against a fault of PySide6 6.12 on Python 3.11: its calls lose references to None.

Each call without a result takes one reference from ``None`` too many there, so a window that stays open ends in
"none_dealloc". PySide6 6.11 is sound, and so is Python 3.12, where None lives for ever. pyproject.toml asks for
sound pairs; this guard keeps an environment alive that has the faulty one.
"""

from __future__ import annotations

import ctypes
import sys

_SPARE = 1 << 40  # more than any program can use up, far below the largest count
_FIRST_SOUND_PYTHON = (3, 12)
_FIRST_FAULTY_QT = (6, 12)


def is_faulty(python: tuple[int, int], binding: str) -> bool:
    """Return whether this pair of Python and PySide6 versions gives away references to None."""
    parts = tuple(int(part) for part in binding.split(".")[:2])
    return python < _FIRST_SOUND_PYTHON and parts >= _FIRST_FAULTY_QT


def keep_singletons() -> None:
    """Give None, True, False and NotImplemented so many references that none of them is ever freed."""
    for single in (None, True, False, NotImplemented):
        ctypes.c_ssize_t.from_address(id(single)).value += _SPARE


def guard(binding: str) -> None:
    """Keep the singletons where the versions in use need it."""
    if is_faulty((sys.version_info.major, sys.version_info.minor), binding):
        keep_singletons()
