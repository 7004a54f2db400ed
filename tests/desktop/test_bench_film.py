"""The film index on the form: a small line, and a factor that is filled like an age."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import Jar
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.form import Origin
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.value_edit import NumberRow
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import AddJar, ChangeFactors, ChangeSettings, TickChecklist
from stirfall.session.film import film_of_attempt

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

FILM = Factor("film index", "mmol/m²", 1.0, 1000.0, Scale.LOG, role=Role.FILM_INDEX)


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document) -> Iterator[BenchPage]:
    known = Jar(
        "J7",
        "L1",
        document.now() - timedelta(days=2),
        oil_depth_mm=18.0,
        lid="loose",
        inner_diameter_mm=42.0,
        metal_area_cm2=20.0,
    )
    document.execute(AddJar(known))
    document.execute(ChangeFactors((*document.state.factors, FILM)))
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))
    workspace.open_document(document)
    made = BenchPage(workspace)
    qtbot.addWidget(made)
    made.show()
    yield made
    workspace.close_document()


def film_row(page: BenchPage) -> NumberRow:
    row = page.rows["film index"]
    assert isinstance(row, NumberRow)
    return row


def test_a_jar_that_says_enough_shows_its_index_with_the_band_as_a_ranking_aid(page: BenchPage) -> None:
    page.model.pick_jar("J7")
    assert "Film index" in page.jar.facts.text()
    assert "a ranking aid" in page.jar.facts.text()
    assert page.model.state is not None
    film = page.model.state.film.film
    assert film is not None
    assert film.low < film.index < film.high
    page.model.pick_jar("J1")  # neither depth nor diameter
    assert "Film index" not in page.jar.facts.text()


def test_for_a_superoxide_former_it_is_a_measure_of_hazard_only(page: BenchPage, document: Document) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, material=MaterialClass.SUPEROXIDE_FORMER)))
    page.model.pick_jar("J7")
    assert "hazard only" in page.jar.facts.text()
    assert "ranking" not in page.jar.facts.text()


def test_the_factor_is_filled_by_the_jar_and_recorded(page: BenchPage, document: Document) -> None:
    page.model.pick_jar("J7")
    assert page.model.state is not None
    item = page.model.state.field("film index")
    assert item.entry.origin is Origin.CLOCK
    assert isinstance(item.value, float)
    assert "computed from the jar" in film_row(page).echo.text()
    page.model.set_parted(Parted.NO)
    page.model.give_limit_reason("a first try")
    assert page.model.record()
    attempt = document.state.attempts[-1]
    assert attempt.conditions["film index"] == item.value
    film = film_of_attempt(document.state, attempt)
    assert film is not None
    assert film.index == pytest.approx(item.value, rel=1e-3)


def test_it_follows_the_temperature_of_the_hot_step_and_the_start(page: BenchPage) -> None:
    page.model.pick_jar("J7")
    assert page.model.state is not None
    now = page.model.state.field("film index").value
    page.model.set_started_at(page.model.state.now + timedelta(days=4))
    later = page.model.state.field("film index").value
    assert isinstance(now, float)
    assert isinstance(later, float)
    assert later > now


def test_typing_over_it_asks_for_a_reason_and_the_computed_one_comes_back_with_a_touch(
    page: BenchPage, document: Document
) -> None:
    page.model.pick_jar("J7")
    page.model.set_parted(Parted.NO)
    page.model.type_value("film index", "30")
    row = film_row(page)
    assert row.reason_line.isVisible()
    assert "computed" in row.reason.placeholderText()
    assert page.model.state is not None
    assert page.model.state.missing is not None
    assert page.model.state.missing.code == "bench.missing.age_reason"
    page.model.give_reason("film index", "the lid stood open for a day")
    page.model.give_limit_reason("a first try")
    assert page.model.record()
    (override,) = document.state.attempts[-1].overrides
    assert (override.factor, override.reason) == ("film index", "the lid stood open for a day")
    page.model.pick_jar("J7")


def test_without_a_jar_it_is_unknown_and_may_be_typed_without_a_reason(page: BenchPage) -> None:
    assert page.model.state is not None
    assert page.model.state.field("film index").value is None
    page.model.type_value("film index", "30")
    assert not page.model.state.field("film index").is_override


def test_it_is_never_kept_from_the_last_attempt(page: BenchPage) -> None:
    page.model.pick_jar("J7")
    page.model.set_parted(Parted.NO)
    page.model.give_limit_reason("a first try")
    assert page.model.record()
    assert page.model.state is not None
    assert page.model.state.field("film index").value is None
