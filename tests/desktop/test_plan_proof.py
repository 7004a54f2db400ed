"""The section "Proof": its view-model without widgets, and the way from a plan to its end by clicks and keys."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton
from pytestqt.qtbot import QtBot

from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.desktop.plan.proof_export import proof_table
from stirfall.desktop.plan.proof_model import ProofModel
from stirfall.desktop.plan.proof_plot import in_words
from stirfall.desktop.plan.proof_section import ProofSection
from stirfall.desktop.plan.proof_state import IN_HAND, Steps
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.session.clock import FixedClock
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document
from stirfall.session.jobs import ImmediateExecutor

AT = datetime(2026, 3, 4, 18, tzinfo=UTC)
FACTORS = (Factor("stirring", "s", 30.0, 300.0, Scale.LOG, step=10.0), Factor("bath", "C", 140.0, 170.0, step=1.0))


@pytest.fixture
def document(tmp_path: Path) -> Iterator[Document]:
    settings = CampaignSettings(
        material=MaterialClass.BASE_METAL, melting_point_c=130.0, oil_flash_c=240.0, lot_effect="none"
    )
    values = [(60.0, 150.0), (120.0, 155.0), (200.0, 160.0), (100.0, 158.0), (150.0, 152.0), (250.0, 165.0)]
    attempts = tuple(
        Attempt(
            f"a{number}",
            number,
            Conditions({"stirring": stirring, "bath": bath}),
            parted=Parted.YES,
            pooled=Pooled.BEADS if number == 1 else Pooled.ONE_POOL,
            recorded_at=AT - timedelta(days=1),
        )
        for number, (stirring, bath) in enumerate(values, 1)
    )
    path = tmp_path / "proof.stirfall"
    with Document.create(path, settings, FACTORS, attempts=attempts, clock=FixedClock(AT)) as made:
        yield made


@pytest.fixture
def workspace(document: Document) -> Iterator[Workspace]:
    made = Workspace(ImmediateExecutor())
    made.open_document(document)
    yield made
    made.close_document()


@pytest.fixture
def model(workspace: Workspace) -> ProofModel:
    made = ProofModel(workspace)
    made.set_shown(True)
    return made


@pytest.fixture
def section(workspace: Workspace, qtbot: QtBot) -> ProofSection:
    made = ProofSection(workspace)
    qtbot.addWidget(made)
    made.resize(640, 900)
    made.show()
    return made


def record(workspace: Workspace, *, clean: bool, marked: bool = True) -> None:
    assert workspace.document is not None
    proof = workspace.document.state.proofs[-1]
    workspace.execute(
        RecordAttempt(
            Attempt(
                "",
                0,
                proof.recipe,
                parted=Parted.YES if clean else Parted.NO,
                pooled=Pooled.ONE_POOL if clean else None,
                proof_id=proof.id if marked else None,
            )
        )
    )


def test_four_plans_stand_side_by_side_each_with_its_chance(model: ProofModel) -> None:
    state = model.state
    # 29, 46 and 61 are the counts for 90 % at 95 % confidence (tests/published has their sources).
    assert [choice.size for choice in state.choices[:3]] == [
        "29 attempts, none may fail",
        "46 attempts, 1 may fail",
        "61 attempts, 2 may fail",
    ]
    assert state.choices[3].key == "sequence"
    assert all(choice.chance.basis == "6 attempts" for choice in state.choices)
    assert [line.name for line in state.recipe] == ["stirring", "bath"]
    assert state.recipe[1].width == "3"
    model.set_claim(80)
    assert model.state.choices[0].size == "14 attempts, none may fail"


def test_a_chance_below_one_half_is_told_before_it_starts(model: ProofModel) -> None:
    low = [choice for choice in model.state.choices if choice.chance.shares[1] < 0.5]
    assert all("more likely to fail" in choice.warning for choice in low)
    model.set_claim(50)
    model.set_confidence(50)
    assert model.state.choices[0].size == "1 attempt, none may fail"
    assert not model.state.choices[0].warning


def test_the_conditions_in_hand_can_be_proved_with_tolerances_of_ones_own(
    model: ProofModel, workspace: Workspace
) -> None:
    workspace.set_in_hand(InHand(Conditions({"stirring": 90.0, "bath": 151.0}), "attempt"), origin=None)
    model.choose_source(IN_HAND)
    assert [line.value for line in model.state.recipe] == ["90\u2009s", "151\u2009°C"]
    model.type_width("bath", "never")
    assert model.state.recipe[1].problem
    assert not model.state.can_start
    model.type_width("bath", "1.5")
    assert model.start()
    assert workspace.document is not None
    proof = workspace.document.state.proofs[0]
    assert proof.recipe == {"stirring": 90.0, "bath": 151.0}
    assert proof.tolerances["bath"] == 1.5


def test_a_proof_runs_to_its_end_in_words_and_the_next_one_can_be_planned(
    model: ProofModel, workspace: Workspace
) -> None:
    model.set_claim(50)
    model.set_confidence(75)
    model.ask_to_start()
    assert model.state.asks
    assert model.start()
    assert model.state.stage == "running"
    assert model.state.large == "0 of 2, no failure"
    assert model.state.marks == "··"
    record(workspace, clean=True)
    record(workspace, clean=False, marked=False)
    assert model.state.large == "1 of 2, no failure"
    assert any("without a mark" in line for line in model.state.remarks)
    assert model.state.chance is not None
    record(workspace, clean=True)
    assert (model.state.stage, model.state.large, model.state.marks) == ("over", "Shown", "●●")
    assert "50 %" in model.state.verdict
    model.plan_another()
    assert model.state.stage == "planning"
    assert len(model.state.earlier) == 1
    assert "Shown" in model.state.earlier[0] or "shown" in model.state.earlier[0].lower()


def test_the_same_attempts_worked_out_anew_are_asked_about_again(model: ProofModel, workspace: Workspace) -> None:
    before = model.state
    first = workspace.analysis
    workspace.refresh()
    assert workspace.analysis is not first
    assert model.state == before


def test_undo_of_the_start_brings_the_plans_back(model: ProofModel, workspace: Workspace) -> None:
    model.start()
    assert model.state.stage == "running"
    workspace.undo()
    assert model.state.stage == "planning"
    assert model.state.can_start


def press(section: ProofSection, name: str) -> None:
    button = section.findChild(QAbstractButton, name)
    assert button is not None
    section.area.ensureWidgetVisible(button)
    assert button.isVisible()
    assert button.isEnabled()
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def test_a_proof_in_sequence_by_clicks_and_keys(
    section: ProofSection, workspace: Workspace, qtbot: QtBot, tmp_path: Path
) -> None:
    requests: list[FormRequest] = []
    workspace.form_requested.connect(requests.append)
    section.plans.cards[3].setFocus()
    QTest.keyClick(section.plans.cards[3], Qt.Key.Key_Return)
    assert section.model.state.chosen == "sequence"
    press(section, "proof_start")
    assert section.asks.isVisible()
    assert workspace.document is not None
    assert not workspace.document.state.proofs
    press(section, "proof_asks_leave")
    assert not section.asks.isVisible()
    press(section, "proof_start")
    press(section, "proof_asks_act")
    proof = workspace.document.state.open_proof
    assert proof is not None
    press(section, "proof_fill_in")
    assert requests[0].proof_id == proof.id
    assert requests[0].planned
    for clean in (True, False, True):
        record(workspace, clean=clean)
    steps = section.model.state.steps
    assert steps is not None
    assert steps.path == ((0, 0), (1, 0), (2, 1), (3, 1))
    assert section.plot.isVisible()
    assert section.plot.accessibleDescription() == in_words(steps)
    assert [card.place.text() for card in section.attempts.cards[:3]] == ["1", "2", "3"]
    section.picture.save(tmp_path / "proof.svg")
    section.picture.save(tmp_path / "proof.csv")
    assert (tmp_path / "proof.svg").read_bytes().startswith(b"<?xml")
    assert (tmp_path / "proof.csv").read_text(encoding="utf-8").splitlines()[3].startswith("2,1,")
    press(section, "proof_give_up")
    assert not section.giving.act.isEnabled()
    QTest.keyClicks(section.reason, "no oil left")
    press(section, "proof_giving_act")
    assert section.large.text() == "Given up"
    assert "no oil left" in section.verdict.text()
    assert section.another.isVisible()


def test_without_a_document_it_says_what_will_appear(qtbot: QtBot) -> None:
    made = ProofSection(Workspace(ImmediateExecutor()))
    qtbot.addWidget(made)
    made.show()
    assert "Open a session" in made.message.text()


def test_the_table_of_the_picture_holds_both_lines() -> None:
    table = proof_table(Steps(0.05, -2.0, 1.5, 4, ((0, 0), (1, 1))))
    assert table.exact == (
        ("0", "0", "-2.00", "1.50"),
        ("1", "1", "-1.95", "1.55"),
        ("2", "", "-1.90", "1.60"),
        ("3", "", "-1.85", "1.65"),
        ("4", "", "-1.80", "1.70"),
    )
