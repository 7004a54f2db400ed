"""The guard against bindings that lose references to None."""

from __future__ import annotations

import subprocess
import sys

import pytest

from stirfall.desktop.singletons import is_faulty


@pytest.mark.parametrize(
    ("python", "binding", "faulty"),
    [
        ((3, 11), "6.12.0", True),
        ((3, 11), "6.11.3", False),
        ((3, 12), "6.12.0", False),
        ((3, 13), "6.13.1", False),
        ((3, 11), "6.8.0.2", False),
    ],
)
def test_only_the_measured_pairs_are_guarded(python: tuple[int, int], binding: str, faulty: bool) -> None:
    assert is_faulty(python, binding) is faulty


def test_many_calls_without_a_result_do_not_end_the_program() -> None:
    code = (
        "import stirfall.desktop\n"
        "from PySide6.QtCore import QObject\n"
        "thing = QObject()\n"
        "for _ in range(200_000): thing.setObjectName('x')\n"
        "print('alive')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=False)
    assert (done.returncode, done.stdout.strip()) == (0, "alive"), done.stderr
