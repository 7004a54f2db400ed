"""``stirfall melt``: sentences for people, a document for programs, and an exit code for warnings."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from stirfall.cli.main import run
from stirfall.session.samples import open_sample


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "trial.stirfall"
    open_sample("tin-bismuth-dross", path).close()
    return path


def test_it_says_what_to_expect(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["melt", str(session), "--at", "temperature=160 C"]) == 0
    told = capsys.readouterr().out
    assert "Invented data" in told
    assert "The solids float on the melt" in told
    assert "Weber number" in told


def test_the_document_has_numbers_with_units_and_sources(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["melt", str(session), "--at", "temperature=160", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["schema"] == "stirfall.melt/1"
    assert (told["at_c"], told["melting_c"], told["window_c"]) == (160.0, 138.0, [143.0, 175.0])
    assert told["metal"]["density_kg_m3"]["source"]
    assert told["metal"]["density_kg_m3"]["value"] == pytest.approx(8560, rel=0.01)
    assert {fact["level"] for fact in told["facts"]} <= {"fact", "note", "warn", "unknown"}
    assert "stirring speed" in told["assumed"]


def test_a_warning_gives_exit_code_1(session: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["melt", str(session), "--at", "temperature=100"]) == 1
    assert "still solid" in capsys.readouterr().out
