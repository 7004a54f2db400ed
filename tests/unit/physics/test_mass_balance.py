"""The mass balance of one attempt; figures worked by hand, no outside source."""

from __future__ import annotations

import pytest

from stirfall.bench.records import Masses
from stirfall.physics.mass_balance import balance


def test_yield_and_closure_of_a_full_set_of_weighings() -> None:
    result = balance(Masses(charge_g=10.0, product_g=7.5, beads_g=0.5, residue_g=2.0, additive_g=0.1))
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
