"""What the bench form understands, and what it still misses; pure functions, no window."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState, ChecklistTick
from stirfall.bench.factors import Conditions, Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.short_ids import new_short_id
from stirfall.desktop.bench_form.checks import day_of, read_checklist, vital_lines
from stirfall.desktop.bench_form.draft import from_draft, to_draft
from stirfall.desktop.bench_form.filling import find_jar
from stirfall.desktop.bench_form.form import (
    Entry,
    Form,
    Origin,
    fresh_form,
    with_conditions,
    with_jar,
)
from stirfall.desktop.bench_form.reasons import with_reason
from stirfall.desktop.bench_form.state import (
    ChecklistState,
    FormState,
    Surroundings,
    attempt_of,
    read_form,
)
from stirfall.planning.limits import operating_limits
from stirfall.reporting.cautions import load_cautions, shortened
from stirfall.reporting.sentences import all_sentences

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
LOT = Lot("L1", NOW - timedelta(hours=72))
JAR = Jar("J1", "L1", NOW - timedelta(hours=30), oil_depth_mm=15.0, charge_g=12.0)
CAMPAIGN = CampaignState(
    CampaignSettings(material=MaterialClass.BASE_METAL, melting_point_c=138.0, oil_flash_c=230.0),
    (*standard_factors(), Factor("oil depth", "mm", 5.0, 40.0)),
    (LOT,),
    (JAR,),
)


def read(form: Form, campaign: CampaignState = CAMPAIGN, **around: object) -> FormState:
    surroundings = Surroundings(campaign, NOW, ".", operating_limits(campaign))
    return read_form(form, replace(surroundings, **around))  # type: ignore[arg-type]


def typed(name: str, text: str, form: Form | None = None) -> Form:
    return (form or Form()).with_entry(name, Entry(text))


def complete(form: Form) -> Form:
    return replace(form, parted=Parted.YES, pooled=Pooled.ONE_POOL)


# Sources of the values: 1 d = 24 h (SI brochure, table 8); 230 F = 110 C (definition of the Fahrenheit scale).
@pytest.mark.parametrize(
    ("name", "text", "value", "echo"),
    [
        ("sample age", "3 d", 72.0, "= 72\u2009h (3\u2009days)"),
        ("sample age", "72", 72.0, "= 72\u2009h (3\u2009days)"),
        ("sample age", "1,5 h", 1.5, "= 1.5\u2009h (90\u2009min)"),
        ("temperature", "230 F", 110.0, "= 110\u2009°C"),
        ("temperature", "150", 150.0, "= 150\u2009°C"),
    ],
)
def test_a_typed_value_is_understood_in_the_unit_of_the_factor(
    name: str, text: str, value: float, echo: str
) -> None:
    item = read(typed(name, text)).field(name)
    assert item.value == pytest.approx(value)
    assert item.echo == echo
    assert item.problem is None
    assert item.entry.text == text


def test_an_empty_field_is_unknown_and_no_problem() -> None:
    item = read(typed("temperature", "  ")).field("temperature")
    assert item.value is None
    assert item.problem is None
    assert "temperature" not in read(typed("temperature", "  ")).conditions


def test_an_unreadable_text_is_kept_and_told_once_the_field_is_left() -> None:
    form = complete(typed("temperature", "15O"))
    assert read(form, editing="temperature").field("temperature").problem is None
    left = read(form)
    assert left.field("temperature").problem is not None
    assert left.field("temperature").entry.text == "15O"
    assert left.missing is not None
    assert left.missing.code == "bench.missing.unreadable"
    assert read(form, editing="temperature").missing is not None


def test_a_jar_gives_ages_by_the_clock_and_its_oil_depth() -> None:
    state = read(with_jar(Form(), "J1", "L1", CAMPAIGN, "."))
    assert state.conditions["sample age"] == 72.0
    assert state.conditions["oil exposure time"] == 30.0
    assert state.conditions["oil depth"] == 15.0
    assert state.field("sample age").entry.origin is Origin.CLOCK
    assert state.field("oil depth").entry.origin is Origin.JAR


def test_a_lot_without_a_jar_gives_only_the_sample_age() -> None:
    state = read(with_jar(Form(), None, "L1", CAMPAIGN, "."))
    assert state.conditions["sample age"] == 72.0
    assert "oil exposure time" not in state.conditions


def test_ages_follow_the_start_of_the_attempt_and_not_the_moment_of_recording() -> None:
    form = replace(with_jar(Form(), "J1", "L1", CAMPAIGN, "."), started_at=NOW - timedelta(hours=2))
    assert read(form).conditions["oil exposure time"] == 28.0


def test_overriding_the_clock_asks_for_a_reason_and_keeps_it_with_the_attempt() -> None:
    form = complete(with_jar(Form(), "J1", "L1", CAMPAIGN, "."))
    form = form.with_entry("sample age", Entry("60 h"))
    assert read(form).missing is not None
    assert read(form).missing.code == "bench.missing.age_reason"  # type: ignore[union-attr]
    state = read(form.with_entry("sample age", Entry("60 h", reason="opened and closed in between")))
    assert state.can_record
    (override,) = attempt_of(state).overrides
    assert (override.factor, override.computed, override.reason) == (
        "sample age",
        72.0,
        "opened and closed in between",
    )


def test_an_age_typed_without_any_clock_needs_no_reason() -> None:
    assert read(complete(typed("sample age", "2 d"))).can_record


def test_a_clock_that_ran_backwards_is_told_and_leaves_the_age_unknown() -> None:
    form = replace(with_jar(Form(), "J1", "L1", CAMPAIGN, "."), started_at=NOW - timedelta(days=30))
    state = read(form)
    assert state.clock_problem is not None
    assert state.clock_problem.code == "time.runs_backwards"
    assert "sample age" not in state.conditions


def test_the_outcome_is_asked_in_two_steps() -> None:
    assert read(Form()).missing.code == "bench.missing.gate_1"  # type: ignore[union-attr]
    assert not read(Form()).pooled_enabled
    yes = replace(Form(), parted=Parted.YES)
    assert read(yes).pooled_enabled
    assert read(yes).missing.code == "bench.missing.gate_2"  # type: ignore[union-attr]
    assert read(complete(Form())).outcome is Outcome.CLEAN
    assert read(complete(Form())).can_record


def test_nothing_parted_closes_the_second_question_as_not_observed() -> None:
    state = read(replace(Form(), parted=Parted.NO, pooled=Pooled.ONE_POOL))
    assert not state.pooled_enabled
    assert state.pooled is Pooled.NOT_OBSERVED
    assert attempt_of(state).pooled is Pooled.NOT_OBSERVED
    assert state.can_record


def test_a_partly_parted_attempt_may_leave_the_pool_open() -> None:
    state = read(replace(Form(), parted=Parted.PARTLY))
    assert state.can_record
    assert attempt_of(state).outcome is Outcome.PARTLY_PARTED


def test_an_aborted_attempt_needs_its_reason_and_no_grade() -> None:
    aborted = replace(Form(), aborted=True)
    assert read(aborted).missing.code == "bench.missing.abort_reason"  # type: ignore[union-attr]
    state = read(replace(aborted, abort_reason="smoke"))
    assert state.can_record
    assert attempt_of(state).outcome is Outcome.ABORTED
    assert attempt_of(state).abort_reason == "smoke"


def test_a_warning_of_the_limits_wants_a_reason_and_a_new_value_asks_anew() -> None:
    form = complete(typed("temperature", "190"))  # 40 K below the flash point of 230 C
    state = read(form)
    assert state.asks_reason
    assert state.missing.code == "bench.missing.reason"  # type: ignore[union-attr]
    reasoned = replace(form, reasons=with_reason(state.warned, {}, "the thermometer was checked"))
    assert read(reasoned).can_record
    hotter = read(typed("temperature", "195", reasoned))
    assert hotter.reason == ""
    assert not hotter.can_record


def test_the_reason_is_kept_with_each_warning_in_the_words_that_were_shown() -> None:
    form = complete(typed("temperature", "199"))  # 61 K above the melting point, 31 K below the flash point
    state = read(form)
    assert {item.finding.code for item in state.warned} >= {"limits.near_flash", "limits.far_above_melting"}
    reasoned = read(replace(form, reasons=with_reason(state.warned, {}, " a thick crust ")))
    kept = attempt_of(reasoned).facts.accepted
    assert {item.reason for item in kept} == {"a thick crust"}
    assert {item.code for item in kept} == {item.finding.code for item in state.warned}
    assert all(item.text == next(w.text for w in state.warned if w.finding.code == item.code) for item in kept)


def test_a_block_of_the_limits_prevents_recording_and_says_why() -> None:
    form = complete(typed("temperature", "210"))  # 20 K below the flash point
    state = read(form)
    assert not state.can_record
    assert not state.asks_reason
    assert state.missing.code == state.blocked.code  # type: ignore[union-attr]
    assert state.missing.code.startswith("limits.")  # type: ignore[union-attr]
    anything = {item.key: "because" for item in state.warned}
    assert not read(replace(form, reasons=anything)).can_record


def test_an_aborted_run_beyond_a_block_is_put_on_record_with_the_reason_for_breaking_off() -> None:
    form = replace(typed("temperature", "210"), aborted=True)
    assert read(form).missing.code == "bench.missing.abort_reason"  # type: ignore[union-attr]
    state = read(replace(form, abort_reason="smoke"))
    assert state.can_record
    kept = attempt_of(state).facts.accepted
    assert state.blocked is not None
    assert state.blocked.code in {item.code for item in kept}
    assert {item.reason for item in kept} == {"smoke"}


def test_an_unknown_and_an_emptied_jar_are_told() -> None:
    assert read(replace(complete(Form()), jar_text="J9")).jar_problem.code == "bench.jar_unknown"  # type: ignore[union-attr]
    gone = replace(CAMPAIGN, jars=(replace(JAR, emptied_at=NOW),))
    form = complete(with_jar(Form(), "J1", "L1", gone, "."))
    assert read(form, gone).missing.code == "bench.jar_gone"  # type: ignore[union-attr]


@pytest.mark.parametrize(("typed", "code"), [("{}", "id.check"), ("B{}", "id.character")])
def test_a_wrong_letter_in_an_id_with_a_check_is_told_and_hyphens_do_not_matter(typed: str, code: str) -> None:
    jar_id = new_short_id(())
    short = replace(CAMPAIGN, jars=(replace(JAR, id=jar_id),))
    swapped = jar_id[1] + jar_id[0] + jar_id[2:]
    problem = read(replace(complete(Form()), jar_text=typed.format(swapped)), short).jar_problem
    assert problem is not None
    assert problem.code == code
    assert find_jar(f"{jar_id[:2].lower()}-{jar_id[2:]}", short) == short.jars[0]
    assert find_jar(swapped, short) is None


def test_masses_are_read_with_units_and_refused_below_zero() -> None:
    good = read(replace(complete(Form()), masses={"charge_g": "12,5", "product_g": "9500 mg"}))
    assert attempt_of(good).masses.charge_g == 12.5
    assert attempt_of(good).masses.product_g == pytest.approx(9.5)
    bad = read(replace(complete(Form()), masses={"beads_g": "-1"}))
    assert bad.missing.code == "bench.missing.unreadable"  # type: ignore[union-attr]


def test_a_due_checklist_stands_before_everything_else() -> None:
    due = ChecklistState(is_due=True, items=load_cautions(MaterialClass.BASE_METAL).checklist)
    assert read(complete(Form()), checklist=due).missing.code == "bench.missing.checklist"  # type: ignore[union-attr]


def test_the_checklist_is_done_only_for_today_this_metal_and_all_lines() -> None:
    keys = tuple(item.key for item in load_cautions(MaterialClass.BASE_METAL).checklist)

    def due(tick: ChecklistTick) -> bool:
        return read_checklist(replace(CAMPAIGN, ticks=(tick,)), NOW, frozenset()).is_due

    material = MaterialClass.BASE_METAL.value
    assert not due(ChecklistTick(day_of(NOW), NOW, material, keys))
    assert due(ChecklistTick(day_of(NOW - timedelta(days=1)), NOW, material, keys))
    assert due(ChecklistTick(day_of(NOW), NOW, MaterialClass.OTHER.value, keys))
    assert due(ChecklistTick(day_of(NOW), NOW, material, keys[:-1]))


@pytest.mark.parametrize("material", list(MaterialClass))
def test_three_vital_cautions_stay_in_view_for_every_class_and_none_is_cut(material: MaterialClass) -> None:
    cautions = load_cautions(material)
    lines = vital_lines(cautions)
    assert len(lines) == 3
    for line in lines:
        assert any(item.text.startswith(line) for item in cautions.items)
        assert line.endswith(".")
        assert len(line) < 240


def test_a_short_form_of_a_caution_ends_with_a_sentence() -> None:
    assert shortened("One is here. Two is here.", 12) == "One is here."
    assert shortened("One is here. Two is here.", 100) == "One is here. Two is here."


def test_a_fresh_form_stands_as_last_time_but_never_guesses_an_age() -> None:
    last = Attempt("a1", 1, Conditions({"sample age": 50.0, "temperature": 155.0, "additive": "additive A"}))
    struck = Attempt("a2", 2, Conditions({"temperature": 170.0}), struck_reason="wrong jar")
    form = fresh_form(replace(CAMPAIGN, attempts=(last, struck)), ".")
    state = read(form)
    assert state.conditions["temperature"] == 155.0
    assert state.conditions["additive"] == "additive A"
    assert "sample age" not in state.conditions
    assert state.field("temperature").entry.origin is Origin.KEPT


def test_conditions_that_a_view_offers_fill_every_field_and_leave_the_rest_unknown() -> None:
    form = with_conditions(typed("stirring speed", "90"), Conditions({"temperature": 160.0}), CAMPAIGN, ",")
    state = read(form)
    assert dict(state.conditions) == {"temperature": 160.0}


TEXTS = st.text(max_size=12)


@given(
    texts=st.dictionaries(st.sampled_from([f.name for f in CAMPAIGN.factors]), TEXTS),
    masses=st.dictionaries(st.sampled_from(["charge_g", "beads_g"]), TEXTS),
    note=TEXTS,
    parted=st.sampled_from([None, *Parted]),
    pooled=st.sampled_from([None, *Pooled]),
    aborted=st.booleans(),
)
def test_whatever_is_typed_the_form_answers_and_its_draft_comes_back_equal(
    texts: dict[str, str],
    masses: dict[str, str],
    note: str,
    parted: Parted | None,
    pooled: Pooled | None,
    aborted: bool,
) -> None:
    form = Form(
        entries={name: Entry(text) for name, text in texts.items()},
        masses=masses,
        note=note,
        parted=parted,
        pooled=pooled,
        aborted=aborted,
        started_at=NOW,
        jar_id="J1",
        photos=("a.png",),
    )
    assert from_draft(to_draft(form)) == form
    state = read(form)
    assert (state.missing is None) == state.can_record
    if state.missing is not None:
        assert state.missing.code in all_sentences()
    else:
        attempt_of(state)


@pytest.mark.parametrize("draft", [{}, {"entries": 3}, {"entries": {"a": {}}}, {"entries": {}, "parted": "maybe"}])
def test_a_draft_that_cannot_be_read_is_dropped_without_an_error(draft: dict[str, object]) -> None:
    assert from_draft(draft) is None
