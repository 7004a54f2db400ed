"""The campaign dialogs: what typed text means, what is said beside the fields, and what one command changes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QLineEdit, QPushButton

from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.substances import (
    AdditiveValues,
    MetalValues,
    OilValues,
    OwnLimits,
    SolidsValues,
    Substances,
    VesselValues,
)
from stirfall.desktop.campaign.edits import with_edit
from stirfall.desktop.campaign.entries import AdditiveEntry
from stirfall.desktop.campaign.factor_rows import FactorRow, problem_of, read_row, row_of
from stirfall.desktop.campaign.factor_table import FIELDS, FactorTable
from stirfall.desktop.campaign.factors_dialog import FactorsDialog
from stirfall.desktop.campaign.form_state import CampaignForm, form_of, read_form
from stirfall.desktop.campaign.new_dialog import NewCampaignDialog, file_name_for
from stirfall.desktop.campaign.settings_dialog import CampaignSettingsDialog
from stirfall.desktop.theme import LIGHT
from stirfall.session.commands import ChangeFactors

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

COMPLETE = CampaignForm(title="Dross", material=MaterialClass.BASE_METAL, melting="138 C", flash="437 F")


def test_temperatures_are_read_with_their_units_and_shown_back() -> None:
    reading = read_form(COMPLETE, CampaignSettings())
    assert reading.settings is not None
    assert reading.settings.melting_point_c == 138.0
    # 437 degrees Fahrenheit are (437 - 32) * 5 / 9 = 225 degrees Celsius by the definition of the scale.
    assert reading.settings.oil_flash_c == pytest.approx(225.0)
    assert "225" in reading.notes["flash"]


def test_unknown_stays_unknown_and_says_what_follows() -> None:
    reading = read_form(COMPLETE.with_field("flash", " "), CampaignSettings())
    assert reading.settings is not None
    assert reading.settings.oil_flash_c is None
    assert "Unknown" in reading.notes["flash"]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("title", "  "),
        ("material", None),
        ("melting", "hot"),
        ("melting", "5 kg"),
        ("flash", "-400 C"),
        ("level", "100"),
        ("level", "20"),
        ("effect_sd", "0"),
        ("intercept_sd", "wide"),
        ("lot_sd", "-1"),
        ("lot_sd", "1e999"),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_made(field: str, value: object) -> None:
    reading = read_form(COMPLETE.with_field(field, value), CampaignSettings())
    assert reading.settings is None
    assert list(reading.problems) == [field]
    assert reading.problems[field].endswith(".")


def test_settings_survive_their_form_and_hidden_fields_are_kept() -> None:
    settings = CampaignSettings(
        "Dross",
        MaterialClass.ALKALI_METAL,
        melting_point_c=97.8,
        invented=True,
        level=0.9,
        humps=("sample age",),
        products=(("sample age", "temperature"),),
        partly="ordinal",
        lot_effect="bench",
        lot_sd_prior=0.5,
        form="straight",
    )
    assert read_form(form_of(settings), settings).settings == settings
    assert read_form(form_of(settings, decimal=","), settings, decimal=",").settings == settings


def test_a_title_becomes_a_file_name() -> None:
    assert file_name_for("Dross: May/June") == "Dross May June.stirfall"
    assert file_name_for(" ") == "New campaign.stirfall"


@pytest.fixture
def new_dialog(qtbot: QtBot, tmp_path: Path, themed: object) -> NewCampaignDialog:
    dialog = NewCampaignDialog(tmp_path)
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    return dialog


def verb(dialog: QPushButton | object) -> QPushButton:
    return dialog.findChild(QPushButton, "dialog_verb")  # type: ignore[attr-defined]


def test_an_empty_new_campaign_is_not_scolded_before_it_is_asked_for(
    new_dialog: NewCampaignDialog, qtbot: QtBot
) -> None:
    assert new_dialog.fields.message("title").text() == ""
    qtbot.mouseClick(verb(new_dialog), Qt.MouseButton.LeftButton)
    assert "needs a title" in new_dialog.fields.message("title").text()
    assert "needs a title" in new_dialog.fields.line("title").accessibleDescription()
    assert "class of your metal" in new_dialog.fields.message("material").text()


def test_a_campaign_is_typed_with_keys_and_asked_for(
    new_dialog: NewCampaignDialog, qtbot: QtBot, tmp_path: Path
) -> None:
    qtbot.keyClicks(new_dialog.fields.line("title"), "Dross May")
    assert new_dialog.place.text() == str(tmp_path / "Dross May.stirfall")
    qtbot.mouseClick(new_dialog.fields.radio(MaterialClass.BASE_METAL), Qt.MouseButton.LeftButton)
    qtbot.keyClicks(new_dialog.fields.line("melting"), "138")
    with qtbot.waitSignal(new_dialog.wanted) as wanted:
        qtbot.mouseClick(verb(new_dialog), Qt.MouseButton.LeftButton)
    settings, path = wanted.args
    assert settings.title == "Dross May"
    assert settings.material is MaterialClass.BASE_METAL
    assert settings.melting_point_c == 138.0
    assert settings.oil_flash_c is None
    assert path == tmp_path / "Dross May.stirfall"


def test_a_place_that_is_taken_is_refused_in_place(
    new_dialog: NewCampaignDialog, qtbot: QtBot, tmp_path: Path
) -> None:
    (tmp_path / "Taken.stirfall").write_text("something else")
    qtbot.keyClicks(new_dialog.fields.line("title"), "Taken")
    qtbot.mouseClick(new_dialog.fields.radio(MaterialClass.OTHER), Qt.MouseButton.LeftButton)
    with qtbot.assertNotEmitted(new_dialog.wanted):
        qtbot.mouseClick(verb(new_dialog), Qt.MouseButton.LeftButton)
    assert "Taken.stirfall" in new_dialog.problem.text()
    assert new_dialog.problem.isVisible()


@pytest.mark.parametrize(
    "place", ["x" * 300, "~nobody of that name/mine", "", "/"], ids=["long", "home", "", "top"]
)
def test_what_can_be_no_place_of_a_file_is_refused_in_place(
    new_dialog: NewCampaignDialog, qtbot: QtBot, place: str
) -> None:
    qtbot.keyClicks(new_dialog.fields.line("title"), "Dross")
    qtbot.mouseClick(new_dialog.fields.radio(MaterialClass.OTHER), Qt.MouseButton.LeftButton)
    new_dialog.place.selectAll()
    qtbot.keyClick(new_dialog.place, Qt.Key.Key_Delete)
    qtbot.keyClicks(new_dialog.place, place)
    with qtbot.assertNotEmitted(new_dialog.wanted):
        qtbot.mouseClick(verb(new_dialog), Qt.MouseButton.LeftButton)
    assert "No file can go by this name" in new_dialog.problem.text()


def test_typing_a_place_ends_its_following_of_the_title(new_dialog: NewCampaignDialog, qtbot: QtBot) -> None:
    new_dialog.place.selectAll()
    qtbot.keyClicks(new_dialog.place, "mine")
    qtbot.keyClicks(new_dialog.fields.line("title"), "Dross")
    assert new_dialog.place.text() == "mine"


def test_saving_settings_is_one_command_with_a_way_back(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings)
    dialog.show()
    flash = dialog.fields.line("flash")
    flash.selectAll()
    qtbot.keyClicks(flash, "210 C")
    with qtbot.waitSignal(workspace.notified) as told:
        qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert document.state.settings.oil_flash_c == 210.0
    assert told.args[0].act == "Undo"
    told.args[0].on_act()
    assert document.state.settings.oil_flash_c == 225.0


def test_settings_with_a_problem_stay_in_the_dialog(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    before = document.state.settings
    dialog = CampaignSettingsDialog(workspace, before)
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    qtbot.mouseClick(dialog.part_button("model"), Qt.MouseButton.LeftButton)
    qtbot.mouseClick(dialog.assumptions.more, Qt.MouseButton.LeftButton)
    level = dialog.assumptions.priors.line("level")
    level.selectAll()
    qtbot.keyClicks(level, "120")
    qtbot.mouseClick(dialog.assumptions.more, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(dialog.part_button("metal"), Qt.MouseButton.LeftButton)
    assert not level.isVisible()
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert dialog.isVisible()
    assert document.state.settings is before
    assert dialog.part == "model"
    assert level.isVisible()
    assert "between 50 % and 100 %" in dialog.assumptions.priors.message("level").text()


def test_a_factor_survives_its_row(document: Document) -> None:
    for factor in document.state.factors:
        assert read_row(row_of(factor, used=True)) == factor
        assert read_row(row_of(factor, used=True, decimal=",")) == factor


def test_a_range_may_be_typed_in_another_unit() -> None:
    row = FactorRow(name="sample age", unit="h", low="90 min", high="3 d", scale=Scale.LOG)
    factor = read_row(row)
    assert factor.bounds == (1.5, 72.0)
    assert factor.role is Role.SAMPLE_AGE


def test_a_new_range_keeps_what_a_factor_means(document: Document) -> None:
    temperature = document.state.factors[1]
    row = row_of(temperature, used=True).with_field("low", "100")
    assert read_row(row).role is Role.TEMPERATURE
    assert read_row(row).unit == temperature.unit


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (FactorRow(name="", low="0", high="1"), "needs a name"),
        (FactorRow(name="x", low="2", high="1"), "must be the smaller"),
        (FactorRow(name="x", low="0", high="1", scale=Scale.LOG), "above zero"),
        (FactorRow(name="x", low="a", high="1"), "not a number"),
        (FactorRow(name="x", low="", high="1"), "lowest and a highest"),
        (FactorRow(name="x", levels="one", is_choice=True), "at least two levels"),
        (FactorRow(name="Sample  Age", low="1", high="2"), "two factors"),
    ],
)
def test_a_wrong_row_says_what_is_wrong(row: FactorRow, words: str) -> None:
    other = FactorRow(name="sample age", unit="h", low="1", high="2")
    assert words in problem_of(row, (other,))


def test_a_level_that_attempts_use_cannot_vanish(document: Document) -> None:
    stirring = row_of(document.state.factors[2], used=True)
    assert "swirl" in problem_of(stirring.with_field("levels", "fold, press"), ())
    assert problem_of(stirring.with_field("levels", "swirl, fold, press, scrape, shake"), ()) == ""


def test_the_table_model_keeps_qt_s_rules(document: Document, qtbot: QtBot) -> None:
    model = FactorTable(document.state, LIGHT, ".")
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    row = model.add(is_choice=False)
    assert model.factors() is None
    for field, text in (("name", "ramp rate"), ("unit", "1/min"), ("low", "1"), ("high", "9")):
        assert model.setData(model.index(row, FIELDS.index(field)), text)
    factors = model.factors()
    assert factors is not None
    assert factors[-1].name == "ramp rate"
    assert model.move(row, -1) == row - 1
    model.remove(row - 1)
    assert model.factors() == document.state.factors


def test_used_factors_cannot_be_renamed_or_removed(document: Document) -> None:
    model = FactorTable(document.state, LIGHT, ".")
    assert not model.setData(model.index(0, FIELDS.index("name")), "other")
    assert not model.can_remove(0)
    model.remove(0)
    assert model.factors() == document.state.factors


def test_a_range_changed_with_keys_is_one_command(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    attempts = document.state.attempts
    dialog = FactorsDialog(workspace, document.state)
    dialog.show()
    with qtbot.waitActive(dialog):
        dialog.activateWindow()
    dialog.table.setFocus()
    dialog.table.setCurrentIndex(dialog.model.index(1, FIELDS.index("high")))
    qtbot.keyClick(dialog.table, Qt.Key.Key_F2)
    editor = dialog.table.findChild(QLineEdit)
    assert editor is not None
    editor.selectAll()
    qtbot.keyClicks(editor, "170")
    qtbot.keyClick(editor, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: dialog.model.rows[1].high == "170")
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert document.state.factors[1].high == 170.0
    assert document.state.attempts == attempts
    assert document.undo_name is not None


def test_a_factor_is_hidden_by_its_box(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    dialog = FactorsDialog(workspace, document.state)
    dialog.show()
    index = dialog.model.index(2, FIELDS.index("hidden"))
    assert dialog.model.setData(index, Qt.CheckState.Unchecked.value, Qt.ItemDataRole.CheckStateRole)
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert [factor.hidden for factor in document.state.factors] == [False, False, True]


def test_the_verb_waits_until_every_row_is_right(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    workspace.open_document(document)
    dialog = FactorsDialog(workspace, document.state)
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    assert dialog.model.setData(dialog.model.index(1, FIELDS.index("low")), "999")
    assert not verb(dialog).isEnabled()
    assert "must be the smaller" in dialog.problem.text()
    assert "must be the smaller" in dialog.table.accessibleDescription()
    assert dialog.model.setData(dialog.model.index(1, FIELDS.index("low")), "90")
    assert verb(dialog).isEnabled()
    assert dialog.problem.text() == ""


def test_the_film_index_is_added_ready_made_and_only_once(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    workspace.open_document(document)
    dialog = FactorsDialog(workspace, document.state)
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    qtbot.mouseClick(dialog.add_film, Qt.MouseButton.LeftButton)
    assert not dialog.add_film.isVisible()
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    film = document.state.factors[-1]
    assert (film.name, film.role) == ("film index", Role.FILM_INDEX)
    assert document.undo_name is not None


# -- metal, oil and what they are checked against --------------------------------------------------------------


def test_a_metal_of_the_table_fills_in_name_melting_point_and_class(new_dialog: NewCampaignDialog) -> None:
    chooser = new_dialog.fields.chooser("metal_key")
    chooser.setCurrentIndex(chooser.findData("sodium"))
    assert new_dialog.fields.line("metal").text() == "sodium"
    # 370.944 K, CRC Handbook of Chemistry and Physics.
    assert new_dialog.fields.line("melting").text() == "97.794 °C"
    assert new_dialog.fields.radio(MaterialClass.ALKALI_METAL).isChecked()
    assert new_dialog.fields.line("flash").text() == "", "a flash point has no default, ever"


@pytest.mark.parametrize(
    ("key", "chosen", "is_refused"),
    [
        ("potassium", MaterialClass.BASE_METAL, True),
        ("potassium", MaterialClass.ALKALI_METAL, True),
        ("potassium", MaterialClass.OTHER, True),
        ("potassium", MaterialClass.SUPEROXIDE_FORMER, False),
        ("sodium-potassium", MaterialClass.ALKALI_METAL, True),
        ("sodium", MaterialClass.BASE_METAL, True),
        ("sodium", MaterialClass.OTHER, False),
        ("sodium", MaterialClass.SUPEROXIDE_FORMER, False),
        ("tin", MaterialClass.BASE_METAL, False),
        ("tin", MaterialClass.ALKALI_METAL, False),
    ],
)
def test_a_class_too_mild_for_the_metal_is_refused(key: str, chosen: MaterialClass, is_refused: bool) -> None:
    form = with_edit(with_edit(COMPLETE, "metal_key", key), "material", chosen)
    reading = read_form(form, CampaignSettings())
    assert ("material" in reading.problems) is is_refused
    assert (reading.settings is None) is is_refused
    if is_refused:
        assert "refused" in reading.problems["material"]


@pytest.mark.parametrize(
    ("name", "is_refused"),
    [
        ("potassium", True),
        ("crude Potassium, second run", True),
        ("sodium-potassium", True),
        ("NaK", True),
        ("cesium", True),
        ("tin-bismuth dross", False),
        ("potassium-free tin", False),
        ("tin free of potassium", False),
        ("snake metal", False),
    ],
)
def test_a_superoxide_former_cannot_be_entered_as_a_base_metal_by_its_name(name: str, is_refused: bool) -> None:
    reading = read_form(COMPLETE.with_field("metal", name), CampaignSettings())
    assert ("material" in reading.problems) is is_refused


@pytest.mark.parametrize("field", ["oil", "bottle"])
def test_another_bottle_is_asked_anew_and_the_old_name_brings_its_values_back(field: str) -> None:
    settings = CampaignSettings(
        "Dross",
        MaterialClass.BASE_METAL,
        oil="white oil",
        oil_flash_c=225.0,
        substances=Substances(oil=OilValues(bottle="7", autoignition_c=330.0, stated_max_c=180.0)),
    )
    before = form_of(settings)
    other = with_edit(before, field, "something else")
    assert (other.flash, other.autoignition, other.stated_max) == ("", "", "")
    reading = read_form(other, settings)
    assert "asked anew" in reading.notes["flash"]
    assert reading.settings is not None
    assert reading.settings.oil_flash_c is None
    back = with_edit(other, field, getattr(before, field).upper())
    assert (back.flash, back.autoignition, back.stated_max) == ("225 °C", "330 °C", "180 °C")
    assert "asked anew" not in read_form(back, settings).notes["flash"]
    kept = with_edit(with_edit(other, "flash", "200 C"), "title", "Other")
    assert kept.flash == "200 C"
    assert "asked anew" not in read_form(kept, settings).notes["flash"]


@pytest.mark.parametrize(
    ("flash", "stated", "autoignition", "expected"),
    [
        ("225 C", "", "", "143 to 175 °C"),
        ("225 C", "170 C", "", "143 to 170 °C"),
        ("225 C", "180 C", "260 C", "143 to 160 °C"),
        ("", "180 C", "", "No operating window yet"),
        ("190 C", "", "", "No operating window: "),
        ("193 C", "", "", "143 to 143 °C"),
    ],
)
def test_a_line_says_what_the_entries_mean_together(
    flash: str, stated: str, autoignition: str, expected: str
) -> None:
    form = replace(COMPLETE, flash=flash, stated_max=stated, autoignition=autoignition)
    assert expected in read_form(form, CampaignSettings()).notes["window"]


def test_the_line_of_the_window_stands_above_the_verbs(new_dialog: NewCampaignDialog, qtbot: QtBot) -> None:
    assert "No operating window yet" in new_dialog.window_line.text()
    qtbot.keyClicks(new_dialog.fields.line("melting"), "138")
    qtbot.keyClicks(new_dialog.fields.line("flash"), "225")
    assert new_dialog.window_line.text().startswith("Operating window 143 to 175 °C")


FULL = Substances(
    MetalValues("tin-bismuth", 8560.0, 2.1, 430.0),
    SolidsValues("tin oxides", "tin-dioxide", None, 2.0, 20.0),
    OilValues("7", "reused", 862.0, 20.0, 46.0, 40.0, 6.9, 100.0, 330.0, 180.0),
    (AdditiveValues("rosin", "rosin", 20.0, 302.5, 1.0), AdditiveValues("wax", "hydrocarbon", hydrogens=0.0)),
    VesselValues(150.0, 55.0, 35.0),
    OwnLimits(None, 50.0, 10.0, 5.0),
)


@pytest.mark.parametrize("decimal", [".", ","])
def test_substances_survive_their_form(decimal: str) -> None:
    settings = CampaignSettings("Dross", MaterialClass.BASE_METAL, oil="white oil", substances=FULL)
    assert read_form(form_of(settings, decimal=decimal), settings, decimal=decimal).settings == settings


@pytest.mark.parametrize(
    ("field", "value", "where"),
    [
        ("metal_density", "-1", "metal_density"),
        ("solids_density", "heavy", "solids_density"),
        ("size_low", "50", "size_high"),
        ("viscosity_1_at", "", "viscosity_1_at"),
        ("viscosity_2", "", "viscosity_2"),
        ("viscosity_2", "60", "viscosity_2"),
        ("viscosity_2_at", "40", "viscosity_2_at"),
        ("stated_max", "5000", "stated_max"),
        ("vessel_volume", "0", "vessel_volume"),
        ("own_humidity", "61", "own_humidity"),
        ("own_hydrogen", "20.1", "own_hydrogen"),
        ("own_residue", "8", "own_residue"),
        ("additives", (AdditiveEntry("", cap="1"),), "additive_0"),
        ("additives", (AdditiveEntry("a"), AdditiveEntry(" A ")), "additive_1"),
        ("additives", (AdditiveEntry("a", cap="0"),), "additive_0"),
        ("additives", (AdditiveEntry("a", hydrogens="0.5"),), "additive_0"),
        ("additives", (AdditiveEntry("a", hydrogens="-1"),), "additive_0"),
    ],
)
def test_each_wrong_entry_about_materials_is_named(field: str, value: object, where: str) -> None:
    settings = CampaignSettings("Dross", MaterialClass.BASE_METAL, substances=FULL)
    reading = read_form(form_of(settings).with_field(field, value), settings)
    assert reading.settings is None
    assert where in reading.problems
    assert not reading.problems[where].startswith("campaign.")


@pytest.mark.parametrize(("value", "is_refused"), [("60", False), ("60.1", True), ("59", False)])
def test_an_own_limit_may_only_be_stricter_and_the_shipped_one_stands_beside_it(
    value: str, is_refused: bool
) -> None:
    reading = read_form(COMPLETE.with_field("own_humidity", value), CampaignSettings())
    assert ("own_humidity" in reading.problems) is is_refused
    assert "60" in reading.notes["own_humidity"]


def test_the_age_limit_beside_the_own_one_is_that_of_the_class() -> None:
    def shipped(material: MaterialClass) -> str:
        return read_form(COMPLETE.with_field("material", material), CampaignSettings()).notes["own_age"]

    assert "30\u2009days" in shipped(MaterialClass.ALKALI_METAL)
    assert "24\u2009h" in shipped(MaterialClass.SUPEROXIDE_FORMER)
    assert "No shipped limit" in shipped(MaterialClass.BASE_METAL)


def test_an_additive_that_the_metal_may_not_meet_says_so() -> None:
    wet = (AdditiveEntry("salt water", "water-based"), AdditiveEntry("mystery"))
    form = replace(COMPLETE, material=MaterialClass.ALKALI_METAL, additives=wet)
    notes = read_form(form, CampaignSettings()).notes
    assert "Not with this metal" in notes["additive_0"]
    assert "Choose its class" in notes["additive_1"]
    calm = replace(form, material=MaterialClass.BASE_METAL)
    assert "additive_0" not in read_form(calm, CampaignSettings()).notes


def test_additives_are_added_from_the_levels_of_the_factor_and_removed(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    additive = Factor("additive", levels=("none", "rosin", "wax"), default="none")
    document.execute(ChangeFactors((*document.state.factors, additive)))
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part="limits")
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    rows = dialog.limits.additives
    for _ in range(2):
        qtbot.mouseClick(rows.add, Qt.MouseButton.LeftButton)
    assert [entry.name for entry in rows.entries] == ["rosin", "wax"]
    kind = rows.rows[0].kind
    kind.setCurrentIndex(kind.findData("rosin"))
    qtbot.keyClicks(rows.rows[0].numbers["cap"], "15")
    qtbot.mouseClick(rows.rows[1].remove, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert document.state.settings.substances.additives == (AdditiveValues("rosin", "rosin", 15.0),)


def test_a_problem_in_another_part_brings_that_part_up(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part="materials")
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    qtbot.keyClicks(dialog.materials.line("size_low"), "much")
    dialog.show_part("metal")
    qtbot.mouseClick(verb(dialog), Qt.MouseButton.LeftButton)
    assert dialog.part == "materials"
    assert "not a number" in dialog.materials.message("size_low").text()
