"""What the weighings of an attempt say: figures, flags, what is missing, and one quiet line."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses
from stirfall.bench.run_facts import NO_SHEET, OIL_REMOVALS, WeighingSheet
from stirfall.bench.substances import MetalValues, OilValues, Substances
from stirfall.physics.assay import mean_of_assays
from stirfall.physics.measured import Measured
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.weighing import assayed_lot, attempt_weighing, metal_density, metal_share, weighed

LIGHT = Substances(metal=MetalValues(density_kg_m3=927.0), oil=OilValues(density_kg_m3=830.0))
STATE = CampaignState(CampaignSettings(substances=LIGHT), ())
ASSAYED = Lot("L1", metal_percent=92.0, metal_u_percent=1.5, assays=3)
GOOD = Masses(charge_g=10.0, product_g=7.5, residue_g=2.4)
SHEET = WeighingSheet(
    tares=(("charge_g", 50.0), ("product_g", 50.0), ("residue_g", 50.0)),
    step_g=0.01,
    oil_removed="rinsed and dried",
    purity_percent=97.0,
    purity_u_percent=0.5,
)


def codes(things):
    return {thing.code for thing in things}


def said(weighing):
    return sentence(weighing.line.code, weighing.line.params).replace("\u2009", " ")


def test_when_all_is_well_there_is_one_quiet_line():
    told = weighed(STATE, GOOD, SHEET, ASSAYED)
    assert said(told) == "Yield 75.00 ± 0.18 %, metal recovery 79.1 ± 1.4 %, closure 99.00 ± 0.24 % (u, k = 1)."
    assert (told.flags, told.missing, told.is_doubtful) == ((), (), False)
    assert (told.oil_film_g, told.corrected_beads_g, told.corrected_closure) == (None, None, None)
    assert told.recovery.value == pytest.approx(7.5 * 0.97 / (10.0 * 0.92))
    assert {name for name, _ in told.budgets.items()} == {"gross_yield", "recovery", "closure"}


def test_nothing_weighed_says_so_and_asks_for_nothing():
    told = weighed(STATE, Masses(), NO_SHEET, None)
    assert told.is_empty
    assert said(told) == "Nothing was weighed."
    assert (told.flags, told.missing) == ((), ())


def test_a_tare_makes_a_mass_a_difference_of_two_readings():
    told = weighed(STATE, GOOD, replace(SHEET, tares=(("charge_g", 50.0), ("product_g", 0.0))), None)
    assert told.masses["charge_g"].u == pytest.approx(0.01414, abs=1e-5)
    assert told.masses["product_g"].u == told.masses["residue_g"].u == 0.01
    other_vessel = weighed(STATE, GOOD, replace(SHEET, tares=(("charge_g", 99.0),)), None)
    assert other_vessel.masses["charge_g"] == told.masses["charge_g"]


def test_without_a_step_values_are_told_and_uncertainties_stay_unknown():
    told = weighed(STATE, GOOD, replace(SHEET, step_g=None), ASSAYED)
    assert told.closure.value == pytest.approx(0.99)
    assert told.closure.u is None
    assert told.recovery.u is None
    assert "weighing.needs_step" in codes(told.missing)
    assert said(told).endswith("(some u unknown).")


@pytest.mark.parametrize(
    ("residue", "flag"),
    [
        (1.99, "weighing.closure_low"),
        (2.0, None),
        (2.01, None),
        (2.69, None),
        (2.7, None),
        (2.71, "weighing.closure_high"),
    ],
)
def test_closure_is_flagged_beyond_95_and_102_per_cent(residue, flag):
    """At, just inside and just outside each edge; the edges are our proposal, no source."""
    told = weighed(STATE, replace(GOOD, residue_g=residue), SHEET, ASSAYED)
    assert codes(told.flags) == ({flag} if flag else set())
    assert told.is_doubtful == (flag is not None)
    assert ("does not add up" in said(told)) == (flag is not None)


def test_more_than_there_was_is_flagged():
    told = weighed(STATE, Masses(charge_g=10.0, product_g=10.5, residue_g=0.5), SHEET, ASSAYED)
    warned = {flag.code for flag in told.flags if flag.level == "warn"}
    assert warned == {"weighing.closure_high", "weighing.yield_over_charge", "weighing.recovery_over_metal"}
    assert "3 things do not add up" in said(told)


@pytest.mark.parametrize(
    ("product", "flag"),
    [(9.4, "weighing.recovery_high"), (9.29, None), (2.85, None), (2.8, "weighing.recovery_low")],
)
def test_an_unusual_recovery_is_worth_a_second_weighing(product, flag):
    """Above 98 % or below 30 %: rule of thumb, common practice, no source."""
    told = weighed(STATE, Masses(charge_g=10.0, product_g=product), SHEET, ASSAYED)
    assert codes(told.flags) == ({flag} if flag else set())
    assert not told.is_doubtful


def test_what_is_unknown_leaves_the_recovery_unknown_and_says_what_to_enter():
    lots = {
        "weighing.needs_lot": None,
        "weighing.needs_metal_share": Lot("L2"),
    }
    for code, lot in lots.items():
        told = weighed(STATE, GOOD, SHEET, lot)
        assert told.recovery is None
        assert codes(told.missing) == {code}
    told = weighed(STATE, GOOD, replace(SHEET, purity_percent=None, purity_u_percent=None), ASSAYED)
    assert told.recovery is None
    assert codes(told.missing) == {"weighing.needs_purity"}
    assert told.gross_yield is not None
    assert told.closure is not None


def test_a_share_of_metal_without_uncertainty_gives_a_recovery_without():
    for lot, code in (
        (Lot("L2", solids_percent=8.0), "weighing.share_from_solids"),
        (Lot("L2", metal_percent=92.0), "weighing.needs_metal_u"),
    ):
        told = weighed(STATE, GOOD, SHEET, lot)
        assert told.recovery.value == pytest.approx(0.7908, abs=1e-4)
        assert told.recovery.u is None
        assert codes(told.missing) == {code}
    told = weighed(STATE, GOOD, replace(SHEET, purity_u_percent=None), ASSAYED)
    assert told.recovery.u is None
    assert codes(told.missing) == {"weighing.needs_purity_u"}


def test_an_assay_comes_before_what_the_solids_leave():
    assert metal_share(Lot("L", solids_percent=5.0, metal_percent=90.0, metal_u_percent=1.0)) == Measured(0.9, 0.01)
    assert metal_share(Lot("L")) is None


def test_masses_that_are_missing_are_asked_for():
    assert codes(weighed(STATE, Masses(charge_g=10.0), SHEET, ASSAYED).missing) == {
        "weighing.needs_product",
        "weighing.needs_residue",
    }
    told = weighed(STATE, Masses(product_g=7.5), SHEET, ASSAYED)
    assert {"weighing.needs_charge", "weighing.needs_residue"} <= codes(told.missing)
    assert said(told) == "Weigh charge and product to see a yield."
    beads_seen = weighed(STATE, GOOD, SHEET, ASSAYED, has_beads=True)
    assert codes(beads_seen.missing) == {"weighing.needs_beads"}


BEADS = Masses(charge_g=10.0, product_g=0.0, beads_g=9.5, residue_g=1.0)
DRAINED = WeighingSheet(step_g=0.01, oil_removed="drained", bead_mm=1.0)


def test_drained_beads_tell_both_the_weighed_and_the_corrected_closure():
    """A film of 30 um on 1 mm beads: k = 6 x 0.03 x 830 / 927 = 0.161 of a light metal (hand-worked)."""
    told = weighed(STATE, BEADS, DRAINED, None)
    assert told.closure.value == pytest.approx(1.05)
    share = 0.16117 / 1.16117
    assert told.oil_film_g.value == pytest.approx(9.5 * share, rel=1e-3)
    assert told.corrected_beads_g.value == pytest.approx(9.5 * (1.0 - share), rel=1e-3)
    assert told.corrected_closure.value == pytest.approx(1.05 - 0.95 * share, rel=1e-3)
    # Its uncertainty is that of the film, tens of times that of the weighing.
    assert told.oil_film_g.relative_u == pytest.approx(0.38, abs=0.03)
    assert told.corrected_closure.u > 20.0 * told.closure.u
    assert codes(told.flags) == {"weighing.closure_high", "weighing.oil_film", "weighing.closure_without_oil"}
    assert "closure 105.00 ± 0.20 %" in said(told)


@pytest.mark.parametrize("removal", ["", *OIL_REMOVALS])
def test_oil_is_estimated_only_where_it_was_not_rinsed_off(removal):
    told = weighed(STATE, BEADS, replace(DRAINED, oil_removed=removal), None)
    without = removal in ("rinsed and dried", "no oil")
    assert (told.oil_film_g is None) == without
    assert (told.corrected_closure is None) == without
    assert ("weighing.oil_removed_how" in codes(told.flags)) == (removal == "")


def test_beads_of_unknown_size_or_metal_are_not_corrected_but_asked_about():
    told = weighed(STATE, BEADS, replace(DRAINED, bead_mm=None), None)
    assert told.oil_film_g is None
    assert "weighing.needs_bead_size" in codes(told.missing)
    nothing = weighed(CampaignState(CampaignSettings(), ()), BEADS, DRAINED, None)
    assert nothing.oil_film_g is None
    assert {"weighing.needs_metal_density", "weighing.oil_density_taken"} <= codes(nothing.missing)


def test_no_beads_no_question_about_oil():
    for masses in (GOOD, replace(GOOD, beads_g=0.0)):
        told = weighed(STATE, masses, replace(SHEET, oil_removed=""), ASSAYED)
        assert told.flags == ()
        assert told.missing == ()


def test_the_metal_of_the_table_has_its_density():
    named = CampaignState(CampaignSettings(metal="sodium"), ())
    # 927 kg/m3 at the melting point (Fink & Leibowitz 1995, ANL/RE-95/2).
    assert metal_density(named) == pytest.approx(927.0, abs=1.5)
    assert metal_density(STATE) == 927.0
    assert metal_density(CampaignState(CampaignSettings(metal="my own"), ())) is None


def attempt(**fields):
    return Attempt("a1", 1, Conditions(), masses=GOOD, sheet=SHEET, **fields)


def test_a_recorded_attempt_is_weighed_against_the_lot_of_its_jar(document):
    started = document.state.jars[0].started_at
    state = replace(STATE, lots=(ASSAYED,), jars=(Jar("J1", "L1", started),))
    by_jar, by_lot = attempt_weighing(state, attempt(jar_id="J1")), attempt_weighing(state, attempt(lot_id="L1"))
    assert by_jar == by_lot
    assert by_jar.recovery is not None
    assert attempt_weighing(state, attempt()).recovery is None
    beaded = attempt_weighing(state, attempt(lot_id="L1", parted=Parted.YES, pooled=Pooled.BEADS))
    assert "weighing.needs_beads" in codes(beaded.missing)


def test_assays_give_a_lot_its_metal():
    told = assayed_lot(Lot("L1", solids_percent=8.0, note="kept"), mean_of_assays([92.1, 92.9, 91.8]))
    assert told.metal_percent == pytest.approx(92.2667, abs=1e-3)
    assert told.metal_u_percent == pytest.approx(0.328, abs=1e-3)
    assert (told.assays, told.note, told.solids_percent) == (3, "kept", 8.0)
    assert assayed_lot(Lot("L1"), mean_of_assays([92.1])).metal_u_percent is None
    for mean in (100.5, -1.0):
        with pytest.raises(InputError, match=r"assay\.no_share"):
            assayed_lot(Lot("L1"), mean_of_assays([mean]))


numbers = st.one_of(st.none(), st.just(0.0), st.floats(1e-3, 1e3))
positive = st.one_of(st.none(), st.floats(1e-3, 50.0))
lots = st.one_of(
    st.none(),
    st.builds(Lot, st.just("L"), metal_percent=positive, metal_u_percent=positive, solids_percent=positive),
)
sheets = st.builds(
    WeighingSheet,
    tares=st.lists(st.tuples(st.sampled_from(["charge_g", "beads_g"]), st.floats(0.0, 99.0)), max_size=2).map(
        tuple
    ),
    step_g=positive,
    oil_removed=st.sampled_from(["", *OIL_REMOVALS]),
    bead_mm=positive,
    purity_percent=st.one_of(st.none(), st.floats(0.0, 100.0)),
    purity_u_percent=positive,
)


def reasons(params):
    for value in params.values():
        if isinstance(value, Reason):
            yield value
            yield from reasons(value.params)


@given(st.builds(Masses, *[numbers] * 5), sheets, lots, st.booleans())
def test_any_weighings_give_figures_or_say_what_is_missing_in_sentences(masses, sheet, lot, has_beads):
    told = weighed(STATE, masses, sheet, lot, has_beads=has_beads)
    for thing in (*told.flags, *told.missing, told.line, *reasons(told.line.params)):
        assert thing.code in all_sentences()
        assert "{" not in sentence(thing.code, thing.params)
    if told.masses and sheet.step_g is None:
        assert all(share is None or share.u is None for share in (told.gross_yield, told.recovery, told.closure))
    if told.recovery is None and told.gross_yield is not None and lot is not None and lot.metal_percent is None:
        assert told.missing
    levels = [flag.level for flag in told.flags]
    assert levels == sorted(levels, key=lambda level: level != "warn")


def test_weighing_is_quick_enough_for_each_key():
    weighed(STATE, BEADS, DRAINED, ASSAYED)
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        weighed(STATE, BEADS, DRAINED, ASSAYED)
        taken.append(time.perf_counter() - begun)
    assert min(taken) < 0.005
