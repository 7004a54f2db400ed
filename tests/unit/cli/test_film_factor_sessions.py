"""The film index from jars to answers, in scripts and on the command line; all campaigns here are invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from stirfall import Campaign, Factor
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Role
from stirfall.bench.records import Jar, Lot
from stirfall.session.analysis import analyse
from stirfall.session.commands import AddJar, AddLot, RecordAttempt

Run = Callable[..., Any]

START = datetime(2026, 9, 1, 8, tzinfo=UTC)
AGE = Factor("oil exposure time", unit="h", low=1, high=240, scale="log")
BATH = Factor("temperature", unit="C", low=145, high=170)
FILM = Factor("film index", unit="mmol/m²", low=0.1, high=5000, scale="log")
DEPTHS, AREAS = (8.0, 15.0, 30.0), (10.0, 25.0, 60.0)


def jar(number: int) -> Jar:
    """A jar that says enough; depth and area go round."""
    return Jar(
        f"J{number}",
        "L1",
        START,
        oil_depth_mm=DEPTHS[number % 3],
        inner_diameter_mm=40.0,
        metal_area_cm2=AREAS[(number // 3) % 3],
        lid="loose",
        oil_history="new",
        storage_c=20.0,
        room_rh_percent=45.0,
    )


@pytest.fixture
def session(tmp_path: Path) -> Path:
    """Nine jars that differ, each opened at another age."""
    path = tmp_path / "film.stirfall"
    with Campaign.new(
        path, factors=[AGE, BATH, FILM], material="base metal", melting_point_c=138, oil_flash_c=225
    ) as campaign:
        campaign.document.execute(AddLot(Lot("L1", START)))
        for number in range(9):
            campaign.document.execute(AddJar(jar(number)))
        grades = [{"parted": "no"}, {"parted": "yes", "pooled": "one pool"}, {"parted": "yes", "pooled": "beads"}]
        for number in range(18):
            at = START + timedelta(hours=(2, 6, 18, 40, 90, 150)[number % 6] + number)
            grades = [
                {"parted": "no"},
                {"parted": "yes", "pooled": "one pool"},
                {"parted": "yes", "pooled": "beads"},
            ]
            campaign.record({"temperature": 150 + number}, jar=f"J{number % 9}", at=at, **grades[(number % 6) // 2])
    return path


def test_a_recorded_attempt_gets_the_film_of_its_jar_at_its_start(session: Path) -> None:
    with Campaign.open(session, read_only=True) as campaign:
        for attempt in campaign.attempts:
            film = campaign.film(attempt.jar_id, attempt.started_at)
            assert attempt.conditions.number("film index") == pytest.approx(
                film.index, rel=1e-3
            )  # kept in 4 digits
            assert film.low < film.index < film.high
        wide, narrow = (
            campaign.film("J0", START + timedelta(days=2)),
            campaign.film("J6", START + timedelta(days=2)),
        )
        assert wide.index == pytest.approx(6.0 * narrow.index, rel=0.01)  # 10 against 60 cm² at the same depth
        with pytest.raises(InputError) as error:
            campaign.film("J99")
        assert error.value.code == "script.jar_unknown"


def test_a_typed_film_index_stays(session: Path) -> None:
    with Campaign.open(session) as campaign:
        at = START + timedelta(days=3)
        attempt = campaign.record({"temperature": 150, "film index": 7.5}, jar="J1", at=at, parted="no")
        assert attempt.conditions["film index"] == 7.5
        assert campaign.analysis.state.attempt(attempt.id).conditions["film index"] == 7.5


def test_an_attempt_without_a_film_index_gets_it_for_the_analysis_only(session: Path) -> None:
    with Campaign.open(session) as campaign:
        document = campaign.document
        whole = document.state.attempts[3]
        bare = whole.conditions.with_value("film index", None)
        changes = document.execute(RecordAttempt(replace(whole, id="", number=0, conditions=bare)))
        kept = document.state.attempt(changes.new_attempt_id)
        assert "film index" not in kept.conditions
        analysis = campaign.analysis
        filled = analysis.state.attempt(kept.id).conditions.number("film index")
        assert filled == pytest.approx(whole.conditions.number("film index"), rel=1e-3)
        assert analysis.counts.missing == 0
        assert "film index" not in document.state.attempt(kept.id).conditions


def test_questions_name_ages_and_the_film_follows(session: Path) -> None:
    with Campaign.open(session, read_only=True) as campaign:
        assert campaign.analysis.follows == "film index"
        told = campaign.probability({"oil exposure time": 48, "temperature": 155})
        whole = campaign.analysis.complete(campaign.analysis.usual(campaign.attempts[0].conditions))
        assert whole["film index"] != pytest.approx(campaign.attempts[0].conditions.number("film index"))
        assert 0 < told.mean < 1
        films = [
            (each.conditions["oil exposure time"], each.conditions["film index"])
            for each in campaign.suggest(4, "learn")
        ]
        assert [film for _, film in sorted(films)] == sorted(film for _, film in films)
        recipe = campaign.recipe().json()
        film = next(value for value in recipe["conditions"] if value["name"] == "film index")
        assert (film["low"], film["high"], film["given"]) == (None, None, True)


@pytest.mark.parametrize("method", [[], ["--method", "ml"], ["--method", "firth"]])
def test_no_answer_on_the_command_line_asks_for_the_film_index(
    session: Path, stirfall_command: Run, method: list[str]
) -> None:
    at = ["--at", "oil exposure time=2 d", "--at", "temperature=155"]
    told = stirfall_command("odds", str(session), *at, *method, "--json")
    assert "film index" not in told.err
    document = json.loads(told.out)
    assert told.code in (0, 1)
    assert document["counts"]["used"] == 18
    if not method:
        assert document["filled"] == []


def test_without_jars_that_say_enough_the_film_index_is_dropped_and_named(tmp_path: Path) -> None:
    path = tmp_path / "bare.stirfall"
    with Campaign.new(path, factors=[AGE, BATH, FILM], melting_point_c=138, oil_flash_c=225) as campaign:
        for number in range(8):
            campaign.record({"oil exposure time": 3 + number, "temperature": 150}, clean=number % 2)
        assert campaign.analysis.counts.dropped_factors == ("film index",)
        assert campaign.probability({"oil exposure time": 5, "temperature": 150}).n == 8
        for each in campaign.suggest(3):
            assert "film index" not in each.conditions


@pytest.mark.parametrize("graded", [0, 8])
def test_scripts_never_advise_on_film_or_age_of_a_superoxide_former(tmp_path: Path, graded: int) -> None:
    path = tmp_path / "risk.stirfall"
    with Campaign.new(
        path,
        factors=[AGE, BATH, FILM],
        material="superoxide-forming alkali metal",
        melting_point_c=138,
        oil_flash_c=225,
    ) as campaign:
        campaign.document.execute(AddLot(Lot("L1", START)))
        for number in range(3):
            campaign.document.execute(AddJar(jar(number)))
        for number in range(graded):
            at = START + timedelta(hours=2 + number)
            campaign.record({"temperature": 150 + number}, jar=f"J{number % 3}", at=at, clean=number % 2)
        made = [*campaign.suggest(3, "learn"), *campaign.suggest(3), campaign.best()]
        assert len(made) > 1
        for each in made:
            assert each.conditions["oil exposure time"] == AGE.low
            assert each.conditions.get("film index") in (None, FILM.low)
            assert (each.jar, each.wait_h) == (None, None)


def test_a_new_campaign_can_have_the_film_index_as_a_factor(tmp_path: Path, stirfall_command: Run) -> None:
    plain, path = tmp_path / "plain.stirfall", tmp_path / "new.stirfall"
    assert stirfall_command("new", str(plain)).code == 0
    made = stirfall_command("new", str(path), "--film-index")
    assert made.code == 0
    assert "the film index" in made.out
    with Campaign.open(plain, read_only=True) as campaign:
        before = campaign.factors
    with Campaign.open(path, read_only=True) as campaign:
        *others, film = campaign.factors
        assert tuple(others) == before
        assert film.role is Role.FILM_INDEX
        assert not film.is_choice
        assert analyse(campaign.document.state).counts.dropped_factors == ("film index",)


def test_a_table_gets_the_film_index_beside_its_columns(tmp_path: Path, stirfall_command: Run) -> None:
    table = tmp_path / "trials.csv"
    table.write_text("age,result\n1,no\n4,yes\n9,no\n30,yes\n", encoding="utf-8")
    path = tmp_path / "table.stirfall"
    columns = ["--factor", "age=h:log", "--outcome", "result", "--success", "yes", "--film-index"]
    assert stirfall_command("new", str(path), "--from", str(table), *columns).code == 0
    with Campaign.open(path, read_only=True) as campaign:
        assert [factor.name for factor in campaign.factors] == ["age", "film index"]
        assert campaign.analysis.counts.used == 4
        assert campaign.probability({"age": 5}).n == 4
