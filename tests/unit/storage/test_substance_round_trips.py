"""What is known of substances, jars, runs and weighings comes back whole from the file, the package and JSON."""

from __future__ import annotations

import json
import tempfile
from dataclasses import fields, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.records import CRUDE, JAR_MATERIALS, RESIDUE, Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.run_facts import OIL_REMOVALS, AcceptedWarning, RunFacts, WeighingSheet
from stirfall.bench.substances import (
    AdditiveValues,
    MetalValues,
    OilHistory,
    OilValues,
    OwnLimits,
    SolidsValues,
    Substances,
    SurfaceLook,
    VesselValues,
)
from stirfall.session.document import Document
from stirfall.storage.compact import compact, expand
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.limit_table import additive_kinds
from stirfall.storage.package import read_package, write_package
from stirfall.storage.values import to_json

MOMENT = datetime(2026, 5, 4, 8, 30, tzinfo=UTC)
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
AMOUNT = st.none() | st.floats(1e-6, 1e6)
ANY_NUMBER = st.none() | st.floats(-200, 1e4)
PERCENT = st.none() | st.floats(0, 100)


def words(*known: str) -> st.SearchStrategy[str]:
    return st.sampled_from(("", *known))


ACCEPTED = st.builds(AcceptedWarning, TEXT, TEXT, TEXT, TEXT)
FACTS = st.builds(
    RunFacts,
    words(*SurfaceLook),
    PERCENT,
    AMOUNT,
    ANY_NUMBER,
    ANY_NUMBER,
    st.lists(TEXT, max_size=3).map(tuple),
    st.lists(ACCEPTED, max_size=2).map(tuple),
)
SHEETS = st.builds(
    WeighingSheet,
    st.lists(st.tuples(TEXT, st.floats(0, 1e3)), max_size=3, unique_by=lambda tare: tare[0]).map(tuple),
    AMOUNT,
    words(*OIL_REMOVALS),
    AMOUNT,
    PERCENT,
    AMOUNT,
)
OILS = st.builds(
    OilValues,
    TEXT,
    words(*OilHistory),
    AMOUNT,
    ANY_NUMBER,
    AMOUNT,
    ANY_NUMBER,
    AMOUNT,
    ANY_NUMBER,
    ANY_NUMBER,
    ANY_NUMBER,
)
SUBSTANCES = st.builds(
    Substances,
    st.builds(MetalValues, TEXT, AMOUNT, AMOUNT, AMOUNT),
    st.builds(SolidsValues, TEXT, TEXT, AMOUNT, st.none() | st.floats(0.1, 1), st.none() | st.floats(1, 9)),
    OILS,
    st.lists(st.builds(AdditiveValues, TEXT, TEXT, AMOUNT, AMOUNT, PERCENT), max_size=2).map(tuple),
    st.builds(VesselValues, AMOUNT, AMOUNT, AMOUNT),
    st.builds(OwnLimits, AMOUNT, AMOUNT, AMOUNT, AMOUNT),
)
JARS = st.builds(
    lambda **known: Jar("J1", "L1", MOMENT, **known),
    inner_diameter_mm=AMOUNT,
    headspace_mm=AMOUNT,
    piece_count=st.none() | st.integers(1, 99),
    piece_mm=AMOUNT,
    metal_area_cm2=AMOUNT,
    material=words(*JAR_MATERIALS),
    oil_history=words(*OilHistory),
    storage_c=ANY_NUMBER,
    room_rh_percent=PERCENT,
    contents=st.sampled_from((CRUDE, RESIDUE)),
    look=words(*SurfaceLook),
    looked_at=st.none() | st.just(MOMENT),
)
LOTS = st.builds(
    lambda **known: Lot("L1", **known),
    metal_percent=PERCENT,
    metal_u_percent=PERCENT,
    assays=st.none() | st.integers(1, 9),
)
# What a session takes: own limits tighter than those of the program, additives of known classes with names.
TIGHT = st.none() | st.floats(0.01, 5)
KEPT = st.builds(
    Substances,
    st.builds(MetalValues, TEXT, AMOUNT, AMOUNT, AMOUNT),
    st.builds(SolidsValues, TEXT, TEXT, AMOUNT, st.none() | st.floats(0.1, 1), st.none() | st.floats(1, 9)),
    OILS,
    st.lists(
        st.builds(AdditiveValues, st.sampled_from(["A", "b 2"]), words(*additive_kinds()), TIGHT, AMOUNT, PERCENT),
        max_size=2,
        unique_by=lambda additive: additive.name,
    ).map(tuple),
    st.builds(VesselValues, AMOUNT, AMOUNT, AMOUNT),
    st.builds(OwnLimits, TIGHT, TIGHT, TIGHT, TIGHT),
)
QUICK = settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def campaign(substances: Substances, lot: Lot, jar: Jar, facts: RunFacts, sheet: WeighingSheet) -> CampaignState:
    attempt = Attempt("a", 1, Conditions({"age": 3.0}), lot_id="L1", jar_id="J1", facts=facts, sheet=sheet)
    chosen = CampaignSettings(title="Trial", substances=substances)
    return CampaignState(chosen, (Factor("age", "h", 1, 9),), (lot,), (jar,), (attempt,))


@given(FACTS, SHEETS, SUBSTANCES)
def test_compact_json_gives_back_every_record(
    facts: RunFacts, sheet: WeighingSheet, substances: Substances
) -> None:
    for record in (facts, sheet, substances):
        assert expand(type(record), json.loads(to_json(record))) == record


def test_what_is_not_known_takes_no_room() -> None:
    assert (compact(RunFacts()), compact(WeighingSheet())) == ({}, {})
    assert compact(Substances(oil=OilValues(autoignition_c=320))) == {"oil": {"autoignition_c": 320.0}}
    # A field of a later program is left out rather than refused.
    assert expand(RunFacts, {"look": "grey", "later": 1}) == RunFacts(look="grey")


@QUICK
@given(KEPT, LOTS, JARS, FACTS, SHEETS)
def test_session_file_and_package_give_back_the_campaign(
    substances: Substances, lot: Lot, jar: Jar, facts: RunFacts, sheet: WeighingSheet
) -> None:
    state = campaign(substances, lot, jar, facts, sheet)
    with tempfile.TemporaryDirectory() as folder:
        write_package(state, (), Path(folder) / "package")
        assert read_package(Path(folder) / "package").state == state
        path = Path(folder) / "trial.stirfall"
        content = {"lots": state.lots, "jars": state.jars, "attempts": state.attempts}
        Document.create(path, state.settings, state.factors, **content).close()
        with Document.open(path, read_only=True) as document:
            assert document.state == state
            assert document.fingerprint == fingerprint(state)


def test_the_fingerprint_sees_each_new_fact_and_no_empty_one() -> None:
    bare = campaign(Substances(), Lot("L1"), Jar("J1", "L1", MOMENT), RunFacts(), WeighingSheet())
    changed = [
        replace(bare, settings=replace(bare.settings, substances=Substances(vessel=VesselValues(volume_ml=100)))),
        replace(bare, lots=(Lot("L1", metal_percent=80),)),
        replace(bare, jars=(Jar("J1", "L1", MOMENT, look="grey"),)),
        replace(bare, attempts=(replace(bare.attempts[0], facts=RunFacts(look="grey")),)),
        replace(bare, attempts=(replace(bare.attempts[0], sheet=WeighingSheet(step_g=0.01)),)),
    ]
    assert len({fingerprint(state) for state in (bare, *changed)}) == 1 + len(changed)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: OilValues(density_kg_m3=0), "substance.impossible"),
        (lambda: OilValues(viscosity_1_mm2_s=float("nan")), "substance.impossible"),
        (lambda: OilValues(history="boiled"), "substance.history"),
        (lambda: SolidsValues(size_low_um=5, size_high_um=4), "substance.sizes_reversed"),
        (lambda: VesselValues(volume_ml=-1), "substance.impossible"),
        (lambda: RunFacts(look="pink"), "facts.look"),
        (lambda: RunFacts(room_rh_percent=100.1), "facts.impossible"),
        (lambda: RunFacts(oil_ml=-1), "facts.impossible"),
        (lambda: WeighingSheet(oil_removed="shaken"), "sheet.oil_removed"),
        (lambda: WeighingSheet(step_g=0), "sheet.impossible"),
        (lambda: WeighingSheet(purity_percent=101), "sheet.impossible"),
        (lambda: WeighingSheet(tares=(("product_g", -1),)), "sheet.impossible"),
        (lambda: Jar("J1", "L1", MOMENT, look="pink"), "jar.word"),
        (lambda: Jar("J1", "L1", MOMENT, contents="soup"), "jar.word"),
    ],
)
def test_what_cannot_be_is_refused(make: object, code: str) -> None:
    with pytest.raises(InputError) as caught:
        make()  # type: ignore[operator]
    assert caught.value.code == code


def test_an_alarming_look_is_one_of_four() -> None:
    assert {look.value for look in SurfaceLook if look.is_alarming} == {"hidden", "furry", "white", "yellow"}


def test_the_package_says_what_each_new_column_means(tmp_path: Path) -> None:
    state = campaign(Substances(), Lot("L1"), Jar("J1", "L1", MOMENT), RunFacts(), WeighingSheet())
    write_package(state, (), tmp_path / "package")
    described = json.loads((tmp_path / "package" / "datapackage.json").read_text(encoding="utf-8"))
    columns = {
        resource["name"]: {column["name"] for column in resource["schema"]["fields"]}
        for resource in described["resources"]
    }
    assert {item.name for item in fields(Jar)} == columns["jars"]
    assert {item.name for item in fields(Lot)} == columns["lots"]
    assert {"facts", "sheet"} <= columns["attempts"]
