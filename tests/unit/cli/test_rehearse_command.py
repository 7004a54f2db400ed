"""``stirfall rehearse`` and the verb of scripts: text, document, record, guess, and being stopped."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from stirfall import Campaign, Factor
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Role, Scale
from stirfall.cli.rehearse import read_guess
from stirfall.planning.rehearsal import Guess, Hump

AGE = Factor("age", "h", 2.0, 96.0, Scale.LOG, role=Role.OIL_EXPOSURE)
TIME = Factor("stirring time", "s", 30.0, 300.0, Scale.LOG, step=5.0)
ADDITIVE = Factor("additive", levels=("none", "rosin"))
QUICK = ("--campaigns", "2", "--most", "2", "--jobs", "1", "--orders", "space filling, random")


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "tin.stirfall"
    with Campaign.new(path, factors=(AGE, TIME), invented=True, melting_point_c=138.0, oil_flash_c=220.0) as made:
        made.record({"age": 24.0, "stirring time": 90.0}, parted="yes", pooled="one pool", lot="L1")
        made.record({"age": 4.0, "stirring time": 90.0}, parted="no", lot="L1")
        made.record({"age": 80.0, "stirring time": 60.0}, parted="yes", pooled="beads", lot="L1")
    return path


def test_the_text_tells_each_order_what_is_assumed_and_its_progress(
    session: Path, stirfall_command: Callable
) -> None:
    done = stirfall_command("rehearse", session, *QUICK, "--target", "0.99")
    assert done.code == 0
    assert "\nSpace filling\n" in done.out
    assert "\nRandom\n" in done.out
    assert "Against space filling:" in done.out
    assert "more than 2" in done.out
    assert "drawn from what 3 graded attempts say" in done.out
    assert "{" not in done.out
    assert done.err.splitlines()[0] == "Rehearsing: 0 of 4 campaigns"
    assert done.err.splitlines()[-1] == "Rehearsing: 4 of 4 campaigns"


def test_the_document_holds_the_distribution_and_the_same_seed_gives_the_same_one(
    session: Path, stirfall_command: Callable
) -> None:
    first, again = (stirfall_command("rehearse", session, *QUICK, "--json", "--seed", "4") for _ in range(2))
    document, other = json.loads(first.out), json.loads(again.out)
    assert document["schema"] == "stirfall.rehearse/1"
    assert (document["campaigns"], document["most"], document["seed"], document["target"]) == (2, 2, 4, 0.9)
    assert document["complete"] is True
    (space, random) = document["orders"]
    assert (space["order"], random["order"]) == ("space filling", "random")
    assert space["against"] is None
    assert random["against"]["order"] == "space filling"
    assert [each["share"] for each in space["attempts"]["quantiles"]] == [0.1, 0.5, 0.9]
    assert len(space["attempts"]["curve"]["x"]) == len(space["attempts"]["curve"]["not_yet"])
    # The weeks hang on the moment at which the command was given; attempts do not.
    assert [each["attempts"] for each in document["orders"]] == [each["attempts"] for each in other["orders"]]


def test_a_record_is_gone_on_with_and_one_of_another_rehearsal_refused(
    session: Path, stirfall_command: Callable, tmp_path: Path
) -> None:
    record = tmp_path / "record.jsonl"
    first = stirfall_command("rehearse", session, *QUICK, "--json", "--record", record)
    assert len(record.read_text().splitlines()) == 5
    again = stirfall_command("rehearse", session, *QUICK, "--json", "--record", record)
    assert "Rehearsing: 4 of 4 campaigns" in again.err.splitlines()[0]
    assert json.loads(again.out)["orders"] == json.loads(first.out)["orders"]
    refused = stirfall_command("rehearse", session, *QUICK, "--seed", "1", "--record", record)
    assert refused.code == 2
    assert "holds another rehearsal" in refused.err


def test_ctrl_c_keeps_what_is_done_and_says_how_to_go_on(
    session: Path, stirfall_command: Callable, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from stirfall.cli import rehearse

    class Interrupted(rehearse._Progress):
        def __call__(self, done: int, of: int) -> None:
            super().__call__(done, of)
            if done == 1:
                os.kill(os.getpid(), signal.SIGINT)

    record, before = tmp_path / "record.jsonl", signal.getsignal(signal.SIGINT)
    monkeypatch.setattr(rehearse, "_Progress", Interrupted)
    stopped = stirfall_command("rehearse", session, *QUICK, "--record", record)
    assert stopped.code == 2
    assert f"Stopped after 1 of 4 campaigns. They are kept in {record}" in stopped.err
    assert stopped.out == ""
    assert len(record.read_text().splitlines()) == 2
    assert signal.getsignal(signal.SIGINT) is before
    lost = stirfall_command("rehearse", session, *QUICK)
    assert "Nothing was kept" in lost.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--orders", "backwards"), "no order"),
        (("--orders", " , "), "at least one order"),
        (("--campaigns", "0"), "between 1 and"),
        (("--target", "1.5"), "between 0 and 1"),
        (("--most", "0"), "further attempts"),
        (("--jobs", "0"), "number of processes"),
        (("--lot", "L7"), "no lot"),
        (("--guess", "nonsense"), "no part of a guess"),
        (("--guess", "best=x"), "no part of a guess"),
        (("--guess", "age=24:wide"), "no part of a guess"),
        (("--guess", "best=2"), "between 0 and 1"),
    ],
)
def test_odd_requests_are_told_in_one_line(
    session: Path, stirfall_command: Callable, arguments: tuple[str, ...], said: str
) -> None:
    done = stirfall_command("rehearse", session, *arguments)
    assert done.code == 2
    assert said in done.err
    assert len(done.err.strip().splitlines()) == 1


def test_a_guess_is_read_with_units_widths_and_anywhere() -> None:
    factors = (AGE, TIME, ADDITIVE)
    assert read_guess(factors, ()) is None
    read = read_guess(factors, ("best=0.85", "age=1 d:3", "stirring time=?", "additive=rosin:0.4"))
    humps = (Hump("age", 24.0, 3.0), Hump("stirring time"), Hump("additive", "rosin", 0.4))
    assert read == Guess(0.85, humps)
    assert read_guess(factors, ("age=?:2",)) == Guess(humps=(Hump("age", None, 2.0),))


def test_scripts_rehearse_too(session: Path) -> None:
    with Campaign.open(session, read_only=True) as campaign:
        told = []
        found = campaign.rehearse(
            campaigns=2,
            orders=["space filling"],
            most=1,
            guess=Guess(0.9, (Hump("age", 20.0, 3.0),)),
            lot="L1",
            jobs=1,
            progress=lambda done, of: told.append((done, of)),
        )
        assert told == [(0, 2), (1, 2), (2, 2)]
        assert found.source == "guess"
        assert found.order("space filling").campaigns == 2
        with pytest.raises(InputError) as refused:
            campaign.rehearse(orders=["backwards"])
        assert "no order" in refused.value.__notes__[0]
