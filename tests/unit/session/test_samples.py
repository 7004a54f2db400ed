from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import INVENTED_NOTICE, computed_ages
from stirfall.session.clock import FixedClock
from stirfall.session.samples import open_sample, samples
from stirfall.storage.package import PackageContent, read_package

ROOT = Path(__file__).parents[3]
KEYS = ["tin-bismuth-dross", "work-holding-alloy", "gallium-beads"]
NOW = datetime(2027, 1, 15, 9, 30, tzinfo=UTC)


def content(key: str) -> PackageContent:
    return read_package(ROOT / "sample_sessions" / key)


def test_the_samples_are_listed_in_order_and_say_that_they_are_invented() -> None:
    listed = samples()
    assert [sample.key for sample in listed] == KEYS
    for sample in listed:
        assert "nvented" in sample.title
        assert INVENTED_NOTICE in sample.summary
        assert sample.folder.is_dir()


def test_the_generators_reproduce_the_files_byte_for_byte(tmp_path: Path) -> None:
    script = ROOT / "tests" / "generators" / "write_samples.py"
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src")}
    subprocess.run([sys.executable, str(script), str(tmp_path)], check=True, env=environment, timeout=120)
    shipped_files = sorted(path.relative_to(ROOT / "sample_sessions") for path in _files(ROOT / "sample_sessions"))
    assert shipped_files == sorted(path.relative_to(tmp_path) for path in _files(tmp_path))
    for name in shipped_files:
        assert (tmp_path / name).read_bytes() == (ROOT / "sample_sessions" / name).read_bytes(), name


def _files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.filterwarnings("ignore")  # the validating library itself uses deprecated parts of others
def test_the_package_is_valid_for_an_independent_reader(key: str) -> None:
    # frictionless checks Data Package, Table Schema, types, primary and foreign keys of specs.frictionlessdata.io.
    from frictionless import Package

    package = Package(str(ROOT / "sample_sessions" / key / "datapackage.json"))
    report = package.validate()
    assert report.valid, report.flatten(["title", "rowNumber", "fieldName", "note"])
    rows = package.get_resource("attempts").read_rows()
    assert len(rows) == len(content(key).state.attempts)
    assert {type(row["number"]) for row in rows} == {int}
    assert all(row["started_at"] is None or isinstance(row["started_at"], datetime) for row in rows)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.filterwarnings("ignore")
def test_the_independent_reader_notices_a_spoilt_cell(key: str, tmp_path: Path) -> None:
    from frictionless import Package

    for path in (ROOT / "sample_sessions" / key).iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    attempts = tmp_path / "attempts.csv"
    attempts.write_bytes(attempts.read_bytes().replace(b"attempt-02,2,", b"attempt-02,two,", 1))
    assert not Package(str(tmp_path / "datapackage.json")).validate().valid


@pytest.mark.parametrize("key", KEYS)
def test_each_sample_has_everything_that_a_campaign_has(key: str) -> None:
    read = content(key)
    state = read.state
    outcomes = {attempt.outcome for attempt in state.attempts}
    assert 40 <= len(state.attempts) <= 60
    assert len(state.lots) >= 4
    assert 3 <= len(state.shelf) <= 6
    assert {Outcome.ABORTED, Outcome.CLEAN, Outcome.NOTHING_PARTED, Outcome.PARTED_BEADS} <= outcomes
    assert any(attempt.is_struck for attempt in state.attempts)
    assert len(read.corrections) >= 2
    assert state.settings.invented
    assert all(attempt.invented for attempt in state.attempts)
    assert state.settings.material is MaterialClass.BASE_METAL  # never a reactive metal's settings
    assert state.settings.gates == 2
    assert 6 <= len(state.factors) <= 9


@pytest.mark.parametrize("key", KEYS)
def test_ages_and_masses_agree_with_the_time_stamps_and_the_balance(key: str) -> None:
    state = content(key).state
    for attempt in state.attempts:
        assert attempt.started_at is not None
        ages = computed_ages(
            state.factors,
            lot=state.lot(attempt.lot_id),
            jar=state.jar(attempt.jar_id),
            started_at=attempt.started_at,
        )
        typed = {override.factor for override in attempt.overrides}
        for name, value in ages.items():
            assert name in typed or attempt.conditions[name] == pytest.approx(value, abs=1e-9)
        masses = attempt.masses
        if masses.charge_g and masses.residue_g is not None:
            out = (masses.product_g or 0) + (masses.beads_g or 0) + masses.residue_g - (masses.additive_g or 0)
            assert 0.93 < out / masses.charge_g < 1.07


@pytest.mark.parametrize("key", KEYS)
def test_recorded_conditions_lie_in_the_campaigns_ranges(key: str) -> None:
    state = content(key).state
    for attempt in state.attempts:
        for factor in state.factors:
            if factor.name in attempt.conditions:
                assert factor.holds(attempt.conditions[factor.name]), (attempt.number, factor.name)


@pytest.mark.parametrize("key", KEYS)
def test_a_corrected_field_shows_its_new_value_in_the_attempt(key: str) -> None:
    import json

    read = content(key)
    for correction in read.corrections:
        attempt = read.state.attempt(correction.record_id)
        if correction.field.startswith("conditions."):
            assert attempt.conditions[correction.field.removeprefix("conditions.")] == json.loads(correction.new)
        else:
            assert getattr(attempt, correction.field) == json.loads(correction.new)


@pytest.mark.parametrize("key", KEYS)
def test_opening_a_sample_makes_a_session_whose_dates_end_within_the_last_day(key: str, tmp_path: Path) -> None:
    read = content(key)
    with open_sample(key, tmp_path / "mine.stirfall", clock=FixedClock(NOW)) as document:
        state = document.state
        assert state.settings == read.state.settings
        assert state.factors == read.state.factors
        assert [a.conditions for a in state.attempts] == [a.conditions for a in read.state.attempts]
        assert [a.outcome for a in state.attempts] == [a.outcome for a in read.state.attempts]
        moves = {new.started_at - old.started_at for new, old in zip(state.jars, read.state.jars, strict=True)} | {
            a.started_at - b.started_at for a, b in zip(state.attempts, read.state.attempts, strict=True)
        }  # type: ignore[operator]
        assert len(moves) == 1
        assert moves.pop() % timedelta(days=1) == timedelta()
        last = max(jar.started_at for jar in state.shelf)
        assert timedelta() <= NOW - last < timedelta(days=2)
        assert len(document.corrections(read.corrections[0].record_id)) >= 1
    assert (tmp_path / "mine.stirfall").is_file()


def test_an_unknown_sample_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        open_sample("none", tmp_path / "x.stirfall")
    assert caught.value.code == "sample.unknown"
    assert not (tmp_path / "x.stirfall").exists()
