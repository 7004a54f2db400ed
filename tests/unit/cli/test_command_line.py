from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from stirfall import __version__
from stirfall.bench.estimates import whole_percent
from stirfall.cli.main import COMMANDS
from stirfall.cli.output import finite, for_terminal
from stirfall.session.document import Document

Run = Callable[..., Any]


def test_help_names_every_command_and_version_tells_the_version(stirfall_command: Run) -> None:
    helped = stirfall_command("--help")
    assert helped.code == 0
    assert all(name in helped.out for name in COMMANDS)
    assert __version__ in stirfall_command("--version").out


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_explains_itself(stirfall_command: Run, name: str) -> None:
    helped = stirfall_command(name, "--help")
    assert helped.code == 0
    assert helped.out.startswith(f"Usage: stirfall {name}")


@pytest.mark.parametrize(
    "arguments",
    [
        ("stir",),
        ("odds",),
        ("odds", "nowhere.stirfall"),
        ("odds", "nowhere.stirfall", "--method", "guess"),
        ("next", "nowhere.stirfall", "--count", "0"),
        ("recipe", "nowhere.stirfall", "--out", "recipe.docx"),
        ("check", "nowhere.stirfall"),
        ("check", "."),
        ("new", "x.stirfall", "--from", "nowhere.csv", "--factor", "a", "--outcome", "b", "--success", "1"),
        ("new", "x.stirfall", "--outcome", "b"),
        ("new", "x.stirfall", "--material", "cheese"),
        ("new", "x.stirfall", "--oil-flash", "hot"),
        ("open",),
    ],
)
def test_a_request_that_cannot_be_met_is_one_line_and_code_2(
    stirfall_command: Run, arguments: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    told = stirfall_command(*arguments)
    assert told.code == 2
    assert told.out == ""
    assert len(told.err.strip().splitlines()) == 1
    assert "Traceback" not in told.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("command", "code"), [("odds", 2), ("next", 2), ("check", 1)])
def test_a_file_that_is_no_session_is_refused_and_left_as_it_is(
    stirfall_command: Run, tmp_path: Path, command: str, code: int
) -> None:
    # To ask a letter for odds is a request that cannot be met; that a letter is no session is what a check finds.
    foreign = tmp_path / "letter.stirfall"
    foreign.write_text("Dear diary")
    told = stirfall_command(command, foreign)
    assert told.code == code
    assert str(foreign) in told.err
    assert len(told.err.strip().splitlines()) == 1
    assert foreign.read_text() == "Dear diary"


def test_check_finds_that_a_session_is_newer_than_the_program(stirfall_command: Run, graded: Path) -> None:
    data = bytearray(graded.read_bytes())
    data[60:64] = (99).to_bytes(4, "big")  # the user version: https://www.sqlite.org/fileformat.html, section 1.3
    graded.write_bytes(data)
    told = stirfall_command("check", graded)
    assert told.code == 1
    assert "newer" in told.err
    assert json.loads(stirfall_command("check", graded, "--json").out)["problems"][0]["code"] == "file.newer"
    assert stirfall_command("odds", graded).code == 2
    assert graded.read_bytes() == data


def test_an_empty_session_has_the_standard_factors(stirfall_command: Run, tmp_path: Path) -> None:
    session = tmp_path / "empty.stirfall"
    made = stirfall_command(
        "new", session, "--material", "base metal", "--melting-point", "280.4 F", "--oil-flash", "225"
    )
    assert made.code == 0
    with Document.open(session, read_only=True) as document:
        assert document.state.settings.melting_point_c == pytest.approx(138.0)
        assert document.state.settings.oil_flash_c == 225.0
        assert document.state.settings.title == "empty"
        assert len(document.state.factors) == 9
    told = stirfall_command("odds", session)
    assert told.code == 0, told.err
    assert "0 attempts" in told.out
    suggested = stirfall_command("next", session, "--json")
    assert suggested.code == 0
    assert len(json.loads(suggested.out)["suggestions"]) == 3


def test_a_session_that_exists_is_never_overwritten(stirfall_command: Run, graded: Path) -> None:
    before = graded.read_bytes()
    assert stirfall_command("new", graded).code == 2
    assert graded.read_bytes() == before


def test_a_table_with_two_gates_and_lots_becomes_a_session(stirfall_command: Run, tmp_path: Path) -> None:
    table = tmp_path / "trials.csv"
    rows = ["1 h;no;;L1", "1 d;yes;one pool;L1", "30 h;yes;beads;L2", "2 h;partly;beads;L2"]
    table.write_text("age;solids left;pool;lot\n" + "\n".join(rows), encoding="utf-8-sig")
    session = tmp_path / "trials.stirfall"
    columns = ("--parted", "solids left", "--pooled", "pool", "--group", "lot", "--factor", "age=h:log")
    made = stirfall_command("new", session, "--from", table, *columns)
    assert made.code == 0, made.err
    assert "4 attempts, 1 factor, 2 lots" in made.out
    answer = json.loads(stirfall_command("odds", session, "--at", "age=24", "--json").out)
    assert [gate["name"] for gate in answer["gates"]] == ["parted", "pooled"]
    assert [(gate["successes"], gate["trials"]) for gate in answer["gates"]] == [(2, 4), (1, 2)]
    one = json.loads(stirfall_command("odds", session, "--at", "age=24", "--gates", "one", "--json").out)
    assert [(gate["name"], gate["successes"], gate["trials"]) for gate in one["gates"]] == [("clean", 1, 4)]


def test_what_the_model_assumes_can_be_said_when_a_session_is_made(stirfall_command: Run, tmp_path: Path) -> None:
    table = tmp_path / "trials.csv"
    rows = ["1,yes,one pool,a,3", "2,no,,b,4", "4,partly,beads,a,5", "9,partly,one pool,b,6"]
    table.write_text("age,parted,pool,Bench,dose\n" + "\n".join(rows), encoding="utf-8")
    session = tmp_path / "trials.stirfall"
    columns = (
        "--parted",
        "parted",
        "--pooled",
        "pool",
        "--factor",
        "age=h",
        "--factor",
        "Bench",
        "--factor",
        "dose",
    )
    said = ("--partly", "success", "--lot-effect", "bench", "--hump", "AGE", "--product", "dose", "age")
    made = stirfall_command("new", session, "--from", table, *columns, *said)
    assert made.code == 0, made.err
    with Document.open(session, read_only=True) as document:
        settings = document.state.settings
    assert (settings.partly, settings.lot_effect) == ("success", "Bench")
    assert (settings.humps, settings.products) == (("age",), (("dose", "age"),))
    answer = json.loads(stirfall_command("odds", session, "--at", "age=2", "--json").out)
    assert [(gate["successes"], gate["trials"]) for gate in answer["gates"]] == [(3, 4), (2, 3)]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (("--lot-effect", "flask"), "lot, jar, bench, none, stirring action, additive"),
        (("--lot-effect", "temperature"), "is a number"),
        (("--hump", "additive"), "is a choice"),
        (("--hump", "no such"), "no factor"),
        (("--product", "temperature", "Temperature"), "times itself"),
    ],
)
def test_a_model_that_cannot_be_is_refused_before_a_file_is_made(
    stirfall_command: Run, tmp_path: Path, said: tuple[str, ...], words: str
) -> None:
    session = tmp_path / "none.stirfall"
    refused = stirfall_command("new", session, *said)
    assert refused.code == 2
    assert words in refused.err
    assert not session.exists()


def test_bad_cells_are_listed_and_nothing_is_written(stirfall_command: Run, tmp_path: Path) -> None:
    table = tmp_path / "trials.csv"
    table.write_text("age,clean\nten,1\n5,0\n6,1\n-3,1\n")
    session = tmp_path / "trials.stirfall"
    columns = ("--factor", "age=h:log", "--outcome", "clean", "--success", "1")
    told = stirfall_command("new", session, "--from", table, *columns)
    assert told.code == 2
    assert "row 2, column age" in told.err
    assert "row 5, column age" in told.err
    assert not session.exists()


def test_counts_cannot_be_split_into_two_gates(stirfall_command: Run, tmp_path: Path) -> None:
    table = tmp_path / "trials.csv"
    table.write_text("age,clean\n1,1\n5,0\n6,1\n")
    columns = ("--factor", "age", "--outcome", "clean", "--success", "1")
    told = stirfall_command("new", tmp_path / "a.stirfall", "--from", table, *columns, "--gates", "two")
    assert told.code == 2
    assert not (tmp_path / "a.stirfall").exists()
    assert stirfall_command("new", tmp_path / "b.stirfall", "--from", table, *columns).code == 0
    assert stirfall_command("odds", tmp_path / "b.stirfall", "--gates", "two").code == 2


def test_odds_at_given_conditions_are_the_product_of_the_gates(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--at", "sample age=1 d", "--at", "temperature=302 F", "--json")
    answer = json.loads(told.out)
    assert answer["conditions"] == pytest.approx({"sample age": 24.0, "temperature": 150.0})
    parted, pooled = (gate["probability"]["mean"] for gate in answer["gates"])
    # Forms of one gate have a share in the answer too, so that it is near the product and not the product itself.
    assert answer["probability"]["mean"] == pytest.approx(parted * pooled, abs=0.03)
    assert answer["probability"]["lower"] < answer["probability"]["mean"] < answer["probability"]["upper"]
    assert answer["counts"]["used"] == 10
    assert answer["counts"]["aborted"] == 1


def test_the_text_says_what_the_json_says(stirfall_command: Run, graded: Path) -> None:
    answer = json.loads(stirfall_command("odds", graded, "--json").out)
    text = stirfall_command("odds", graded).out.replace("\u2009", " ")
    assert answer["conditions_source"] == "best"
    assert f"Clean separation: {whole_percent(answer['probability']['mean'])} %" in text
    assert "10 attempts used; left out: 1 aborted." in text


def test_what_was_left_out_is_filled_and_named(stirfall_command: Run, graded: Path) -> None:
    answer = json.loads(stirfall_command("odds", graded, "--at", "temperature=150", "--json").out)
    assert answer["filled"] == ["sample age"]
    assert "Filled in" in stirfall_command("odds", graded, "--at", "temperature=150").out


@pytest.mark.parametrize(
    "text", ["temperature", "=3", "temperature=", "colour=3", "temperature=3 d", "sample age=0"]
)
def test_a_condition_that_cannot_be_read_is_refused(stirfall_command: Run, graded: Path, text: str) -> None:
    assert stirfall_command("odds", graded, "--at", text).code == 2


def test_a_condition_given_twice_is_refused(stirfall_command: Run, graded: Path) -> None:
    assert stirfall_command("odds", graded, "--at", "temperature=150", "--at", "Temperature=151").code == 2


def test_two_gates_by_maximum_likelihood_are_told_apart(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("odds", graded, "--method", "ml", "--json")
    answer = json.loads(told.out)
    # Short ages never part in this session, so gate 1 is separated and has no maximum-likelihood fit.
    assert told.code == 1
    assert [gate["name"] for gate in answer["gates"]] == ["parted", "pooled"]
    assert answer["gates"][0]["exists"] is False
    assert answer["exists"] is False


def test_the_same_session_gives_the_same_answer_twice(stirfall_command: Run, graded: Path) -> None:
    for command in ("odds", "next"):
        assert stirfall_command(command, graded, "--json").out == stirfall_command(command, graded, "--json").out


def test_next_keeps_to_the_operating_limits(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("next", graded, "--count", "5", "--goal", "learn", "--json")
    assert told.code == 0
    answer = json.loads(told.out)
    assert answer["schema"] == "stirfall.next/1"
    assert 1 <= len(answer["suggestions"]) <= 5
    for suggestion in answer["suggestions"]:
        assert 145 <= suggestion["conditions"]["temperature"] <= 170
        assert 1 <= suggestion["conditions"]["sample age"] <= 240
        assert suggestion["why"].strip()
        assert "{" not in suggestion["why"]


def test_without_a_flash_point_heating_is_not_suggested_and_the_reason_is_told(
    stirfall_command: Run, tmp_path: Path
) -> None:
    session = tmp_path / "unknown.stirfall"
    assert stirfall_command("new", session, "--material", "base metal").code == 0
    told = stirfall_command("next", session)
    assert told.code == 1
    assert "flash" in told.out
    answer = json.loads(stirfall_command("next", session, "--json").out)
    assert answer["blocked"] is True
    assert answer["suggestions"] == []
    assert any(finding["level"] == "block" and "flash" in finding["text"] for finding in answer["findings"])
    # The odds can still be told, for the defaults, because nothing was recorded yet.
    odds = json.loads(stirfall_command("odds", session, "--json").out)
    assert odds["conditions_source"] == "defaults"
    assert stirfall_command("recipe", session, "--out", tmp_path / "recipe.md").code == 1
    assert not (tmp_path / "recipe.md").exists()


def test_a_recipe_is_written_in_every_form(stirfall_command: Run, graded: Path, tmp_path: Path) -> None:
    paths = [tmp_path / "deep" / f"recipe.{suffix}" for suffix in ("md", "json", "pdf")]
    told = stirfall_command("recipe", graded, *(word for path in paths for word in ("--out", path)))
    assert told.code == 0, told.err
    assert "temperature" in paths[0].read_text(encoding="utf-8")
    assert isinstance(json.loads(paths[1].read_text(encoding="utf-8")), dict)
    assert paths[2].read_bytes().startswith(b"%PDF-")


def test_a_recipe_past_the_flash_margin_says_so(stirfall_command: Run, graded: Path, tmp_path: Path) -> None:
    at = ("--at", "sample age=24", "--at", "temperature=200")
    told = stirfall_command("recipe", graded, *at, "--out", tmp_path / "hot.md")
    assert told.code == 1
    assert told.err.strip()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit on the size of files")
@pytest.mark.parametrize("suffix", ["md", "json", "pdf"])
def test_a_recipe_that_finds_no_room_leaves_the_old_one(graded: Path, tmp_path: Path, suffix: str) -> None:
    old = tmp_path / "out" / f"recipe.{suffix}"
    old.parent.mkdir()
    old.write_text("the old recipe")
    # The shell's limit counts blocks of 512 or 1024 bytes; every recipe is larger than four of them.
    command = f'ulimit -f 4; exec "{sys.executable}" -m stirfall recipe "{graded}" --out "{old}"'
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, env=environment, check=False)
    assert done.returncode == 2, done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert old.read_text() == "the old recipe"
    assert list(old.parent.iterdir()) == [old]


def test_check_counts_what_a_session_holds(stirfall_command: Run, graded: Path) -> None:
    told = stirfall_command("check", graded, "--json")
    assert told.code == 0
    answer = json.loads(told.out)
    assert answer["problems"] == []
    assert answer["counts"]["attempts"] == 11
    assert answer["counts"]["aborted"] == 1
    assert answer["counts"]["lots"] == 2
    assert "attempts: 11" in stirfall_command("check", graded).out


def test_check_finds_a_damaged_page(stirfall_command: Run, graded: Path) -> None:
    data = bytearray(graded.read_bytes())
    # Every page but the first, whose header says what the file is, loses the head of its tree.
    page = int.from_bytes(data[16:18], "big")
    for start in range(page, len(data), page):
        data[start : start + 12] = b"\xff" * 12
    graded.write_bytes(data)
    told = stirfall_command("check", graded)
    assert told.code == 1
    assert "damaged" in told.err
    assert "Traceback" not in told.err
    answer = stirfall_command("check", graded, "--json")
    assert answer.code == 1
    assert json.loads(answer.out)["problems"]
    assert stirfall_command("odds", graded).code == 2


def test_a_session_that_a_window_has_open_can_be_asked(stirfall_command: Run, graded: Path) -> None:
    with Document.open(graded) as document:
        assert not document.read_only
        assert stirfall_command("odds", graded).code == 0
        assert stirfall_command("check", graded).code == 0


def test_a_terminal_without_unicode_gets_plain_signs(graded: Path) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(
        [sys.executable, "-m", "stirfall", "odds", str(graded)], capture_output=True, env=environment, check=True
    )
    text = done.stdout.decode("ascii")
    assert "Clean separation:" in text
    assert "?" not in text


def test_an_answer_goes_into_a_pipe_that_closes_early(graded: Path) -> None:
    command = f'"{sys.executable}" -m stirfall odds "{graded}" --json | head -n 1'
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "{"
    assert done.stderr == ""


def test_plain_text_loses_no_digit() -> None:
    text = "\u22125\u2009°C, 3 × “x”"
    assert for_terminal(text, "utf-8") == text
    assert for_terminal(text, "ascii") == '-5 deg C, 3 x "x"'


def test_what_a_cell_brings_into_a_message_never_begins_a_line_or_steers_the_terminal(
    stirfall_command: Run, tmp_path: Path
) -> None:
    table = tmp_path / "trials.csv"
    table.write_text('age,ok\n"1\n2",yes\n"\x1b[31m3",no\n4,yes\n5,no\n6,no\n7,no\n')
    columns = ("--factor", "age", "--outcome", "ok", "--success", "yes")
    told = stirfall_command("new", tmp_path / "x.stirfall", "--from", table, *columns)
    assert told.code == 2
    assert len(told.err.strip().split("\n")) == 3
    assert "\x1b" not in told.err


def test_a_heading_with_an_equals_sign_can_be_asked_for(stirfall_command: Run, tmp_path: Path) -> None:
    table, session = tmp_path / "t.csv", tmp_path / "t.stirfall"
    table.write_text("a=b,ok\n1,yes\n2,no\n4,yes\n")
    columns = ("--factor", "a=b=h", "--outcome", "ok", "--success", "yes")
    assert stirfall_command("new", session, "--from", table, *columns).code == 0
    told = stirfall_command("odds", session, "--at", "A=b = 90 min", "--json")
    assert json.loads(told.out)["conditions"] == {"a=b": 1.5}
    unknown = stirfall_command("odds", session, "--at", "a=3")
    assert unknown.code == 2
    assert "“a”" in unknown.err


def keys_of(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield key
            # What stands in conditions are names of factors.
            yield from () if key == "conditions" else keys_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_of(inner)


def test_the_guide_names_every_key_of_every_json_document(
    stirfall_command: Run, graded: Path, tmp_path: Path
) -> None:
    table, grouped = tmp_path / "grouped.csv", tmp_path / "grouped.stirfall"
    table.write_text("speed,k,n\n20,1,6\n60,3,6\n90,2,6\n140,5,6\n")
    made = stirfall_command(
        *("new", grouped, "--from", table, "--factor", "speed", "--outcome", "k", "--trials", "n")
    )
    assert made.code == 0
    at = ("--at", "sample age=24", "--at", "temperature=150")
    asked = [
        ("odds", graded, *at),
        ("odds", graded, "--gates", "one", "--method", "ml"),
        ("odds", grouped, "--method", "ml", "--at", "speed=90"),
        ("next", graded),
        ("check", graded),
    ]
    keys = {key for one in asked for key in keys_of(json.loads(stirfall_command(*one, "--json").out))}
    guide = (Path(__file__).parents[3] / "resources" / "guide" / "command_line.md").read_text(encoding="utf-8")
    assert {"null_deviance", "log_marginal", "struck out", "outside_tried"} <= keys
    assert sorted(key for key in keys if not re.search(rf"\b{re.escape(key)}\b", guide)) == []


def test_json_carries_no_number_that_is_not_finite() -> None:
    assert finite({"a": [1.0, float("nan")], "b": (float("inf"),)}) == {"a": [1.0, None], "b": [None]}


def test_a_bug_is_one_line_and_its_trace_is_kept_in_a_file(
    stirfall_command: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setitem(COMMANDS, "check", ("stirfall.cli.not_there", "A command whose code is missing."))
    told = stirfall_command("check", "any.stirfall")
    assert told.code == 2
    assert len(told.err.strip().splitlines()) == 1
    (kept,) = tmp_path.glob("stirfall-error-*.txt")
    assert str(kept) in told.err
    assert "ModuleNotFoundError" in kept.read_text()
