"""A new campaign: what the metal is, what the oil can stand, and where the file goes."""

from __future__ import annotations

import re
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QLabel, QLineEdit, QPushButton, QVBoxLayout, QWidget

from stirfall.bench.factors import standard_factors
from stirfall.bench.records import CampaignSettings
from stirfall.desktop.campaign.campaign_dialog import CampaignDialog
from stirfall.desktop.campaign.fields import CampaignFields
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.form_state import CampaignForm
from stirfall.desktop.campaign.limits_fields import LimitsFields
from stirfall.desktop.campaign.materials_fields import MaterialsFields
from stirfall.desktop.campaign.own_limits import additive_levels
from stirfall.desktop.campaign.parts import Parts
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.sentences import sentence

SUFFIX = ".stirfall"
_UNWANTED = re.compile(r"[^\w\- ]+")
_LONGEST_NAME = 60  # letters; file systems take 255 bytes


def file_name_for(title: str) -> str:
    """Return a file name made from a title: letters, digits, spaces and dashes, not too long, with our suffix."""
    words = " ".join(_UNWANTED.sub(" ", title).split())[:_LONGEST_NAME].rstrip()
    return (words or "New campaign") + SUFFIX


def place_of(typed: str) -> Path:
    """Return where a file shall go that was typed as ``typed``; our suffix is added where it is not there.

    Raises RuntimeError and ValueError for what can be no place of a file.
    """
    path = Path(typed.strip()).expanduser()
    return path if path.suffix == SUFFIX else path.with_name(path.name + SUFFIX)


class NewCampaignDialog(CampaignDialog):
    """Asks for the settings and the place.

    Signals:
        wanted(CampaignSettings, Path): create this campaign there. The receiver calls ``accept`` when it exists, or
            ``show_trouble``.
    """

    wanted = Signal(object, object)

    def __init__(self, folder: Path, *, decimal: str = ".", parent: QWidget | None = None) -> None:
        super().__init__("New campaign", parent)
        self._folder = folder
        self._place_is_own = False
        self.model = FormModel(CampaignForm(), CampaignSettings(), decimal=decimal, parent=self)
        self.fields = CampaignFields(self.model)
        self.materials = MaterialsFields(self.model)
        self.limits = LimitsFields(self.model, additive_levels(standard_factors()))
        self.parts = Parts({"metal": self.fields, "materials": self.materials, "limits": self.limits})
        self.place = QLineEdit(str(folder / file_name_for("")))
        self.place.setObjectName("campaign_place")
        self.place.textEdited.connect(self._on_place_edited)
        self.build(self._make_content(), "C&reate campaign").clicked.connect(self._submit)
        self.model.changed.connect(self._follow_title)
        self.follow_window(self.model, self.parts)
        self.fields.line("title").setFocus()
        self.fit(108 * SPACING)

    def _make_content(self) -> QWidget:
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(SPACING)
        column.addWidget(self.parts)
        choose = QPushButton("C&hoose…")
        name_control(choose, "Choose the place of the file")
        choose.clicked.connect(self._choose_place)
        row = QHBoxLayout()
        row.setSpacing(SPACING)
        row.addWidget(self.place, 1)
        row.addWidget(choose)
        self.fields.add_row("Fil&e", self.place, row)
        note = QLabel(sentence("desktop.new_campaign_note"))
        note.setWordWrap(True)
        set_text_role(note, "muted")
        self.fields.add_wide(note)
        return content

    def show_trouble(self, text: str) -> None:
        """Say why the campaign could not be created there."""
        self.show_problem(text)
        self.parts.show_part("metal")
        self.place.setFocus()

    def _follow_title(self, state: FormState) -> None:
        if not self._place_is_own:
            self.place.setText(str(self._folder / file_name_for(state.form.title)))

    def _on_place_edited(self) -> None:
        self._place_is_own = True
        self.show_problem("")

    def _choose_place(self) -> None:
        chooser = QFileDialog(self, "Place of the session file", self.place.text())
        chooser.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        chooser.setNameFilter(f"Stirfall sessions (*{SUFFIX})")
        chooser.setDefaultSuffix(SUFFIX.lstrip("."))
        chooser.fileSelected.connect(self._take_place)
        chooser.open()

    def _take_place(self, path: str) -> None:
        self._place_is_own = True
        self.place.setText(path)
        self.show_problem("")

    def _submit(self) -> None:
        settings = self.model.submit()
        if settings is None:
            self.parts.show_problem()
            return
        try:
            path = place_of(self.place.text())
            is_taken = path.exists()
        except (OSError, RuntimeError, ValueError):  # too long, of nobody's home, or no name at all
            self.show_trouble(sentence("desktop.place_unusable"))
            return
        if is_taken:
            self.show_trouble(sentence("desktop.place_taken", {"name": path.name}))
            return
        self.show_problem("")
        self.wanted.emit(settings, path)
