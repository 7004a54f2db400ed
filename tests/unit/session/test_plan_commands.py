"""Commands of proofs and of evening plans: what they keep, what they refuse, and how they are undone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.commands import (
    Command,
    CorrectAttempt,
    DropEvening,
    EndProof,
    KeepEvening,
    RecordAttempt,
    StartProof,
)
from stirfall.session.document import Document

AT = datetime(2026, 3, 4, 18, tzinfo=UTC)
RECIPE = Conditions({"age": 12.0, "bath": 155.0})
PROOF = Proof("", AT, RECIPE, ProofRule.COUNT, 0.5, 0.75, 2, tolerances={"age": 1.2, "bath": 3.0})
EVENING = EveningPlan("", AT, AT, 3.0, 1, (PlannedAttempt(RECIPE, "J1", "L1", "next", "Why not."),))


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(AT)


@pytest.fixture
def document(tmp_path: Path, clock: FixedClock) -> Iterator[Document]:
    factors = (
        Factor("age", "h", 1.0, 100.0, Scale.LOG, role=Role.SAMPLE_AGE),
        Factor("bath", "C", 140.0, 170.0, role=Role.TEMPERATURE),
    )
    settings = CampaignSettings(material=MaterialClass.BASE_METAL, melting_point_c=138.0, oil_flash_c=230.0)
    lots, jars = (Lot("L1", AT - timedelta(days=2)),), (Jar("J1", "L1", AT - timedelta(hours=12)),)
    with Document.create(tmp_path / "p.stirfall", settings, factors, lots=lots, jars=jars, clock=clock) as made:
        yield made


def attempt(proof_id: str | None, *, clean: bool = True, **values: float) -> RecordAttempt:
    grade = (Parted.YES, Pooled.ONE_POOL) if clean else (Parted.NO, None)
    conditions = Conditions({**RECIPE, **values})
    return RecordAttempt(Attempt("", 0, conditions, parted=grade[0], pooled=grade[1], proof_id=proof_id))


def refused(document: Document, command: Command) -> str:
    before = document.state
    with pytest.raises(InputError) as caught:
        document.execute(command)
    assert document.state == before
    return caught.value.code


def test_a_proof_takes_attempts_at_its_recipe_until_its_rule_has_decided(document: Document) -> None:
    changes = document.execute(StartProof(PROOF))
    assert changes.proofs
    assert not changes.evenings
    (proof,) = document.state.proofs
    assert proof == replace(PROOF, id=proof.id, started_at=AT)
    assert refused(document, StartProof(PROOF)) == "proof.another_open"
    assert refused(document, attempt("other")) == "proof.unknown"
    assert refused(document, attempt(proof.id, bath=158.5)) == "proof.off_recipe"
    document.execute(attempt(proof.id, bath=158.0))
    document.execute(attempt(None, bath=160.0))
    document.execute(attempt(proof.id))
    assert [each.proof_id for each in document.state.attempts] == [proof.id, None, proof.id]
    assert refused(document, attempt(proof.id)) == "proof.over"
    assert refused(document, EndProof(proof.id, "enough")) == "proof.over"
    document.execute(StartProof(PROOF))
    assert len(document.state.proofs) == 2


def test_a_mark_can_be_neither_set_nor_cleared_by_a_correction(document: Document) -> None:
    document.execute(StartProof(PROOF))
    document.execute(attempt(None))
    (kept,) = document.state.attempts
    change = {"proof_id": document.state.proofs[0].id}
    assert refused(document, CorrectAttempt(kept.id, change, "it was clean")) == "correction.field_unknown"


def test_a_proof_is_given_up_with_a_reason_and_keeps_its_attempts(document: Document, clock: FixedClock) -> None:
    document.execute(StartProof(PROOF))
    proof_id = document.state.proofs[0].id
    document.execute(attempt(proof_id, clean=True))
    assert refused(document, EndProof(proof_id, "  ")) == "proof.no_reason"
    clock.advance(hours=1)
    document.execute(EndProof(proof_id, "the oil is used up"))
    ended = document.state.proofs[0]
    assert (ended.ended_at, ended.end_reason) == (AT + timedelta(hours=1), "the oil is used up")
    assert document.state.open_proof is None
    assert refused(document, attempt(proof_id)) == "proof.over"
    document.undo()
    assert document.state.open_proof is not None
    document.undo()
    document.undo()
    assert document.state.proofs == ()
    document.redo()
    assert document.state.open_proof == replace(ended, ended_at=None, end_reason="")


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"recipe": Conditions()}, "proof.no_recipe"),
        ({"recipe": Conditions({"age": 12.0, "bath": 250.0})}, "proof.outside_limits"),
        ({"tolerances": {"nothing": 1.0}}, "factor.unknown"),
        ({"attempts": 1}, "proof.too_few"),
    ],
)
def test_a_proof_that_makes_no_sense_is_refused(document: Document, changes: dict[str, object], code: str) -> None:
    assert refused(document, StartProof(replace(PROOF, **changes))) == code  # type: ignore[arg-type]


def test_an_evening_is_kept_dropped_and_taken_back(document: Document) -> None:
    changes = document.execute(KeepEvening(EVENING))
    assert changes.evenings
    kept = document.state.evening
    assert kept is not None
    assert kept == replace(EVENING, id=kept.id)
    document.execute(DropEvening(kept.id))
    assert document.state.evening is None
    assert refused(document, DropEvening(kept.id)) == "evening.unknown"
    document.undo()
    assert document.state.evening == kept
    with Document.open(document.path, read_only=True) as again:
        assert again.state == document.state


@pytest.mark.parametrize(
    ("plan", "code"),
    [
        (replace(EVENING, attempts=()), "evening.empty"),
        (replace(EVENING, hours=0.0), "evening.hours"),
        (replace(EVENING, attempts=(PlannedAttempt(RECIPE, "J9", "L1", "next"),)), "jar.unknown"),
        (replace(EVENING, attempts=(PlannedAttempt(RECIPE, None, "L9", "next"),)), "lot.unknown"),
    ],
)
def test_an_evening_that_names_what_is_not_there_is_refused(
    document: Document, plan: EveningPlan, code: str
) -> None:
    assert refused(document, KeepEvening(plan)) == code
