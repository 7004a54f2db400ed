"""Separation: by definition in small cases, by brute force over directions, and in words that name the cause."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.borders import border_of, levels_of, range_of
from stirfall.inference.chance import of_border, of_level, of_plane, of_range
from stirfall.inference.design import Design, contrasts
from stirfall.inference.estimable import columns_of
from stirfall.inference.firth import fit_firth
from stirfall.inference.gate_rows import rows_of_gates
from stirfall.inference.ml import fit_ml
from stirfall.inference.separation import is_separated, recession
from stirfall.inference.separations import independent_columns, separation_in, separation_of
from stirfall.inference.table import build_table
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import analyse
from stirfall.session.separation import separations_of

AGE = Factor("sample age", "h", 1, 100, Scale.LOG)
WARMTH = Factor("temperature", "C", 100, 200)
OIL = Factor("oil", levels=("new", "used", "dried"))


def ones(k):
    return np.ones(len(k))


def found(factors, columns, k, n=None, gate="parted", **shape):
    k = np.asarray(k, dtype=float)
    columns = {name: np.asarray(values, dtype=float) for name, values in columns.items()}
    return separation_in(Design(factors, **shape), columns, k, ones(k) if n is None else np.asarray(n, float), gate)


def words(separation):
    return sentence(separation.code, separation.params)


def ways(separation):
    return {term.name: way for term, way in separation.ways}


# Recession directions


def brute_force(X, k, n, grid):
    """Return the signs that each coefficient takes in the directions of a grid that recede."""
    directions = np.array(list(itertools.product(grid, repeat=X.shape[1])))
    eta = directions @ X.T
    fine = np.where(k >= n, eta >= 0, np.where(k <= 0, eta <= 0, eta == 0)).all(axis=1)
    kept = directions[fine]
    return kept[(kept @ X.T != 0).any(axis=1)]


def expected_ways(kept, columns):
    told = []
    for column in range(columns):
        up, down = (kept[:, column] > 0).any(), (kept[:, column] < 0).any()
        told.append("either" if up and down else "up" if up else "down" if down else "finite")
    return tuple(told)


small = st.tuples(st.sampled_from([-1, 0, 1]), st.sampled_from([0, 1]), st.integers(0, 2), st.integers(0, 2))


@given(st.lists(small, min_size=3, max_size=8))
def test_infinite_coefficients_are_those_that_a_search_over_all_directions_finds(rows):
    # Extreme directions of so small a table are whole numbers of at most 2, so that the grid holds them all.
    X = np.array([[1, x, z] for x, z, _, _ in rows], dtype=float)
    k = np.array([good for _, _, good, _ in rows], dtype=float)
    n = np.array([good + bad for _, _, good, bad in rows], dtype=float)
    X, k, n = X[n > 0], k[n > 0], n[n > 0]
    if len(independent_columns(X)) < 3:
        return
    kept = brute_force(X, k, n, (-2, -1, 0, 1, 2))
    told = recession(X, k, n, np.eye(3))
    if not len(kept):
        assert told is None
        return
    assert told is not None
    assert told.ways == expected_ways(kept, 3)
    finest = brute_force(X, k, n, (-4, -3, -2, -1, 0, 1, 2, 3, 4))
    assert told.is_complete == ((finest @ X.T != 0).all(axis=1).any())


def test_what_is_infinite_grows_as_the_penalty_fades_and_the_rest_settles():
    """With every row taken ten times as often, Firth's estimate follows the maximum-likelihood one on its way."""
    X = np.column_stack([np.ones(8), [0, 0, 0, 0, 1, 1, 1, 1], [0, 1, 2, 3, 0, 1, 2, 3]]).astype(float)
    k, n = np.array([2.0, 2, 3, 1, 4, 4, 4, 4]), np.full(8, 4.0)
    told = recession(X, k, n, np.eye(3))
    assert told.ways == ("finite", "up", "finite")
    steps = [fit_firth(X, k * times, n * times).estimate for times in (1, 10, 100, 1000)]
    growth = np.abs(np.diff(steps, axis=0))
    assert growth[-1, 1] == pytest.approx(math.log(10), abs=0.01)
    assert (growth[-1, [0, 2]] < 0.01).all()
    without = fit_ml(X[:4][:, [0, 2]], k[:4], n[:4])
    assert steps[-1][[0, 2]] == pytest.approx(without.estimate, abs=0.01)


def test_a_choice_is_told_level_by_level_in_sums_to_zero():
    X = np.column_stack([np.ones(6), contrasts(3)[[0, 0, 1, 1, 2, 2]]])
    k = np.array([1.0, 0, 1, 0, 1, 1])
    levels = np.column_stack([np.zeros(3), contrasts(3)])
    told = recession(X, k, ones(k), np.vstack([levels, levels[0] - levels[1]]))
    assert told.ways == ("down", "down", "up", "finite")
    assert not told.is_complete


def test_units_do_not_matter():
    X = np.column_stack([np.ones(6), 1e9 + np.arange(6.0), 1e-9 * np.array([1, 0, 1, 0, 0, 1])])
    told = recession(X, np.array([0.0, 0, 0, 1, 1, 1]), np.ones(6), np.eye(3))
    assert told.is_complete
    assert told.ways[:2] == ("down", "up")
    assert recession(X, np.array([0.0, 1, 0, 1, 0, 1]), np.ones(6), np.eye(3)[:0]) is None


def test_many_rows_are_told_apart_by_the_few_that_matter():
    """More rows than go to the solver at once: the answer is that of a cloud whose border is known."""
    rng = np.random.default_rng(4)
    X = np.column_stack([np.ones(3000), rng.uniform(-1, 1, (3000, 3))])
    k = (X[:, 1] + X[:, 2] > 0).astype(float)
    assert recession(X, k, ones(k), np.eye(4)).ways[1:3] == ("up", "up")
    assert recession(X, k, ones(k), np.eye(4)).is_complete
    middle = np.argmin(np.abs(X[:, 1] + X[:, 2]))
    crossed = k.copy()
    crossed[middle] = 1 - k[middle]
    far = np.argmax(X[:, 1] + X[:, 2])
    crossed[far] = 0
    assert recession(X, crossed, ones(k), np.eye(4)) is None
    high = X[:, 3] > 0
    step = np.column_stack([np.ones(3000), high, X[:, 1]]).astype(float)
    k = np.where(high, 1.0, rng.random(3000) < 0.5)
    quasi = recession(step, k, ones(k), np.eye(3))
    assert (quasi.ways, quasi.is_complete) == (("finite", "up", "finite"), False)


# Findings


def test_a_gap_in_one_number_is_named_with_its_ends():
    ages = [1, 2, 3, 6, 12, 24, 36, 48, 96]
    separation = found((AGE,), {"sample age": ages}, [0, 0, 0, 0, 0, 1, 1, 1, 1])
    assert (separation.code, separation.is_complete, separation.factors) == (
        "separation.by_number",
        True,
        ("sample age",),
    )
    assert "24" in words(separation)
    assert "12" in words(separation)
    assert "failed to part" in words(separation)
    assert separation.means.code == "separation.means_between"
    assert ways(separation) == {"(intercept)": "down", "sample age": "up"}


def test_a_gap_the_other_way_round():
    separation = found((AGE,), {"sample age": [1, 6, 12, 24, 48]}, [1, 1, 1, 0, 0], gate="pooled")
    assert "24 h or above failed to become one pool" in words(separation).replace("\u2009", " ")
    assert ways(separation)["sample age"] == "down"


def test_one_value_with_both_outcomes_is_an_edge():
    ages = [1, 2, 3, 4, 6, 24, 24, 48, 60, 72, 96]
    separation = found((AGE,), {"sample age": ages}, [0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1])
    assert separation.code == "separation.by_number_edge"
    assert not separation.is_complete
    assert separation.trials == 9
    assert separation.means.code == "separation.means_close"


@pytest.mark.parametrize(
    ("turned", "code"), [(False, "separation.by_number_above"), (True, "separation.by_number_below")]
)
def test_one_side_alone_is_said_as_such(turned, code):
    ages = np.array([24.0, 24, 24, 48, 96])
    separation = found((AGE,), {"sample age": 100 / ages if turned else ages}, [0, 1, 0, 1, 1])
    assert separation.code == code
    assert separation.trials == 2


def test_a_level_with_one_outcome_only():
    separation = found((OIL,), {"oil": [0, 0, 1, 1, 2, 2]}, [1, 0, 1, 1, 0, 1], gate="clean")
    assert words(separation) == "Every attempt with oil “used” came out clean (2 of them)."
    assert ways(separation) == {
        "(intercept)": "up",
        "oil: new": "down",
        "oil: used": "up",
        "oil: dried": "down",
    }


def test_a_range_needs_a_hump_in_the_model():
    columns, k = {"sample age": [1, 3, 10, 20, 50, 90]}, [0, 0, 1, 1, 0, 0]
    assert found((AGE,), columns, k) is None
    separation = found((AGE,), columns, k, humps=("sample age",))
    assert separation.code == "separation.by_range"
    assert ways(separation)["sample age squared"] == "down"
    other = found((AGE,), columns, 1 - np.array(k), humps=("sample age",))
    assert "from 10 h to 20 h failed to part" in words(other).replace("\u2009", " ")


@pytest.mark.parametrize(
    ("rows", "factors", "code"),
    [
        (4, (AGE,), "separation.means_chance"),
        (4, (AGE, WARMTH), "separation.means_chance_also"),
        (12, (AGE,), "separation.means_between"),
        (12, (AGE, WARMTH), "separation.means_which"),
    ],
)
def test_what_it_means_depends_on_whether_it_may_be_chance_and_on_rivals(rows, factors, code):
    columns = {"sample age": np.linspace(1, 90, rows), "temperature": np.linspace(110, 190, rows)}
    separation = found(factors, {f.name: columns[f.name] for f in factors}, np.arange(rows) >= rows / 2)
    assert separation.means.code == code
    assert (separation.chance > 0.05) == (rows == 4)


def test_one_attempt_is_not_called_many():
    assert "only attempt so far failed to part" in words(found((AGE,), {"sample age": [5]}, [0]))
    separation = found((OIL,), {"oil": [0, 0, 1, 2, 2]}, [1, 0, 1, 1, 0], gate="pooled")
    assert words(separation) == "The only parted attempt with oil “used” became one pool."


def test_two_numbers_together_where_none_does_it_alone():
    x, z = np.array([1, 2, 3, 4, 5, 6.0]), np.array([6, 4, 5, 2, 3, 1.0])
    first, second = Factor("x", low=0, high=7), Factor("z", low=0, high=7)
    noise = Factor("noise", low=0, high=1)
    k = (x + z > 6.5).astype(float)
    columns = {"x": x, "z": z, "noise": [0, 1, 1, 0, 1, 0]}
    assert 0 < k.sum() < 6
    separation = found((noise, first, second), columns, k)
    assert separation.code == "separation.by_combination"
    assert separation.factors == ("x", "z")
    assert "x, z" in words(separation)


def test_other_factors_that_do_it_too_are_named():
    columns = {"sample age": [1, 6, 12, 24], "temperature": [110, 120, 130, 140]}
    separation = found((AGE, WARMTH), columns, [0, 0, 1, 1])
    assert {*separation.factors, *separation.also} == {"sample age", "temperature"}


def test_factors_that_always_moved_together_leave_the_terms_untold():
    twin = Factor("twin", "C", 100, 200)
    columns = {"temperature": [110, 120, 130, 140], "twin": [110, 120, 130, 140]}
    separation = found((WARMTH, twin), columns, [0, 0, 1, 1])
    assert separation.code == "separation.by_number"
    assert separation.ways == ()
    assert separation.infinite == separation.finite == ()


def test_all_alike_says_so():
    separation = found((AGE,), {"sample age": [1, 6, 12]}, [2, 2, 2], [2, 2, 2])
    assert separation.code == "separation.all_alike"
    assert "(6) parted" in words(separation)
    assert found((AGE,), {"sample age": []}, []) is None
    assert found((AGE,), {"sample age": [1, 2]}, [0, 0], [0, 0]) is None


def test_overlap_and_constant_factors_are_no_separation():
    assert found((AGE,), {"sample age": [1, 6, 12, 24]}, [0, 1, 0, 1]) is None
    assert found((AGE,), {"sample age": [6, 6, 6, 6]}, [0, 1, 0, 1]) is None


rows = st.tuples(
    st.sampled_from([1.0, 3.0, 9.0, 27.0, 81.0]),
    st.sampled_from([110.0, 150.0, 199.999999]),
    st.integers(0, 2),
    st.booleans(),
)


@given(st.lists(rows, max_size=14), st.booleans())
def test_any_rows_give_a_sentence_or_none_and_agree_with_the_existence_of_a_fit(some, humped):
    age, warmth, oil, k = (np.array([row[place] for row in some], dtype=float) for place in range(4))
    columns = {"sample age": age, "temperature": warmth, "oil": oil}
    shape = {"humps": ("sample age",)} if humped else {}
    separation = found((AGE, WARMTH, OIL), columns, k, **shape)
    if separation is not None:
        assert words(separation).endswith(".")
        assert "{" not in words(separation)
        assert sentence(separation.means.code, separation.means.params).endswith(".")
        if separation.ways:
            assert separation.infinite
        assert not (separation.is_complete and separation.ways) or separation.infinite
    if not len(k) or k.sum() in (0, len(k)):
        assert (separation is None) == (not len(k))
        return
    kept = [name for name, column in columns.items() if len(np.unique(column)) > 1]
    design = Design((AGE, WARMTH, OIL), **shape)
    X = design.matrix(columns, rows=len(k))
    independent = X[:, independent_columns(X)]
    assert (separation is None) == fit_ml(independent, k, ones(k)).exists
    assert kept or separation is None


# Chance


def all_outcomes(trials, successes):
    for places in itertools.combinations(range(trials), successes):
        k = np.zeros(trials)
        k[list(places)] = 1.0
        yield k


@pytest.mark.parametrize(("trials", "successes"), [(5, 2), (6, 3), (7, 1)])
def test_the_chance_of_a_border_is_the_share_of_all_outcomes_that_have_one(trials, successes):
    values = np.arange(trials, dtype=float)
    hits = [border_of(values, k, ones(k)) is not None for k in all_outcomes(trials, successes)]
    assert of_border([1] * trials, successes) == pytest.approx(np.mean(hits))


@pytest.mark.parametrize("sizes", [(1, 1, 1, 2, 1, 1), (3, 4), (2, 2, 3), (1, 5, 1)])
@pytest.mark.parametrize("successes", [1, 3, 4])
def test_the_same_with_several_attempts_at_one_value(sizes, successes):
    values = np.repeat(np.arange(len(sizes)), sizes).astype(float)
    hits = [border_of(values, k, ones(k)) is not None for k in all_outcomes(7, successes)]
    assert of_border(sizes, successes) == pytest.approx(np.mean(hits))


@pytest.mark.parametrize("sizes", [(2, 2, 2), (3, 2, 1), (4, 2)])
def test_the_chance_of_a_level_of_one_kind_is_bounded(sizes):
    index = np.repeat(np.arange(len(sizes)), sizes).astype(float)
    hits = [levels_of(index, k, ones(k)) is not None for k in all_outcomes(6, 3)]
    assert np.mean(hits) <= of_level(6, 3, sizes) + 1e-12


def test_the_chance_of_a_range_is_bounded():
    values = np.arange(8.0)
    hits = [
        border_of(values, k, ones(k)) is not None or range_of(values, k, ones(k)) is not None
        for k in all_outcomes(8, 4)
    ]
    assert np.mean(hits) <= of_range(8, 4, 8) <= 1.0


def test_the_chance_of_a_plane_is_the_share_of_all_outcomes_in_general_position():
    # Cover 1965, IEEE Transactions on Electronic Computers 14:326, counted out for 7 points in the plane
    X = np.column_stack([np.ones(7), np.random.default_rng(5).normal(size=(7, 2))])
    hits = [is_separated(X, np.array(k, float), np.ones(7)) for k in itertools.product((0, 1), repeat=7)]
    assert of_plane(7, 3) == pytest.approx(np.mean(hits))
    assert of_plane(3, 3) == pytest.approx(1.0)
    assert of_plane(10**6, 8) < 1e-100


# From a campaign


def campaign(rows, material=MaterialClass.BASE_METAL):
    factors = (Factor("sample age", "h", 1, 100, Scale.LOG, role=Role.SAMPLE_AGE), WARMTH)
    attempts = tuple(
        Attempt(str(i), i + 1, Conditions({"sample age": age, "temperature": warmth}), parted=parted, pooled=pooled)
        for i, (age, warmth, parted, pooled) in enumerate(rows)
    )
    return CampaignState(CampaignSettings(material=material), factors, attempts=attempts)


ROWS = (
    (2.0, 150.0, Parted.NO, None),
    (4.0, 140.0, Parted.NO, None),
    (8.0, 160.0, Parted.NO, None),
    (24.0, 150.0, Parted.YES, Pooled.ONE_POOL),
    (30.0, 160.0, Parted.YES, Pooled.BEADS),
    (48.0, 140.0, Parted.YES, Pooled.ONE_POOL),
    (60.0, 130.0, Parted.YES, Pooled.BEADS),
)


def test_each_gate_has_its_own_finding_and_the_values_come_back_from_the_rows():
    design, table = build_table(campaign(ROWS))
    rows = rows_of_gates(table, design)
    back = columns_of(design, rows["parted"].X)
    assert back["sample age"] == pytest.approx(table.columns["sample age"])
    assert back["temperature"] == pytest.approx(table.columns["temperature"])
    parted = separation_of(rows["parted"], design, "parted")
    assert "at 24 h or above parted" in words(parted).replace("\u2009", " ")
    assert "at 8 h or below failed to part" in words(parted).replace("\u2009", " ")


def test_the_session_gives_one_finding_per_separated_gate():
    separations = separations_of(analyse(campaign(ROWS)))
    assert separations[0].gate == "parted"
    assert separations[0].factors == ("sample age",)


def test_an_exposure_that_rivals_another_factor_is_no_advice_for_a_superoxide_former():
    rows = [(age, 110.0 + 10 * place, parted, pooled) for place, (age, _, parted, pooled) in enumerate(ROWS)]
    separation = separations_of(analyse(campaign(rows, MaterialClass.SUPEROXIDE_FORMER)))[0]
    assert {*separation.factors, *separation.also} == {"sample age", "temperature"}
    assert separation.means.code == "separation.means_limits"
    assert separation.code == "separation.by_exposure"


def test_nothing_invites_a_longer_exposure_of_a_superoxide_former():
    first = separations_of(analyse(campaign(ROWS, MaterialClass.SUPEROXIDE_FORMER)))[0]
    assert first.code == "separation.by_exposure"
    assert first.means.code == "separation.means_limits"
    said = words(first) + sentence(first.means.code, first.means.params)
    assert "24" not in said
    assert "above" not in said
