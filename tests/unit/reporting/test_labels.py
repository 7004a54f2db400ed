"""Labels as documents: what they say, for which jars, and where they stand on a page."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import RESIDUE, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.scan_codes import ScanCode, read_code
from stirfall.bench.substances import OwnLimits, Substances
from stirfall.reporting.cautions import load_cautions, load_label_words
from stirfall.reporting.label_sheet import LEAST_MM, one_by_one, sheet_by_grid, sheet_by_size
from stirfall.reporting.labels import choose_attempts, choose_jars, make_label, make_product_label

STARTED = datetime(2026, 11, 24, 17, 30, tzinfo=UTC)
ZONE = timezone(timedelta(hours=1))
JAR = Jar("K7P3", "L1", STARTED, "white oil", 20.0, "loose", 46.26)


def campaign(*jars: Jar, material: MaterialClass = MaterialClass.ALKALI_METAL, **changes: object) -> CampaignState:
    settings = CampaignSettings(title="Invented", material=material, metal="invented metal", oil="campaign oil")
    settings = replace(settings, **changes)
    return CampaignState(settings, standard_factors(), (Lot("L1", STARTED - timedelta(days=2)),), jars)


def test_a_label_says_what_is_in_the_jar_since_when_and_what_to_heed() -> None:
    label = make_label(campaign(JAR, invented=True), JAR, zone=ZONE, decimal=",")
    assert label.name == "K7P3"
    assert read_code(label.code).value == "K7P3"
    assert label.contents == ("46,26\u2009g crude of lot L1, invented metal", "Lid loose, under white oil")
    assert label.hazard == load_label_words(MaterialClass.ALKALI_METAL).jar
    assert label.times[0] == "Started 2026-11-24 18:30 (+01:00)"
    assert label.blanks == ("Owner",)
    assert label.mark == "Invented"


def test_unknown_things_are_said_to_be_unknown() -> None:
    jar = Jar("J1", "L1", STARTED)
    label = make_label(campaign(jar, material=MaterialClass.BASE_METAL, metal="", oil=""), jar, zone=ZONE)
    assert label.contents == ("Crude of lot L1, metal not named", "Lid not noted, oil not named")
    assert label.times[1] == "use by: no date known"
    assert label.mark == ""


def test_the_oil_of_the_campaign_stands_where_the_jar_names_none() -> None:
    jar = Jar("J1", "L1", STARTED)
    assert make_label(campaign(jar), jar).contents[1].endswith("under campaign oil")


# Hand count: 72 h after 2026-11-24 18:30 is 2026-11-27 18:30.
def test_use_by_counts_from_the_start() -> None:
    state = campaign(JAR, substances=Substances(limits=OwnLimits(age_h=72.0)))
    assert make_label(state, JAR, zone=ZONE).times[1] == "use by 2026-11-27 18:30"


# Central European summer time ended on 25 October 2026 (the last Sunday of October: directive 2000/84/EC).
def test_a_change_of_the_clock_between_start_and_use_by_is_shown() -> None:
    jar = replace(JAR, started_at=datetime(2026, 10, 24, 10, 0, tzinfo=UTC))
    state = campaign(jar, substances=Substances(limits=OwnLimits(age_h=48.0)))
    times = make_label(state, jar, zone=ZoneInfo("Europe/Berlin")).times
    assert times == ("Started 2026-10-24 12:00 (+02:00)", "use by 2026-10-26 11:00 (+01:00)")


def test_a_planned_jar_shows_the_planned_start_and_a_line_for_the_true_one() -> None:
    label = make_label(campaign(), replace(JAR, planned=True), zone=ZONE)
    assert label.times[0].startswith("Start planned 2026-11-24")
    assert label.blanks == ("Started", "Owner")


@pytest.mark.parametrize("material", list(MaterialClass))
def test_residue_has_words_of_its_own_and_no_use_by(material: MaterialClass) -> None:
    label = make_label(campaign(material=material), replace(JAR, contents=RESIDUE), zone=ZONE)
    assert "licensed waste route" in label.hazard.lower()
    assert "residue of lot L1" in label.contents[0]
    assert label.times == ("Residue since 2026-11-24 18:30 (+01:00)",)
    if material is not MaterialClass.BASE_METAL:
        assert "may be live" in label.hazard
        assert "Keep under oil" in label.hazard


@pytest.mark.parametrize("material", list(MaterialClass))
def test_the_hazard_words_are_those_of_the_cautions_and_short(material: MaterialClass) -> None:
    words = load_label_words(material)
    keys = {item.key for item in load_cautions(material).items}
    named = [word.strip(",;:.") for word in words.source.split() if "_" in word]
    assert named
    assert set(named) <= keys
    for text in (words.jar, words.residue):
        assert text.endswith(".")
        assert len(text) <= 120
        for forbidden in ("quench", "neutrali", "alcohol", "destroy"):  # no way to destroy a reactive metal
            assert forbidden not in text.casefold()


def test_a_surface_that_was_seen_to_be_alarming_stands_before_the_words() -> None:
    furry = replace(JAR, look="furry", looked_at=STARTED)
    assert make_label(campaign(), furry).hazard.startswith("Surface seen furry: do not open")
    assert "furry:" not in make_label(campaign(material=MaterialClass.BASE_METAL), furry).hazard


def test_the_product_of_an_attempt_has_a_label_whose_code_opens_the_attempt() -> None:
    attempt = Attempt(
        "a7",
        7,
        Conditions(),
        STARTED,
        lot_id="L1",
        parted=Parted.YES,
        pooled=Pooled.ONE_POOL,
        masses=Masses(product_g=12.3),
    )
    label = make_product_label(campaign(), attempt, zone=ZONE)
    assert read_code(label.code) == ScanCode("attempt", "7")
    assert label.contents == ("12.3\u2009g product of attempt 7, clean separation", "invented metal of lot L1")
    assert label.times == ("Made 2026-11-24 18:30 (+01:00)",)
    assert label.hazard == load_label_words(MaterialClass.ALKALI_METAL).jar  # it is the same metal
    unknown = make_product_label(
        campaign(metal=""), replace(attempt, started_at=None, masses=Masses(), parted=None, pooled=None)
    )
    assert unknown.contents[0] == "Product of attempt 7, not graded"
    assert unknown.times == ("Made at a time not known",)


def test_attempts_are_chosen_by_number() -> None:
    state = replace(campaign(), attempts=tuple(Attempt(f"a{n}", n, Conditions()) for n in (1, 2, 3)))
    assert [attempt.number for attempt in choose_attempts(state, [3, 1, 3])] == [3, 1]
    with pytest.raises(InputError) as caught:
        choose_attempts(state, [4])
    assert caught.value.code == "labels.no_attempt"


def test_jars_are_chosen_by_id_in_any_case_and_by_group_each_once() -> None:
    planned, residue = replace(JAR, id="P1", planned=True), replace(JAR, id="R1", contents=RESIDUE)
    state = campaign(JAR, planned, residue, replace(JAR, id="E1", emptied_at=STARTED))
    assert [jar.id for jar in choose_jars(state, ["r1", "shelf", "K7P3"])] == ["R1", "K7P3"]
    assert [jar.id for jar in choose_jars(state, ["all"])] == ["K7P3", "P1", "R1"]
    assert [jar.id for jar in choose_jars(state, ["planned"])] == ["P1"]
    assert [jar.id for jar in choose_jars(state, ["E1"])] == ["E1"]  # asked for by name
    own = replace(JAR, id="shelf")
    assert choose_jars(campaign(JAR, own), ["shelf"]) == (own,)


@pytest.mark.parametrize(("wanted", "code"), [(["nope"], "jar.unknown"), (["residue"], "labels.none")])
def test_jars_that_are_not_there_are_said(wanted: list[str], code: str) -> None:
    with pytest.raises(InputError) as caught:
        choose_jars(campaign(JAR), wanted)
    assert caught.value.code == code


# ISO 216: A4 is 210 mm by 297 mm; ANSI letter is 8.5 by 11 inches (both from memory).
def test_a_grid_fills_the_page() -> None:
    sheet = sheet_by_grid("a4", 3, 8)
    assert sheet.label_mm == pytest.approx((70.0, 37.125))
    assert sheet.place(0) == pytest.approx((0.0, 0.0, 70.0, 37.125))
    assert sheet.place(23) == pytest.approx((140.0, 259.875, 70.0, 37.125))
    letter = sheet_by_grid("letter", 2, 5)
    assert letter.page_mm == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_labels_of_a_size_stand_in_the_middle_with_their_gaps() -> None:
    sheet = sheet_by_size("US Letter", (101.6, 50.8), (4.8, 0.0))
    assert (sheet.columns, sheet.rows) == (2, 5)
    left, top, _, _ = sheet.place(0)
    assert left == pytest.approx((215.9 - 2 * 101.6 - 4.8) / 2)
    assert top == pytest.approx((279.4 - 5 * 50.8) / 2)
    assert sheet.place(1)[0] == pytest.approx(left + 101.6 + 4.8)


def test_a_half_used_sheet_is_used_up_first() -> None:
    sheet = sheet_by_grid("A4", 2, 2)
    assert sheet.pages(6, 3) == ((2, 3), (0, 1, 2, 3))
    assert sheet.pages(4) == ((0, 1, 2, 3),)
    assert sheet.pages(0) == ()
    assert one_by_one().pages(3) == ((0,), (0,), (0,))


@pytest.mark.parametrize("start", [0, 5])
def test_a_position_that_is_not_there_is_refused(start: int) -> None:
    with pytest.raises(InputError) as caught:
        sheet_by_grid("A4", 2, 2).pages(1, start)
    assert caught.value.code == "labels.start"


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: sheet_by_grid("A4", 5, 13), "labels.too_small"),
        (lambda: sheet_by_size("A4", (0.0, 10.0)), "labels.too_small"),
        (lambda: one_by_one((LEAST_MM[0] - 1, LEAST_MM[1])), "labels.too_small"),
        (lambda: sheet_by_size("A4", (220.0, 50.0)), "labels.too_large"),
        (lambda: one_by_one((500.0, 50.0)), "labels.too_large"),
        (lambda: sheet_by_grid("A4", 0, 8), "labels.grid"),
        (lambda: sheet_by_grid("napkin", 3, 8), "labels.paper"),
    ],
)
def test_sheets_that_cannot_be_are_refused(make: object, code: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.code == code


def test_labels_never_overlap_and_stay_on_the_page() -> None:
    for sheet in (sheet_by_grid("A4", 2, 7), sheet_by_size("A4", (63.5, 38.1), (2.5, 0.0))):
        places = [sheet.place(position) for position in range(sheet.per_page)]
        for number, (x, y, w, h) in enumerate(places):
            assert min(x, y) > -0.01
            assert x + w < sheet.page_mm[0] + 0.01
            assert y + h < sheet.page_mm[1] + 0.01
            for other in places[number + 1 :]:
                assert other[0] >= x + w - 0.01 or other[1] >= y + h - 0.01 or other[0] + w <= x + 0.01
