"""Whatever a record holds, its row gives it back; equal content has an equal fingerprint."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.ages import read_stamp, stamp
from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.storage import rows
from stirfall.storage.fingerprint import fingerprint

text = st.text(max_size=12)
number = st.floats(allow_nan=False, allow_infinity=False)
mass = st.none() | st.floats(0, 1e6)
moment = st.datetimes(
    datetime(1990, 1, 1),  # noqa: DTZ001 - hypothesis wants bare bounds
    datetime(2090, 1, 1),  # noqa: DTZ001
    timezones=st.sampled_from((UTC, timezone(timedelta(hours=-9.5)))),
).map(lambda value: read_stamp(stamp(value)))
grades = st.sampled_from(
    [(None, None), (Parted.NO, None), (Parted.NO, Pooled.NOT_OBSERVED), (Parted.PARTLY, Pooled.BEADS)]
    + [(Parted.YES, pooled) for pooled in (None, *Pooled)]
)


@st.composite
def attempts(draw: st.DrawFn) -> Attempt:
    parted, pooled = draw(grades)
    counted = parted is None and draw(st.booleans())
    return Attempt(
        draw(text),
        draw(st.integers(1, 2**40)),
        Conditions(draw(st.dictionaries(text, number | text, max_size=4))),
        draw(st.none() | moment),
        draw(st.none() | moment),
        draw(st.none() | text),
        draw(st.none() | text),
        parted,
        pooled,
        draw(st.integers(0, 3)) if counted else None,
        3 if counted else 1,
        draw(st.booleans()),
        draw(text),
        Masses(*draw(st.tuples(mass, mass, mass, mass, mass))),
        draw(text),
        tuple(draw(st.lists(st.builds(AgeOverride, text, st.none() | number, text), max_size=2))),
        draw(st.none() | text),
        draw(st.booleans()),
    )


def through_sqlite(row: rows.Row) -> rows.Row:
    """Let SQLite itself keep the cells, since a column may change them."""
    connection = sqlite3.connect(":memory:")
    try:
        marks = ", ".join("?" * len(row))
        return tuple(connection.execute(f"SELECT {marks}", row).fetchone())
    finally:
        connection.close()


@given(st.lists(attempts(), max_size=4))
def test_attempts_come_back_as_they_were(given_attempts: list[Attempt]) -> None:
    back = list(rows.read_attempts([through_sqlite(rows.attempt_row(attempt)) for attempt in given_attempts]))
    assert back == given_attempts
    assert [list(attempt.conditions) for attempt in back] == [
        list(attempt.conditions) for attempt in given_attempts
    ]


@given(
    st.builds(Lot, text, st.none() | moment, st.none() | number, text),
    st.builds(Jar, text, text, moment, text, mass, text, mass, text, st.none() | moment),
    st.builds(ChecklistTick, text, moment, text, st.lists(text).map(tuple)),
    st.builds(Correction, moment, text, text, text, text, text, text, text),
)
def test_other_records_come_back_as_they_were(
    lot: Lot, jar: Jar, tick: ChecklistTick, correction: Correction
) -> None:
    assert rows.read_lot(through_sqlite(rows.lot_row(lot))) == lot
    assert rows.read_jar(through_sqlite(rows.jar_row(jar))) == jar
    assert rows.read_tick(through_sqlite(rows.tick_row(tick))) == tick
    assert rows.read_correction(through_sqlite(rows.correction_row(correction))) == correction


def test_factors_and_settings_come_back_as_they_were() -> None:
    factors = (
        *standard_factors(),
        Factor("x", "", -1, 1, step=1, default=0, hidden=True),
        Factor("c", levels=("ä",)),
    )
    for factor in factors:
        assert rows.read_factor(through_sqlite(rows.factor_row(factor, 3))) == factor
    settings = CampaignSettings(
        "T", MaterialClass.SUPEROXIDE_FORMER, "M", 63.5, "o", 200, True, 1, 0.8, 1, 3, ("a", "b"), (("a", "b"),)
    )  # fmt: skip
    assert rows.read_settings(rows.setting_rows(settings)) == settings
    later = replace(settings, partly="ordinal", lot_effect="bench", lot_sd_prior=0.5, form="hump:age")
    assert rows.read_settings(rows.setting_rows(later)) == later
    assert rows.read_settings([]) == CampaignSettings()


FIRST_FINGERPRINT = "59804b4ca6e186bf70c53481b544b8c2a1361e126d530b916377e06654109c06"
LATER = {"partly": "success", "lot_effect": "jar", "lot_sd_prior": 2.0, "form": "straight"}


def test_a_file_from_before_the_later_settings_keeps_their_defaults() -> None:
    settings = CampaignSettings(title="T", level=0.9)
    old = [row for row in rows.setting_rows(settings) if row[0] not in LATER]
    assert len(old) == len(rows.setting_rows(settings)) - len(LATER)
    read = rows.read_settings(old)
    assert read == settings
    assert (read.partly, read.lot_effect, read.lot_sd_prior, read.form) == ("failed", "lot", 1.0, "")


STATE = CampaignState(
    CampaignSettings(melting_point_c=180.0),
    standard_factors(),
    (Lot("L1"), Lot("L2")),
    (Jar("J1", "L1", datetime(2026, 1, 1, tzinfo=UTC)),),
    (Attempt("a", 1, Conditions({"temperature": 150.0, "additive": "none"}), masses=Masses(charge_g=10.0)),),
)


def test_equal_content_has_an_equal_fingerprint_however_it_was_written() -> None:
    (attempt,) = STATE.attempts
    other = replace(
        STATE,
        settings=replace(STATE.settings, melting_point_c=180),
        jars=(replace(STATE.jars[0], started_at=datetime(2026, 1, 1, 2, tzinfo=timezone(timedelta(hours=2)))),),
        attempts=(
            replace(
                attempt,
                conditions=Conditions({"additive": "none", "temperature": 150}),
                masses=Masses(charge_g=10),
            ),
        ),
        ticks=(ChecklistTick("d", datetime(2026, 1, 1, tzinfo=UTC), "other", ()),),
    )
    assert fingerprint(other) == fingerprint(STATE)
    assert len(fingerprint(STATE)) == 64


def test_settings_that_came_later_leave_old_fingerprints_alone_until_they_are_changed() -> None:
    # The fingerprint of this content as the program computed it before it had these settings.
    assert fingerprint(CampaignState(CampaignSettings(), ())) == FIRST_FINGERPRINT
    marks = {fingerprint(replace(STATE, settings=replace(STATE.settings, **{name: LATER[name]}))) for name in LATER}
    assert len(marks | {fingerprint(STATE)}) == len(LATER) + 1


def test_any_change_of_content_changes_the_fingerprint() -> None:
    (attempt,) = STATE.attempts
    changed = [
        replace(STATE, settings=replace(STATE.settings, level=0.9)),
        replace(STATE, factors=STATE.factors[::-1]),
        replace(STATE, factors=(replace(STATE.factors[0], hidden=True), *STATE.factors[1:])),
        replace(STATE, lots=STATE.lots[:1]),
        replace(STATE, jars=(replace(STATE.jars[0], lid="on"),)),
        replace(STATE, attempts=(replace(attempt, struck_reason="x"),)),
        replace(STATE, attempts=(replace(attempt, conditions=attempt.conditions.with_value("temperature", 151)),)),
        replace(STATE, attempts=(replace(attempt, masses=Masses(product_g=10.0)),)),
        replace(STATE, attempts=(attempt, replace(attempt, id="b", number=2))),
    ]
    marks = {fingerprint(state) for state in [STATE, *changed]}
    assert len(marks) == len(changed) + 1
