"""Why and rival explanations of odd campaigns: whatever is recorded they answer, and never advise more exposure."""

from __future__ import annotations

import json
import random
from datetime import UTC, datetime, timedelta

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.reporting.rivals_json import rival_json
from stirfall.reporting.rivals_words import rivals_lines
from stirfall.reporting.why_json import surprises_json, why_json
from stirfall.reporting.why_words import surprise_lines, why_lines
from stirfall.session.analysis import analyse
from stirfall.session.rivals import rivals
from stirfall.session.surprises import surprises, why

BEGUN = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("sample age", "h", 1.0, 100.0, "log", role=Role.SAMPLE_AGE, default=10.0),
    Factor("temperature", "C", 140.0, 180.0, default=160.0),
    Factor("action", levels=("swirl", "fold")),
)
GRADES = (
    {"parted": Parted.NO},
    {"parted": Parted.PARTLY},
    {"parted": Parted.YES, "pooled": Pooled.BEADS},
    {"parted": Parted.YES, "pooled": Pooled.ONE_POOL},
    {"parted": Parted.YES},
    {"successes": 1},
    {"successes": 2, "trials": 4},
    {"aborted": True},
    {},
)


def odd_attempt(number: int, rng: random.Random) -> Attempt:
    values = {
        "sample age": rng.choice([1.0, 5.0, 20.0, 99.0]),
        "temperature": rng.choice([140.0, 160.0]),
        "action": rng.choice(["swirl", "fold"]),
    }
    known = rng.choice([tuple(values), tuple(values), tuple(values), ("action",), ()])
    at = rng.choice([None, BEGUN + timedelta(hours=7.0 * number)])
    return Attempt(
        f"a{number}",
        number,
        Conditions({name: values[name] for name in known}),
        at,
        at,
        rng.choice(["L1", "L2", None]),
        rng.choice(["J1", "J2", None]),
        struck_reason=rng.choice([None, None, None, "spilt"]),
        **rng.choice(GRADES),  # type: ignore[arg-type]
    )


def odd_campaign(seed: int) -> CampaignState:
    rng = random.Random(seed)
    settings = CampaignSettings(
        title="Odd",
        material=rng.choice(list(MaterialClass)),
        melting_point_c=rng.choice([None, 138.0]),
        oil_flash_c=rng.choice([None, 240.0]),
        gates=rng.choice([1, 2]),
        partly=rng.choice(["failed", "success", "ordinal"]),
        lot_effect=rng.choice(["none", "lot", "jar", "action", "bench"]),
    )
    jars = tuple(
        Jar(
            name,
            "L1",
            BEGUN,
            oil_depth_mm=rng.choice([None, 5.0, 20.0]),
            lid=rng.choice(["", "open", "closed", "odd"]),
            oil_history=rng.choice(["", "new", "reused"]),
            room_rh_percent=rng.choice([None, 0.0, 70.0]),
        )
        for name in ("J1", "J2")
    )
    attempts = tuple(odd_attempt(number, rng) for number in range(1, rng.choice([1, 2, 3, 10, 19])))
    factors = rng.choice([FACTORS, FACTORS, FACTORS[:1], FACTORS[2:], ()])
    return CampaignState(settings, factors, (Lot("L1", BEGUN), Lot("L2")), jars, attempts)


@pytest.mark.parametrize("seed", range(24))
def test_every_odd_campaign_is_explained_in_words_and_json(seed: int) -> None:
    state = odd_campaign(seed)
    analysis = analyse(state)
    may_wait = analysis.limits.may_wait
    found = surprises(analysis)
    said = surprise_lines(found)
    json.dumps(surprises_json(found))
    for attempt in state.attempts:
        answer = why(analysis, attempt.id, tz=UTC)
        said += why_lines(answer, analysis.state, may_wait=may_wait)
        json.dumps(why_json(answer))
    for now in (None, BEGUN + timedelta(days=2)):
        told = rivals(analysis, now=now)
        said += rivals_lines(told, analysis.state)
        json.dumps([rival_json(each, analysis.state) for each in told])
        sides = [side for each in told if each.pair is not None for side in (each.pair.first, each.pair.second)]
        assert all(analysis.limits.allows(side.conditions) for side in sides)
    if not may_wait:
        assert not any("nder-filmed" in line or "a longer exposure" in line for line in said)
