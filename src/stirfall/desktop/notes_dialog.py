"""Two dialogs to read: the cautions of the metal's class, and what this program is."""

from __future__ import annotations

import platform
from typing import TYPE_CHECKING

from PySide6.QtCore import qVersion
from PySide6.QtWidgets import QTextBrowser, QWidget

from stirfall.desktop.campaign.dialog import FramedDialog
from stirfall.desktop.labelled import name_control
from stirfall.reporting.cautions import load_cautions

if TYPE_CHECKING:
    from stirfall.bench.materials import MaterialClass


_JOB = (
    "A bench companion for parting fine solids from a crude low-melting metal under oil: record, learn, "
    "choose the next attempt, export the recipe."
)
_LIMITS = (
    "It ranks conditions by what was recorded. It cannot know what is in your metal or your oil, and it does not "
    "replace training, local rules or a licence."
)


class NotesDialog(FramedDialog):
    """A text to read, with one button to close it."""

    def __init__(self, title: str, markdown: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent)
        self.text = QTextBrowser()
        self.text.setObjectName("notes_text")
        self.text.setOpenExternalLinks(False)
        self.text.setOpenLinks(False)
        self.text.setMarkdown(markdown)
        name_control(self.text, title)
        self.text.setToolTip("")
        self.build(self.text, "&Close", cancel="").clicked.connect(self.accept)
        self.resize(680, 520)


def cautions_text(material: MaterialClass) -> str:
    """Return all cautions of a class as Markdown, each with its source; nothing is left out."""
    cautions = load_cautions(material)
    lines = [f"## {material.value}", "", f"**{cautions.headline}**", ""]
    lines += [f"- {item.text} *Source: {item.source}.*" for item in cautions.items]
    lines += ["", "Local rules and licensed practice come first. This list is not complete."]
    return "\n".join(lines)


def about_text() -> str:
    """Return what this program is, its version and its licence."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        own = version("stirfall")
    except PackageNotFoundError:
        own = "not installed, run from its source"
    return "\n".join(
        (
            "## Stirfall",
            "",
            _JOB,
            "",
            f"- Version {own}",
            f"- Python {platform.python_version()}, Qt {qVersion()}",
            "- MIT licence",
            "",
            _LIMITS,
        )
    )
