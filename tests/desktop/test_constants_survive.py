"""A fault of one PySide6 release must not abort the program: see ``stirfall.desktop.singletons``."""

from __future__ import annotations

import subprocess
import sys

_MANY_CALLS = """
import stirfall.desktop
from PySide6.QtGui import QPainterPath
path = QPainterPath()
for _ in range(300_000):
    path.setFillRule(path.fillRule())
    path.isEmpty()
path.lineTo(1.0, 1.0)
for _ in range(300_000):
    path.isEmpty()
print("alive")
"""


def test_hundreds_of_thousands_of_calls_that_return_nothing_or_a_truth_value_do_not_abort_python() -> None:
    command = [sys.executable, "-c", _MANY_CALLS]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr[-400:]
    assert done.stdout.strip() == "alive"
