"""The mark for a running proof in the bench form: set before the outcome, kept by drafts, never after."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import CampaignSettings
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.draft import from_draft, to_draft
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.reporting.cautions import load_cautions
from stirfall.session.clock import FixedClock
from stirfall.session.commands import EndProof, StartProof, TickChecklist
from stirfall.session.document import Document
from stirfall.session.jobs import ImmediateExecutor

AT = datetime(2026, 3, 4, 18, tzinfo=UTC)
RECIPE = Conditions({"stirring": 120.0, "bath": 155.0})
PROOF = Proof("", AT, RECIPE, ProofRule.COUNT, 0.5, 0.75, 2, tolerances={"stirring": 10.0, "bath": 3.0})
FACTORS = (Factor("stirring", "s", 30.0, 300.0, Scale.LOG), Factor("bath", "C", 140.0, 170.0))


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    settings = CampaignSettings(material=MaterialClass.BASE_METAL, melting_point_c=138.0, oil_flash_c=230.0)
    document = Document.create(tmp_path / "p.stirfall", settings, FACTORS, clock=FixedClock(AT))
    keys = tuple(line.key for line in load_cautions(MaterialClass.BASE_METAL).checklist)
    document.execute(TickChecklist(day_of(document.now()), keys))
    made = Workspace(ImmediateExecutor())
    made.open_document(document)
    yield made
    made.close_document()


@pytest.fixture
def page(workspace: Workspace, qtbot: QtBot) -> BenchPage:
    made = BenchPage(workspace)
    qtbot.addWidget(made)
    made.resize(700, 900)
    made.show()
    return made


def proof_id(workspace: Workspace) -> str:
    assert workspace.document is not None
    proof = workspace.document.state.open_proof
    assert proof is not None
    return proof.id


def fill_in(workspace: Workspace, *, marked: bool = True, **values: float) -> None:
    conditions = Conditions({**RECIPE, **values})
    workspace.request_form(FormRequest(conditions, proof_id=proof_id(workspace) if marked else None))


def grade(page: BenchPage, *, clean: bool) -> None:
    page.model.set_parted(Parted.YES if clean else Parted.NO)
    if clean:
        page.model.set_pooled(Pooled.ONE_POOL)


def test_there_is_no_line_while_no_proof_is_running(page: BenchPage) -> None:
    assert page.proof.isHidden()


def test_marked_attempts_are_recorded_until_the_proof_has_decided(page: BenchPage, workspace: Workspace) -> None:
    workspace.execute(StartProof(PROOF))
    assert page.proof.isVisible()
    fill_in(workspace)
    assert page.proof.box.isChecked()
    assert "attempt 1 of 2" in page.proof.said.text()
    grade(page, clean=True)
    assert not page.proof.box.isEnabled()
    assert page.model.record()
    assert workspace.document is not None
    first = workspace.document.state.attempts[0]
    assert first.proof_id == proof_id(workspace)
    assert not page.proof.box.isChecked()
    fill_in(workspace, marked=False)
    QTest.mouseClick(page.proof.box, Qt.MouseButton.LeftButton, pos=QPoint(3, 3))
    assert page.proof.box.isChecked()
    grade(page, clean=False)
    assert page.model.record()
    assert [each.proof_id for each in workspace.document.state.attempts] == [first.proof_id] * 2
    assert page.proof.isHidden()


def test_a_mark_is_neither_set_nor_taken_away_once_the_outcome_is_known(
    page: BenchPage, workspace: Workspace
) -> None:
    workspace.execute(StartProof(PROOF))
    fill_in(workspace, marked=False)
    grade(page, clean=True)
    page.model.set_counts_for_proof(True)
    assert page.model.state is not None
    assert page.model.state.proof is not None
    assert not page.model.state.proof.counts
    assert page.proof.said.text().startswith("The outcome is known")
    page.model.set_parted(None)
    page.model.set_counts_for_proof(True)
    page.model.set_aborted(True)
    page.model.set_counts_for_proof(False)
    assert page.model.state.proof.counts


def test_conditions_off_the_recipe_say_so_and_want_the_mark_away(page: BenchPage, workspace: Workspace) -> None:
    workspace.execute(StartProof(PROOF))
    fill_in(workspace, bath=160.0)
    state = page.model.state
    assert state is not None
    assert state.missing is not None
    assert state.missing.code == "proof.off_recipe"
    assert "bath" in page.proof.said.text()
    grade(page, clean=True)
    assert not page.model.record()
    page.model.set_counts_for_proof(False)
    assert page.model.record()
    assert workspace.document is not None
    assert workspace.document.state.attempts[0].proof_id is None


def test_the_draft_keeps_the_mark(page: BenchPage, workspace: Workspace) -> None:
    workspace.execute(StartProof(PROOF))
    fill_in(workspace)
    assert page.model.state is not None
    form = page.model.state.form
    assert from_draft(to_draft(form)) == form
    older = {name: value for name, value in to_draft(form).items() if name != "proof_id"}
    assert from_draft(older) == replace(form, proof_id=None)


def test_a_given_up_proof_takes_no_mark(page: BenchPage, workspace: Workspace) -> None:
    workspace.execute(StartProof(PROOF))
    fill_in(workspace)
    workspace.execute(EndProof(proof_id(workspace), "no oil left"))
    assert page.proof.isHidden()
    grade(page, clean=True)
    assert page.model.record()
    assert workspace.document is not None
    assert workspace.document.state.attempts[0].proof_id is None
