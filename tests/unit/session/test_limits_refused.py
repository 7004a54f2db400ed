"""What lies beyond a block is not recorded, own limits may only be stricter, and old records stay as they were."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted
from stirfall.bench.records import RESIDUE, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.substances import AdditiveValues, OilValues, OwnLimits, Substances
from stirfall.reporting.sentences import error_sentence
from stirfall.session import commands as c
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

FACTORS = (
    Factor("oil exposure", "h", 0.5, 900.0, role=Role.OIL_EXPOSURE),
    Factor("temperature", "C", 80.0, 300.0),
    Factor("additive", levels=("none", "oleic acid", "chloroform", "unknown stuff")),
    Factor("dose", "mg/g", 0.0, 60.0),
)
KNOWN = CampaignSettings(
    material=MaterialClass.ALKALI_METAL,
    melting_point_c=98.0,
    oil_flash_c=220.0,
    substances=Substances(
        oil=OilValues(stated_max_c=180.0),
        additives=(AdditiveValues("oleic acid", "fatty acid", 20.0, 282.5, 1.0),),
    ),
)
FINE = {"oil exposure": 20.0, "temperature": 120.0, "additive": "none", "dose": 0.0}

Make = Callable[..., Document]


@pytest.fixture
def make(tmp_path: Path, clock: FixedClock) -> Iterator[Make]:
    """Make a session; keyword arguments change the settings, ``attempts`` are brought in as old records."""
    opened: list[Document] = []

    def made(attempts: tuple[Attempt, ...] = (), **settings: object) -> Document:
        start = clock.now()
        opened.append(
            Document.create(
                tmp_path / f"limits{len(opened)}.stirfall",
                replace(KNOWN, **settings),
                FACTORS,
                lots=[Lot("L1", start)],
                jars=[
                    Jar("J1", "L1", start, charge_g=10.0),
                    Jar("Y1", "L1", start, look="yellow"),
                    Jar("R1", "L1", start, contents=RESIDUE),
                ],
                attempts=attempts,
                clock=clock,
            )
        )
        return opened[-1]

    yield made
    for each in opened:
        each.close()


def attempt(changes: dict[str, object] | None = None, **more: object) -> Attempt:
    return Attempt("", 0, Conditions({**FINE, **(changes or {})}), parted=Parted.NO, **more)


def limit_of(error: InputError) -> object:
    assert error.code == "limits.refused"
    text = error_sentence(error)
    assert "{" not in text
    assert "Nothing was recorded" in text
    return error.params["limit"]


BEYOND = [
    ({"temperature": 180.1}, {}, "limits.above_stated"),
    ({"temperature": 195.1}, {}, "limits.too_near_flash"),
    ({"additive": "chloroform", "dose": 1.0}, {}, "limits.additive_halogenated"),
    ({"additive": "unknown stuff", "dose": 1.0}, {}, "limits.additive_unknown"),
    ({"additive": "oleic acid", "dose": 20.1}, {}, "limits.dose_above_cap"),
    ({}, {"facts": RunFacts(look="yellow")}, "limits.alarming_look"),
    ({}, {"facts": RunFacts(lifted_at_c=40.1)}, "limits.lift_hot"),
    ({}, {"jar_id": "Y1"}, "limits.alarming_look"),
    ({}, {"jar_id": "R1"}, "limits.residue_jar"),
    ({"additive": "oleic acid", "dose": 15.0}, {"masses": Masses(charge_g=40.0)}, "limits.hydrogen_above_cap"),
]


@pytest.mark.parametrize(("changes", "more", "limit"), BEYOND)
def test_an_attempt_beyond_a_block_is_refused_unless_it_was_aborted(make: Make, changes, more, limit):
    document = make()
    before = document.state
    with pytest.raises(InputError) as caught:
        document.execute(c.RecordAttempt(attempt(changes, **more)))
    refused = limit_of(caught.value)
    assert refused == limit or limit == "limits.too_near_flash"
    assert document.state == before
    stopped = replace(attempt(changes, **more), parted=None, aborted=True, abort_reason="went too far")
    document.execute(c.RecordAttempt(stopped))
    assert len(document.state.attempts) == 1


@pytest.mark.parametrize(("changes", "more", "limit"), BEYOND)
def test_a_correction_beyond_a_block_is_refused(make: Make, changes, more, limit):
    document = make()
    document.execute(c.RecordAttempt(attempt()))
    (recorded,) = document.state.attempts
    wanted = {**more, "conditions": Conditions({**FINE, **changes})}
    with pytest.raises(InputError) as caught:
        document.execute(c.CorrectAttempt(recorded.id, wanted, "typing error"))
    assert limit_of(caught.value)
    assert document.state.attempts == (recorded,)


def test_at_the_edge_and_inside_everything_is_recorded(make: Make):
    document = make()
    for changes, more in (
        ({"temperature": 180.0}, {}),
        ({"additive": "oleic acid", "dose": 20.0}, {}),
        ({}, {"facts": RunFacts(look="grey", lifted_at_c=40.0)}),
        ({}, {"jar_id": "J1"}),
    ):
        document.execute(c.RecordAttempt(attempt(changes, **more)))
    assert len(document.state.attempts) == 4


def test_an_unknown_flash_point_does_not_keep_from_recording(make: Make):
    document = make(oil_flash_c=None)
    document.execute(c.RecordAttempt(attempt()))
    assert len(document.state.attempts) == 1


def test_warnings_never_keep_from_recording(make: Make):
    document = make()
    facts = RunFacts(room_rh_percent=90.0, peak_c=170.0)
    document.execute(c.RecordAttempt(attempt({"oil exposure": 800.0, "temperature": 172.0}, facts=facts)))
    assert len(document.state.attempts) == 1


def test_an_old_jar_of_a_superoxide_former_is_refused(make: Make, clock: FixedClock):
    document = make(material=MaterialClass.SUPEROXIDE_FORMER)
    start = clock.now()
    late = attempt({"oil exposure": 1.0}, jar_id="J1", started_at=start + timedelta(hours=24.1))
    with pytest.raises(InputError) as caught:
        document.execute(c.RecordAttempt(late))
    assert limit_of(caught.value) == "limits.too_long_exposed"
    document.execute(c.RecordAttempt(replace(late, started_at=start + timedelta(hours=24))))


def test_old_records_come_in_as_they_are_and_their_notes_can_be_corrected(make: Make):
    document = make(attempts=(attempt({"temperature": 290.0}),))
    (old,) = document.state.attempts
    assert old.conditions["temperature"] == 290.0
    document.execute(c.CorrectAttempt(old.id, {"note": "read from a photo"}, "added"))
    with pytest.raises(InputError):
        document.execute(
            c.CorrectAttempt(old.id, {"conditions": Conditions({"temperature": 289.0})}, "typing error")
        )
    document.execute(c.CorrectAttempt(old.id, {"aborted": True, "abort_reason": "too hot"}, "it was stopped"))


@pytest.mark.parametrize(
    ("material", "own", "stricter"),
    [
        (MaterialClass.ALKALI_METAL, OwnLimits(humidity_percent=60.0), True),
        (MaterialClass.ALKALI_METAL, OwnLimits(humidity_percent=59.0), True),
        (MaterialClass.ALKALI_METAL, OwnLimits(humidity_percent=60.1), False),
        (MaterialClass.ALKALI_METAL, OwnLimits(hydrogen_ml=20.0), True),
        (MaterialClass.ALKALI_METAL, OwnLimits(hydrogen_ml=20.1), False),
        (MaterialClass.ALKALI_METAL, OwnLimits(residue_days=7.0), True),
        (MaterialClass.ALKALI_METAL, OwnLimits(residue_days=7.1), False),
        (MaterialClass.ALKALI_METAL, OwnLimits(age_h=720.0), True),
        (MaterialClass.ALKALI_METAL, OwnLimits(age_h=720.1), False),
        (MaterialClass.SUPEROXIDE_FORMER, OwnLimits(age_h=24.0), True),
        (MaterialClass.SUPEROXIDE_FORMER, OwnLimits(age_h=24.1), False),
        (MaterialClass.BASE_METAL, OwnLimits(age_h=9000.0), True),
    ],
)
def test_own_limits_may_only_be_stricter(make: Make, material, own, stricter):
    document = make()
    known = replace(KNOWN, material=material, substances=replace(KNOWN.substances, limits=own))
    if stricter:
        document.execute(c.ChangeSettings(known))
        assert document.state.settings == known
        return
    with pytest.raises(InputError) as caught:
        document.execute(c.ChangeSettings(known))
    assert caught.value.code == "settings.limit_looser"
    assert "stricter" in error_sentence(caught.value)
    assert document.state.settings == KNOWN


@pytest.mark.parametrize(
    ("additives", "code"),
    [
        ((AdditiveValues("A", "", 30.0),), None),
        ((AdditiveValues("A", "", 30.1),), "settings.limit_looser"),
        ((AdditiveValues("A", "magic"),), "settings.additive_kind"),
        ((AdditiveValues(" ", "rosin"),), "settings.additive_unnamed"),
        ((AdditiveValues("A"), AdditiveValues("a ")), "settings.additive_repeated"),
    ],
)
def test_additives_are_checked_when_the_settings_change(make: Make, additives, code):
    document = make()
    known = replace(KNOWN, substances=replace(KNOWN.substances, additives=additives))
    if code is None:
        document.execute(c.ChangeSettings(known))
        return
    with pytest.raises(InputError) as caught:
        document.execute(c.ChangeSettings(known))
    assert caught.value.code == code
    assert "{" not in error_sentence(caught.value)
