"""Comparisons of a campaign: groups, measures, lots, the model, what is left out, and how many were asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from scipy import stats

from stirfall.bench.campaign import CampaignState
from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot, Masses, Origin
from stirfall.bench.run_facts import RunFacts
from stirfall.bench.running import EventKind, Run, RunEvent, Step
from stirfall.inference.proportions import Stratified, boschloo, fisher
from stirfall.reporting.compare_json import compared_json
from stirfall.reporting.compare_words import all_lines, headline, short_headline
from stirfall.session.analysis import Analysis, analyse
from stirfall.session.comparing import compare, members, subjects
from stirfall.session.comparing_many import holm
from stirfall.session.comparing_records import Adjusted, BlockedMeans
from stirfall.session.comparing_text import read_group, write_group
from stirfall.session.comparing_warnings import in_common, within_each_other

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("age", "h", 1.0, 100.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("bath", "C", 140.0, 180.0),
    Factor("additive", levels=("none", "rosin")),
)
NONE, ROSIN = Group("factor:additive", level="none"), Group("factor:additive", level="rosin")


def attempt(
    number: int, *, clean: bool | None = True, additive: str = "none", lot: str = "L1", **other: object
) -> Attempt:
    """Return a graded attempt; ages and baths run through their range in a fixed order."""
    parted = None if clean is None else Parted.YES
    pooled = None if clean is None else Pooled.ONE_POOL if clean else Pooled.BEADS
    values: dict[str, float | str] = {
        "age": float(other.pop("age", 2.0 + 7.0 * (number % 9))),  # type: ignore[arg-type]
        "bath": 145.0 + 5.0 * (number % 6),
        "additive": additive,
    }
    made = Attempt(
        f"a{number}",
        number,
        Conditions(values),
        started_at=START + timedelta(days=number // 4, hours=number % 4),
        lot_id=lot,
        parted=parted,
        pooled=pooled,
    )
    return replace(made, **other)  # type: ignore[arg-type]


def campaign(attempts: Sequence[Attempt], **settings: object) -> CampaignState:
    given: dict[str, object] = {"material": MaterialClass.BASE_METAL, "lot_effect": "lot", **settings}
    return CampaignState(
        CampaignSettings(**given),  # type: ignore[arg-type]
        FACTORS,
        lots=(Lot("L1", START, solids_percent=20.0), Lot("L2", START, solids_percent=30.0)),
        jars=(Jar("J1", "L2", START, oil="white oil"),),
        attempts=tuple(attempts),
    )


def counted(first: str, second: str, *, lots: str = "L1L2") -> list[Attempt]:
    """Return attempts without and with rosin, clean where the letter is x; lots in turn."""
    made = []
    marks = [("none", mark) for mark in first] + [("rosin", mark) for mark in second]
    names = [lots[at : at + 2] for at in range(0, len(lots), 2)]
    for number, (additive, mark) in enumerate(marks, 1):
        made.append(attempt(number, clean=mark == "x", additive=additive, lot=names[number % len(names)]))
    return made


def asked(first: Group = NONE, second: Group = ROSIN, measure: Measure = Measure.CLEAN) -> Comparison:
    return Comparison("c1", START, first, second, measure)


@pytest.fixture(scope="module")
def alike() -> Analysis:
    return analyse(campaign(counted("xx.x.x...", "xxx.xx.xx.")), refined=True)


class TestShares:
    def test_counts_intervals_and_tests_are_those_of_the_plain_table(self, alike: Analysis) -> None:
        found = compare(alike, asked())
        assert (found.first.k, found.first.n, found.second.k, found.second.n) == (4, 9, 7, 10)
        assert found.shares is not None
        assert found.shares.boschloo == boschloo(4, 9, 7, 10)
        assert found.p == boschloo(4, 9, 7, 10).two_sided
        assert found.verdict == "apart"
        assert (
            headline(found)
            == "Additive none (4 of 9) against additive rosin (7 of 10): the data do not tell them apart."
        )
        assert short_headline(found) == "4 of 9 against 7 of 10: the data do not tell them apart."
        assert not any("significant" in line for line in all_lines(found))

    def test_swapped_groups_say_the_same_the_other_way_round(self, alike: Analysis) -> None:
        here, there = compare(alike, asked()), compare(alike, asked(ROSIN, NONE))
        assert here.shares is not None
        assert there.shares is not None
        assert there.shares.hybrid.value == pytest.approx(-here.shares.hybrid.value)
        assert there.p == pytest.approx(here.p)
        assert isinstance(here.adjusted, Adjusted)
        assert isinstance(there.adjusted, Adjusted)
        assert here.adjusted.probability + there.adjusted.probability == pytest.approx(1.0, abs=1e-9)
        assert here.many is not None
        assert there.many is not None
        assert here.many.adjusted == pytest.approx(there.many.adjusted)

    def test_the_same_seed_gives_the_same_answer(self, alike: Analysis) -> None:
        assert compare(alike, asked(), seed=4) == compare(alike, asked(), seed=4)

    def test_lots_are_compared_with_themselves(self, alike: Analysis) -> None:
        found = compare(alike, asked())
        assert isinstance(found.blocked, Stratified)
        assert {lot.name for lot in found.blocked.used} == {"L1", "L2"}
        assert sum(lot.n1 + lot.n2 for lot in found.blocked.used) == 19

    def test_a_great_difference_is_beyond_chance(self) -> None:
        in_turn = [
            attempt(n, clean=n % 2 == 0, additive="none" if n % 2 else "rosin", lot=f"L{1 + n // 2 % 2}")
            for n in range(1, 29)
        ]
        found = compare(analyse(campaign(in_turn), refined=True), asked())
        assert found.verdict == "beyond"
        assert "additive rosin is better, beyond chance" in headline(found)
        # The same counts, but all of the one before all of the other: it may be practice as well.
        one_after_the_other = compare(analyse(campaign(counted("." * 14, "x" * 14)), refined=True), asked())
        assert one_after_the_other.verdict == "beyond"
        assert one_after_the_other.headline.code == "compare.headline_else_beyond"
        assert found.cannot_tell is not None
        assert found.cannot_tell.observed is not None
        assert found.cannot_tell.observed.more_first == 0

    def test_a_weaker_difference_is_not_said_more_surely_where_something_else_differs(self) -> None:
        # 5 of 9 before, 8 of 9 after: nothing in common in time, so it is not called that of the additive.
        found = compare(analyse(campaign(counted("x.x.x...x", "xxxxxxxx."))), asked())
        assert found.verdict == "probably"
        assert found.headline.code == "compare.headline_else_probably"
        assert "better" not in headline(found)

    def test_lots_that_do_not_go_along_are_heard_before_it_is_probable(self) -> None:
        # Four in five of one group from the good lot: 11 of 15 against 5 of 15, within the lots next to nothing.
        good, bad = "xxxxxxxxxx..", "..x"
        made = [attempt(n, clean=mark == "x", lot="L1") for n, mark in enumerate(good, 1)]
        made += [attempt(20 + n, clean=mark == "x", lot="L2") for n, mark in enumerate(bad, 1)]
        made += [attempt(2 * n, clean=mark == "x", additive="rosin", lot="L1") for n, mark in enumerate("xx.", 15)]
        made += [
            attempt(2 * n + 1, clean=mark == "x", additive="rosin", lot="L2")
            for n, mark in enumerate("xxx.........", 15)
        ]
        found = compare(analyse(campaign(made)), asked())
        assert (found.first.k, found.second.k) == (11, 5)
        assert found.probability is not None
        assert found.probability > 0.95
        assert isinstance(found.blocked, Stratified)
        assert found.blocked.value > 0.0
        assert found.blocked.greater > 0.1
        assert found.verdict == "apart"
        assert found.p is not None
        assert found.p <= 0.05
        assert found.headline.code == "compare.headline_lots_apart"

    def test_a_single_attempt_is_never_beyond_chance(self) -> None:
        made = [attempt(n, clean=n > 1, additive="rosin" if n > 1 else "none") for n in range(1, 42)]
        found = compare(analyse(campaign(made)), asked())
        assert found.p is not None
        assert found.p <= 0.05
        assert found.verdict != "beyond"

    def test_rows_of_many_trials_are_warned_of_as_many_attempts(self) -> None:
        made = [
            replace(attempt(n, clean=None, additive=additive, lot=lot), successes=k, trials=20)
            for n, (additive, lot, k) in enumerate((("none", "L1", 4), ("rosin", "L2", 18)), 1)
        ]
        found = compare(analyse(campaign(made, gates=1)), asked())
        assert "compare.no_lot_shared" in [each.code for each in found.warnings]
        assert "better" not in headline(found)

    def test_what_only_lots_make_is_not_called_better(self) -> None:
        # The good lot has nearly all the rosin; within each lot both are alike.
        made = [attempt(n, clean=n % 5 > 0, additive="rosin", lot="L1") for n in range(1, 21)]
        made += [attempt(20 + n, clean=n % 5 > 0, lot="L1") for n in range(1, 6)]
        made += [attempt(30 + n, clean=n % 5 == 0, lot="L2") for n in range(1, 21)]
        made += [attempt(60 + n, clean=n % 5 == 0, additive="rosin", lot="L2") for n in range(1, 6)]
        found = compare(analyse(campaign(made), refined=True), asked())
        assert found.p is not None
        assert found.p < 0.05
        assert isinstance(found.blocked, Stratified)
        assert found.blocked.p > 0.5
        assert found.verdict == "apart"
        assert found.headline.code in ("compare.headline_plain_only", "compare.headline_contradicted")

    def test_the_gates_are_counted_as_the_model_counts_them(self) -> None:
        partly = replace(attempt(20), parted=Parted.PARTLY, pooled=Pooled.ONE_POOL)
        unseen = replace(attempt(21), pooled=None)
        made = [*counted("x.x.", "xx.."), partly, unseen]
        for rule, parted, clean in (("failed", (5, 6), (2, 5)), ("success", (6, 6), (3, 5))):
            analysis = analyse(campaign(made, partly=rule))
            found = compare(analysis, asked(measure=Measure.PARTED))
            assert (found.first.k, found.first.n) == parted
            assert (compare(analysis, asked()).first.k, compare(analysis, asked()).first.n) == clean
            pooled = compare(analysis, asked(measure=Measure.POOLED))
            assert (pooled.first.k, pooled.first.n) == (clean[0], 4 if rule == "failed" else 5)

    def test_what_does_not_count_is_said(self) -> None:
        made = counted("xx.x", "x..x")
        made += [
            replace(attempt(10), struck_reason="typed twice"),
            replace(attempt(11, additive="rosin"), aborted=True),
            attempt(12, clean=None),
        ]
        found = compare(analyse(campaign(made)), asked())
        assert (found.first.left_out.struck, found.second.left_out.aborted, found.first.left_out.unknown) == (
            1,
            1,
            1,
        )
        codes = {note.code for note in found.notes}
        assert {"compare.left_struck", "compare.left_aborted", "compare.left_unknown_clean"} <= codes

    def test_attempts_of_both_groups_are_taken_out(self, alike: Analysis) -> None:
        found = compare(alike, asked(Group("lot", level="L1"), ROSIN))
        shared = sum(
            each.lot_id == "L1" and each.conditions["additive"] == "rosin" for each in alike.state.attempts
        )
        assert found.first.left_out.shared == shared > 0
        assert not {dot.attempt_id for dot in found.first.dots} & {dot.attempt_id for dot in found.second.dots}
        assert any(note.code == "compare.left_shared" for note in found.notes)

    def test_an_empty_group_is_said_plainly(self, alike: Analysis) -> None:
        found = compare(alike, asked(Group("lot", level="L9"), ROSIN))
        assert found.verdict == "nothing"
        assert headline(found) == "Nothing to compare yet: lot L9 has no graded attempt."
        assert compared_json(found)["difference"] is None
        nobody = compare(analyse(campaign(())), asked())
        assert nobody.headline.code == "compare.both_empty"

    def test_plain_counts_of_trials_count_as_so_many(self) -> None:
        made = [
            replace(attempt(n, clean=None, additive=additive), successes=k, trials=5)
            for n, (additive, k) in enumerate((("none", 1), ("none", 2), ("rosin", 4), ("rosin", 5)), 1)
        ]
        found = compare(analyse(campaign(made, gates=1)), asked())
        assert (found.first.k, found.first.n, found.second.k, found.second.n) == (3, 10, 9, 10)
        assert any(note.code == "compare.trials_independent" for note in found.notes)
        assert "trials" in " ".join(all_lines(found))

    def test_a_difference_that_cannot_matter_is_refused(self, alike: Analysis) -> None:
        for wrong in (0.0, -1.0, 1.5, float("nan")):
            with pytest.raises(InputError, match=r"compare\.matters"):
                compare(alike, asked(), matters=wrong)

    def test_a_cancelled_comparison_stops(self, alike: Analysis) -> None:
        token = CancelToken()
        token.cancel()
        with pytest.raises(Cancelled):
            compare(alike, asked(), token=token)


class TestAdjusted:
    def test_a_factor_of_the_model_is_set_to_both_values(self, alike: Analysis) -> None:
        found = compare(alike, asked()).adjusted
        assert isinstance(found, Adjusted)
        assert found.how == "factor"
        assert found.rows == 19
        assert found.first.value - found.second.value == pytest.approx(found.difference.value)
        assert found.second_at == Reason("compare.adjust_at", {"name": "additive", "value": "rosin"})

    def test_two_ages_are_set_to_their_medians(self, alike: Analysis) -> None:
        young, old = Group("factor:age", high=20.0), Group("factor:age", low=30.0)
        found = compare(alike, asked(young, old)).adjusted
        assert isinstance(found, Adjusted)
        assert found.how == "factor"

    def test_what_attempts_share_is_set_to_both_lots(self, alike: Analysis) -> None:
        found = compare(alike, asked(Group("lot", level="L1"), Group("lot", level="L2")))
        assert isinstance(found.adjusted, Adjusted)
        assert found.adjusted.how == "shared"
        assert found.blocked == Reason("compare.lots_are_compared")

    def test_anything_else_is_added_to_the_model(self, alike: Analysis) -> None:
        first = Group("chosen", attempts=tuple(f"a{n}" for n in range(1, 10)))
        second = Group("chosen", attempts=tuple(f"a{n}" for n in range(10, 20)))
        found = compare(alike, asked(first, second)).adjusted
        assert isinstance(found, Adjusted)
        assert found.how == "refit"
        assert 0.0 <= found.difference.lower + 1.0 <= found.difference.upper + 1.0 <= 2.0

    def test_each_gate_is_answered_for_also_where_the_refined_answer_rests_on_one(self, alike: Analysis) -> None:
        one = replace(alike, model=replace(alike.base, gates=alike.base.gates[:0]))
        for analysis in (alike, one):
            for measure in (Measure.PARTED, Measure.POOLED):
                found = compare(analysis, asked(measure=measure)).adjusted
                assert isinstance(found, Adjusted)
                assert 0.0 <= found.first.lower <= found.first.value <= found.first.upper <= 1.0

    def test_one_gate_cannot_speak_of_two(self) -> None:
        analysis = analyse(campaign(counted("xx.x..", "xxx.x."), gates=1))
        assert compare(analysis, asked(measure=Measure.PARTED)).adjusted == Reason("compare.adjust_one_gate")


class TestNumbers:
    def test_recovery_is_told_per_metal_of_clean_attempts_and_within_lots(self) -> None:
        made = []
        for number, each in enumerate(counted("xxxxxx.", "xxxxxxx"), 1):
            product = 6.0 + 0.1 * number + (0.5 if each.conditions["additive"] == "rosin" else 0.0)
            made.append(replace(each, masses=Masses(charge_g=10.0, product_g=product)))
        found = compare(analyse(campaign(made)), asked(measure=Measure.RECOVERY))
        assert (found.first.n, found.second.n, found.basis, found.unit) == (6, 7, "metal", "%")
        by_hand = [100.0 * a.masses.product_g / (8.0 if a.lot_id == "L1" else 7.0) for a in made[:6]]  # type: ignore[operator]
        assert found.first.values == pytest.approx(by_hand)
        assert found.means is not None
        assert found.means.permuted.exact
        assert isinstance(found.blocked, BlockedMeans)
        assert found.adjusted == Reason("compare.adjust_numbers")
        assert found.matters == 10.0
        assert "recovery" not in found.headline.code
        assert compared_json(found)["tests"] is not None

    def test_times_are_read_from_guided_runs(self) -> None:
        made, runs = [], []
        for number in range(1, 9):
            seconds = 40.0 + number + (30.0 if number % 2 else 0.0)
            additive = "rosin" if number % 2 else "none"
            made.append(replace(attempt(number, additive=additive), run_id=f"r{number}"))
            runs.append(_run(number, seconds))
        state = replace(campaign(made), runs=tuple(runs))
        found = compare(analyse(state), asked(measure=Measure.PARTING_TIME))
        assert found.first.values == (42.0, 44.0, 46.0, 48.0)
        assert found.unit == "s"
        assert found.means is not None
        assert found.means.permuted.p == pytest.approx(2 / 70)
        assert "additive none is" in headline(found)
        assert "quicker" in headline(found)
        whole = compare(analyse(state), asked(measure=Measure.RUN_TIME))
        assert whole.first.values == (20.0,) * 4
        assert whole.verdict == "apart"

    def test_a_few_that_scatter_much_are_not_beyond_chance_against_many_alike(self) -> None:
        """Five wide against twenty narrow: permutations take all for one scatter, Welch's t test does not."""
        wide, narrow = (78.0, 95.0, 99.0, 83.0, 97.0), [80.0 + 0.1 * n for n in range(20)]
        made = [
            replace(
                attempt(n, additive="none" if n <= 5 else "rosin", lot=""),
                masses=Masses(charge_g=100.0, product_g=value),
            )
            for n, value in enumerate((*wide, *narrow), 1)
        ]
        found = compare(analyse(campaign(made)), asked(measure=Measure.RECOVERY))
        assert stats.ttest_ind(wide, narrow, equal_var=False).pvalue > 0.05
        assert found.p is not None
        assert found.p < 0.05
        assert found.verdict != "beyond"

    def test_without_weighings_there_is_nothing_to_compare(self, alike: Analysis) -> None:
        found = compare(alike, asked(measure=Measure.RECOVERY))
        assert found.verdict == "nothing"
        assert found.headline.code == "compare.both_empty"


def _run(number: int, seconds: float) -> Run:
    begin = START + timedelta(days=number)

    def at(event: str, offset: float, **fields: object) -> RunEvent:
        kind = EventKind.MARK if "word" in fields else EventKind.STEP
        return RunEvent(f"{event}{number}", f"r{number}", kind, begin + timedelta(seconds=offset), **fields)  # type: ignore[arg-type]

    events = (
        at("stir", 600.0, step=Step.STIR),
        at("powder", 600.0 + seconds, word="first powder"),
        at("close", 1200.0, step=Step.CLOSE),
    )
    return Run(f"r{number}", begin, attempt_id=f"a{number}", ended_at=begin + timedelta(hours=9), events=events)


class TestManyComparisons:
    def test_each_question_counts_once_and_p_is_adjusted_by_holm(self, alike: Analysis) -> None:
        lots = Comparison("c2", START, Group("lot", level="L1"), Group("lot", level="L2"))
        turned = Comparison("c3", START, lots.second, lots.first)
        empty = Comparison("c4", START, Group("lot", level="L8"), Group("lot", level="L9"))
        found = compare(alike, asked(), comparisons=(lots, turned, empty)).many
        assert found is not None
        assert found.made == 3
        assert found.kept[0].comparison == asked()
        assert found.adjusted is not None
        assert found.p is not None
        assert found.adjusted >= found.p
        assert found.by_chance == pytest.approx(1 - 0.95**3)
        assert [each.p for each in found.kept if each.comparison.id == "c4"] == [None]

    def test_holm_is_that_of_another_library_and_the_worked_example(self) -> None:
        from statsmodels.stats.multitest import multipletests

        # Worked by hand: 0.01 x 3, then 0.03 x 2, then the larger of 0.06 and 0.04 x 1.
        assert holm([0.01, 0.04, 0.03]) == pytest.approx([0.03, 0.06, 0.06])
        values = [0.2, 0.001, 0.04, 0.5, 0.012, 0.9, 0.04]
        assert holm(values) == pytest.approx(list(multipletests(values, method="holm")[1]))

    def test_too_many_attempts_are_bounded_instead(self, alike: Analysis, monkeypatch: pytest.MonkeyPatch) -> None:
        from stirfall.session import comparing_many

        monkeypatch.setattr(comparing_many, "_FEWEST", 0)
        monkeypatch.setattr(comparing_many, "_WORK", 0)
        lots = Comparison("c2", START, Group("lot", level="L1"), Group("lot", level="L2"))
        found = compare(alike, asked(), comparisons=(lots,)).many
        assert found is not None
        assert found.p is not None
        assert found.method == "bonferroni"
        assert found.adjusted == pytest.approx(min(1.0, 2 * found.p))

    def test_a_factor_that_is_gone_does_not_stop_the_count(self, alike: Analysis) -> None:
        gone = Comparison("c2", START, Group("factor:salt", level="a"), Group("factor:salt", level="b"))
        found = compare(alike, asked(), comparisons=(gone,)).many
        assert found is not None
        assert found.made == 2
        assert found.kept[1].first == Reason("compare.group_gone")


class TestWarnings:
    def test_lots_that_are_not_shared_are_warned_of(self) -> None:
        made = [attempt(n, clean=n % 2 == 0, lot="L1") for n in range(1, 7)]
        made += [attempt(n, clean=n % 3 == 0, additive="rosin", lot="L2") for n in range(7, 13)]
        found = compare(analyse(campaign(made)), asked())
        codes = [warning.code for warning in found.warnings]
        assert "compare.no_lot_shared" in codes
        assert "compare.second_earlier" not in codes
        assert "compare.first_earlier" in codes
        assert found.blocked == Reason("compare.no_shared_lot")

    def test_ages_and_hands_that_differ_are_warned_of(self) -> None:
        made = [attempt(n, age=2.0 + n / 10, facts=RunFacts(operator="Ada")) for n in range(1, 6)]
        made += [
            attempt(n, age=50.0 + n, additive="rosin", clean=False, facts=RunFacts(operator="Bo"))
            for n in range(6, 11)
        ]
        codes = [warning.code for warning in compare(analyse(campaign(made)), asked()).warnings]
        assert {"compare.range_apart", "compare.operator_apart"} <= set(codes)

    def test_shares_of_likeness(self) -> None:
        assert in_common(["a", "a", "b"], ["a", "c"]) == pytest.approx(3 / 5)
        assert in_common(["", ""], ["a"]) is None
        assert within_each_other([1.0, 2.0, 3.0], [2.5, 9.0, None]) == pytest.approx(2 / 5)

    def test_the_age_of_a_superoxide_former_is_never_a_reason_to_wait(self) -> None:
        made = [attempt(n, age=2.0, clean=False) for n in range(1, 13)]
        made += [attempt(n, age=40.0, clean=True) for n in range(13, 25)]
        state = campaign(made, material=MaterialClass.SUPEROXIDE_FORMER)
        found = compare(analyse(state), asked(Group("factor:age", high=10.0), Group("factor:age", low=20.0)))
        text = " ".join(all_lines(found))
        assert found.no_wait
        assert found.warnings[0].code == "compare.no_wait"
        assert found.headline.code.startswith("compare.headline_differ")
        assert "is better" not in text
        assert found.cannot_tell is not None
        assert found.cannot_tell.matters is None
        assert "more of the" not in text
        other = compare(analyse(state), asked(Group("lot", level="L1"), Group("lot", level="L2")))
        assert not other.no_wait


class TestGroups:
    def test_subjects_are_what_the_attempts_differ_in(self) -> None:
        made = counted("xx.x", "x..x")
        made = [
            replace(each, facts=RunFacts(operator="Ada" if each.number % 2 else "Bo", tool="rod")) for each in made
        ]
        state = campaign(made)
        found = {each.what: each for each in subjects(state, UTC)}
        assert "tool" not in found
        assert [level.value for level in found["operator"].levels] == ["Ada", "Bo"]
        assert found["factor:age"].kind == "range"
        assert found["factor:additive"].levels[0].attempts == 4
        assert [level.value for level in found["day"].levels] == ["2026-03-02", "2026-03-03", "2026-03-04"]
        low, high = found["factor:age"].split or (0.0, 0.0)
        assert low < high
        assert found["period"].kind == "period"
        assert subjects(campaign(())) == ()

    def test_members_are_found_by_every_kind_of_group(self) -> None:
        made = counted("xx.x", "x..x")
        made[0] = replace(made[0], lot_id=None, jar_id="J1")
        made[1] = replace(made[1], origin=Origin("Bench B", "s", "f", "x", 3))
        state = campaign(made)

        def numbers(group: Group) -> list[int]:
            return [each.number for each in members(state, group, UTC)]

        assert numbers(Group("jar", level="J1")) == [1]
        assert numbers(Group("oil", level="White  Oil")) == [1]
        assert 1 in numbers(Group("lot", level="L2"))
        assert numbers(Group("bench", level="bench b")) == [2]
        assert numbers(Group("day", level="2026-03-02")) == [1, 2, 3]
        assert numbers(Group("period", since=START + timedelta(days=1))) == [4, 5, 6, 7, 8]
        assert numbers(Group("factor:age", low=9.0, high=16.0)) == [1, 2]
        with pytest.raises(InputError, match=r"compare\.group_unknown"):
            numbers(Group("weather", level="rain"))

    @pytest.mark.parametrize(
        ("text", "group"),
        [
            ("lot=L1", Group("lot", level="L1")),
            (" LOT = l1 ", Group("lot", level="L1")),
            ("additive=Rosin", ROSIN),
            ("factor:additive=rosin", ROSIN),
            ("age=2..12", Group("factor:age", low=2.0, high=12.0)),
            ("age=..1 d", Group("factor:age", high=24.0)),
            ("age=9", Group("factor:age", low=9.0, high=9.0)),
            ("attempts=3, 1-2", Group("chosen", attempts=("a1", "a2", "a3"))),
            ("day=2026-03-02", Group("day", level="2026-03-02")),
            (
                "period=2026-03-02..2026-03-03",
                Group("period", since=datetime(2026, 3, 2, tzinfo=UTC), until=datetime(2026, 3, 4, tzinfo=UTC)),
            ),
        ],
    )
    def test_groups_are_read_from_text_and_written_back(self, text: str, group: Group) -> None:
        state = campaign(counted("xx.x", "x..x"))
        found = read_group(state, text, UTC)
        assert found == group
        assert read_group(state, write_group(state, found, UTC), UTC) == found

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("", "compare.text_unreadable"),
            ("lot", "compare.text_unreadable"),
            ("lot=", "compare.text_unreadable"),
            ("weather=rain", "compare.text_unknown"),
            ("lot=L9", "compare.level_unknown"),
            ("additive=salt", "compare.level_unknown"),
            ("age=..", "compare.range_unreadable"),
            ("age=1..2..3", "compare.range_unreadable"),
            ("age=12..2", "compare.group_backwards"),
            ("attempts=99", "compare.attempts_unknown"),
            ("attempts=x", "compare.attempts_unreadable"),
            ("attempts=999999999999", "compare.attempts_unknown"),
            ("period=yesterday", "time.unreadable"),
            ("period=..", "compare.text_unreadable"),
        ],
    )
    def test_text_that_is_no_group_gets_a_message(self, text: str, code: str) -> None:
        with pytest.raises(InputError) as caught:
            read_group(campaign(counted("xx.x", "x..x")), text, UTC)
        assert caught.value.code == code


def test_fishers_chance_stands_beside_the_others() -> None:
    found = compare(analyse(campaign(counted("x.", "xx.x"))), asked())
    assert found.shares is not None
    assert found.shares.fisher == fisher(1, 2, 3, 4)
