"""Laws over temperature: units, ranges, alloys between their parts, oils that thin as they warm."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.physics.constants import ZERO_C_K
from stirfall.physics.liquids import EXTRAPOLATE_K, Curve, Kind, LawCurve, OwnCurve, table_curve
from stirfall.physics.oils import DENSITY_REACH_K, kinematic_viscosity, oil_density
from stirfall.storage.materials import materials

ROWS = {row.key: row for row in materials().metals}


def curve(key: str, kind: Kind) -> Curve:
    found = table_curve(ROWS[key], kind, ROWS)
    assert found is not None
    return found


@pytest.mark.parametrize("row", materials().metals, ids=lambda row: row.key)
def test_a_melt_gets_lighter_and_thinner_as_it_warms(row) -> None:
    assert row.melting_c is not None
    t_k = row.melting_c.value + ZERO_C_K + np.linspace(1.0, 60.0, 30)
    for kind in ("density", "viscosity", "tension"):
        found = table_curve(row, kind, ROWS)
        if found is not None:
            values = found.values(t_k)
            values = values[np.isfinite(values)]
            assert np.all(np.diff(values) < 0), (row.key, kind)


def test_a_law_is_unknown_far_outside_its_range() -> None:
    tin = curve("tin", "density")
    assert isinstance(tin, LawCurve)
    inside, near, far = tin.law.low_k, tin.law.low_k - EXTRAPOLATE_K, tin.law.low_k - EXTRAPOLATE_K - 0.1
    assert np.isfinite(tin.values([inside, near])).all()
    assert np.isnan(tin.values(far))
    assert tin.outside_k([inside, near]) == pytest.approx([0.0, EXTRAPOLATE_K])


@pytest.mark.parametrize("key", [key for key, row in ROWS.items() if row.parts])
def test_an_alloy_lies_between_its_parts(key: str) -> None:
    row = ROWS[key]
    assert row.melting_c is not None
    t_k = row.melting_c.value + ZERO_C_K + 10.0
    alloy = table_curve(row, "density", ROWS)
    if not isinstance(alloy, LawCurve) and alloy is not None:
        parts = [ROWS[part].density for part, _ in row.parts]
        from stirfall.physics.liquids import law_value

        ends = [float(law_value(law, t_k)) for law in parts if law is not None]
        assert min(ends) < float(alloy.values(t_k)) < max(ends)
        assert alloy.estimated


def test_ideal_mixing_of_volumes_by_hand() -> None:
    # 58 % bismuth, 42 % tin at 150 °C from the two laws: 1/rho = 0.58/10176 + 0.42/7032, so 8567 kg/m³.
    t_k = 423.15
    bismuth, tin = 10028 - 1.213 * (t_k - 544.55), 6979 - 0.652 * (t_k - 505.08)
    assert float(curve("tin-bismuth", "density").values(t_k)) == pytest.approx(1 / (0.58 / bismuth + 0.42 / tin))


@given(st.floats(100, 20_000))
def test_an_own_value_holds_at_the_melting_point_and_follows_the_table(value: float) -> None:
    melting_k = 505.078
    own = OwnCurve(value, melting_k, curve("tin", "density"))
    assert float(own.values(melting_k)) == pytest.approx(value)
    ratio = own.values(melting_k + 50.0) / curve("tin", "density").values(melting_k + 50.0)
    assert float(ratio) == pytest.approx(value / float(curve("tin", "density").values(melting_k)))


@given(st.floats(5, 500), st.floats(0.05, 0.9), st.floats(10, 60), st.floats(20, 80))
def test_an_oil_thins_as_it_warms_and_passes_through_both_values(
    cold: float, share: float, cold_at: float, apart: float
) -> None:
    hot, hot_at = 1.0 + (cold - 1.0) * share, cold_at + apart
    line = (cold, cold_at, hot, hot_at)
    assert kinematic_viscosity([cold_at, hot_at], *line) == pytest.approx([cold, hot], rel=1e-9)
    values = kinematic_viscosity(np.linspace(cold_at, hot_at, 20), *line)
    assert np.all(np.diff(values) < 0)
    swapped = kinematic_viscosity(0.5 * (cold_at + hot_at), hot, hot_at, cold, cold_at)
    assert float(swapped) == pytest.approx(float(kinematic_viscosity(0.5 * (cold_at + hot_at), *line)), rel=1e-9)


@pytest.mark.parametrize(
    ("line", "code"),
    [((68.0, 40.0, 8.7, 40.5), "oil.one_temperature"), ((8.7, 40.0, 68.0, 100.0), "oil.viscosity_rises")],
)
def test_viscosities_that_contradict_each_other_are_refused(line: tuple[float, ...], code: str) -> None:
    with pytest.raises(InputError) as caught:
        kinematic_viscosity(60.0, *line)
    assert caught.value.code == code


def test_the_density_of_an_oil_falls_and_is_unknown_far_away() -> None:
    assert oil_density([20.0, 64.0, 100.0], 855.0, 20.0) == pytest.approx([855.0, 826.84, 803.8])
    assert np.isnan(oil_density(20.0 + DENSITY_REACH_K + 1.0, 855.0, 20.0))
