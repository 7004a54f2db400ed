"""The shelf as pure functions: rows, warnings and what the two short forms mean."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.substances import Lid, OilValues, Substances, SurfaceLook
from stirfall.bench.units import format_number
from stirfall.desktop.shelf.jar_form import (
    JarForm,
    jar_form_of,
    new_jar_form,
    next_id,
    read_jar_change,
    read_jar_form,
    remembered_text,
)
from stirfall.desktop.shelf.lot_form import LotForm, lot_form_of, read_lot_change, read_lot_form
from stirfall.desktop.shelf.state import JarFilm, class_warning, jar_rows, kept_under, look_text, residue_rows
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.film import film_gaps, film_of_jar

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
CAMPAIGN = CampaignState(
    CampaignSettings(material=MaterialClass.ALKALI_METAL),
    (*standard_factors(), Factor("oil depth", "mm", 5.0, 40.0)),
    (Lot("L1", NOW - timedelta(days=50)),),
    (
        Jar("J1", "L1", NOW - timedelta(hours=5), "white oil", 15.0, "loose"),
        Jar("J2", "L1", NOW - timedelta(days=40)),
        Jar("J3", "L1", NOW - timedelta(days=45), emptied_at=NOW),
    ),
)


def test_the_shelf_shows_jars_that_are_ageing_the_oldest_first() -> None:
    rows = jar_rows(CAMPAIGN, NOW, ".", {})
    assert [row.jar.id for row in rows] == ["J2", "J1"]
    assert rows[1].age == "5\u2009h"
    assert rows[1].kept == "15\u2009mm of white oil, lid loose"
    assert rows[0].kept == "an unknown oil"


def test_a_jar_in_hand_brings_its_ages_and_its_oil_depth() -> None:
    conditions = jar_rows(CAMPAIGN, NOW, ".", {})[1].conditions
    assert dict(conditions) == {"sample age": 1200.0, "oil exposure time": 5.0, "oil depth": 15.0}


def test_an_old_jar_of_reactive_metal_is_to_be_inspected_and_a_base_metal_one_is_not() -> None:
    old, young = jar_rows(CAMPAIGN, NOW, ".", {})
    assert [found.code for found in old.findings] == ["limits.inspect_age"]
    assert old.mark == "⚠ Inspect first"
    assert not old.is_blocked
    assert (young.findings, young.mark) == ((), "")
    base = replace(CAMPAIGN, settings=CampaignSettings(material=MaterialClass.BASE_METAL))
    assert all(row.mark == "" for row in jar_rows(base, NOW, ".", {}))


def test_every_jar_of_a_superoxide_former_carries_a_caution_whatever_its_age() -> None:
    settings = replace(CAMPAIGN.settings, material=MaterialClass.SUPEROXIDE_FORMER)
    young = replace(CAMPAIGN.jars[0], lot_id="L2")
    state = replace(CAMPAIGN, settings=settings, jars=(young, CAMPAIGN.jars[1]), lots=(*CAMPAIGN.lots, Lot("L2")))
    old_row, young_row = jar_rows(state, NOW, ".", {})
    assert "Do not open it when" in young_row.said[0]
    assert young_row.mark
    assert not young_row.is_blocked
    assert old_row.is_blocked, "40 days are beyond the limit of its class"
    assert class_warning(MaterialClass.SUPEROXIDE_FORMER) is not None
    assert class_warning(MaterialClass.ALKALI_METAL) is None


@pytest.mark.parametrize("look", [each for each in SurfaceLook if each.is_alarming])
@pytest.mark.parametrize(
    ("material", "blocks"),
    [
        (MaterialClass.BASE_METAL, False),
        (MaterialClass.ALKALI_METAL, True),
        (MaterialClass.SUPEROXIDE_FORMER, True),
        (MaterialClass.OTHER, True),
    ],
)
def test_an_alarming_look_of_a_reactive_metal_keeps_the_jar_closed(
    look: SurfaceLook, material: MaterialClass, blocks: bool
) -> None:
    jar = replace(CAMPAIGN.jars[0], look=look.value, looked_at=NOW - timedelta(minutes=90), lot_id="L2")
    state = replace(CAMPAIGN, jars=(jar,), lots=(Lot("L2"),))
    state = replace(state, settings=replace(CAMPAIGN.settings, material=material))
    (row,) = jar_rows(state, NOW, ".", {})
    assert row.is_blocked is blocks
    assert (row.mark == "■ Do not open. Get help.") is blocks
    assert look_text(row, NOW) == f"{look.value}, 90\u2009min ago"


def test_residue_stands_apart_with_the_time_that_it_waits() -> None:
    residue = Jar("R1", "L1", NOW - timedelta(days=12), contents="residue")
    state = replace(CAMPAIGN, jars=(*CAMPAIGN.jars, residue))
    assert [row.jar.id for row in residue_rows(state, NOW, ".")] == ["R1"]
    assert residue_rows(state, NOW, ".")[0].age == "12\u2009days"
    assert "R1" not in {row.jar.id for row in jar_rows(state, NOW, ".", {})}


def test_a_jar_without_a_film_index_says_what_to_enter() -> None:
    jar = CAMPAIGN.jars[0]
    known = {jar.id: JarFilm(None, film_gaps(CAMPAIGN, jar))}
    row = next(row for row in jar_rows(CAMPAIGN, NOW, ".", known) if row.jar.id == jar.id)
    assert row.film_text == "–"
    assert "inner diameter" in row.film_why


def test_a_film_index_is_shown_with_its_band() -> None:
    jar = replace(CAMPAIGN.jars[0], inner_diameter_mm=40.0, metal_area_cm2=20.0)
    film = film_of_jar(CAMPAIGN, jar, NOW)
    assert film is not None
    state = replace(CAMPAIGN, jars=(jar,))
    (row,) = jar_rows(state, NOW, ",", {jar.id: JarFilm(film)})
    index, low, high = (format_number(each, digits=2, decimal=",") for each in (film.index, film.low, film.high))
    assert row.film_text == f"{index} ({low} to {high})"
    assert film.low < film.index < film.high


def test_a_jar_that_starts_in_the_future_says_so_instead_of_an_age() -> None:
    early = replace(CAMPAIGN, jars=(Jar("J1", "L1", NOW + timedelta(hours=1)),))
    (row,) = jar_rows(early, NOW, ".", {})
    assert row.age == "unknown"
    assert row.trouble is not None
    assert row.trouble.code == "time.runs_backwards"


@pytest.mark.parametrize(
    ("taken", "expected"), [((), "J1"), (("J1", "J9"), "J10"), (("J07",), "J08"), (("glass", "j3"), "J4")]
)
def test_the_next_id_goes_on_counting_in_the_same_width(taken: tuple[str, ...], expected: str) -> None:
    assert next_id("J", taken) == expected


def test_a_new_jar_form_is_filled_in_like_the_newest_jar() -> None:
    form = new_jar_form(CAMPAIGN)
    assert (form.jar_id, form.lot_id, form.oil, form.lid) == ("J4", "L1", "white oil", "loose")


def test_a_jar_form_is_read_with_units_and_starts_now_by_default() -> None:
    read = read_jar_form(JarForm("J4", "L1", "white oil", "1.5 cm", "open", "12,5"), CAMPAIGN, NOW)
    assert read.problems == {}
    assert read.jar is not None
    assert (read.jar.oil_depth_mm, read.jar.charge_g, read.jar.started_at) == (15.0, 12.5, NOW)


@pytest.mark.parametrize(
    ("form", "where", "code"),
    [
        (JarForm("", "L1"), "jar_id", "shelf.id_missing"),
        (JarForm("j3", "L1"), "jar_id", "shelf.id_taken"),
        (JarForm("J4", ""), "lot_id", "shelf.lot_missing"),
        (JarForm("J4", "L1", depth="deep"), "depth", "number.unreadable"),
        (JarForm("J4", "L1", charge="-1"), "charge", "shelf.negative"),
        (JarForm("J4", "L1", started_at=NOW + timedelta(hours=1)), "started_at", "shelf.future"),
        (JarForm("J4", "L1", started_at=NOW - timedelta(days=60)), "started_at", "shelf.before_lot"),
    ],
)
def test_each_problem_of_a_jar_form_stands_beside_its_entry(form: JarForm, where: str, code: str) -> None:
    read = read_jar_form(form, CAMPAIGN, NOW)
    assert read.jar is None
    assert read.problems[where].code == code
    assert code in all_sentences()
    assert sentence(code, read.problems[where].params)


def test_a_lot_form_may_leave_the_making_unknown() -> None:
    read = read_lot_form(LotForm("L2", None, "12 %", " grey "), CAMPAIGN, NOW)
    assert read.lot == Lot("L2", None, 12.0, "grey")
    assert read_lot_form(LotForm("l1"), CAMPAIGN, NOW).problems["lot_id"].code == "shelf.id_taken"
    future = LotForm("L2", NOW + timedelta(days=1))
    assert read_lot_form(future, CAMPAIGN, NOW).problems["made_at"].code == "shelf.future"


FULL_JAR = Jar(
    "J1",
    "L1",
    NOW - timedelta(hours=5),
    "white oil",
    15.5,
    "loose",
    10.25,
    "by the window",
    inner_diameter_mm=40.0,
    headspace_mm=20.0,
    piece_count=12,
    piece_mm=6.5,
    metal_area_cm2=16.0,
    material="glass",
    oil_history="reused",
    storage_c=-3.0,
    room_rh_percent=44.0,
    look="grey",
    looked_at=NOW - timedelta(hours=1),
)
SHELF = replace(CAMPAIGN, jars=(FULL_JAR,))


@pytest.mark.parametrize("decimal", [".", ","])
def test_a_jar_survives_its_form_and_an_untouched_one_changes_nothing(decimal: str) -> None:
    form = replace(jar_form_of(FULL_JAR, decimal), reason="label read again")
    assert read_jar_change(form, FULL_JAR, SHELF, NOW).problems["reason"].code == "ledger.nothing_changed"
    read = read_jar_change(replace(form, depth="2 cm"), FULL_JAR, SHELF, NOW)
    assert read.problems == {}
    assert read.jar == replace(FULL_JAR, oil_depth_mm=20.0)


def test_a_correction_asks_for_a_reason() -> None:
    form = replace(jar_form_of(FULL_JAR), depth="12")
    assert read_jar_change(form, FULL_JAR, SHELF, NOW).problems["reason"].code == "ledger.reason_missing"


def test_a_jar_that_attempts_came_from_stays_with_its_lot() -> None:
    used = Attempt("a1", 1, Conditions(), jar_id="J1", lot_id="L1")
    state = replace(SHELF, lots=(*SHELF.lots, Lot("L2")), attempts=(used,))
    form = replace(jar_form_of(FULL_JAR), lot_id="L2", reason="mixed up")
    assert read_jar_change(form, FULL_JAR, state, NOW).problems["lot_id"].code == "jar.lot_in_use"
    free = replace(state, attempts=())
    read = read_jar_change(form, FULL_JAR, free, NOW)
    assert read.jar is not None
    assert read.jar.lot_id == "L2"


def test_a_lid_in_the_words_of_old_files_stays_as_it_was() -> None:
    old = replace(FULL_JAR, lid="inert gas")
    form = replace(jar_form_of(old), depth="12", reason="read again")
    assert form.lid == Lid.INERT.value
    read = read_jar_change(form, old, replace(SHELF, jars=(old,)), NOW)
    assert read.jar is not None
    assert read.jar.lid == "inert gas"
    assert kept_under(old, ".").endswith("lid under inert gas")


def test_a_new_jar_takes_over_what_reaches_the_metal_and_says_so() -> None:
    form = new_jar_form(SHELF)
    assert (form.diameter, form.pieces, form.piece_size) == ("40", "12", "6.5")
    assert (form.material, form.oil_history, form.storage, form.humidity) == ("glass", "reused", "\u22123", "44")
    assert (form.depth, form.charge, form.area, form.note) == ("", "", "", "")
    said = remembered_text(FULL_JAR, ".")
    assert "inner diameter 40\u2009mm" in said
    assert "12 pieces of 6.5\u2009mm" in said
    assert remembered_text(None, ".") == ""
    read = read_jar_form(form, SHELF, NOW)
    assert read.jar is not None
    assert read.jar.storage_c == -3.0


def test_a_first_jar_takes_oil_and_its_history_from_the_campaign() -> None:
    settings = CampaignSettings(oil="white oil", substances=Substances(oil=OilValues(history="dried")))
    form = new_jar_form(replace(CAMPAIGN, jars=(), settings=settings))
    assert (form.oil, form.oil_history) == ("white oil", "dried")


@pytest.mark.parametrize(
    ("changes", "where", "code"),
    [
        ({"diameter": "0"}, "diameter", "shelf.zero"),
        ({"headspace": "-1"}, "headspace", "shelf.negative"),
        ({"pieces": "2.5"}, "pieces", "shelf.not_a_count"),
        ({"pieces": "0"}, "pieces", "shelf.not_a_count"),
        ({"piece_size": "0"}, "piece_size", "shelf.zero"),
        ({"area": "big"}, "area", "number.unreadable"),
        ({"storage": "-300"}, "storage", "desktop.temperature_impossible"),
        ({"humidity": "101"}, "humidity", "shelf.above_most"),
    ],
)
def test_each_problem_of_what_reaches_the_metal_stands_beside_its_entry(
    changes: dict[str, str], where: str, code: str
) -> None:
    read = read_jar_form(replace(JarForm("J4", "L1"), **changes), CAMPAIGN, NOW)  # type: ignore[arg-type]
    assert read.jar is None
    assert read.problems[where].code == code
    assert not sentence(code, read.problems[where].params).startswith(code)


def test_a_lot_keeps_what_was_assayed_and_is_corrected_with_a_reason() -> None:
    read = read_lot_form(LotForm("L2", None, metal="81,3", metal_u="0.6", assays="3"), CAMPAIGN, NOW)
    assert read.lot == Lot("L2", metal_percent=81.3, metal_u_percent=0.6, assays=3)
    before = CAMPAIGN.lots[0]
    form = replace(lot_form_of(before), metal="80")
    assert read_lot_change(form, before, CAMPAIGN, NOW).problems["reason"].code == "ledger.reason_missing"
    changed = read_lot_change(replace(form, reason="assay came"), before, CAMPAIGN, NOW)
    assert changed.lot == replace(before, metal_percent=80.0)
    same = replace(lot_form_of(before), reason="none")
    assert read_lot_change(same, before, CAMPAIGN, NOW).problems["reason"].code == "ledger.nothing_changed"


@pytest.mark.parametrize(
    ("form", "where", "code"),
    [
        (LotForm("L2", metal="101"), "metal", "shelf.above_most"),
        (LotForm("L2", metal_u="1"), "metal", "shelf.metal_missing"),
        (LotForm("L2", metal="80", assays="1.5"), "assays", "shelf.not_a_count"),
        (LotForm("L2", solids="-1"), "solids", "shelf.negative"),
    ],
)
def test_each_problem_of_an_assay_stands_beside_its_entry(form: LotForm, where: str, code: str) -> None:
    assert read_lot_form(form, CAMPAIGN, NOW).problems[where].code == code


def test_a_lot_cannot_be_made_after_its_jars() -> None:
    before = CAMPAIGN.lots[0]
    late = replace(lot_form_of(before), made_at=NOW - timedelta(hours=1), reason="clock was wrong")
    assert read_lot_change(late, before, CAMPAIGN, NOW).problems["made_at"].code == "shelf.after_jar"
