"""Proofs, plans of an evening and how the person works come back from a file and from a package as they were."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.outcomes import Parted
from stirfall.bench.plans import EveningPlan, PlannedAttempt, PlanSettings, control_errors
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.package import read_package, write_package

AT = datetime(2026, 3, 4, 18, 30, tzinfo=UTC)
FACTORS = (
    Factor("age", "h", 1.0, 100.0, Scale.LOG),
    Factor("bath", "C", 140.0, 170.0),
    Factor("additive", levels=("none", "rosin")),
)
RECIPE = Conditions({"age": 12.0, "bath": 155.0, "additive": "rosin"})
COUNT = Proof("p1", AT, RECIPE, ProofRule.COUNT, 0.9, 0.95, 46, 1, tolerances={"bath": 2.5}, title="the first")
LINES = Proof(
    "p2",
    AT,
    RECIPE,
    ProofRule.SEQUENTIAL,
    0.8,
    0.9,
    60,
    good=0.97,
    risk_of_missing=0.1,
    ended_at=AT,
    end_reason="no oil",
)
EVENING = EveningPlan(
    "e1",
    AT,
    AT,
    3.0,
    20260304,
    (
        PlannedAttempt(RECIPE, "J1", "L1", "next", "It tells most about age.", 0.0),
        PlannedAttempt(RECIPE, None, None, "control", starts_h=1.5),
    ),
)
PLAN = PlanSettings(2.0, 4, 5.0, (1, 7), 9, 12.0, 0.85, (("age", 20.0), ("bath", 0.0)))


@pytest.fixture
def state() -> CampaignState:
    return CampaignState(
        CampaignSettings(plan=PLAN),
        FACTORS,
        (Lot("L1"),),
        (Jar("J1", "L1", AT),),
        (Attempt("a", 1, RECIPE, recorded_at=AT, parted=Parted.NO, lot_id="L1", proof_id="p1"),),
        proofs=(COUNT, LINES),
        evenings=(EVENING, replace(EVENING, id="e2", dropped_at=AT)),
    )


def test_a_file_keeps_proofs_and_plans(state: CampaignState, tmp_path: Path) -> None:
    path = tmp_path / "kept.stirfall"
    made = Document.create(
        path,
        state.settings,
        state.factors,
        lots=state.lots,
        jars=state.jars,
        attempts=state.attempts,
        proofs=state.proofs,
        evenings=state.evenings,
        clock=FixedClock(AT),
    )
    made.close()
    with Document.open(path, read_only=True) as document:
        assert document.state == state
        assert document.state.evening == EVENING
        assert document.state.open_proof == COUNT
        assert document.state.proof("p2") == LINES


def test_a_package_keeps_proofs_and_plans(state: CampaignState, tmp_path: Path) -> None:
    write_package(state, (), tmp_path / "package")
    assert read_package(tmp_path / "package").state == state
    write_package(replace(state, proofs=(), evenings=(), attempts=()), (), tmp_path / "package")
    assert not (tmp_path / "package" / "proofs.csv").exists()
    assert not (tmp_path / "package" / "evenings.csv").exists()


def test_a_fingerprint_says_nothing_of_proofs_but_of_how_the_person_works(state: CampaignState) -> None:
    unmarked = tuple(replace(attempt, proof_id=None) for attempt in state.attempts)
    assert fingerprint(replace(state, proofs=(), evenings=(), attempts=unmarked)) == fingerprint(state)
    assert fingerprint(replace(state, settings=CampaignSettings())) != fingerprint(state)


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("attempt_h", 0.0, "plan_settings.not_positive"),
        ("horizon_weeks", float("nan"), "plan_settings.not_positive"),
        ("jars_at_once", 0, "plan_settings.jars"),
        ("bench_days", (), "plan_settings.days"),
        ("bench_days", (1, 1), "plan_settings.days"),
        ("bench_days", (0,), "plan_settings.days"),
        ("evening_hour", 24, "plan_settings.hour"),
        ("target", 1.0, "plan_settings.target"),
        ("control", (("age", -1.0),), "plan_settings.control"),
    ],
)
def test_impossible_ways_to_work_are_refused(field: str, value: object, code: str) -> None:
    with pytest.raises(InputError) as caught:
        replace(PLAN, **{field: value})
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"claim": 1.0}, "proof.claim"),
        ({"confidence": 0.4}, "proof.confidence"),
        ({"attempts": 0}, "proof.attempts"),
        ({"failures_allowed": 46}, "proof.failures"),
        ({"tolerances": {"bath": -1.0}}, "proof.tolerance"),
        ({"rule": ProofRule.SEQUENTIAL}, "proof.good"),
        ({"rule": ProofRule.SEQUENTIAL, "good": 0.95}, "proof.risk"),
    ],
)
def test_rules_that_make_no_sense_are_refused(changes: dict[str, object], code: str) -> None:
    with pytest.raises(InputError) as caught:
        replace(COUNT, **changes)  # type: ignore[arg-type]
    assert caught.value.code == code


def test_what_is_not_told_is_held_as_usual_and_what_is_told_exactly_is_left_out() -> None:
    errors = {error.factor: error for error in control_errors(FACTORS, PLAN)}
    assert set(errors) == {"age"}
    assert (errors["age"].half_width, errors["age"].is_share, errors["age"].is_usual) == (20.0, True, False)
