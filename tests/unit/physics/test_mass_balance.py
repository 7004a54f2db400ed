"""The mass balance of one attempt; figures worked by hand, no outside source but where one is named."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.records import Masses
from stirfall.physics.mass_balance import (
    balance,
    closure,
    corrected_closure,
    gross_yield,
    metal_recovery,
    net_mass,
    reading_u,
    weighed_masses,
)
from stirfall.physics.measured import Measured

FULL = Masses(charge_g=10.0, product_g=7.5, beads_g=0.5, residue_g=2.0, additive_g=0.1)
ALL = frozenset(vars(FULL))


def test_yield_and_closure_of_a_full_set_of_weighings() -> None:
    result = balance(FULL)
    assert result.gross_yield == pytest.approx(0.75)
    assert result.closure == pytest.approx(0.99)
    assert not result.is_doubtful


@pytest.mark.parametrize("product", [9.0, 3.0])
def test_closure_outside_the_flags_is_doubtful(product: float) -> None:
    assert balance(Masses(charge_g=10.0, product_g=product, residue_g=2.0)).is_doubtful


def test_what_was_not_weighed_stays_unknown() -> None:
    assert balance(Masses()).gross_yield is None
    assert balance(Masses(charge_g=10.0)).gross_yield is None
    assert balance(Masses(charge_g=0.0, product_g=1.0)).gross_yield is None
    only_product = balance(Masses(charge_g=10.0, product_g=8.0))
    assert only_product.gross_yield == pytest.approx(0.8)
    assert only_product.closure is None
    assert not only_product.is_doubtful


def test_one_reading_has_the_whole_step_and_a_difference_root_two_of_it() -> None:
    """Common practice, no source; rounding alone would be step / sqrt(12) (GUM F.2.2.1)."""
    assert reading_u(0.01) == 0.01
    assert reading_u(0.01) > 0.01 / math.sqrt(12.0)
    assert net_mass(10.0, 0.01, by_difference=False) == Measured(10.0, 0.01, "g")
    assert net_mass(10.0, 0.01, by_difference=True).u == pytest.approx(0.0141, abs=5e-5)
    assert net_mass(10.0, None, by_difference=True) == Measured(10.0, None, "g")


@pytest.mark.parametrize(("charge", "weighing", "with_oil"), [(10.0, 0.2, 0.5), (3.0, 0.6, 1.8)])
def test_what_weighing_alone_gives_in_the_yield(charge: float, weighing: float, with_oil: float) -> None:
    """10 g on a balance of 0.01 g: 0.2 %, with an unknown 0.05 g of oil 0.5 %; 3 g: 0.6 and 1.8 % (hand-worked)."""
    weighed = weighed_masses(Masses(charge_g=charge, product_g=charge), 0.01, ALL)
    told = gross_yield(weighed)
    assert told is not None
    assert told.measured.u is not None
    assert 100.0 * told.measured.u == pytest.approx(weighing, abs=0.07)
    oil = math.hypot(told.measured.u, 0.05 / charge)
    assert 100.0 * oil == pytest.approx(with_oil, abs=0.05)


def test_yield_with_uncertainty_is_the_plain_yield_and_its_readings_are_independent() -> None:
    told = gross_yield(weighed_masses(FULL, 0.01))
    assert told is not None
    assert told.measured.value == balance(FULL).gross_yield
    assert told.measured.u == pytest.approx(0.75 * math.hypot(0.01 / 7.5, 0.01 / 10.0))


def test_recovery_takes_purity_and_metal_share_and_their_uncertainty() -> None:
    weighed = weighed_masses(Masses(charge_g=10.0, product_g=7.5), 0.01, ALL)
    purity, share = Measured(0.97, 0.005), Measured(0.85, 0.0255)
    told = metal_recovery(weighed, purity, share)
    assert told is not None
    assert told.measured.value == pytest.approx(7.5 * 0.97 / (10.0 * 0.85))
    root = math.sqrt((0.01414 / 7.5) ** 2 + (0.01414 / 10.0) ** 2 + (0.005 / 0.97) ** 2 + 0.03**2)
    assert told.measured.relative_u == pytest.approx(root, rel=1e-3)
    # A metal share that is known to 3 % outweighs all else.
    assert told.budget[0].name == "metal_share"
    assert told.budget[0].share is not None
    assert told.budget[0].share > 0.9


def test_recovery_is_unknown_where_one_of_the_four_is() -> None:
    weighed = weighed_masses(Masses(charge_g=10.0, product_g=7.5), 0.01)
    one = Measured(0.9, 0.01)
    assert metal_recovery(weighed, None, one) is None
    assert metal_recovery(weighed, one, None) is None
    assert metal_recovery(weighed, one, Measured(0.0, 0.01)) is None
    assert metal_recovery(weighed_masses(Masses(charge_g=10.0), 0.01), one, one) is None
    assert metal_recovery(weighed_masses(Masses(charge_g=0.0, product_g=7.0), 0.01), one, one) is None
    unknown = metal_recovery(weighed, Measured(0.9, None), one)
    assert unknown is not None
    assert unknown.measured.u is None


def test_closure_counts_beads_and_additive_only_where_they_were_weighed() -> None:
    told = closure(weighed_masses(FULL, 0.01))
    assert told is not None
    assert told.measured.value == pytest.approx(0.99)
    assert told.measured.u == pytest.approx(0.01 * math.sqrt(4.0 + 0.99**2) / 10.0)
    few = closure(weighed_masses(Masses(charge_g=10.0, product_g=7.5, residue_g=2.0), 0.01))
    assert few is not None
    assert {line.name for line in few.budget} == {"charge_g", "product_g", "residue_g"}
    assert closure(weighed_masses(Masses(charge_g=10.0, product_g=7.5), 0.01)) is None
    assert closure(weighed_masses(Masses(product_g=7.5, residue_g=2.0), 0.01)) is None


def test_the_corrected_closure_takes_oil_off_the_beads_alone() -> None:
    weighed = weighed_masses(FULL, 0.01)
    told, plain = corrected_closure(weighed, Measured(0.1, 0.04)), closure(weighed)
    assert told is not None
    assert plain is not None
    assert told.measured.value == pytest.approx(plain.measured.value - 0.005)
    assert told.measured.u is not None
    assert told.measured.u > 0.04 * 0.5 / 10.0
    without_beads = weighed_masses(Masses(charge_g=10.0, product_g=7.5, residue_g=2.0), 0.01)
    assert corrected_closure(without_beads, Measured(0.1, 0.04)) is None


masses = st.builds(
    Masses,
    *[st.one_of(st.none(), st.just(0.0), st.floats(0.001, 500.0)) for _ in range(5)],
)


@given(masses, st.one_of(st.none(), st.floats(1e-4, 1.0)))
def test_the_two_balances_agree_for_any_weighings(masses: Masses, step: float | None) -> None:
    weighed = weighed_masses(masses, step)
    plain = balance(masses)
    for told, value in ((gross_yield(weighed), plain.gross_yield), (closure(weighed), plain.closure)):
        if value is None:
            assert told is None
        else:
            assert told is not None
            assert told.measured.value == pytest.approx(value)
            assert (told.measured.u is None) == (step is None)
