"""The whole program over a part of a sample, for the tests that look at all of its pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from stirfall.desktop.app import make_parts
from stirfall.desktop.shell import Shell
from stirfall.session.document import Document
from stirfall.session.jobs import ImmediateExecutor
from stirfall.session.samples import open_sample, samples
from stirfall.session.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtCore import QSize
    from PySide6.QtWidgets import QApplication


class _AtOnce(ImmediateExecutor):
    """Works in the window's own thread; takes the parent that the real one has."""

    is_idle = True

    def __init__(self, _parent: object) -> None:
        super().__init__()

    def close(self) -> None:
        """Nothing to end."""


def open_part(app: QApplication, folder: Path, *, attempts: int, size: QSize) -> Shell:
    """Open the window on the lots, the jars and the last few attempts of a sample; its work is done at once."""
    with open_sample(samples()[0].key, folder / "whole.stirfall") as whole:
        state = whole.state
    few = {"lots": state.lots, "jars": state.jars, "attempts": state.attempts[-attempts:]}
    Document.create(folder / "sample.stirfall", state.settings, state.factors, **few).close()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("stirfall.desktop.shell.QtExecutor", _AtOnce)
        made = Shell(app, Settings(folder / "settings.json"), make_parts)
    made.window.resize(size)
    made.window.show()
    assert made.files.open_path(folder / "sample.stirfall")
    return made
