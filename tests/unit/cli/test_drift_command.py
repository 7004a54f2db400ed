"""``stirfall drift`` and the verbs of scripts: what is said, what is marked, and what cannot be."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall import Campaign, Factor
from stirfall.bench.errors import InputError

Run = Callable[..., object]
BEGIN = datetime(2026, 3, 2, 18, tzinfo=UTC)
OUTCOMES = "111101110111110111111011011" + "000001000000110"


@pytest.fixture(scope="module")
def _made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("drift") / "drift.stirfall"
    factors = [Factor("temperature", unit="C", low=145, high=170)]
    with Campaign.new(
        path, factors=factors, material="base metal", melting_point_c=138, oil_flash_c=225, title="Drifting"
    ) as campaign:
        for number, clean in enumerate(OUTCOMES):
            campaign.record(
                {"temperature": 150 + number % 6},
                clean=clean == "1",
                at=BEGIN + timedelta(hours=2 * number),
                operator="Ada" if number < 20 else "Ben",
                tool="glass rod",
            )
    return path


@pytest.fixture
def session(_made_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(_made_once, tmp_path / "drift.stirfall"))


class TestCommand:
    def test_it_says_what_changed_and_finds_it_in_its_exit_code(self, session: Path, stirfall_command: Run) -> None:
        result = stirfall_command("drift", session)
        assert result.code == 1
        first = result.out.splitlines()[0]
        assert first.startswith("Since attempt 28 (")
        assert "clean separations are rarer: 3 of 15" in first
        assert "before attempt 21: operator: Ben" in result.out
        assert "glass rod" not in result.out  # it was the same from the beginning

    def test_a_change_is_marked_told_and_taken_away(self, session: Path, stirfall_command: Run) -> None:
        at = (BEGIN + timedelta(hours=53)).isoformat()
        marked = stirfall_command("drift", session, "--mark", " new can of oil ", "--kind", "oil", "--at", at)
        assert marked.code == 0
        assert "new can of oil" in marked.out
        assert "near this change: new can of oil" in stirfall_command("drift", session).out
        told = json.loads(stirfall_command("drift", session, "--json").out)
        own = [mark for mark in told["marks"] if mark["id"]]
        assert [(mark["text"], mark["kind"], mark["before_attempt"]) for mark in own] == [
            ("new can of oil", "oil", 28)
        ]
        assert stirfall_command("drift", session, "--unmark", "New can of  oil").code == 0
        assert "near this change" not in stirfall_command("drift", session).out

    def test_json_and_text_say_the_same(self, session: Path, stirfall_command: Run) -> None:
        told = json.loads(stirfall_command("drift", session, "--measure", "residual", "--json").out)
        assert told["schema"] == "stirfall.drift/1"
        assert told["measure"] == "residual"
        text = stirfall_command("drift", session, "--measure", "residual").out
        assert "\n".join(told["text"]) in text

    @pytest.mark.parametrize(("chart", "rows"), [("values", 8), ("cusum", 42), ("ewma", 42)])
    def test_the_points_of_a_chart_are_printed(
        self, chart: str, rows: int, session: Path, stirfall_command: Run
    ) -> None:
        lines = stirfall_command("drift", session, "--chart", chart).out.splitlines()
        head = next(at for at, line in enumerate(lines) if line.startswith("attempt") and "signal" in line)
        assert len(lines) - head - 1 == rows

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("--kind", "oil"), "Say in words"),
            (("--at", "2026-03-04"), "Say in words"),
            (("--mark", "a", "--unmark", "b"), "not both"),
            (("--mark", "  "), "needs words"),
            (("--mark", "oil", "--at", "soon"), "soon"),
            (("--unmark", "nothing"), "Known: none"),
            (("--measure", "luck"), "luck"),
            (("--kind", "luck", "--mark", "a"), "luck"),
        ],
    )
    def test_what_cannot_be_done_is_one_line(
        self, arguments: tuple[str, ...], words: str, session: Path, stirfall_command: Run
    ) -> None:
        result = stirfall_command("drift", session, *arguments)
        assert result.code == 2
        assert words in result.err
        assert len(result.err.strip().splitlines()) == 1

    def test_a_steady_campaign_ends_with_zero(self, graded: Path, stirfall_command: Run) -> None:
        assert stirfall_command("drift", graded).code == 0


class TestScripts:
    def test_a_script_reads_the_verdict_and_marks_a_change(self, session: Path) -> None:
        with Campaign.open(session) as campaign:
            report = campaign.drift()
            assert report.since == 28
            assert report.probability is not None
            assert report.probability > 0.95
            assert report.text[0].startswith("Since attempt 28")
            mark = campaign.mark_change("new can", kind="oil", at=BEGIN + timedelta(hours=53))
            assert "near this change: new can" in campaign.drift("clean").text[0]
            campaign.drop_mark(mark)
            assert "near this change" not in campaign.drift().text[0]

    def test_words_that_are_not_known_are_refused(self, session: Path) -> None:
        with Campaign.open(session) as campaign:
            with pytest.raises(InputError, match="measure_unknown"):
                campaign.drift("luck")
            with pytest.raises(InputError, match="kind_unknown"):
                campaign.mark_change("x", kind="luck")
            with pytest.raises(InputError, match="no_text"):
                campaign.mark_change("  ")

    def test_who_and_tool_are_kept_corrected_and_in_the_table(self, session: Path) -> None:
        with Campaign.open(session) as campaign:
            first = campaign.attempts[0]
            assert (first.facts.operator, first.facts.tool) == ("Ada", "glass rod")
            changed = campaign.correct(1, "it was the other rod", tool="steel rod")
            assert (changed.facts.operator, changed.facts.tool) == ("Ada", "steel rod")
            frame = campaign.frame()
            assert list(frame["tool"][:2]) == ["steel rod", "glass rod"]
            assert list(frame["operator"][18:22]) == ["Ada", "Ada", "Ben", "Ben"]
