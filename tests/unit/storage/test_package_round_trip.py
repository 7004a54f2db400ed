from __future__ import annotations

import csv
import tempfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import PARTLY_CHOICES, AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.running import EventKind, PlannedStep, Regrade, Run, RunEvent, Step
from stirfall.storage.package import read_package, write_package

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
RISKY = ["=1+1", "+2", "-3", "@SUM(A1)", "\tx", "\rx", "'", "'=1", "", '"', "a,b", "a\r\nb", "\ufeff"]
ANY_TEXT = TEXT | st.sampled_from(RISKY)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
POSITIVE = st.floats(0, 1e12)
TIMES = st.datetimes(
    datetime(1990, 1, 1),  # noqa: DTZ001
    datetime(2100, 1, 1),  # noqa: DTZ001
    timezones=st.sampled_from([UTC, timezone(timedelta(hours=-5, minutes=-30))]),
)
IDS = st.lists(st.text("ABCJL0123456789=-'", min_size=1, max_size=5), unique=True, max_size=3)
LEVELS = ("none", "=HYPERLINK(1)", "'quoted", "")


def maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | strategy


def factor_lists() -> st.SearchStrategy:
    number = st.builds(
        Factor,
        st.sampled_from(["sample age", "=age", "id", "note"]),
        st.sampled_from(["h", "C", "", "=x"]),
        st.floats(0.5, 3),
        st.floats(4, 9),
        st.sampled_from(Scale),
        step=maybe(st.floats(0.1, 2)),
        role=st.sampled_from(Role),
        default=maybe(st.floats(-9, 9)),
        hidden=st.booleans(),
    )
    choice = st.builds(
        Factor,
        st.sampled_from(["additive", "action"]),
        levels=st.just(LEVELS),
        default=maybe(st.sampled_from(LEVELS)),
    )
    return st.lists(number | choice, unique_by=lambda factor: factor.name, max_size=4)


@st.composite
def attempts(draw: st.DrawFn, number: int, factors: list, lots: list, jars: list) -> Attempt:
    values = {
        factor.name: draw(maybe(st.sampled_from(LEVELS) if factor.is_choice else NUMBERS)) for factor in factors
    }
    values |= draw(st.dictionaries(st.just("gone"), NUMBERS)) | draw(
        st.dictionaries(st.just("gone word"), ANY_TEXT)
    )
    graded = draw(st.booleans())
    parted = draw(st.sampled_from(Parted)) if graded else None
    pooled = draw(maybe(st.sampled_from(Pooled))) if graded and parted is not Parted.NO else None
    trials = draw(st.integers(1, 99))
    return Attempt(
        id=f"a{number}",
        number=draw(st.integers(1, 10**6)),
        conditions=Conditions({name: value for name, value in values.items() if value is not None}),
        started_at=draw(maybe(TIMES)),
        recorded_at=draw(maybe(TIMES)),
        lot_id=draw(maybe(st.sampled_from([lot.id for lot in lots]))) if lots else None,
        jar_id=draw(maybe(st.sampled_from([jar.id for jar in jars]))) if jars else None,
        parted=parted,
        pooled=pooled,
        successes=None if graded else draw(maybe(st.integers(0, trials))),
        trials=trials,
        aborted=draw(st.booleans()),
        abort_reason=draw(ANY_TEXT),
        masses=Masses(*(draw(maybe(POSITIVE)) for _ in range(5))),
        note=draw(ANY_TEXT),
        overrides=tuple(draw(st.lists(st.builds(AgeOverride, ANY_TEXT, maybe(NUMBERS), ANY_TEXT), max_size=2))),
        struck_reason=draw(maybe(ANY_TEXT)),
        invented=draw(st.booleans()),
    )


@st.composite
def campaigns(draw: st.DrawFn) -> CampaignState:
    factors = draw(factor_lists())
    lots = [Lot(name, draw(maybe(TIMES)), draw(maybe(NUMBERS)), draw(ANY_TEXT)) for name in draw(IDS)]
    names = draw(IDS) if lots else []
    jars = [
        Jar(name, draw(st.sampled_from(lots)).id, draw(TIMES), draw(ANY_TEXT), draw(maybe(NUMBERS)), draw(ANY_TEXT),
            draw(maybe(POSITIVE)), draw(ANY_TEXT), draw(maybe(TIMES)))
        for name in names
    ]  # fmt: skip
    tried = tuple(draw(attempts(number, factors, lots, jars)) for number in range(draw(st.integers(0, 3))))
    return CampaignState(
        CampaignSettings(
            title=draw(ANY_TEXT),
            material=draw(st.sampled_from(MaterialClass)),
            metal=draw(ANY_TEXT),
            melting_point_c=draw(maybe(NUMBERS)),
            oil=draw(ANY_TEXT),
            oil_flash_c=draw(maybe(NUMBERS)),
            invented=draw(st.booleans()),
            gates=draw(st.sampled_from([1, 2])),
            level=draw(st.floats(0.5, 0.999)),
            humps=tuple(draw(st.lists(ANY_TEXT, max_size=2))),
            products=tuple(draw(st.lists(st.tuples(ANY_TEXT, ANY_TEXT), max_size=2))),
            partly=draw(st.sampled_from(PARTLY_CHOICES)),
            lot_effect=draw(ANY_TEXT),
            lot_sd_prior=draw(st.floats(1e-3, 1e3)),
            form=draw(ANY_TEXT),
        ),
        tuple(factors),
        tuple(lots),
        tuple(jars),
        tried,
        tuple(draw(st.lists(st.builds(ChecklistTick, ANY_TEXT, TIMES, ANY_TEXT, st.tuples(ANY_TEXT)), max_size=2))),
    )


CORRECTIONS = st.lists(
    st.builds(Correction, TIMES, ANY_TEXT, ANY_TEXT, ANY_TEXT, ANY_TEXT, ANY_TEXT, ANY_TEXT, ANY_TEXT), max_size=2
)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(campaigns(), CORRECTIONS, ANY_TEXT)
def test_a_campaign_comes_back_as_it_went(state: CampaignState, corrections: list, description: str) -> None:
    with tempfile.TemporaryDirectory() as root:
        folder = Path(root) / "package"
        write_package(state, corrections, folder, description=description)
        content = read_package(folder)
        assert content.state == state
        assert list(content.corrections) == corrections
        assert content.description == description


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(campaigns())
def test_no_text_cell_can_run_as_a_formula_in_a_spreadsheet(state: CampaignState) -> None:
    # Common practice, no standard: spreadsheets take a cell for a formula when it begins with one of = + - @.
    with tempfile.TemporaryDirectory() as root:
        folder = Path(root) / "package"
        write_package(state, [], folder)
        for path in folder.glob("*.csv"):
            with path.open(encoding="utf-8", newline="") as file:
                for row in csv.reader(file):
                    for cell in row:
                        assert not cell.startswith(("=", "+", "@", "\t", "\r"))
                        assert not cell.startswith("-") or float(cell) <= 0


def test_a_package_from_before_the_later_settings_keeps_their_defaults(tmp_path: Path) -> None:
    state = CampaignState(CampaignSettings(title="T", partly="success", lot_effect="none"), ())
    write_package(state, [], tmp_path / "p")
    path = tmp_path / "p" / "settings.csv"
    with path.open(encoding="utf-8", newline="") as file:
        table = list(csv.reader(file))
    at = table[0].index("partly")
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\r\n").writerows(row[:at] for row in table)
    assert read_package(tmp_path / "p").state.settings == CampaignSettings(title="T")


def test_runs_and_second_grades_come_back_and_leave_no_files_where_there_are_none(tmp_path: Path) -> None:
    at = datetime(2026, 3, 1, 9, tzinfo=UTC)
    steps = (PlannedStep(Step.HEAT, target_c=150.0), PlannedStep(Step.CLOSE, text="caps, lids"))
    events = (
        RunEvent("e1", "r1", EventKind.STEP, at, step="heat", ticks_s=12.25, boot="b"),
        RunEvent("e2", "r1", EventKind.READING, at, step="heat", value=151.5, text="=1+1"),
    )
    run = Run("r1", at, Conditions({"age": 3.0, "action": "fold"}), steps, attempt_id="a1", events=events)
    factors = (Factor("age", "h", 1, 9), Factor("action", levels=("fold", "press")))
    attempt = Attempt("a1", 1, Conditions({"age": 3.0}), parted=Parted.NO, run_id="r1")
    state = CampaignState(
        CampaignSettings(),
        factors,
        attempts=(attempt,),
        runs=(run,),
        regrades=(Regrade("g1", "a1", at, "clean separation"),),
    )
    write_package(state, (), tmp_path / "with")
    assert read_package(tmp_path / "with").state == state
    write_package(replace(state, runs=(), regrades=()), (), tmp_path / "without")
    names = {path.name for path in (tmp_path / "with").iterdir()}
    assert names - {path.name for path in (tmp_path / "without").iterdir()} == {
        "runs.csv",
        "run_events.csv",
        "second_grades.csv",
    }
    other = replace(state, runs=(), regrades=(), attempts=(replace(attempt, run_id=None),))
    write_package(other, (), tmp_path / "with")  # over the older package, whose runs are not this one's
    assert read_package(tmp_path / "with").state == other
