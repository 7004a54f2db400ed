"""The odds pane beside a film index: the index follows the ages, and a recorded attempt keeps its own."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.document import Document

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from stirfall.session.clock import FixedClock

FILM = Factor("film index", "mmol/m²", 0.1, 5000.0, Scale.LOG)
FORM = InHand(Conditions({"sample age": 24.0, "temperature": 150.0, "stirring action": "swirl"}), "form")


@pytest.fixture
def with_film(document: Document, tmp_path: Path, clock: FixedClock) -> Iterator[Document]:
    """The campaign of ``document`` with a film index, and each attempt from a jar of its own area of metal."""
    state = document.state
    attempts, jars = [], []
    for one in state.attempts:
        age = one.conditions.number("sample age")
        assert age is not None
        assert one.started_at is not None
        name = f"F{one.number}"
        jars.append(
            replace(
                state.jars[0],
                id=name,
                started_at=one.started_at - timedelta(hours=age),
                oil_depth_mm=15.0,
                inner_diameter_mm=40.0,
                metal_area_cm2=(10.0, 25.0, 60.0)[one.number % 3],
            )
        )
        attempts.append(replace(one, jar_id=name))
    made = Document.create(
        tmp_path / "film.stirfall",
        state.settings,
        (*state.factors, FILM),
        lots=state.lots,
        jars=jars,
        attempts=attempts,
        clock=clock,
    )
    with made:
        yield made


@pytest.fixture
def model(workspace: Workspace, with_film: Document) -> OddsViewModel:
    made = OddsViewModel(workspace)
    workspace.open_document(with_film)
    workspace.set_in_hand(FORM)
    return made


def test_the_form_needs_no_film_index_and_none_is_called_unknown(
    model: OddsViewModel, workspace: Workspace
) -> None:
    assert workspace.analysis is not None
    assert workspace.analysis.follows == "film index"
    assert model.state.headline.estimate == workspace.analysis.estimate(FORM.conditions)
    assert model.state.headline.filled == ""


def test_a_curve_along_the_age_says_that_the_film_index_follows(model: OddsViewModel) -> None:
    assert model.state.axis == "sample age"
    assert model.state.curve is not None
    assert "The film index follows from the ages" in model.state.curve.caption
    assert model.state.curve.caption.count("film index") == 1


def test_a_curve_along_the_film_index_holds_the_ages(model: OddsViewModel) -> None:
    model.choose_axis("film index")
    assert model.state.curve is not None
    assert "sample age" in model.state.curve.caption
    assert "follows" not in model.state.curve.caption
    assert model.state.at is not None
    assert len(model.state.curve.spots) == 24


def test_the_curve_is_that_of_the_usual_jar_whatever_is_in_hand(model: OddsViewModel, workspace: Workspace) -> None:
    before = model.state.curve
    workspace.set_in_hand(replace(FORM, conditions=FORM.conditions.with_value("film index", 5.0)))
    assert model.state.curve is not None
    assert before is not None
    assert (model.state.curve.mean == before.mean).all()
    assert workspace.analysis is not None
    own = workspace.analysis.estimate(FORM.conditions.with_value("film index", 5.0))
    assert model.state.headline.estimate == own


def test_moving_along_the_age_lets_go_of_a_film_index_in_hand(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.set_in_hand(replace(FORM, conditions=FORM.conditions.with_value("film index", 5.0)))
    model.step(1, 0)
    moved = workspace.in_hand.conditions
    assert "film index" not in moved
    assert moved["sample age"] > 24.0


def test_moving_along_the_film_index_keeps_it(model: OddsViewModel, workspace: Workspace) -> None:
    model.choose_axis("film index")
    model.step(1, 0)
    assert workspace.in_hand.conditions["sample age"] == 24.0
    assert "film index" in workspace.in_hand.conditions


def test_an_attempt_in_hand_has_the_film_index_of_its_own_jar(
    model: OddsViewModel, workspace: Workspace, with_film: Document
) -> None:
    assert workspace.analysis is not None
    attempt = with_film.state.attempts[2]
    assert "film index" not in attempt.conditions
    workspace.set_in_hand(InHand.of_attempt(attempt))
    own = workspace.analysis.state.attempt(attempt.id).conditions
    assert model.state.headline.estimate == workspace.analysis.estimate(own)
    assert model.state.headline.estimate != workspace.analysis.estimate(attempt.conditions)
    model.choose_attempt(attempt.id)
    assert model.state.headline.estimate == workspace.analysis.estimate(own)


def test_a_jar_in_hand_has_its_own_film_index_at_its_age(
    model: OddsViewModel, workspace: Workspace, with_film: Document
) -> None:
    assert workspace.analysis is not None
    conditions = Conditions({"sample age": 24.0 * 35, "temperature": 150.0, "stirring action": "swirl"})
    estimates = []
    for jar_id in ("F1", "F2"):  # 25 and 60 cm² of metal
        workspace.set_in_hand(InHand(conditions, "jar", f"Jar {jar_id}", lot_id="L1", jar_id=jar_id))
        estimates.append(model.state.headline.estimate)
    assert estimates[0] != estimates[1]
    assert workspace.analysis.estimate(conditions) not in estimates
    # A jar that is not there tells nothing: then it is that of the usual jar.
    workspace.set_in_hand(InHand(conditions, "jar", "Jar J9", lot_id="L1", jar_id="J9"))
    assert model.state.headline.estimate == workspace.analysis.estimate(conditions)


def test_a_suggestion_shows_the_index_and_leaves_it_to_the_jar_in_the_form(
    model: OddsViewModel, workspace: Workspace
) -> None:
    requests: list[FormRequest] = []
    workspace.form_requested.connect(requests.append)
    assert model.state.suggestions
    assert "film index" in [value.name for value in model.state.suggestions[0].values]
    model.take_suggestion(0)
    assert "film index" not in requests[0].conditions
    assert "sample age" in requests[0].conditions
    model.look_at_suggestion(0)
    model.take_in_hand()
    assert "film index" not in requests[1].conditions


def test_the_map_follows_too(model: OddsViewModel) -> None:
    model.choose_view("map")
    assert model.state.surface is not None
    assert "follows from the ages" in model.state.surface.caption
