"""How the odds pane writes numbers, ticks its axes, and places marks and lines: plain functions."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull

from stirfall.bench.factors import Factor, Role, Scale, standard_factors
from stirfall.bench.units import THIN_SPACE
from stirfall.desktop.odds.answers import stepped_value, value_at
from stirfall.desktop.odds.marks import lane_places, spread
from stirfall.desktop.odds.outlines import contour_segments, convex_hull, hatch_lines, inside_hull
from stirfall.desktop.odds.phrases import counted, value_text
from stirfall.desktop.odds.ramp import landscape, oklab
from stirfall.desktop.theme import DARK, HIGH_CONTRAST, LIGHT, Theme, contrast
from stirfall.reporting.axis_ticks import axis_title, from_axis, ticks, to_axis
from stirfall.reporting.shares import percent, span

AGE = Factor("sample age", "h", 0.5, 240.0, Scale.LOG, role=Role.SAMPLE_AGE)


# -- numbers -----------------------------------------------------------------------------------------------


@given(st.floats(0.0, 1.0))
def test_no_probability_is_ever_written_as_0_or_100_per_cent_or_with_a_decimal(share: float) -> None:
    text = percent(share)
    assert text.removesuffix(f"{THIN_SPACE}%") not in ("0", "100")
    assert "." not in text


def test_probabilities_are_whole_per_cent_and_the_ends_are_words() -> None:
    assert percent(0.624) == f"62{THIN_SPACE}%"
    assert percent(0.0049) == f"below 1{THIN_SPACE}%"
    assert percent(0.9951) == f"above 99{THIN_SPACE}%"
    assert percent(0.994) == f"99{THIN_SPACE}%"


def test_an_interval_names_the_per_cent_sign_once() -> None:
    assert span(0.38, 0.81) == f"38 to 81{THIN_SPACE}%"
    assert span(0.0, 1.0) == f"below 1 to above 99{THIN_SPACE}%"


def test_one_attempt_is_not_many() -> None:
    assert (counted(0), counted(1), counted(47)) == ("0 attempts", "1 attempt", "47 attempts")


def test_values_are_said_in_the_unit_of_a_person_with_the_persons_decimal_sign() -> None:
    assert value_text(AGE, 72.0) == f"3{THIN_SPACE}days"
    assert value_text(AGE, 1.5, decimal=",") == f"90{THIN_SPACE}min"
    assert value_text(Factor("dose", "mg/g", 0, 20), 2.5, decimal=",") == f"2,5{THIN_SPACE}mg/g"


# -- ticks -------------------------------------------------------------------------------------------------


def plain(labels: tuple[str, ...]) -> list[str]:
    return [label.replace(THIN_SPACE, " ") for label in labels]


def test_an_age_axis_is_ticked_in_minutes_hours_days_and_weeks() -> None:
    found = ticks(AGE, 0.5, 240.0, most=9)
    assert plain(tuple(t.label for t in found)) == [
        "30 min", "1 h", "2 h", "4 h", "12 h", "1 d", "2 d", "1 week",
    ]  # fmt: skip
    assert [round(t.value, 6) for t in found] == [0.5, 1, 2, 4, 12, 24, 48, 168]


def test_a_narrow_axis_keeps_the_most_welcome_times() -> None:
    assert plain(tuple(t.label for t in ticks(AGE, 0.5, 240.0, most=5))) == ["1 h", "4 h", "1 d", "1 week"]


def test_an_age_in_days_is_ticked_like_one_in_hours() -> None:
    days = Factor("age", "d", 1.0, 60.0, Scale.LOG)
    assert plain(tuple(t.label for t in ticks(days, 1, 60, most=9)))[:4] == ["1 d", "2 d", "4 d", "1 week"]


def test_a_linear_time_axis_has_equal_round_steps() -> None:
    linear = Factor("age", "h", 0.0, 96.0)
    assert plain(tuple(t.label for t in ticks(linear, 0, 96, most=9)))[:3] == ["0 h", "12 h", "24 h"]


@given(low=st.floats(1e-3, 1e3), ratio=st.floats(1.5, 1e6), most=st.integers(2, 15))
def test_ticks_lie_inside_the_axis_in_rising_order_with_different_labels(
    low: float, ratio: float, most: int
) -> None:
    for factor in (
        Factor("t", "h", low, low * ratio, Scale.LOG),
        Factor("c", "mol/L", low, low * ratio, Scale.LOG),
        Factor("t", "h", low, low * ratio),
        Factor("w", "mm", low, low * ratio),
    ):
        found = ticks(factor, low, low * ratio, most=most)
        values = [tick.value for tick in found]
        assert values == sorted(set(values))
        assert all(low * (1 - 1e-6) <= value <= low * ratio * (1 + 1e-6) for value in values)
        assert len({tick.label for tick in found}) == len(found)


def test_labels_of_a_log_axis_keep_their_distance() -> None:
    for most in range(3, 16):
        values = [math.log(tick.value) for tick in ticks(AGE, 0.5, 240.0, most=most)]
        assert min(np.diff(values)) >= math.log(480) / most - 1e-9


def test_ticks_use_the_decimal_sign_of_the_person() -> None:
    factor = Factor("c", "mol/L", 0.01, 1.0, Scale.LOG)
    assert ticks(factor, 0.01, 1.0, most=5, decimal=",")[0].label == "0,01"


def test_times_carry_their_unit_on_the_ticks_and_other_numbers_in_the_title() -> None:
    assert axis_title(AGE) == "sample age"
    assert axis_title(Factor("temperature", "C", 80, 180)) == "temperature, °C"
    assert axis_title(Factor("action", levels=("fold", "press"))) == "action"


@given(st.floats(0.5, 240.0))
def test_axis_positions_invert(value: float) -> None:
    assert from_axis(AGE, to_axis(AGE, value)) == pytest.approx(value)


# -- steps along an axis -------------------------------------------------------------------------------------


@given(
    st.sampled_from([f for f in standard_factors() if not f.is_choice]),
    st.floats(0, 1),
    st.sampled_from([-5, -1, 1, 5]),
)
def test_a_key_press_moves_by_steps_of_the_factor_and_stays_in_range(
    factor: Factor, share: float, steps: int
) -> None:
    low, high = factor.bounds
    start = factor.snap(low + share * (high - low))
    reached = stepped_value(factor, start, steps)
    assert isinstance(reached, float)
    assert low <= reached <= high
    assert factor.snap(reached) == pytest.approx(reached)
    assert (reached - start) * steps > 0 or start in (low, high)


def test_a_key_press_on_a_choice_goes_to_the_neighbour_and_stops_at_the_end() -> None:
    action = Factor("action", levels=("swirl", "fold", "press"))
    assert stepped_value(action, "swirl", 1) == "fold"
    assert stepped_value(action, "swirl", -1) == "swirl"
    assert stepped_value(action, "press", 5) == "press"


def test_a_click_lands_on_a_step_of_the_factor() -> None:
    temperature = Factor("temperature", "C", 80.0, 180.0, step=5.0)
    assert value_at(temperature, 151.2) == 150.0
    assert value_at(Factor("action", levels=("swirl", "fold")), 0.7) == "fold"
    assert value_at(AGE, math.log10(24.04)) == 24.0


# -- marks -------------------------------------------------------------------------------------------------


def test_marks_at_one_place_do_not_hide_each_other() -> None:
    places = lane_places([0.5] * 9, gap=0.02)
    for (row, at), (other_row, other_at) in itertools.combinations(places, 2):
        assert row != other_row or abs(at - other_at) >= 0.02 - 1e-12


@given(st.lists(st.floats(0, 1), max_size=60))
def test_the_jitter_is_the_same_each_time_and_moves_a_mark_only_a_little(shares: list[float]) -> None:
    first, second = lane_places(shares, gap=0.02), lane_places(shares, gap=0.02)
    assert first == second
    assert all(share <= at <= share + 4 * 0.02 + 1e-12 for share, (_, at) in zip(shares, first, strict=True))


def test_a_lone_mark_stays_in_the_middle_row() -> None:
    assert lane_places([0.3], gap=0.02) == [(1, 0.3)]


def test_marks_on_one_another_on_the_map_are_parted_and_the_first_stays() -> None:
    offsets = spread([(0.5, 0.5)] * 6, gap=0.02)
    assert offsets[0] == (0.0, 0.0)
    for one, other in itertools.combinations(offsets, 2):
        assert math.dist(one, other) > 0.7
    assert offsets == spread([(0.5, 0.5)] * 6, gap=0.02)


# -- lines ---------------------------------------------------------------------------------------------------


def test_the_contour_of_a_cone_is_a_circle() -> None:
    x = y = np.linspace(-1, 1, 81)
    distance = np.hypot(*np.meshgrid(x, y))
    pieces = contour_segments(x, y, distance, 0.5)
    ends = pieces.reshape(-1, 2)
    assert np.hypot(ends[:, 0], ends[:, 1]) == pytest.approx(0.5, abs=0.002)
    length = np.hypot(pieces[:, 2] - pieces[:, 0], pieces[:, 3] - pieces[:, 1]).sum()
    assert length == pytest.approx(math.pi, rel=0.003)


def test_a_level_that_is_never_crossed_has_no_contour() -> None:
    x = np.linspace(0, 1, 5)
    assert len(contour_segments(x, x, np.full((5, 5), 0.3), 0.5)) == 0


def test_the_hull_is_that_of_scipy() -> None:
    points = np.random.default_rng(5).normal(size=(60, 2))
    ours = convex_hull([(float(a), float(b)) for a, b in points])
    theirs = points[ConvexHull(points).vertices]  # scipy 1.17, Qhull: an independent algorithm
    assert {tuple(map(float, corner)) for corner in theirs} == set(ours)
    assert all(inside_hull(ours, (float(a), float(b)), slack=1e-9) for a, b in points)


def test_points_in_a_line_have_no_hull_to_be_inside_of() -> None:
    assert not inside_hull(convex_hull([(0, 0), (1, 1), (2, 2)]), (1, 1))


def test_hatching_spares_what_was_tried() -> None:
    hole = ((30.0, 20.0), (80.0, 20.0), (80.0, 60.0), (30.0, 60.0))
    lines = hatch_lines(120, 90, 9, hole)
    assert len(lines) > len(hatch_lines(120, 90, 9)) - 1
    for start, end in lines:
        for share in np.linspace(0.01, 0.99, 25):
            x = start[0] + share * (end[0] - start[0])
            y = start[1] + share * (end[1] - start[1])
            assert not (30.01 < x < 79.99 and 20.01 < y < 59.99)
            assert -1e-9 <= x <= 120 + 1e-9
            assert -1e-9 <= y <= 90 + 1e-9


# -- colours of the map --------------------------------------------------------------------------------------


def test_white_is_lightness_one_without_colour() -> None:
    # Ottosson 2020: the D65 white point has L = 1, a = b = 0 by construction of the matrices.
    assert oklab(np.array([1.0, 1.0, 1.0])) == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)


@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_the_map_goes_in_equal_steps_of_lightness(theme: Theme) -> None:
    colours = landscape(theme.raised, theme.accent)[:, :3] / 255
    lightness = oklab(colours)[:, 0]
    steps = np.diff(lightness)
    assert (np.sign(steps) == np.sign(steps[0])).all()
    assert np.abs(steps).min() > 0.5 * np.abs(steps).max()


@pytest.mark.parametrize("theme", [LIGHT, DARK, HIGH_CONTRAST], ids=lambda theme: theme.name)
def test_contour_lines_in_the_text_colour_stand_out_on_every_step_of_the_map(theme: Theme) -> None:
    for red, green, blue, _ in landscape(theme.raised, theme.accent):
        assert contrast(theme.text, f"#{red:02x}{green:02x}{blue:02x}") >= 4.5
