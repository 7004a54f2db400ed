"""Sessions of several benches become one: what is checked, what is converted, and where each attempt came from."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pool_benches import BEGAN, FACTORS, MADE, SETTINGS, a_bench, with_conditions

from stirfall.bench.campaign import CampaignState, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import AgeOverride, CampaignSettings, Jar, Lot
from stirfall.bench.running import Regrade, Run
from stirfall.bench.substances import AdditiveValues, MetalValues, OilValues, OwnLimits, Substances
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.clock import FixedClock
from stirfall.session.pooling import Pooled, PoolSource, pool
from stirfall.session.pooling_sources import read_source, split_source
from stirfall.storage.fingerprint import fingerprint
from stirfall.storage.package import write_package

NORTH, SOUTH = a_bench("North"), a_bench("South", (False, True), day=0.5)


def pooled(*sources: PoolSource, takes: tuple[str, ...] = ()) -> Pooled:
    found = pool(sources, takes=takes, made_at=MADE)
    for reason in (*found.refusals, *found.notes):
        assert reason.code in all_sentences()
        assert "{" not in sentence(reason.code, reason.params)
    return found


def content(*sources: PoolSource, takes: tuple[str, ...] = ()) -> CampaignState:
    return pooled(*sources, takes=takes).raise_if_refused()


def codes(found: Pooled) -> set[str]:
    return {reason.code for reason in (*found.refusals, *found.notes)}


def changed(source: PoolSource, **settings: object) -> PoolSource:
    new = replace(source.state.settings, **settings)  # type: ignore[arg-type]
    return replace(source, state=replace(source.state, settings=new))


def with_factor(source: PoolSource, factor: Factor) -> PoolSource:
    factors = tuple(
        factor if each.name.casefold() == factor.name.casefold() else each for each in source.state.factors
    )
    return replace(source, state=replace(source.state, factors=factors))


# ------------------------------------------------------------------------------------------ what is kept


def test_attempts_keep_where_they_were_made_and_are_numbered_in_the_order_of_time() -> None:
    state = content(NORTH, SOUTH)
    assert [each.number for each in state.attempts] == [1, 2, 3, 4, 5]
    assert [(each.origin.bench, each.origin.number) for each in state.attempts if each.origin] == [
        ("North", 1),
        ("South", 1),
        ("North", 2),
        ("South", 2),
        ("North", 3),
    ]
    origin = state.attempts[1].origin
    assert origin is not None
    assert (origin.session, origin.fingerprint) == ("Trial", fingerprint(SOUTH.state))
    assert origin.attempt_id == SOUTH.state.attempts[0].id
    assert [lot.id for lot in state.lots] == ["North L1", "South L1"]
    assert state.attempts[1].jar_id == "South J1"
    assert state.settings.lot_effect == "bench"
    assert state.settings.title == "Pooled: North, South"


def test_jars_that_still_stand_are_closed_and_that_is_said() -> None:
    found = pooled(NORTH, SOUTH)
    assert {jar.emptied_at for jar in found.raise_if_refused().jars} == {MADE}
    assert "pool.jars_closed" in codes(found)


def test_a_pooled_session_is_a_session(tmp_path: Path) -> None:
    with pooled(NORTH, SOUTH).write(tmp_path / "all.stirfall", clock=FixedClock(MADE)) as document:
        assert document.state == content(NORTH, SOUTH)
    with pytest.raises(InputError, match=r"pool\.refused"):
        pooled(NORTH).write(tmp_path / "one.stirfall")
    assert not (tmp_path / "one.stirfall").exists()


def test_same_sources_give_the_same_session() -> None:
    assert fingerprint(content(NORTH, SOUTH)) == fingerprint(content(NORTH, SOUTH))


# ------------------------------------------------------------------------------------------ units and factors


def test_hours_and_days_celsius_and_kelvin_are_converted_exactly() -> None:
    # By the definitions of the units: a day has 24 h (BIPM SI brochure, table 8), 0 °C is 273.15 K (section 2.3.1).
    south = with_factor(SOUTH, Factor("sample age", "d", 0.5, 20.0, Scale.LOG, role=Role.SAMPLE_AGE))
    south = with_factor(south, Factor("Temperature", "K", 413.15, 453.15, role=Role.TEMPERATURE))
    south = with_conditions(south, Conditions({"sample age": 1.5, "Temperature": 423.15, "action": "fold"}))
    found = pooled(NORTH, south)
    state = found.raise_if_refused()
    theirs = [each for each in state.attempts if each.origin and each.origin.bench == "South"]
    assert {each.conditions["sample age"] for each in theirs} == {36.0}
    assert {each.conditions["temperature"] for each in theirs} == {150.0}
    age, temperature, _ = state.factors
    assert (age.low, age.high, age.unit) == (1.0, 480.0, "h")
    assert (temperature.low, temperature.high, temperature.unit) == (140.0, 180.0, "C")
    assert {"pool.unit_converted", "pool.range_widened"} <= codes(found)


def test_typed_ages_and_corrections_are_converted_with_their_factor() -> None:
    south = with_factor(SOUTH, Factor("sample age", "d", 0.5, 10.0, Scale.LOG, role=Role.SAMPLE_AGE))
    south = with_conditions(south, Conditions({"sample age": 2.0}))
    attempt = replace(south.state.attempts[0], overrides=(AgeOverride("sample age", 1.0, "clock was wrong"),))
    attempts = (attempt, *south.state.attempts[1:])
    correction = Correction(
        MADE, "attempt", attempt.id, "conditions.sample age", "1.0", "2.0", "typed wrong", "Correct"
    )
    south = replace(south, state=replace(south.state, attempts=attempts), corrections=(correction,))
    found = pooled(NORTH, south)
    made = next(
        each for each in found.raise_if_refused().attempts if each.origin and each.origin.attempt_id == attempt.id
    )
    assert made.overrides == (AgeOverride("sample age", 24.0, "clock was wrong"),)
    (kept,) = found.corrections
    assert (kept.record_id, json.loads(kept.old), json.loads(kept.new)) == (made.id, 24.0, 48.0)


def test_levels_are_united_and_spellings_made_alike() -> None:
    south = with_factor(SOUTH, Factor("action", levels=("Swirl", "press")))
    south = with_conditions(south, Conditions({"sample age": 2.0, "action": "Swirl"}))
    found = pooled(NORTH, south)
    state = found.raise_if_refused()
    assert state.factors[2].levels == ("swirl", "fold", "press")
    assert {each.conditions["action"] for each in state.attempts} == {"swirl"}
    assert {"pool.levels_added", "pool.levels_spelled"} <= codes(found)


def test_a_factor_that_only_one_bench_has_is_kept_and_unknown_elsewhere() -> None:
    south = replace(SOUTH, state=replace(SOUTH.state, factors=(*FACTORS, Factor("depth", "mm", 1.0, 9.0))))
    attempts = tuple(
        replace(each, conditions=each.conditions.with_value("depth", 4.0)) for each in south.state.attempts
    )
    south = replace(south, state=replace(south.state, attempts=attempts))
    found = pooled(NORTH, south)
    assert [factor.name for factor in found.raise_if_refused().factors][-1] == "depth"
    assert {"pool.factor_missing", "pool.factor_left_out"} <= codes(found)
    missing = next(each for each in found.notes if each.code == "pool.factor_missing")
    assert missing.params == {"name": "depth", "benches": "North"}


# ------------------------------------------------------------------------------------------ refusals


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (lambda s: changed(s, material=MaterialClass.ALKALI_METAL), "pool.definition_differs"),
        (lambda s: changed(s, gates=1), "pool.definition_differs"),
        (lambda s: changed(s, partly="success"), "pool.definition_differs"),
        (lambda s: with_factor(s, Factor("sample age", "mg", 1.0, 9.0, role=Role.SAMPLE_AGE)), "pool.factor_unit"),
        (lambda s: with_factor(s, Factor("sample age", "h", 1.0, 9.0, role=Role.GENERAL)), "pool.factor_role"),
        (lambda s: with_factor(s, Factor("action", "1", 1.0, 9.0)), "pool.factor_kind"),
        (lambda s: replace(s, bench="NORTH"), "pool.name_taken"),
        (
            lambda s: replace(s, state=replace(s.state, factors=(*FACTORS, Factor("Bench", levels=("a", "b"))))),
            "pool.factor_reserved",
        ),
    ],
)
def test_what_cannot_be_one_session_is_refused_with_a_reason(
    change: Callable[[PoolSource], PoolSource], code: str
) -> None:
    found = pooled(NORTH, change(SOUTH))
    assert found.state is None
    assert code in {reason.code for reason in found.refusals}
    with pytest.raises(InputError, match=r"pool\.refused"):
        found.raise_if_refused()


def test_all_refusals_are_told_at_once() -> None:
    south = changed(with_factor(SOUTH, Factor("action", "1", 1.0, 9.0)), gates=1, partly="success")
    assert len(pooled(NORTH, south).refusals) == 3


def test_the_setting_that_differs_is_named_with_both_values() -> None:
    (reason,) = pooled(NORTH, changed(SOUTH, partly="ordinal")).refusals
    text = sentence(reason.code, reason.params)
    assert "rule for partly parted" in text
    assert "North has “failed”" in text
    assert "South has “ordinal”" in text


def test_invented_and_real_are_never_mixed_even_by_a_single_attempt() -> None:
    attempts = tuple(replace(each, invented=False) for each in SOUTH.state.attempts)
    real = replace(SOUTH, state=replace(SOUTH.state, attempts=attempts, settings=replace(SETTINGS, invented=False)))
    assert codes(pooled(NORTH, real)) >= {"pool.invented_and_real"}
    partly = replace(real, state=replace(real.state, attempts=(SOUTH.state.attempts[0], *attempts[1:])))
    assert pooled(real, replace(partly, bench="South 2")).state is None
    assert content(NORTH, SOUTH).settings.invented


def test_counted_and_graded_benches_do_not_mean_the_same_by_clean() -> None:
    attempts = tuple(replace(each, parted=None, pooled=None, successes=1) for each in SOUTH.state.attempts)
    counted = replace(SOUTH, state=replace(SOUTH.state, attempts=attempts))
    assert "pool.counted_and_graded" in codes(pooled(NORTH, counted))
    both = [changed(each, gates=1) for each in (NORTH, counted)]
    assert content(*both).settings.gates == 1


def test_one_bench_is_no_pool() -> None:
    assert codes(pooled(NORTH)) == {"pool.too_few"}
    with pytest.raises(InputError, match=r"pool\.takes"):
        pool([NORTH, SOUTH], takes=["jars"])


# ------------------------------------------------------------------------------------------ the stricter limit


def test_of_limits_the_stricter_holds() -> None:
    north = changed(
        NORTH,
        substances=Substances(
            oil=OilValues(stated_max_c=180.0),
            additives=(AdditiveValues("rosin", "rosin", 20.0, 302.0, 1.0),),
            limits=OwnLimits(humidity_percent=50.0),
        ),
    )
    south = changed(
        SOUTH,
        melting_point_c=137.0,
        oil_flash_c=200.0,
        substances=Substances(
            oil=OilValues(stated_max_c=190.0, autoignition_c=330.0),
            additives=(AdditiveValues("Rosin", "", 10.0, None, 2.0),),
            limits=OwnLimits(humidity_percent=45.0, residue_days=5.0),
        ),
    )
    found = pooled(north, south)
    settings = found.raise_if_refused().settings
    assert (settings.melting_point_c, settings.oil_flash_c) == (137.0, 200.0)
    assert settings.substances.limits == OwnLimits(humidity_percent=45.0, residue_days=5.0)
    assert (settings.substances.oil.stated_max_c, settings.substances.oil.autoignition_c) == (180.0, 330.0)
    (rosin,) = settings.substances.additives
    assert (rosin.kind, rosin.dose_cap_mg_g, rosin.hydrogens) == ("rosin", 10.0, 2.0)
    assert {"pool.melting_differs", "pool.flash_differs", "pool.limits_differ"} <= codes(found)


def test_superoxide_formers_stay_superoxide_formers() -> None:
    both = [changed(each, material=MaterialClass.SUPEROXIDE_FORMER, metal="alloy") for each in (NORTH, SOUTH)]
    assert not content(*both).settings.material.may_lengthen_age
    mixed = pooled(both[0], SOUTH)
    assert mixed.state is None


def test_values_of_one_oil_say_nothing_of_another() -> None:
    north = changed(NORTH, substances=Substances(oil=OilValues(density_kg_m3=860.0, density_at_c=20.0)))
    settings = content(north, changed(SOUTH, oil="silicone oil")).settings
    assert settings.oil == "white oil / silicone oil"
    assert settings.substances.oil.density_kg_m3 is None
    assert content(north, SOUTH).settings.substances.oil.density_kg_m3 == 860.0


def test_what_benches_disagree_on_is_left_open_and_two_metals_are_refused() -> None:
    north = changed(NORTH, substances=Substances(metal=MetalValues("tin", 7000.0)))
    south = changed(SOUTH, substances=Substances(metal=MetalValues("", 7200.0)))
    metal = content(north, south).settings.substances.metal
    assert (metal.key, metal.density_kg_m3) == ("tin", None)
    other = changed(SOUTH, substances=Substances(metal=MetalValues("bismuth")))
    assert "pool.definition_differs" in codes(pooled(north, other))


# ------------------------------------------------------------------------------------------ duplicates


def test_the_same_session_twice_counts_once() -> None:
    found = pooled(NORTH, SOUTH, replace(NORTH, bench="North copy", place="copy.stirfall"))
    assert len(found.raise_if_refused().attempts) == 5
    assert [(each.taken, each.repeated, each.same_as) for each in found.sources] == [
        (3, 0, ""),
        (2, 0, ""),
        (0, 3, "North"),
    ]
    assert codes(pooled(NORTH, replace(NORTH, bench="Copy"))) == {"pool.too_few"}


def test_a_copy_that_went_on_brings_only_its_new_attempts() -> None:
    later = a_bench("Later", (True, True), day=40.0)
    grown = replace(NORTH.state, attempts=(*NORTH.state.attempts, replace(later.state.attempts[0], number=4)))
    found = pooled(NORTH, SOUTH, PoolSource("grown.stirfall", grown, "North again"))
    assert [(each.taken, each.repeated) for each in found.sources] == [(3, 0), (2, 0), (1, 3)]
    assert "pool.repeated" in codes(found)
    assert "pool.versions" not in codes(found)


def test_of_two_versions_of_an_attempt_the_first_named_holds() -> None:
    first = replace(NORTH.state.attempts[0], note="as corrected")
    other = PoolSource("b.stirfall", replace(NORTH.state, attempts=(first, *NORTH.state.attempts[1:])), "Copy")
    found = pooled(other, NORTH, SOUTH)
    assert "pool.versions" in codes(found)
    assert [each.note for each in found.raise_if_refused().attempts].count("as corrected") == 1
    reverse = pooled(NORTH, other, SOUTH).raise_if_refused()
    assert [each.note for each in reverse.attempts].count("as corrected") == 0


def test_plain_ids_of_two_benches_do_not_make_two_attempts_one() -> None:
    def plain(source: PoolSource) -> PoolSource:
        attempts = tuple(replace(each, id=f"a{each.number}") for each in source.state.attempts)
        return replace(source, state=replace(source.state, attempts=attempts))

    state = content(plain(NORTH), plain(SOUTH))
    assert len(state.attempts) == 5
    assert len({each.id for each in state.attempts}) == 5


# ------------------------------------------------------------------------------------------ pooled again


def test_what_was_pooled_keeps_its_first_origin_when_it_is_pooled_again(tmp_path: Path) -> None:
    once = content(NORTH, SOUTH)
    west = a_bench("West", (True,), day=0.7)
    write_package(once, (), tmp_path / "once")
    again = content(read_source(tmp_path / "once"), west)
    origins = {(each.origin.bench, each.origin.fingerprint) for each in again.attempts if each.origin}
    assert origins == {(each.name, fingerprint(each.state)) for each in (NORTH, SOUTH, west)}
    assert {lot.id for lot in again.lots} == {"North L1", "South L1", "West L1"}
    # And its own first session may come once more: nothing is counted twice.
    whole = pooled(read_source(tmp_path / "once"), west, NORTH)
    assert whole.sources[2].repeated == 3
    assert "pool.left_behind" not in codes(whole)
    assert len(whole.raise_if_refused().attempts) == 6


def test_origins_go_through_files_and_packages(tmp_path: Path) -> None:
    with pooled(NORTH, SOUTH).write(tmp_path / "all.stirfall", clock=FixedClock(MADE)) as document:
        write_package(document.state, (), tmp_path / "package")
    source = read_source(tmp_path / "all.stirfall")
    assert source.state == read_source(tmp_path / "package").state == content(NORTH, SOUTH)


def test_another_bench_of_the_same_name_as_one_within_is_refused() -> None:
    once = PoolSource("once.stirfall", content(NORTH, SOUTH), "Once")
    stranger = a_bench("Other", (True,))
    stranger = replace(changed(stranger, title="Elsewhere"), bench="north")
    assert "pool.name_within" in codes(pooled(once, stranger))


def test_lots_of_the_same_name_that_differ_stay_two() -> None:
    once = PoolSource("once.stirfall", content(NORTH, SOUTH), "Once")
    grown = a_bench("North", (True, False, True, True))
    state = replace(grown.state, lots=(Lot("L1", BEGAN, note="another"),))
    assert {lot.id for lot in content(once, replace(grown, state=state)).lots} == {
        "North L1",
        "South L1",
        "North L1 (2)",
    }


# ------------------------------------------------------------------------------------------ what comes along


def test_runs_and_second_grades_come_along_when_asked_for_and_are_told_when_left() -> None:
    first = NORTH.state.attempts[0]
    run = Run("r1", BEGAN, first.conditions, jar_id="J1", lot_id="L1", attempt_id=first.id, ended_at=BEGAN)
    state = replace(
        NORTH.state,
        attempts=(replace(first, run_id="r1"), *NORTH.state.attempts[1:]),
        runs=(run,),
        regrades=(Regrade("g1", first.id, MADE, "clean separation"),),
        jars=(*NORTH.state.jars, Jar("J2", "L1", BEGAN)),
    )
    north = replace(NORTH, state=state)
    found = pooled(north, SOUTH)
    left = next(each for each in found.notes if each.code == "pool.left_behind")
    assert left.params["what"] == "1 jar without an attempt, 1 guided run, 1 second grade"
    assert all(each.run_id is None for each in found.raise_if_refused().attempts)
    taken = content(north, SOUTH, takes=("runs", "grades"))
    assert (taken.runs[0].jar_id, taken.runs[0].attempt_id) == ("North J1", taken.attempts[0].id)
    assert taken.attempts[0].run_id == taken.runs[0].id
    assert taken.regrades[0].attempt_id == taken.attempts[0].id


def test_a_source_is_a_path_and_perhaps_a_bench(tmp_path: Path) -> None:
    odd = tmp_path / "a=b.stirfall"
    odd.touch()
    assert split_source(str(odd)) == (odd, "")
    assert split_source(f"{odd}=North") == (odd, "North")
    assert split_source("c.stirfall") == (Path("c.stirfall"), "")


def test_a_bench_is_called_as_given_else_as_its_session_says_else_as_its_file() -> None:
    assert NORTH.name == "North"
    assert replace(NORTH, bench=" Hut ").name == "Hut"
    bare = replace(NORTH.state, settings=CampaignSettings())
    assert PoolSource("/tmp/hut 2.stirfall", bare).name == "hut 2"


def test_what_has_no_time_comes_last() -> None:
    attempts = (replace(NORTH.state.attempts[0], started_at=None, recorded_at=None), *NORTH.state.attempts[1:])
    late = NORTH.state.attempts[0].id
    assert content(replace(NORTH, state=replace(NORTH.state, attempts=attempts)), SOUTH).attempts[-1].id == late
    assert BEGAN + timedelta(days=1) == NORTH.state.attempts[0].started_at


# ------------------------------------------------------------------------------------------ whatever is pooled


@given(
    sizes=st.lists(st.integers(1, 5), min_size=2, max_size=4),
    copies=st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(1, 5)), max_size=4),
)
@settings(max_examples=25)
def test_whatever_is_pooled_no_attempt_is_lost_or_counted_twice(
    sizes: list[int], copies: list[tuple[int, int, int]]
) -> None:
    sources = [a_bench(f"B{place}", [True] * size, day=place / 10) for place, size in enumerate(sizes)]
    for giver, taker, count in copies:  # some sessions carry copies of other benches' attempts
        given_by, taken_by = sources[giver % len(sources)], sources[taker % len(sources)]
        known = {each.id for each in taken_by.state.attempts}
        new = [each for each in given_by.state.attempts[:count] if each.id not in known]
        numbered = tuple(replace(each, number=100 + at) for at, each in enumerate(new, start=len(known)))
        state = replace(taken_by.state, attempts=(*taken_by.state.attempts, *numbered))
        sources[taker % len(sources)] = replace(taken_by, state=state)
    wanted = {each.id for source in sources for each in source.state.attempts}
    state = content(*sources)
    assert sorted(each.origin.attempt_id for each in state.attempts if each.origin) == sorted(wanted)
    assert [each.number for each in state.attempts] == list(range(1, len(wanted) + 1))
    again = content(PoolSource("all.stirfall", state, "All"), a_bench("Z", [False], day=0.9))
    before = {each.origin.attempt_id: each.origin for each in state.attempts if each.origin}
    after = {each.origin.attempt_id: each.origin for each in again.attempts if each.origin}
    assert before.items() <= after.items()
    assert len(after) == len(before) + 1
