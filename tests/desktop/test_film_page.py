"""What sets the film: two jars side by side in words and as a picture, what is unknown, and what is a hazard."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel

from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.substances import Lid
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.physics.film_page import FilmPage
from stirfall.desktop.physics.film_plot import axes_of
from stirfall.desktop.physics.film_state import effect_text, film_content, index_text, jar_entries
from stirfall.desktop.theme import LIGHT, THEMES, apply_theme
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.sentences import sentence
from stirfall.session.clock import FixedClock
from stirfall.session.commands import AddJar, ChangeSettings, EmptyJar
from stirfall.session.document import Document
from stirfall.session.film import film_of_jar

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

# The narrowest that the page gets in a window for a screen of 1280 by 720.
NARROW, LOW = 560, 600
NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)  # the clock of the fixtures
SHALLOW = Jar(
    "J1",
    "L1",
    NOW - timedelta(hours=12),
    oil_depth_mm=10.0,
    lid=Lid.OPEN.value,
    inner_diameter_mm=40.0,
    metal_area_cm2=20.0,
    material="glass",
    oil_history="new",
    storage_c=20.0,
    room_rh_percent=50.0,
)
DEEP = replace(SHALLOW, id="J2", oil_depth_mm=30.0, started_at=NOW - timedelta(hours=36), room_rh_percent=None)
SILENT = Jar("J3", "L1", NOW - timedelta(days=2))
RESIDUE = Jar("R1", "L1", NOW - timedelta(days=9), contents="residue")


@pytest.fixture
def jars(
    tmp_path: Path, campaign_settings: CampaignSettings, few_factors: tuple[Factor, ...], clock: FixedClock
) -> Iterator[Document]:
    """Two jars that say enough, one that does not, and residue."""
    made = Document.create(
        tmp_path / "jars.stirfall",
        campaign_settings,
        few_factors,
        lots=(Lot("L1", NOW - timedelta(days=40)),),
        jars=(SHALLOW, DEEP, SILENT, RESIDUE),
        clock=clock,
    )
    with made:
        yield made


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, jars: Document) -> FilmPage:
    workspace.open_document(jars)
    made = FilmPage(workspace)
    qtbot.addWidget(made)
    made.resize(NARROW, LOW)
    with qtbot.waitExposed(made):
        made.show()
    QApplication.processEvents()
    return made


# -- words ---------------------------------------------------------------------------------------------------


def test_the_list_has_every_jar_of_crude_with_its_age_and_emptied_ones_last(jars: Document) -> None:
    jars.execute(EmptyJar("J1", NOW - timedelta(hours=6)))
    entries = jar_entries(jars.state, NOW)
    assert [entry.id for entry in entries] == ["J2", "J3", "J1"]
    assert "36\u2009h" in entries[0].text
    assert "emptied" in entries[-1].text
    assert "6\u2009h" in entries[-1].text


def test_the_indices_are_those_of_the_session_with_their_band(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J2"), NOW)
    films = [film_of_jar(jars.state, jar, NOW) for jar in (SHALLOW, DEEP)]
    assert content.indices == (index_text(films[0], "."), index_text(films[1], "."))
    assert all("(" in text and " to " in text for text in content.indices)
    assert content.names == ("J1", "J2")
    assert content.headline


def test_rows_are_the_inputs_that_differ_the_weightiest_first(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J2"), NOW)
    by_key = {row.key: row for row in content.rows}
    assert {"depth_mm", "age_h"} <= set(by_key)
    assert "lid" not in by_key
    assert "lid open" in content.same
    deeper, longer = by_key["depth_mm"].factor, by_key["age_h"].factor
    assert deeper is not None
    assert longer is not None
    assert longer > 1
    sizes = [max(row.factor, 1 / row.factor) for row in content.rows if row.factor is not None]
    assert sizes == sorted(sizes, reverse=True)


def test_what_is_only_usual_is_marked_beside_its_value(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J2"), NOW)
    assert "room humidity 50\u2009% (usual for J2)" in content.same
    assert sentence("film_page.taken", {"inputs": "viscosity of the oil"}) in content.notes
    cold = replace(SHALLOW, id="J4", storage_c=None, room_rh_percent=70.0)
    jars.execute(AddJar(cold))
    by_key = {row.key: row for row in film_content(jars.state, ("J2", "J4"), NOW).rows}
    assert by_key["room_rh_percent"].assumed == (True, False)


def test_effects_are_written_as_factors(jars: Document) -> None:
    assert effect_text(1.84, ".") == "×\u20091.8"
    assert effect_text(0.4, ",") == "÷\u20092,5"
    assert effect_text(1.01, ".") == sentence("film_page.little")
    assert effect_text(None, ".") == ""


def test_a_jar_that_says_too_little_says_what_to_enter(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J3"), NOW)
    assert content.indices[1] == ""
    assert any("diameter" in gap for gap in content.gaps)
    assert any("depth" in gap or "deep" in gap for gap in content.gaps)
    assert not content.rows
    assert "J3" in content.headline


# -- the picture -----------------------------------------------------------------------------------------------


def test_curves_pass_through_where_the_jars_are_now(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J2"), NOW)
    assert [curve.jar for curve in content.curves] == ["J1", "J2"]
    for curve, jar in zip(content.curves, (SHALLOW, DEEP), strict=True):
        film = film_of_jar(jars.state, jar, NOW)
        assert film is not None
        assert curve.now_index == pytest.approx(film.index)
        assert curve.t_h[0] <= curve.now_h <= curve.t_h[-1]
        assert (curve.low < curve.index).all()
        assert (curve.index < curve.high).all()
        assert (curve.index[1:] >= curve.index[:-1]).all()


def test_axes_hold_both_bands_and_name_the_unit(jars: Document) -> None:
    content = film_content(jars.state, ("J1", "J2"), NOW)
    axes = axes_of(content.curves)
    low, high = axes.upward.bounds
    assert axes.upward.unit == "mmol/m²"
    for curve in content.curves:
        assert high >= curve.high.max()
        assert low <= curve.low[curve.low > 0].min()


def test_an_emptied_jar_stops_where_it_was_emptied(jars: Document) -> None:
    jars.execute(EmptyJar("J2", NOW - timedelta(hours=24)))
    content = film_content(jars.state, ("J1", "J2"), NOW)
    assert content.curves[1].now_h == pytest.approx(12.0)


# -- the hazard ------------------------------------------------------------------------------------------------


def test_a_superoxide_former_gets_its_caution_and_no_curve_over_time(page: FilmPage, workspace: Workspace) -> None:
    document = workspace.document
    assert document is not None
    workspace.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    state = page.view_model.state
    assert load_cautions(MaterialClass.SUPEROXIDE_FORMER).headline in state.caution
    assert sentence("film.hazard_only") in state.caution
    assert state.content.curves == ()
    assert not page.plot.isVisibleTo(page)
    assert page.caution.isVisibleTo(page)
    shown = " ".join(label.text() for label in page.findChildren(QLabel) if label.isVisibleTo(page))
    assert "wait longer" not in shown
    assert sentence("film_page.no_curve") in shown


def test_other_metals_have_no_caution_here(page: FilmPage) -> None:
    assert not page.caution.isVisibleTo(page)
    assert page.plot.isVisibleTo(page)


# -- on screen -------------------------------------------------------------------------------------------------


def test_the_two_lists_choose_the_jars_and_swap_exchanges_them(page: FilmPage, qtbot: QtBot) -> None:
    page.view_model.choose("J1", "J2")
    qtbot.mouseClick(page.swap, Qt.MouseButton.LeftButton)
    assert (page.first.currentData(), page.second.currentData()) == ("J2", "J1")
    page.first.setFocus()
    qtbot.keyClick(page.first, Qt.Key.Key_Down)
    assert page.view_model.state.first == page.first.currentData() != "J2"
    assert page.view_model.state.content.names[0] == page.first.currentData()


def test_a_wish_from_elsewhere_is_followed(page: FilmPage, workspace: Workspace) -> None:
    workspace.request_film("J2", "J3")
    assert (page.view_model.state.first, page.view_model.state.second) == ("J2", "J3")
    workspace.request_film("J1", "")
    assert (page.view_model.state.first, page.view_model.state.second) == ("J1", "J3")


def test_nothing_is_compared_while_nobody_looks(qtbot: QtBot, workspace: Workspace, jars: Document) -> None:
    workspace.open_document(jars)
    made = FilmPage(workspace)
    qtbot.addWidget(made)
    assert made.view_model.state.content.headline == ""
    with qtbot.waitExposed(made):
        made.show()
    assert made.view_model.state.content.headline


def test_without_two_jars_one_sentence_says_what_makes_them_appear(
    qtbot: QtBot, workspace: Workspace, empty_document: Document
) -> None:
    made = FilmPage(workspace)
    qtbot.addWidget(made)
    assert made.message.text() == sentence("film_page.closed")
    workspace.open_document(empty_document)
    assert made.message.text() == sentence("film_page.few_jars")


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_nothing_is_cut_and_nothing_runs_sideways(page: FilmPage, themed: QApplication, scale: float) -> None:
    apply_theme(themed, LIGHT, scale)
    try:
        page.view_model.choose("J1", "J2")
        QApplication.processEvents()
        assert page.area.horizontalScrollBar().maximum() == 0
        for label in page.content.findChildren(QLabel):
            if label.isVisibleTo(page) and label.text() and label.wordWrap():
                assert label.height() + 1 >= label.heightForWidth(label.width()), label.text()
    finally:
        apply_theme(themed, LIGHT)


def test_every_theme_recolours_the_picture(page: FilmPage, workspace: Workspace) -> None:
    page.view_model.choose("J1", "J2")
    for theme in THEMES.values():
        workspace.set_theme(theme)
        image = page.plot.grab().toImage()
        assert image.pixelColor(1, 1).name() == theme.raised


def test_everything_that_takes_the_keyboard_has_a_name(page: FilmPage) -> None:
    reached = list(focusable_widgets(page))
    assert {widget.objectName() for widget in reached} >= {"film_first", "film_second", "film_swap"}
    assert all(widget.accessibleName() for widget in reached)
    assert "J1" in page.area.accessibleDescription() or "J2" in page.area.accessibleDescription()


def test_rendering_twice_changes_nothing(page: FilmPage) -> None:
    before = page.grab().toImage()
    page.render(page.view_model.state)
    QApplication.processEvents()
    assert page.grab().toImage() == before
