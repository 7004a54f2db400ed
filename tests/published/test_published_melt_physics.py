"""Physical values and laws of the melt against published ones; the source stands beside each."""

from __future__ import annotations

import math

import fluids
import fluids.drag
import numpy as np
import pytest

from stirfall.physics.liquids import KINDS, table_curve
from stirfall.physics.merging import buoyant_weight, drainage_time, film_radius, skin_radius
from stirfall.physics.oils import kinematic_viscosity
from stirfall.physics.settling import drag_coefficient, stokes_speed, terminal_speed
from stirfall.physics.stirring import tip_speed, weber_number
from stirfall.storage.materials import materials


def value(key: str, kind: str, t_k: float) -> float:
    row = materials().metal(key)
    assert row is not None
    assert kind in KINDS
    curve = table_curve(row, kind, {each.key: each for each in materials().metals})  # type: ignore[arg-type]
    assert curve is not None
    return float(curve.values(t_k))


def test_sodium_at_400_k() -> None:
    # Fink & Leibowitz 1995, ANL/RE-95/2: the printed laws at 400 K.
    assert value("sodium", "density", 400.0) == pytest.approx(919.27, abs=0.005)
    assert value("sodium", "viscosity", 400.0) == pytest.approx(0.59919e-3, abs=5e-9)
    assert value("sodium", "tension", 400.0) == pytest.approx(197.69e-3, abs=5e-6)


def test_tin_at_523_15_k() -> None:
    # Assael et al. 2010, J. Phys. Chem. Ref. Data 39, 033105.
    assert value("tin", "density", 523.15) == pytest.approx(6967.22, abs=0.005)
    assert value("tin", "viscosity", 523.15) == pytest.approx(1.7718e-3, abs=5e-8)


# Assael et al. 2010, JPCRD 39, 033105 (Sn, Bi, Pb); 2012, JPCRD 41, 033101 (Ga, In, Zn): c1 - c2 (T - Tref), and
# log10(viscosity/mPa s) = -a1 + a2/T. Typed anew from the coefficients, as two public libraries carry them.
ASSAEL = {
    "gallium": (6077, 0.611, 302.914, 0.4465, 204.03),
    "indium": (7022, 0.762, 429.748, 0.3621, 272.06),
    "tin": (6979, 0.652, 505.08, 0.408, 343.4),
    "bismuth": (10028, 1.213, 544.55, 0.345, 321.4),
    "lead": (10656, 1.239, 600.61, 0.295, 427.1),
    "zinc": (6559, 0.884, 692.677, 0.3291, 631.12),
}


@pytest.mark.parametrize("key", ASSAEL)
@pytest.mark.parametrize("above_k", [2.0, 20.0, 90.0])
def test_the_reference_correlations(key: str, above_k: float) -> None:
    c1, c2, reference, a1, a2 = ASSAEL[key]
    t_k = reference + above_k
    assert value(key, "density", t_k) == pytest.approx(c1 - c2 * (t_k - reference), rel=1e-9)
    assert value(key, "viscosity", t_k) == pytest.approx(1e-3 * 10 ** (-a1 + a2 / t_k), rel=1e-9)


# CRC Handbook of Chemistry and Physics, in K, as the Python package chemicals carries them.
MELTING_K = {
    "sodium": 370.944,
    "potassium": 336.65,
    "lithium": 453.65,
    "gallium": 302.9146,
    "indium": 429.75,
    "tin": 505.078,
    "bismuth": 544.556,
    "lead": 600.612,
    "zinc": 692.677,
}


@pytest.mark.parametrize("key", MELTING_K)
def test_melting_points(key: str) -> None:
    row = materials().metal(key)
    assert row is not None
    assert row.melting_c is not None
    assert row.melting_c.value + 273.15 == pytest.approx(MELTING_K[key], abs=0.01)


def test_the_viscosity_of_an_oil_by_astm_d341() -> None:
    # log10 log10 (nu + 0.7) straight in log10 T, through 68 mm²/s at 40 °C and 8.7 at 100 °C; calculated by hand.
    assert float(kinematic_viscosity(60.0, 68.0, 40.0, 8.7, 100.0)) == pytest.approx(28.659, abs=5e-4)
    assert float(kinematic_viscosity(80.0, 68.0, 40.0, 8.7, 100.0)) == pytest.approx(14.723, abs=5e-4)


def test_the_settling_sphere_of_the_textbook() -> None:
    # 70 µm, 2600 in 1000 kg/m³, 1 mPa s: Rushton, Ward & Holdich print 4.06 mm/s with their drag correction.
    sphere = (70e-6, 2600.0, 1000.0, 1e-3)
    assert float(stokes_speed(*sphere)) == pytest.approx(4.2713e-3, abs=5e-8)
    assert float(terminal_speed(*sphere)) == pytest.approx(4.0191e-3, abs=5e-8)
    assert float(terminal_speed(*sphere)) == pytest.approx(4.06e-3, rel=0.015)


@pytest.mark.parametrize("reynolds", [0.01, 0.3, 1.0, 10.0, 100.0, 700.0])
def test_drag_against_the_library_fluids(reynolds: float) -> None:
    # Another law, of Clift and Gauvin: published fits of the same measurements differ by a few per cent.
    theirs = fluids.drag.drag_sphere(reynolds, Method="Clift_Gauvin")
    assert float(drag_coefficient(reynolds)) == pytest.approx(theirs, rel=0.06)


def test_drag_as_printed() -> None:
    # Schiller & Naumann 1933, worked out at Re 10 and 100.
    assert float(drag_coefficient(10.0)) == pytest.approx(4.15107, abs=5e-6)
    assert float(drag_coefficient(100.0)) == pytest.approx(1.09173, abs=5e-6)


@pytest.mark.parametrize("diameter_um", [1.0, 10.0, 70.0, 300.0])
@pytest.mark.parametrize(("solid", "liquid", "viscosity"), [(2600.0, 1000.0, 1e-3), (15600.0, 8000.0, 3e-3)])
def test_terminal_speed_against_the_library_fluids(
    diameter_um: float, solid: float, liquid: float, viscosity: float
) -> None:
    ours = float(terminal_speed(1e-6 * diameter_um, solid, liquid, viscosity))
    theirs = fluids.v_terminal(D=1e-6 * diameter_um, rhop=solid, rho=liquid, mu=viscosity)
    assert ours == pytest.approx(theirs, rel=0.05)  # another drag law there


def test_figures_of_the_settling_of_fine_solids() -> None:
    # 3580 in 927 kg/m³ at 0.68 mPa s: 10 mm in 79 min (1 µm), 9 min (3 µm), 47 s (10 µm), 5 s (30 µm); by hand.
    times = 0.010 / stokes_speed(np.array([1e-6, 3e-6, 10e-6, 30e-6]), 3580.0, 927.0, 0.68e-3)
    assert times == pytest.approx([79 * 60, 8.8 * 60, 47, 5.2], rel=0.02)


def test_figures_of_merging() -> None:
    # Density difference 127, 4 mPa s, 0.19 N/m, 0.1 µm: 0.1 s, 3.5 s, about 2 min for R 0.5, 1 and 2 mm; by hand.
    times = drainage_time(np.array([0.5e-3, 1e-3, 2e-3]), 127.0, 4e-3, 0.19)
    assert times == pytest.approx([0.109, 3.5, 112.0], rel=0.03)
    # A skin of 0.5 N/m: 20 mm for a light metal in oil, 3.1 mm gallium in water, 2.6 mm tin-bismuth in oil.
    assert 1e3 * skin_radius(np.array([127.0, 5077.0, 7700.0])) == pytest.approx([20.0, 3.17, 2.57], rel=0.02)


def test_the_film_between_beads_by_another_way() -> None:
    # The same drainage from Reynolds' own form: pressure 2 gamma/R over the film, dh/dt = -2 F h³ / (3 pi mu Rf⁴).
    force = float(buoyant_weight(1e-3, 127.0))
    radius = float(film_radius(1e-3, force, 0.19))
    assert 2 * 0.19 / 1e-3 * math.pi * radius**2 == pytest.approx(force, rel=1e-12)
    heights = np.geomspace(1e-4, 1e-7, 200_001)
    middle = 0.5 * (heights[1:] + heights[:-1])
    seconds = float(np.sum(-np.diff(heights) * 3 * math.pi * 4e-3 * radius**4 / (2 * force * middle**3)))
    assert float(drainage_time(1e-3, 127.0, 4e-3, 0.19)) == pytest.approx(seconds, rel=1e-3)


def test_figures_of_stirring() -> None:
    # Two turns a second on 40 mm: 0.25 m/s; a 10 mm blob: We 2.6, 10 and 42 at 0.25, 0.5 and 1 m/s; by hand.
    assert float(tip_speed(0.040, 2.0)) == pytest.approx(0.2513, abs=1e-4)
    blobs = weber_number(np.array([0.25, 0.5, 1.0]), 0.010, 800.0, 0.19)
    assert blobs == pytest.approx([2.63, 10.5, 42.1], rel=0.01)


def test_eutectics_melt_where_handbooks_say() -> None:
    # From memory, not checked: Sn-Bi 138 to 139 °C, Sn-Pb 183 °C, Ga-In 15.5 °C.
    for key, low, high in (("tin-bismuth", 138, 139), ("tin-lead", 182.5, 183.5), ("gallium-indium", 15, 16)):
        row = materials().metal(key)
        assert row is not None
        assert row.melting_c is not None
        assert low <= row.melting_c.value <= high
