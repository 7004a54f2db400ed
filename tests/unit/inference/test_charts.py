"""Charts over time: what must not matter, exact small answers, and run lengths by independent simulation."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from stirfall.inference.charts import any_signal, individuals, moving_ranges, proportions, run_signals
from stirfall.inference.charts_change import change_beyond, change_of_mean, change_of_share
from stirfall.inference.charts_false import (
    false_share_of_counts,
    false_share_of_numbers,
    false_share_of_odds_sums,
    false_share_of_sums,
)
from stirfall.inference.charts_runs import cusum_run_length, ewma_run_length, odds_limit, odds_run_length
from stirfall.inference.charts_sums import ewma, odds_cusum, tabular_cusum


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


class TestLimits:
    def test_numbers_in_other_units_give_the_same_scores(self) -> None:
        values = rng().normal(20.0, 3.0, 40)
        celsius, fahrenheit = individuals(values), individuals(1.8 * values + 32.0)
        assert celsius.scores == pytest.approx(fahrenheit.scores)
        assert moving_ranges(1.8 * values).mean == pytest.approx(1.8 * moving_ranges(values).mean)

    def test_limits_of_a_share_follow_the_trials_of_each_point(self) -> None:
        chart = proportions([2, 10], [4, 40])
        assert chart.centre == pytest.approx([12 / 44, 12 / 44])
        half = 3 * math.sqrt(12 / 44 * 32 / 44 / 40)
        assert chart.upper[1] == pytest.approx(12 / 44 + half)
        assert (chart.lower[0], chart.upper[0]) == (0.0, pytest.approx(12 / 44 + math.sqrt(10) * half))

    def test_what_never_scatters_lies_on_the_centre(self) -> None:
        assert (individuals([5.0] * 9).scores == 0).all()
        assert (proportions([3] * 9, [3] * 9).scores == 0).all()
        assert run_signals(individuals([5.0] * 9).scores) == ()
        same = np.full(9, 0.1 + 0.2)
        assert ewma(same, centre=float(same.mean()) + 1e-16, sd=0.0).alarms == ()
        assert tabular_cusum(same, target=float(same.mean()), sd=0.0).alarms == ()


class TestRules:
    @pytest.mark.parametrize(
        ("scores", "rule", "at", "since"),
        [
            ([0, 0, 3.1], "beyond_3", 2, 2),
            ([0, 2.1, -1, 2.2], "two_of_three", 3, 1),
            ([1.1, 1.2, -0.5, 1.3, 1.4], "four_of_five", 4, 0),
            ([0.1] * 8, "eight_in_row", 7, 0),
        ],
    )
    def test_each_rule_is_told_at_its_last_point(self, scores: list[float], rule: str, at: int, since: int) -> None:
        (found,) = run_signals(scores)
        assert (found.rule, found.at, found.since, found.way) == (rule, at, since, 1)
        (below,) = run_signals([-score for score in scores])
        assert (below.rule, below.at, below.way) == (rule, at, -1)

    def test_no_rule_is_met_by_a_little_less(self) -> None:
        for scores in ([3.0], [2.1, 0, 0, 2.2], [1.1, 1.2, 0, 0, 1.3, 1.4], [0.1] * 7 + [0.0] + [0.1] * 7):
            assert run_signals(scores) == ()

    def test_two_far_points_on_different_sides_are_no_signal(self) -> None:
        assert run_signals([2.5, -2.5, 0.0]) == ()

    def test_many_charts_at_once_say_the_same_as_one_by_one(self) -> None:
        scores = rng(3).normal(0, 1.2, (200, 30))
        one_by_one = [bool(run_signals(row)) for row in scores]
        assert any_signal(scores).tolist() == one_by_one
        assert 0 < sum(one_by_one) < 200

    def test_rules_against_a_count_by_hand(self) -> None:
        """An independent reading of the four rules, point by point."""
        z = rng(5).normal(0, 1.4, 400)
        met = {(signal.rule, signal.at, signal.way) for signal in run_signals(z)}
        again: set[tuple[str, int, int]] = set()
        before: set[tuple[str, int]] = set()
        for at in range(len(z)):
            now: set[tuple[str, int]] = set()
            for way in (1, -1):
                last = [way * float(each) for each in z[: at + 1]]
                if last[-1] > 3:
                    now.add(("beyond_3", way))
                if last[-1] > 2 and sum(each > 2 for each in last[-3:]) >= 2:
                    now.add(("two_of_three", way))
                if last[-1] > 1 and sum(each > 1 for each in last[-5:]) >= 4:
                    now.add(("four_of_five", way))
                if len(last) >= 8 and min(last[-8:]) > 0:
                    now.add(("eight_in_row", way))
            again |= {(rule, at, way) for rule, way in now - before}
            before = now
        assert met == again


class TestSums:
    def test_the_two_sums_are_mirror_images(self) -> None:
        values = rng().normal(0, 1, 60)
        one, other = (tabular_cusum(sign * values, target=0.0, sd=1.0) for sign in (1, -1))
        assert one.high == pytest.approx(other.low)
        assert [(at, -way) for at, way in one.alarms] == list(other.alarms)

    def test_passes_and_failures_are_mirror_images(self) -> None:
        k = rng().binomial(1, 0.5, 80)
        one = odds_cusum(k, np.ones(80), 0.7, odds_ratio=3.0, limit=3.0)
        other = odds_cusum(1 - k, np.ones(80), 0.3, odds_ratio=3.0, limit=3.0)
        assert one.high == pytest.approx(other.low)
        assert one.low == pytest.approx(other.high)

    def test_an_increment_is_the_log_likelihood_ratio(self) -> None:
        p, ratio = 0.6, 3.0
        changed = ratio * p / (1 - p + ratio * p)
        found = odds_cusum([1], [1], p, odds_ratio=ratio, limit=9.0)
        assert found.high[0] == pytest.approx(math.log(changed / p))
        failed = odds_cusum([0], [1], p, odds_ratio=1 / ratio, limit=9.0)
        down = p / ratio / (1 - p + p / ratio)
        assert failed.high[0] == pytest.approx(math.log((1 - down) / (1 - p)))

    def test_the_alarm_names_where_its_sum_left_zero(self) -> None:
        values = [0.0] * 10 + [2.0] * 10
        found = tabular_cusum(values, target=0.0, sd=1.0)
        assert found.alarms == ((13, 1),)
        assert found.since == (10,)

    def test_limits_of_an_average_are_exact(self) -> None:
        weight, i = 0.2, np.arange(1, 31)
        found = ewma(np.zeros(30), centre=0.0, sd=2.0, weight=weight)
        exact = 2.0 * np.sqrt(weight / (2 - weight) * (1 - (1 - weight) ** (2 * i)))
        assert found.sd == pytest.approx(exact)
        assert found.upper == pytest.approx(3 * exact)

    def test_an_average_is_the_weighted_sum_of_what_came(self) -> None:
        x = rng().normal(5, 1, 12)
        found = ewma(x, centre=5.0, sd=1.0, weight=0.3).values[-1]
        weights = 0.3 * 0.7 ** np.arange(11, -1, -1)
        assert found == pytest.approx(float(weights @ x + 0.7**12 * 5.0))


class TestRunLengths:
    """Against simulations that share no code with the chains."""

    def test_a_two_sided_cusum(self) -> None:
        draws = rng(11).normal(1.0, 1.0, (4000, 80))
        high = low = np.zeros(4000)
        ends = np.full(4000, 80)
        for at in range(80):
            high = np.maximum(0, high + draws[:, at] - 0.5)
            low = np.maximum(0, low - draws[:, at] - 0.5)
            ends = np.where((ends == 80) & ((high > 4) | (low > 4)), at + 1, ends)
        error = ends.std() / math.sqrt(4000)
        assert cusum_run_length(1.0, limit=4.0) == pytest.approx(ends.mean(), abs=4 * error)

    def test_an_average(self) -> None:
        draws = rng(12).normal(1.0, 1.0, (4000, 120))
        z, ends = np.zeros(4000), np.full(4000, 120)
        reach = 3 * math.sqrt(0.2 / 1.8)
        for at in range(120):
            z = 0.2 * draws[:, at] + 0.8 * z
            ends = np.where((ends == 120) & (abs(z) > reach), at + 1, ends)
        error = ends.std() / math.sqrt(4000)
        assert ewma_run_length(1.0) == pytest.approx(ends.mean(), abs=4 * error)

    def test_a_sum_of_single_passes(self) -> None:
        told, ratio, limit = 0.7, 1 / 3, 2.5
        passed = math.log(ratio) - math.log1p(told * (ratio - 1))
        failed = -math.log1p(told * (ratio - 1))
        came = rng(13).random((4000, 400)) < 0.4
        total, ends = np.zeros(4000), np.full(4000, 400)
        for at in range(400):
            total = np.maximum(0, total + np.where(came[:, at], passed, failed))
            ends = np.where((ends == 400) & (total > limit), at + 1, ends)
        error = ends.std() / math.sqrt(4000)
        found = odds_run_length(0.4, foretold=told, odds_ratio=ratio, limit=limit)
        assert found == pytest.approx(ends.mean(), abs=4 * error + 0.05)

    @pytest.mark.parametrize("p", [0.2, 0.5, 0.85])
    def test_the_limit_keeps_false_alarms_rare(self, p: float) -> None:
        limit = odds_limit(p, 3.0, 200.0)
        sides = [odds_run_length(p, foretold=p, odds_ratio=ratio, limit=limit) for ratio in (3.0, 1 / 3)]
        # Of passes and failures only some run lengths can be had.
        assert 190 < 1 / sum(1 / side for side in sides) < 320


class TestChangePoint:
    def test_a_share_against_every_sum_by_hand(self) -> None:
        """The marginal likelihood of each moment, from factorials."""
        k = [1, 1, 0, 1, 0, 0]

        def marginal(part: list[int]) -> float:
            ones, n = sum(part), len(part)
            return math.factorial(ones) * math.factorial(n - ones) / math.factorial(n + 1)

        ways = [marginal(k[:at]) * marginal(k[at:]) for at in range(1, 6)]
        odds = np.mean(ways) / marginal(k)
        found = change_of_share(k, np.ones(6))
        assert found is not None
        assert found.probability == pytest.approx(odds / (1 + odds))
        assert found.moments[1:] == pytest.approx(np.array(ways) / sum(ways))
        assert found.at == 1 + int(np.argmax(ways))

    def test_a_share_says_the_same_of_failures_and_backwards(self) -> None:
        k = rng(4).binomial(1, 0.6, 30)
        one = change_of_share(k, np.ones(30))
        other = change_of_share(1 - k, np.ones(30))
        back = change_of_share(k[::-1], np.ones(30))
        assert one is not None
        assert other is not None
        assert back is not None
        assert one.probability == pytest.approx(other.probability)
        assert one.probability == pytest.approx(back.probability)
        assert one.moments[1:] == pytest.approx(back.moments[:0:-1])

    def test_a_mean_does_not_depend_on_units(self) -> None:
        values = np.concatenate((rng(6).normal(0, 1, 15), rng(7).normal(2.5, 1, 15)))
        one, other = change_of_mean(values), change_of_mean(7.0 - 3.0 * values)
        assert one is not None
        assert other is not None
        assert one.probability == pytest.approx(other.probability)
        assert one.probability > 0.9
        assert abs(one.at - 15) <= 2

    def test_a_mean_against_an_integral_over_the_shift(self) -> None:
        """The Bayes factor of one moment by quadrature over the shift, mean and sd integrated out by formula."""
        y = rng(8).normal(0, 1, 9) + np.repeat([0.0, 1.0], [5, 4])
        step = np.repeat([0.0, 1.0], [5, 4])
        shifts = np.linspace(-12, 12, 4801)  # in sd, so that sd stands in both terms: integrate it on a grid
        sds = np.exp(np.linspace(math.log(0.15), math.log(12), 400))

        def evidence(shift: float) -> float:
            # Given sd and shift = d sd, the mean integrates to exp(-SS / 2 sd²) sd^-(m - 1); prior of sd: 1 / sd.
            d = y[None, :] - shift * sds[:, None] * step
            ss = ((d - d.mean(axis=1, keepdims=True)) ** 2).sum(axis=1)
            return float(np.trapezoid(np.exp(-ss / (2 * sds**2)) * sds ** (-len(y) + 1.0) / sds, sds))

        values = np.array([evidence(float(shift)) for shift in shifts[::20]])
        prior = np.exp(-(shifts[::20] ** 2) / 2) / math.sqrt(2 * math.pi)
        by_hand = float(np.trapezoid(values * prior, shifts[::20])) / evidence(0.0)
        found = change_of_mean(y)
        assert found is not None
        centred = step - step.mean()
        size = float(centred @ centred)
        r2 = float(centred @ (y - y.mean())) ** 2 / (size * float(((y - y.mean()) ** 2).sum()))
        formula = (1 + size) ** -0.5 * (1 - r2 * size / (1 + size)) ** (-(len(y) - 1) / 2)
        assert formula == pytest.approx(by_hand, rel=0.01)
        total = math.exp(found.log_factor) * (len(y) - 1)
        assert found.moments[5] * total == pytest.approx(formula, rel=1e-6)

    def test_what_was_foretold_is_no_change(self) -> None:
        """The same outcomes: a change of the share, none beyond what the conditions foretold."""
        k = np.array([1, 1, 1, 0, 1, 1, 1] * 2 + [0, 0, 0, 1, 0, 0, 0] * 2)
        told = np.repeat([0.85, 0.15], 14)
        share, beyond = change_of_share(k, np.ones(28)), change_beyond(k, np.ones(28), told)
        assert share is not None
        assert beyond is not None
        assert share.probability > 0.95
        assert beyond.probability < 0.5

    def test_beyond_against_an_independent_sum(self) -> None:
        k, n = np.array([1, 1, 1, 0, 0, 0]), np.ones(6)
        p = np.array([0.6, 0.5, 0.7, 0.6, 0.4, 0.5])
        shifts = np.random.default_rng(9).normal(0, 1, 200_000)

        def marginal(part: slice) -> float:
            odds = np.log(p[part] / (1 - p[part]))[:, None] + shifts
            chance = 1 / (1 + np.exp(-odds))
            return float(np.where(k[part][:, None] == 1, chance, 1 - chance).prod(axis=0).mean())

        ways = [marginal(slice(0, at)) * marginal(slice(at, 6)) for at in range(1, 6)]
        odds = np.mean(ways) / marginal(slice(0, 6))
        found = change_beyond(k, n, p)
        assert found is not None
        assert found.probability == pytest.approx(odds / (1 + odds), abs=0.01)

    def test_too_little_says_nothing(self) -> None:
        assert change_of_share([1], [1]) is None
        assert change_of_mean([1.0, 2.0]) is None
        assert change_of_mean([2.0] * 9) is None
        assert change_beyond([1], [1], [0.5]) is None

    def test_without_a_change_a_high_probability_is_rare(self) -> None:
        """Calibrated: of campaigns half of which change as the prior says, a told 80 % is right as often."""
        draws = rng(10)
        told, true = [], []
        for _ in range(400):
            changes = draws.random() < 0.5
            at = int(draws.integers(1, 30))
            first, second = draws.random(2)
            p = np.where(np.arange(30) < at, first, second if changes else first)
            found = change_of_share(draws.random(30) < p, np.ones(30))
            assert found is not None
            told.append(found.probability)
            true.append(changes)
        chances, changed = np.array(told), np.array(true)
        for low, high in itertools.pairwise((0.0, 0.4, 0.6, 1.0)):
            within = (chances >= low) & (chances < high)
            error = 3.5 * math.sqrt(0.25 / within.sum())
            assert changed[within].mean() == pytest.approx(chances[within].mean(), abs=error)


class TestFalseShares:
    def test_shares_rise_with_the_length_of_the_chart(self) -> None:
        short, long = false_share_of_numbers(15), false_share_of_numbers(120)
        assert short is not None
        assert long is not None
        assert 0.03 < short < 0.4 < long < 0.9

    def test_a_long_campaign_is_not_simulated(self) -> None:
        assert false_share_of_numbers(5000) is None
        assert false_share_of_counts(np.ones(5000), 0.5, [0, 2500]) is None

    def test_counts_with_what_was_foretold(self) -> None:
        told = np.tile([0.2, 0.8], 60)
        found = false_share_of_counts(np.ones(120), told, list(range(0, 120, 5)))
        assert found is not None
        assert found == false_share_of_counts(np.ones(120), told, list(range(0, 120, 5)))
        assert 0.02 < found < 0.5

    def test_sums_around_what_few_attempts_gave_alarm_as_often_as_is_said(self) -> None:
        """Held against the charts themselves, one by one, on numbers of another generator."""
        rng = np.random.default_rng(77)
        alarmed = 0
        for _ in range(300):
            y = rng.standard_normal(60)
            first = individuals(y, base=30)
            target, sd = float(first.centre[0]), float(first.sd[0])
            sums, average = tabular_cusum(y, target=target, sd=sd), ewma(y, centre=target, sd=sd)
            alarmed += bool(sums.alarms or average.alarms)
        found = false_share_of_sums(60, 30)
        assert found == pytest.approx(alarmed / 300, abs=0.09)
        assert false_share_of_sums(5000, 50) is None

    def test_sums_of_passes_alarm_as_often_as_is_said(self) -> None:
        rng = np.random.default_rng(78)
        alarmed, ones = 0, np.ones(60)
        for _ in range(300):
            k = (rng.random(60) < 0.5).astype(float)
            aim = (k[:30].sum() + 1.0) / 32.0
            sums = odds_cusum(k, ones, aim, odds_ratio=3.0, limit=4.0)
            average = ewma(k, centre=aim, sd=math.sqrt(aim * (1.0 - aim)), weight=0.1)
            wide = average.sd > 0.07
            alarmed += bool(sums.alarms) or any(wide[at] for at, _ in average.alarms)
        found = false_share_of_odds_sums(ones, 0.5, 30, odds_ratio=3.0, limit=4.0, weight=0.1, least=0.07)
        assert found == pytest.approx(alarmed / 300, abs=0.09)
        told = np.full(60, 0.5)
        known = false_share_of_odds_sums(ones, told, 0, odds_ratio=3.0, limit=4.0, weight=0.1, least=0.07)
        assert known is not None
        assert found is not None
        assert known < found
