"""The assay calculator: results that someone has, with their uncertainty, into the lot they belong to."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel

from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.physics.assay_dialog import AssayDialog
from stirfall.desktop.physics.assay_inputs import METHODS, MethodKey
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

# Eurachem/CITAC guide "Quantifying Uncertainty in Analytical Measurement", example A2: 0.10214 mol/L, u 0.00010.
QUAM_A2 = {
    "mass_g": ("0.3888", "0.00013"),
    "purity": ("1.0", "0.00029"),
    "molar_mass": ("204.2212", "0.0038"),
    "volume_ml": ("18.64", "0.013"),
    "repeatability": ("", "0.0005"),
}
GAS = {
    "volume_ml": ("461", "1"),
    "temperature_c": ("20", "0.5"),
    "pressure_kpa": ("101.3", "0.1"),
    "sample_g": ("0.9", "0.001"),
    "molar_mass": ("22.99", "0"),
}


@pytest.fixture
def dialog(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[AssayDialog]:
    workspace.open_document(document)
    made = AssayDialog(workspace)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.open()
    yield made
    made.reject()


def fill(dialog: AssayDialog, qtbot: QtBot, method: MethodKey, values: dict[str, tuple[str, str]]) -> None:
    """Type values and uncertainties, as a person does."""
    qtbot.mouseClick(dialog._tabs[method], Qt.MouseButton.LeftButton)
    form = dialog.forms[method]
    for key, (value, u) in values.items():
        for text, field in ((value, form.value), (u, form.u)):
            if text:
                edit = field(key)
                edit.clear()
                qtbot.keyClicks(edit, text)


def plain(text: str) -> str:
    """Return a text with ordinary spaces, however narrow they are on screen."""
    return text.replace("\u202f", " ").replace("\u2009", " ")


# -- results -------------------------------------------------------------------------------------------------


def test_the_titrant_of_the_published_example_comes_out_as_printed(dialog: AssayDialog, qtbot: QtBot) -> None:
    fill(dialog, qtbot, "titrant", QUAM_A2)
    assert "0.10214 ± 0.00010 mol/L (u, k = 1)" in plain(dialog.found.text())
    form = dialog.forms["titrant"]
    shares = {key: form.share(key).text() for key in QUAM_A2}
    # The volume is the largest contribution of the example, repeatability the next (figure A2.7 of the guide).
    assert shares["volume_ml"] == "52\u2009%"
    assert shares["repeatability"] == "27\u2009%"
    assert shares["molar_mass"] == "below 1\u2009%"


def test_the_concentration_goes_into_the_titration_with_its_uncertainty(dialog: AssayDialog, qtbot: QtBot) -> None:
    fill(dialog, qtbot, "titrant", QUAM_A2)
    qtbot.mouseClick(dialog.take, Qt.MouseButton.LeftButton)
    form = dialog.forms["titration"]
    assert form.isVisibleTo(dialog)
    assert float(form.value("concentration").text()) == pytest.approx(0.10214, rel=1e-4)
    assert float(form.u("concentration").text()) == pytest.approx(0.00010, rel=0.05)


def test_gas_over_water_counts_the_vapour_and_every_input_in_the_budget(dialog: AssayDialog, qtbot: QtBot) -> None:
    fill(dialog, qtbot, "gas", GAS)
    assert sentence("assay.dry_taken") in plain(dialog.notes.text())
    dry = dialog.model.state.answer.percent.value
    water = dialog.forms["gas"].water
    water.setFocus()
    for _ in range(2):
        qtbot.keyClick(water, Qt.Key.Key_Down)
    assert sentence("assay.dry_taken") not in plain(dialog.notes.text())
    wet = dialog.model.state.answer.percent.value
    # Saturated vapour at 20 °C is 2.339 kPa (IAPWS), so dry / wet = 101.3 / (101.3 - 2.339).
    assert dry / wet == pytest.approx(101.3 / (101.3 - 2.339), rel=1e-4)
    shares = [
        dialog.model.state.answer.shares[key] for key in ("volume_ml", "temperature_c", "pressure_kpa", "sample_g")
    ]
    assert sum(shares) == pytest.approx(1.0)


def test_an_unknown_uncertainty_makes_that_of_the_result_unknown(dialog: AssayDialog, qtbot: QtBot) -> None:
    fill(dialog, qtbot, "gas", {**GAS, "volume_ml": ("461", "")})
    assert "u unknown" in plain(dialog.found.text())
    assert sentence("assay.u_unknown") in plain(dialog.notes.text())
    assert dialog.forms["gas"].share("volume_ml").text() == "unknown"


def test_a_density_is_a_bound_that_cannot_be_kept(dialog: AssayDialog, qtbot: QtBot) -> None:
    values = {
        "in_air_g": ("10.00", "0.01"),
        "in_liquid_g": ("1.20", "0.01"),
        "liquid_density": ("850", "1"),
        "metal_density": ("927", "1"),
        "solid_density": ("3580", "20"),
    }
    fill(dialog, qtbot, "density", values)
    assert "kg/m³" in plain(dialog.found.text())
    assert "at most" in plain(dialog.notes.text())
    assert sentence("assay_dialog.only_a_bound") in plain(dialog.notes.text())
    assert not dialog.keep.isVisibleTo(dialog)


def test_a_titration_says_that_it_counts_oxide_too(dialog: AssayDialog, qtbot: QtBot) -> None:
    values = {
        "concentration": ("0.1", "0.0001"),
        "volume_ml": ("20", "0.02"),
        "repeatability": ("", "0.001"),
        "sample_g": ("0.05", "0.0001"),
        "molar_mass": ("22.99", "0"),
    }
    fill(dialog, qtbot, "titration", values)
    assert sentence("assay.counts_all_base") in plain(dialog.notes.text())
    qtbot.mouseClick(dialog.keep, Qt.MouseButton.LeftButton)
    assert dialog.store_note.text() == sentence("assay_dialog.counts_base")


# -- what is wrong or missing --------------------------------------------------------------------------------


def test_what_is_missing_and_what_cannot_be_read_is_said(dialog: AssayDialog, qtbot: QtBot) -> None:
    assert "volume of titrant" in plain(dialog.found.text())
    fill(dialog, qtbot, "gas", {**GAS, "volume_ml": ("much", "")})
    assert "Volume of hydrogen" in plain(dialog.found.text())
    assert not dialog.keep.isEnabled()
    fill(dialog, qtbot, "gas", {"volume_ml": ("461", "-1")})
    assert sentence("assay_dialog.negative_u", {"label": "Volume of hydrogen"}) == plain(dialog.found.text())
    fill(
        dialog, qtbot, "gas", {"volume_ml": ("461", "1"), "valence": ("1.5", "")} | {"temperature_c": ("20", "0.5")}
    )
    assert "whole number" in plain(dialog.found.text())


def test_the_caution_stands_above_what_scrolls_whatever_is_shown(dialog: AssayDialog) -> None:
    caution = dialog.findChild(QLabel, "assay_caution")
    assert caution is not None
    assert caution.text() == sentence("assay.trained_only")
    for method in METHODS:
        dialog.model.choose_method(method.key)
        QApplication.processEvents()
        assert caution.isVisibleTo(dialog)
        assert caution.visibleRegion().boundingRect().height() >= caution.heightForWidth(caution.width()) - 1


# -- into the lot --------------------------------------------------------------------------------------------


def test_the_mean_of_kept_results_goes_to_the_lot_with_u_count_and_reason_and_can_be_undone(
    dialog: AssayDialog, qtbot: QtBot, workspace: Workspace
) -> None:
    for volume in ("461", "455", "458"):
        fill(dialog, qtbot, "gas", {**GAS, "volume_ml": (volume, "1")})
        qtbot.mouseClick(dialog.keep, Qt.MouseButton.LeftButton)
    kept = [one.measured.value for one in dialog.model._kept]
    assert "Mean of 3 results" in dialog.mean.text()
    dialog.use.click()
    assert dialog.lot.hasFocus()
    qtbot.mouseClick(dialog.store, Qt.MouseButton.LeftButton)
    assert dialog.problem.text() == sentence("assay_dialog.reason_missing")
    qtbot.keyClicks(dialog.reason, "three assays")
    qtbot.mouseClick(dialog.store, Qt.MouseButton.LeftButton)
    lot = workspace.document.state.lot("L1")
    assert lot.metal_percent == pytest.approx(sum(kept) / 3)
    spread = (sum((value - sum(kept) / 3) ** 2 for value in kept) / 2) ** 0.5
    assert lot.metal_u_percent == pytest.approx(spread / 3**0.5)
    assert lot.assays == 3
    corrections = workspace.document.corrections("L1")
    assert {one.reason for one in corrections} == {"three assays"}
    workspace.undo()
    assert workspace.document.state.lot("L1").metal_percent is None


def test_a_result_can_be_let_go_of_again(dialog: AssayDialog, qtbot: QtBot) -> None:
    fill(dialog, qtbot, "gas", GAS)
    for _ in range(2):
        qtbot.mouseClick(dialog.keep, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(dialog.kept[0][2], Qt.MouseButton.LeftButton)
    assert len(dialog.model.state.kept) == 1
    assert sentence("assay.one_only") in dialog.mean.text()


def test_without_a_session_it_computes_but_stores_nothing(qtbot: QtBot, workspace: Workspace) -> None:
    made = AssayDialog(workspace)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.open()
    fill(made, qtbot, "gas", GAS)
    qtbot.mouseClick(made.keep, Qt.MouseButton.LeftButton)
    assert not made.use.isEnabled()
    assert made.store_note.text() == sentence("assay_dialog.no_lot")
    made.reject()


def test_everything_that_takes_the_keyboard_has_a_name_in_the_order_of_the_form(dialog: AssayDialog) -> None:
    for method in METHODS:
        dialog.model.choose_method(method.key)
        assert all(widget.accessibleName() for widget in focusable_widgets(dialog))
    dialog.model.choose_method("gas")
    edits = [dialog.forms["gas"].value("volume_ml"), dialog.forms["gas"].u("volume_ml")]
    edits[0].setFocus()
    QApplication.processEvents()
    dialog.focusNextChild()
    assert dialog.focusWidget() is edits[1]
