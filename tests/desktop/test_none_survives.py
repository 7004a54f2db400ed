"""A fault of one PySide6 release must not abort the program: see ``stirfall.desktop._spare_none``."""

from __future__ import annotations

import subprocess
import sys

_MANY_CALLS = """
import stirfall.desktop
from PySide6.QtGui import QPainterPath
path = QPainterPath()
for _ in range(300_000):
    path.setFillRule(path.fillRule())
print("alive")
"""


def test_three_hundred_thousand_calls_that_return_nothing_do_not_abort_python() -> None:
    done = subprocess.run(
        [sys.executable, "-c", _MANY_CALLS], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stderr[-400:]
    assert done.stdout.strip() == "alive"
