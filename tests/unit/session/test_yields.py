"""What a clean attempt brings in grams: usual charge, recovered share, and unknown said as unknown."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.session.analysis import analyse
from stirfall.session.yields import usual_charge_g

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
AGE = Factor("sample age", "h", 0.5, 96.0, Scale.LOG, role=Role.SAMPLE_AGE)
PLAN = PlanSettings(control=(("sample age", 0.0),), jars_at_once=2, attempt_h=2.0)


def campaign(
    *, weighed: bool, charges: tuple[float | None, ...] = (), solids: float | None = 20.0
) -> CampaignState:
    attempts = []
    for number in range(1, 21):
        age = 1.5 ** (number % 10)
        parted = number % 4 != 0
        masses = Masses(charge_g=40.0, product_g=24.0 + number % 3) if weighed and parted else Masses()
        grades = {"parted": Parted.YES, "pooled": Pooled.ONE_POOL} if parted else {"parted": Parted.NO}
        conditions = Conditions({"sample age": age})
        attempts.append(Attempt(f"a{number}", number, conditions, lot_id="L1", masses=masses, **grades))
    jars = tuple(
        Jar(f"J{n}", "L1", NOW - timedelta(hours=5), charge_g=charge) for n, charge in enumerate(charges, 1)
    )
    settings = CampaignSettings(
        material=MaterialClass.BASE_METAL, melting_point_c=138.0, oil_flash_c=225.0, plan=PLAN, lot_effect="none"
    )
    lots = (Lot("L1", solids_percent=20.0),)
    return CampaignState(settings, (AGE,), lots=lots, jars=jars, attempts=tuple(attempts))


def test_the_usual_charge_is_the_median_of_the_jars_that_age_now():
    state = campaign(weighed=True, charges=(10.0, 30.0, None, 14.0))
    assert usual_charge_g(state) == 14.0
    residue = replace(state, jars=tuple(replace(jar, contents="residue") for jar in state.jars))
    assert usual_charge_g(residue) is None
    emptied = replace(state, jars=(replace(state.jars[0], emptied_at=NOW), *state.jars[1:]))
    assert usual_charge_g(emptied) == 22.0


def test_grams_are_charge_times_metal_times_recovery_and_agree_with_the_grams_per_attempt():
    analysis = analyse(campaign(weighed=True, charges=(30.0,)))
    grams = analysis.grams
    assert grams.charge_g == 30.0
    columns = {"sample age": np.array([4.0])}
    # About 25 g of 40 g charged came back, 20 % of which is solids.
    assert grams.mean(columns)[0] == pytest.approx(25 / 40, abs=0.03)
    best = analysis.best("most", NOW)
    assert best.figure.unit == "g/week"
    told = analysis.recovery.expected_grams(best.conditions, 30.0)
    a_week = min(168 * 2 / (best.conditions["sample age"] + 4.0), 9.0 / 2.0)
    assert best.figure.value == pytest.approx(told.mean * a_week, rel=0.02)
    assert best.figure.lower < best.figure.value < best.figure.upper
    made = analysis.suggest(2, "most", NOW)
    assert {each.figure.unit for each in made} == {"g/week"}


def test_without_weighings_or_a_charge_no_grams_are_promised():
    unweighed = analyse(campaign(weighed=False, charges=(30.0,)))
    assert unweighed.grams == Reason("plan.recovery_unknown")
    assert unweighed.best("most", NOW).figure is None
    made = unweighed.suggest(2, "most", NOW)
    assert [each.figure for each in made] == [None, None]
    # A jar's charge is not needed where attempts tell theirs.
    assert analyse(campaign(weighed=True)).grams.charge_g == 40.0
