"""Measured values: how they are written, and the law of propagation against two independent ways to the same u.

The witnesses are the numeric spreadsheet method of Kragten (J. Kragten 1994, Analyst 119, 2161: the change of the
result when one input moves by its u) and random numbers, as Supplement 1 of the GUM has it (JCGM 101:2008).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.physics.measured import Measured, exact, in_unit, propagate, read_measured


def kragten(formula: Callable[..., float], inputs: Mapping[str, Measured]) -> float:
    """Central differences over plus and minus one u, in quadrature."""
    values = {name: each.value for name, each in inputs.items()}
    squares = 0.0
    for name, each in inputs.items():
        up = formula(**{**values, name: each.value + each.u})
        down = formula(**{**values, name: each.value - each.u})
        squares += ((up - down) / 2.0) ** 2
    return math.sqrt(squares)


def monte_carlo(formula: Callable[..., np.ndarray], inputs: Mapping[str, Measured], draws: int = 200_000) -> float:
    random = np.random.default_rng(20_260_302)
    return float(np.std(formula(**{name: random.normal(m.value, m.u, draws) for name, m in inputs.items()})))


def recovery(product, purity, charge, share):
    return product * purity / (charge * share)


def power_law(a, b):
    return a**1.5 / (1.0 + b**2) - a


INPUTS = {
    "product": Measured(7.51, 0.014),
    "purity": Measured(0.97, 0.01),
    "charge": Measured(10.02, 0.014),
    "share": Measured(0.92, 0.02),
}


@pytest.mark.parametrize(
    ("formula", "inputs"),
    [(recovery, INPUTS), (power_law, {"a": Measured(3.0, 0.05), "b": Measured(-0.7, 0.03)})],
)
def test_the_law_agrees_with_kragten_and_with_random_numbers(formula, inputs):
    told = propagate(formula, inputs).measured
    assert told.value == pytest.approx(formula(**{name: m.value for name, m in inputs.items()}))
    assert told.u == pytest.approx(kragten(formula, inputs), rel=0.002)
    assert told.u == pytest.approx(monte_carlo(formula, inputs), rel=0.01)


def test_relative_uncertainties_of_a_product_add_in_quadrature():
    told = propagate(recovery, INPUTS).measured
    assert told.relative_u == pytest.approx(math.sqrt(sum(m.relative_u**2 for m in INPUTS.values())))


@given(
    st.lists(st.tuples(st.floats(0.1, 100.0), st.floats(1e-6, 0.05)), min_size=4, max_size=4),
    st.floats(0.01, 100.0),
)
def test_the_budget_adds_up_and_u_scales_with_the_unit(rows, factor):
    inputs = {name: Measured(value, value * u) for name, (value, u) in zip(INPUTS, rows, strict=True)}
    told = propagate(recovery, inputs)
    assert sum(line.effect**2 for line in told.budget) == pytest.approx(told.measured.u**2)
    assert sum(line.share for line in told.budget) == pytest.approx(1.0)
    effects = [line.effect for line in told.budget]
    assert effects == sorted(effects, reverse=True)
    scaled = propagate(lambda **given: factor * recovery(**given), inputs).measured
    assert scaled.u == pytest.approx(factor * told.measured.u)
    assert in_unit(told.measured, factor, "").u == pytest.approx(scaled.u)


def test_an_input_that_stands_twice_is_one_input():
    x = {"x": Measured(5.0, 0.1)}
    assert propagate(lambda x: x - x, x).measured == Measured(0.0, 0.0)
    assert propagate(lambda x: x + x, x).measured.u == pytest.approx(0.2)


def test_an_unknown_uncertainty_makes_the_result_unknown_and_keeps_what_is_known():
    told = propagate(lambda a, b: a * b, {"a": Measured(2.0, None), "b": Measured(3.0, 0.1)})
    assert told.measured == Measured(6.0, None)
    assert [(line.name, line.effect, line.share) for line in told.budget] == [
        ("a", None, None),
        ("b", pytest.approx(0.2), None),
    ]


def test_exact_inputs_are_no_part_of_the_budget():
    told = propagate(lambda a, b: a * b, {"a": exact(2.0), "b": exact(3.0)})
    assert told.measured == Measured(6.0, 0.0)
    assert told.budget == ()
    with pytest.raises(InputError, match=r"measured\.impossible"):
        propagate(lambda a: 1.0 / a, {"a": Measured(0.0, 0.1)})


@pytest.mark.parametrize(
    ("measured", "text"),
    [
        (Measured(0.102136, 0.0000986, "mol/L"), "0.10214 ± 0.00010 mol/L (u, k = 1)"),
        (Measured(75.004, 0.18, "%"), "75.00 ± 0.18 % (u, k = 1)"),
        (Measured(75.004, 0.36, "%"), "75.0 ± 0.4 % (u, k = 1)"),
        (Measured(12_347.0, 120.0), "12350 ± 120 (u, k = 1)"),
        (Measured(12_345.0, 510.0), "12300 ± 500 (u, k = 1)"),
        (Measured(-0.004, 0.3), "0.00 ± 0.30 (u, k = 1)"),
        (Measured(-0.4, 0.3), "−0.40 ± 0.30 (u, k = 1)"),
        (Measured(0.0, 0.02, "g"), "0.000 ± 0.020 g (u, k = 1)"),
        (Measured(2.0e-6, 1.2e-7), "(2.00 ± 0.12)·10^−6 (u, k = 1)"),
        (Measured(75.004, None, "%"), "75.00 % (u unknown)"),
        (Measured(75.004, 0.0, "%"), "75.00 %"),
    ],
)
def test_values_are_written_to_the_digits_that_their_uncertainty_allows(measured, text):
    assert measured.text().replace("\u2009", " ") == text


def test_the_decimal_sign_is_the_persons():
    assert Measured(1.5, 0.25, "g").text(decimal=",").replace("\u2009", " ") == "1,50 ± 0,25 g (u, k = 1)"


@pytest.mark.parametrize(("value", "u"), [(math.nan, 0.1), (math.inf, None), (1.0, -0.1), (1.0, math.nan)])
def test_what_is_no_measurement_is_refused(value, u):
    with pytest.raises(InputError, match=r"measured\.impossible"):
        Measured(value, u)


@pytest.mark.parametrize("text", ["0.3888 ± 0.00013", "0.3888+-0.00013", "0,3888 +/- 0,00013", "0.3888±1.3e-4"])
def test_measured_values_are_read_as_people_write_them(text):
    assert read_measured(text, "g") == Measured(0.3888, 0.00013, "g")


def test_a_bare_number_has_an_unknown_uncertainty():
    assert read_measured("18.64") == Measured(18.64, None)
    for text in ("", "±", "1 ±", "1 ± x", "abc"):
        with pytest.raises(InputError):
            read_measured(text)


@given(st.floats(1e-4, 1e5), st.floats(1e-4, 0.5))
def test_what_is_written_is_within_half_a_digit_of_what_is_meant(value, relative):
    measured = Measured(value, value * relative)
    text = measured.bare()
    if "·" in text:
        return
    shown, shown_u = (float(part) for part in text.split(" ± "))
    assert shown_u == pytest.approx(measured.u, rel=0.145)
    assert abs(shown - value) <= 0.145 * measured.u
