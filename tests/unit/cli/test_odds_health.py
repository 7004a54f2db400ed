"""The health of the odds as the command line gives it: every number in JSON, every statement in plain text."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Scale
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.cli.odds_health import health_json, health_lines
from stirfall.cli.output import finite
from stirfall.session.analysis import analyse
from stirfall.session.health import PARTS, health_report

GUIDE = Path(__file__).parents[3] / "resources" / "guide" / "command_line.md"
AGE = Factor("age", "h", 1.0, 100.0, Scale.LOG)


def reported(count: int, *, refined: bool):
    start = datetime(2026, 3, 2, tzinfo=UTC)
    attempts = tuple(
        Attempt(
            f"a{i}",
            i,
            Conditions({"age": 1.35**i}),
            started_at=start + timedelta(days=i),
            successes=int(i > count / 2) if i < count else 0,
        )
        for i in range(1, count + 1)
    )
    state = CampaignState(CampaignSettings(gates=1), (AGE,), attempts=attempts)
    return health_report(analyse(state, refined=refined))


@pytest.fixture(scope="module")
def report():
    return reported(15, refined=True)


def test_json_holds_every_part_and_only_plain_finite_values(report):
    document = json.loads(json.dumps(health_json(report), allow_nan=False))
    assert set(PARTS) <= set(document)
    assert set(document["statements"]) == set(PARTS)
    assert document["attempts"] == 15
    assert document["scores"]["brier"]["gain"] == pytest.approx(
        document["scores"]["brier"]["mean_rate"] - document["scores"]["brier"]["score"]
    )
    assert len(document["influence"][0]["attempts"]) == 15
    in_bins = [attempt_id for part in document["calibration"]["bins"] for attempt_id in part["attempt_ids"]]
    assert sorted(in_bins) == sorted(f"a{i}" for i in range(1, 16))
    assert document["confounding"]["with_time"][0]["pearson"]["value"] == pytest.approx(1.0)


def test_warnings_link_to_what_they_are_about(report):
    warnings = health_json(report)["warnings"]
    by_code = {warning["code"]: warning for warning in warnings}
    assert by_code["influence.clean_pulls"]["attempt_id"] == "a15"
    assert by_code["influence.clean_pulls"]["number"] == 15
    assert by_code["confounding.date_rises"]["factor"] == "age"
    assert all(warning["text"] != warning["code"] for warning in warnings)


def test_unknown_parts_are_null_and_say_why():
    document = health_json(reported(4, refined=False))
    assert (document["scores"], document["auc"], document["calibration"]) == (None, None, None)
    assert document["statements"]["scores"]["code"] == "health.not_refined"
    empty = health_json(reported(0, refined=True))
    assert finite(empty) == empty
    assert empty["warnings"] == []


def test_text_names_warnings_first_and_repeats_nothing(report):
    lines = health_lines(report)
    assert lines[0] == "How far to trust this:"
    assert lines[1].startswith("  Note: ")
    assert len(set(lines)) == len(lines)
    assert not any(re.search(r"[{}]|nan|None", line) for line in lines)
    unknown = health_lines(reported(0, refined=True))
    assert sum("nothing to judge" in line for line in unknown) == 1


def test_every_key_is_described_in_the_guide(report):
    described = GUIDE.read_text(encoding="utf-8")

    def keys(value, *, of_people=False):
        if isinstance(value, dict):
            for key, item in value.items():
                if not of_people:
                    yield key
                yield from keys(item, of_people=key in {"conditions", "statements"})
        elif isinstance(value, list):
            for item in value:
                yield from keys(item)

    found = set(keys(health_json(report)))
    assert len(found) > 50
    assert {key for key in found if f"`{key}`" not in described} <= {"mean", "trials"}
