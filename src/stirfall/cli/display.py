"""Whether a window can open here; decided without loading Qt."""

from __future__ import annotations

import os
import sys

# Platforms of Qt that draw, but not for anyone to see.
_UNSEEN = ("offscreen", "minimal")


def has_display() -> bool:
    """Return whether this process can show a window to someone."""
    platform = os.environ.get("QT_QPA_PLATFORM", "").split(":")[0]
    if platform:
        return platform not in _UNSEEN
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def draw_unseen() -> None:
    """Let Qt draw into memory when there is no display; call it before Qt is loaded."""
    if not has_display():
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
