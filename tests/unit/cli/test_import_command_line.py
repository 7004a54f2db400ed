"""``stirfall import`` and ``Campaign.import_table``: guesses are shown, and nothing unsettled is written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.cli.main import run
from stirfall.scripting import Campaign

TABLE = "lot;T (°C);age;result\nL1;150,5;24;clean\nL1;151;48;beads\nL2;152;72;meh\n"


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "a.stirfall"
    Campaign.new(path).close()
    return path


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "spring.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


def count(session: Path) -> int:
    with Campaign.open(session, read_only=True) as campaign:
        return len(campaign.attempts)


def test_a_word_that_is_not_known_stops_the_writing_and_is_said(
    session: Path, table: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["import", str(session), str(table)]) == 1
    out, err = capsys.readouterr()
    assert "T (°C): factor: temperature, °C, decimal comma (likely)." in out
    assert "“meh” (1): not known" in out
    assert "“meh”" in err
    assert "--word" in err
    assert count(session) == 0


def test_a_word_is_settled_and_all_rows_come_in(
    session: Path, table: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["import", str(session), str(table), "--word", "meh=partly parted"]
    assert run([*arguments, "--dry-run"]) == 0
    assert "Nothing was written." in capsys.readouterr().out
    assert count(session) == 0
    assert run(arguments) == 0
    assert "3 attempts came into a.stirfall." in capsys.readouterr().out
    assert count(session) == 3
    assert run(arguments) == 1  # they are there already
    assert count(session) == 3
    assert run([*arguments, "--take-duplicates"]) == 0
    assert count(session) == 6


def test_refused_cells_stop_the_writing_until_their_rows_are_left_out(
    session: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.csv"
    path.write_text("T,age,result\n150,24,clean\nwarm,48,no\n")
    assert run(["import", str(session), str(path)]) == 1
    err = capsys.readouterr().err
    assert "row 3, T: “warm”" in err
    assert "--leave-out-refused" in err
    assert run(["import", str(session), str(path), "--leave-out-refused"]) == 0
    assert count(session) == 1


def test_the_json_has_all_of_it(session: Path, table: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--map", "age=leave out", "--map", "T (°C)=temperature [F]", "--widen", "--zone", "utc"]
    assert run(["import", str(session), str(table), "--json", "--dry-run", *options]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "stirfall.import/1"
    assert document["written"] is False
    assert [each["meaning"] for each in document["columns"]] == ["lot", "factor", "leave out", "outcome"]
    assert document["columns"][1]["unit"] == "F"
    assert [each["row"] for each in document["refused"]] == [4]
    assert document["words"][-1] == {"column": "result", "word": "meh", "count": 1, "result": None}
    assert document["table"]["rows"] == 3
    assert len(document["table"]["sha256"]) == 64
    assert any("range" in line for line in document["news"])


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--map", "T"], "is not of the form"),
        (["--map", "moon=lot"], "no column “moon”"),
        (["--word", "meh=fine"], "is no result"),
        (["--sheet", "x", "--heading", "99"], "Row 99"),
        (["--zone", "nowhere"], "is no zone"),
    ],
)
def test_what_cannot_be_meant_is_said(
    session: Path, table: Path, options: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["import", str(session), str(table), *options]) == 2
    assert words in capsys.readouterr().err


def test_a_script_brings_a_table_in(session: Path, table: Path) -> None:
    with Campaign.open(session) as campaign:
        trial = campaign.import_table(table, dry_run=True)
        assert not trial.written
        assert any("meh" in line for line in trial.text)
        with pytest.raises(InputError, match="meh"):
            campaign.import_table(table)
        report = campaign.import_table(table, {"age": "sample age [d]"}, {"meh": "aborted"})
        assert report.written
        assert report.text[0] == "3 attempts can come in."
        assert [each.conditions["sample age"] for each in campaign.attempts] == [576.0, 1152.0, 1728.0]
        table.write_text("T,result\n150,clean\nx,no\n")
        with pytest.raises(InputError, match="row 3"):
            campaign.import_table(table)
        assert campaign.import_table(table, leave_out_refused=True).written
        assert len(campaign.attempts) == 4
