"""Traps of planned jars, runs and imports: what is half done, taken back or contradicts itself gets nowhere.

No source outside the project: the rules are those of the guide.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted
from stirfall.bench.records import RESIDUE, Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import EventKind, PlannedStep, Regrade, Run, RunEvent, Step
from stirfall.reporting.sentences import error_sentence
from stirfall.scripting import Campaign
from stirfall.session import commands as c
from stirfall.session import samples
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document
from stirfall.session.film import film_of_jar
from stirfall.session.run_view import run_view
from stirfall.session.samples import session_of
from stirfall.storage.check import check_file
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.package import PackageContent, read_package, write_package

STEPS = (PlannedStep(Step.HEAT, target_c=150.0), PlannedStep(Step.CLOSE))
AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def refused(act: Callable[[], object]) -> str:
    with pytest.raises(InputError) as caught:
        act()
    assert "{" not in error_sentence(caught.value)
    return caught.value.code


def with_planned_jar(document: Document) -> Jar:
    jar = Jar("J2", "L1", document.now() + timedelta(days=1), planned=True)
    document.execute(c.SplitLot("L1", (jar,)))
    return jar


def test_a_planned_jar_is_neither_inspected_nor_given_to_an_attempt_by_a_correction(document: Document) -> None:
    with_planned_jar(document)
    document.execute(c.RecordAttempt(Attempt("", 0, Conditions(), jar_id="J1", parted=Parted.NO)))
    attempt, state = document.state.attempts[0], document.state
    refusals = (
        c.InspectJar("J2", "grey", document.now()),
        c.CorrectAttempt(attempt.id, {"jar_id": "J2"}, "the other one"),
        c.BeginRun(Run("", document.now(), steps=STEPS, jar_id="J2")),
    )
    for command in refusals:
        assert refused(lambda command=command: document.execute(command)) == "jar.not_started"  # type: ignore[misc]
    assert document.state is state


def test_a_jar_that_was_started_does_not_become_a_plan_again(document: Document) -> None:
    jar = document.state.jar("J1")
    assert jar is not None
    command = c.ChangeJar(replace(jar, planned=True), "by mistake")
    assert refused(lambda: document.execute(command)) == "jar.already_started"


def test_residue_is_never_only_planned(document: Document) -> None:
    later = document.now() + timedelta(days=1)
    residue = Jar("R1", "L1", later, contents=RESIDUE, planned=True)
    assert refused(lambda: document.execute(c.SplitLot("L1", (residue,)))) == "jar.residue_planned"
    document.execute(c.SplitLot("L1", (replace(residue, planned=False, started_at=document.now()),)))
    assert [jar.id for jar in document.state.residues] == ["R1"]


def test_no_start_of_a_superoxide_former_is_put_off(tmp_path: Path, clock: FixedClock) -> None:
    later = clock.now() + timedelta(hours=6)
    planned = Jar("J2", "L1", later, planned=True)
    with Document.create(tmp_path / "t.stirfall", CampaignSettings(), lots=[Lot("L1")], clock=clock) as document:
        document.execute(c.AddJar(planned))
        chosen = CampaignSettings(material=MaterialClass.SUPEROXIDE_FORMER)
        document.execute(c.ChangeSettings(chosen))
        for command in (
            c.AddJar(replace(planned, id="J3")),
            c.SplitLot("L1", (replace(planned, id="J3"),)),
            c.AddJar(replace(planned, id="J3", planned=False)),
            c.StartJar("J2", later),
            c.ChangeJar(replace(planned, started_at=later + timedelta(hours=1)), "later"),
        ):
            assert refused(lambda command=command: document.execute(command)) == "jar.no_later_start"  # type: ignore[misc]
        document.execute(c.ChangeJar(replace(planned, started_at=clock.now()), "sooner"))
        document.execute(c.StartJar("J2", clock.now()))


def test_a_planned_jar_that_was_given_up_goes_through_a_package_and_cannot_be_started(
    document: Document, tmp_path: Path, clock: FixedClock
) -> None:
    with_planned_jar(document)
    document.execute(c.EmptyJar("J2", document.now()))
    assert refused(lambda: document.execute(c.StartJar("J2", document.now()))) == "jar.already_emptied"
    copy = copied(document, tmp_path, clock)
    assert copy.state == document.state
    copy.close()


def copied(document: Document, folder: Path, clock: FixedClock) -> Document:
    """Make a session of a package of another."""
    write_package(document.state, document.corrections(), folder / "package")
    return session_of(read_package(folder / "package"), folder / "copy.stirfall", clock=clock)


# ------------------------------------------------------------------------------------------------------ undo


def test_nothing_is_taken_back_from_under_what_was_made_of_it(document: Document, path: Path) -> None:
    jar = with_planned_jar(document)
    document.execute(c.StartJar("J2", document.now()))
    document.execute(c.BeginRun(Run("r1", document.now(), steps=STEPS, jar_id="J2")))
    document.execute(c.AddRunEvent(RunEvent("", "r1", EventKind.STEP, document.now(), step="heat")))
    attempt = Attempt("", 0, Conditions(), jar_id="J2", parted=Parted.NO, run_id="r1")
    document.execute(c.RecordAttempt(attempt, empties_jar=True))
    document.execute(c.EndRun("r1"))
    names = ["End the run", "Record attempt 1", "Begin step heat", "Begin the run of jar J2", "Start jar J2"]
    for name in [*names, "Split lot L1 into 1 jar"]:
        assert document.undo_name == name
        document.undo()
    assert (document.state.jar("J2"), document.state.runs, document.state.attempts) == (None, (), ())
    while document.redo_name is not None:
        document.redo()
    state = document.state
    assert (state.runs[0].attempt_id, state.runs[0].is_open) == (state.attempts[0].id, False)
    document.close()
    with Document.open(path) as again:
        assert again.state == state
        assert again.state.jar("J2") != jar
        assert refused(again.undo) == "history.no_undo"
        assert refused(again.redo) == "history.no_redo"
        run_again = c.CorrectAttempt(state.attempts[0].id, {"run_id": None}, "other run")
        assert refused(lambda: again.execute(run_again)) == "correction.field_unknown"


def test_a_time_that_no_calendar_holds_leaves_the_run_on_the_screen(document: Document) -> None:
    steps = (PlannedStep(Step.HOLD, seconds=1e300), PlannedStep(Step.CLOSE))
    document.execute(c.BeginRun(Run("r1", document.now(), steps=steps)))
    document.execute(c.AddRunEvent(RunEvent("", "r1", EventKind.STEP, document.now(), step="hold")))
    view = run_view(document.state, document.state.runs[0], document.moment())
    assert (view.due_at, view.is_due, view.elapsed_s) == (None, False, 0)


@pytest.mark.parametrize("value", [None, float("nan"), float("inf")])
def test_a_reading_is_a_number(document: Document, value: float | None) -> None:
    document.execute(c.BeginRun(Run("r1", document.now(), steps=STEPS)))
    reading = c.AddRunEvent(RunEvent("", "r1", EventKind.READING, document.now(), value=value))
    assert refused(lambda: document.execute(reading)) == "run.reading_impossible"


def test_a_moment_beyond_the_calendar_is_told(document: Document) -> None:
    with_planned_jar(document)
    first = datetime.min.replace(tzinfo=timezone(timedelta(hours=14)))
    assert refused(lambda: document.execute(c.StartJar("J2", first))) == "time.unreadable"


# ----------------------------------------------------------------------------------------------------- imports


def created(folder: Path, *, attempts: tuple[Attempt, ...] = (), **given: object) -> Document:
    lot, jar = Lot("L1", AT), Jar("J1", "L1", AT)
    planned = Jar("J2", "L1", AT, planned=True)
    return Document.create(
        folder / "made.stirfall", CampaignSettings(), lots=[lot], jars=[jar, planned], attempts=attempts, **given
    )  # type: ignore[arg-type]


RUN = Run("r1", AT, steps=STEPS, jar_id="J1", lot_id="L1", attempt_id="a1")
NOTE = RunEvent("e1", "r1", EventKind.NOTE, AT)
OF_RUN = Attempt("a1", 1, Conditions(), jar_id="J1", parted=Parted.NO, run_id="r1")


@pytest.mark.parametrize(
    ("attempt", "given", "code"),
    [
        (OF_RUN, {}, "run.unknown"),
        (OF_RUN, {"runs": (replace(RUN, attempt_id=None),)}, "run.attempt_differs"),
        (replace(OF_RUN, run_id=None), {"runs": (RUN,)}, "run.attempt_differs"),
        (OF_RUN, {"runs": (RUN, RUN)}, "record.repeated"),
        (OF_RUN, {"runs": (RUN, replace(RUN, id="r2", attempt_id=None))}, "run.another_open"),
        (OF_RUN, {"runs": (replace(RUN, events=(NOTE, NOTE)),)}, "record.repeated"),
        (OF_RUN, {"runs": (replace(RUN, events=(replace(NOTE, run_id="r9"),)),)}, "run.unknown"),
        (
            OF_RUN,
            {"runs": (replace(RUN, events=(replace(NOTE, kind=EventKind.STEP, step="fly"),)),)},
            "run.step_unknown",
        ),
        (OF_RUN, {"runs": (replace(RUN, jar_id="J9"),)}, "jar.unknown"),
        (OF_RUN, {"runs": (replace(RUN, jar_id="J2"),)}, "jar.not_started"),
        (replace(OF_RUN, jar_id="J2", run_id=None), {}, "jar.not_started"),
        (OF_RUN, {"runs": (RUN,), "regrades": (Regrade("g", "a9", AT, "clean separation"),)}, "attempt.unknown"),
        (OF_RUN, {"runs": (RUN,), "regrades": (Regrade("g", "a1", AT, "soup"),)}, "regrade.not_a_class"),
        (OF_RUN, {"runs": (replace(RUN, started_at=AT.replace(tzinfo=None)),)}, "time.without_zone"),
    ],
)
def test_runs_and_grades_that_contradict_a_new_session_are_refused(
    tmp_path: Path, attempt: Attempt, given: dict[str, object], code: str
) -> None:
    assert refused(lambda: created(tmp_path, attempts=(attempt,), **given)) == code
    assert list(tmp_path.iterdir()) == []


def test_a_sample_with_runs_moves_them_with_its_days(
    tmp_path: Path, clock: FixedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = replace(RUN, ended_at=AT + timedelta(hours=2), events=(replace(NOTE, at=AT + timedelta(hours=1)),))
    regrade = Regrade("g", "a1", AT + timedelta(days=3), "clean separation")
    attempt = replace(OF_RUN, started_at=AT, recorded_at=AT)
    with created(tmp_path, attempts=(attempt,), runs=(run,), regrades=(regrade,)) as document:
        content = PackageContent(document.state, ())
    monkeypatch.setattr(samples, "read_package", lambda folder: content)
    clock.set(AT + timedelta(days=103, hours=5))
    with samples.open_sample(samples.samples()[0].key, tmp_path / "sample.stirfall", clock=clock) as sample:
        (moved,), (graded,) = sample.state.runs, sample.state.regrades
    by = timedelta(days=100)
    assert graded.at == regrade.at + by
    assert (moved.started_at, moved.ended_at) == (AT + by, AT + by + timedelta(hours=2))
    assert moved.events[0].at == AT + by + timedelta(hours=1)
    assert moved.attempt_id == "a1"


# ------------------------------------------------------------------------------------------- what reads a session


def test_a_planned_jar_does_not_age_when_its_hour_has_passed(tmp_path: Path) -> None:
    jar = Jar("J2", "L1", AT, planned=True, oil_depth_mm=10.0, inner_diameter_mm=40.0, metal_area_cm2=3.0)
    path, later = tmp_path / "t.stirfall", AT + timedelta(days=2)
    with Document.create(path, CampaignSettings(), lots=[Lot("L1", AT)], jars=[jar]) as document:
        state = document.state
    assert film_of_jar(state, jar, later) is None
    assert film_of_jar(state, replace(jar, planned=False), later) is not None
    with Campaign.open(path) as campaign:
        assert refused(lambda: campaign.judge({}, jar="J2", at=later)) == "jar.not_started"
        assert refused(lambda: campaign.record({}, jar="J2", at=later, lot="L9")) == "jar.not_started"
        assert [lot.id for lot in campaign.document.state.lots] == ["L1"]
        assert campaign.film("J2", later) is None


def test_the_fingerprint_says_nothing_of_runs(tmp_path: Path) -> None:
    with created(tmp_path, attempts=(OF_RUN,), runs=(RUN,)) as document:
        state = document.state
    without = replace(state, runs=(), attempts=(replace(OF_RUN, run_id=None, lot_id="L1"),))
    assert fingerprint(state) == fingerprint(without)


def test_runs_and_second_grades_go_through_a_package_into_a_new_session(
    document: Document, tmp_path: Path, clock: FixedClock
) -> None:
    document.execute(c.BeginRun(Run("r1", document.now(), steps=STEPS, jar_id="J1")))
    clock.advance(seconds=12.25)
    document.execute(c.AddRunEvent(RunEvent("", "r1", EventKind.READING, document.now(), value=151.5)))
    attempt = Attempt("", 0, Conditions(), jar_id="J1", parted=Parted.NO, run_id="r1")
    made = document.execute(c.RecordAttempt(attempt)).new_attempt_id
    document.execute(c.GradeAgain(str(made), Outcome.CLEAN))
    copy = copied(document, tmp_path, clock)
    assert copy.state == document.state
    assert copy.fingerprint == document.fingerprint
    copy.execute(c.EndRun("r1"))
    copy.close()
    assert [finding.code for finding in check_file(copy.path)] == ["check.counts"]
