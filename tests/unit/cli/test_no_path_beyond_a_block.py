"""No path yields conditions beyond a block: form, suggestions, recipes, scripts, command line, imported files.

The blocks are written out a second time here, in Celsius and hours and from the state alone, after the table of
limits in the guide, so that the program is not its own judge.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.substances import AdditiveValues, OilValues, Substances
from stirfall.cli.main import run
from stirfall.desktop.bench_form.form import Entry, Form, text_of
from stirfall.desktop.bench_form.state import Surroundings, read_form
from stirfall.planning.limits import operating_limits
from stirfall.reporting.recipe import Recipe, make_recipe
from stirfall.scripting import Campaign
from stirfall.session.analysis import analyse
from stirfall.session.document import Document
from stirfall.storage.package import read_package, write_package

NOW = datetime(2026, 11, 24, 12, tzinfo=UTC)
SUPEROXIDE, ALKALI = MaterialClass.SUPEROXIDE_FORMER, MaterialClass.ALKALI_METAL
LEVELS = ("none", "wax", "solvent", "brine")
ADDITIVES = (
    AdditiveValues("wax", "hydrocarbon"),
    AdditiveValues("solvent", "halogenated"),
    AdditiveValues("brine", "water-based"),
)
FACTORS = (
    Factor("sample age", "h", 0.5, 200.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("temperature", "F", 140.0, 700.0, step=1.0, role=Role.TEMPERATURE),
    Factor("additive", levels=LEVELS),
    Factor("additive dose", "mg/g", 0.0, 60.0, step=0.5, role=Role.DOSE),
)


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def highest_c(state: CampaignState, margin_to_flash: float) -> float:
    """The highest temperature that no known ceiling of the oil forbids."""
    flash, oil = state.settings.oil_flash_c, state.settings.substances.oil
    tops = [float("inf") if flash is None else flash - margin_to_flash]
    tops += [] if oil.stated_max_c is None else [oil.stated_max_c]
    tops += [] if oil.autoignition_c is None else [oil.autoignition_c - 100.0]
    return min(tops)


def forbidden_levels(material: MaterialClass) -> set[str]:
    return {"solvent"} if material is MaterialClass.BASE_METAL else {"solvent", "brine"}


def beyond(state: CampaignState, conditions: Mapping[str, Value], *, unknown_flash: bool = True) -> bool:
    """Whether the conditions lie beyond a block."""
    temperature = conditions.get("temperature")
    if temperature is not None and celsius(float(temperature)) > highest_c(state, 25.0) + 1e-9:
        return True
    if temperature is not None and state.settings.oil_flash_c is None and unknown_flash:
        return True
    if conditions.get("additive") in forbidden_levels(state.settings.material):
        return True
    if float(conditions.get("additive dose", 0.0)) > 30.0:
        return True
    return state.settings.material is SUPEROXIDE and float(conditions.get("sample age", 0.0)) > 24.0


def assert_fit_to_advise(state: CampaignState, conditions: Mapping[str, Value]) -> None:
    """What is advised keeps the wider margin, and never a longer age of a superoxide former."""
    assert not beyond(state, conditions)
    assert state.settings.oil_flash_c is not None
    assert celsius(float(conditions["temperature"])) <= highest_c(state, 50.0) + 1e-6
    if state.settings.material is SUPEROXIDE:
        recorded = [each.conditions["sample age"] for each in state.attempts]
        assert float(conditions["sample age"]) <= min([0.5, *map(float, recorded)])


def a_value(factor: Factor) -> st.SearchStrategy[Value]:
    if factor.is_choice:
        return st.sampled_from(factor.levels)
    low, high = factor.bounds
    return st.floats(low, high).map(lambda value: round(value, 2)) | st.sampled_from((low, high))


CONDITIONS = st.fixed_dictionaries({factor.name: a_value(factor) for factor in FACTORS})
GRADES = st.sampled_from(
    [
        {"parted": Parted.NO},
        {"parted": Parted.YES, "pooled": Pooled.BEADS},
        {"parted": Parted.YES, "pooled": Pooled.ONE_POOL},
    ]
)


@st.composite
def campaigns(draw: st.DrawFn) -> CampaignState:
    oil = OilValues(
        autoignition_c=draw(st.none() | st.floats(220, 400)), stated_max_c=draw(st.none() | st.floats(110, 300))
    )
    chosen = CampaignSettings(
        title="Trial",
        material=draw(st.sampled_from([*MaterialClass, SUPEROXIDE, ALKALI])),
        melting_point_c=draw(st.none() | st.floats(20, 70)),
        oil_flash_c=draw(st.floats(150, 320) | st.floats(150, 320) | st.none()),
        substances=Substances(oil=oil, additives=ADDITIVES),
    )
    attempts = tuple(
        Attempt(f"a{number}", number, Conditions(draw(CONDITIONS)), **draw(GRADES))
        for number in range(1, 1 + draw(st.integers(0, 6)))
    )
    return CampaignState(chosen, FACTORS, attempts=attempts)


SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


def a_recipe(state: CampaignState, conditions: Mapping[str, Value]) -> Recipe:
    """Return the recipe of conditions from a fresh analysis."""
    return make_recipe(
        analyse(state), Conditions(conditions), fingerprint="0" * 64, session_name="trial", created_at=NOW
    )


def assert_recipe_is_safe(state: CampaignState, recipe: Recipe) -> None:
    given_values = {value.name: value.value for value in recipe.values}
    if beyond(state, given_values):
        assert recipe.blocked
    if recipe.blocked:
        assert (recipe.steps, recipe.curve) == ((), None)
        assert all((value.low, value.high, value.levels) == (None, None, ()) for value in recipe.values)
        return
    # The ranges are instructions too: no end of one lies beyond a block with all else as in the recipe.
    for value in recipe.values:
        ends = [each for each in (value.low, value.high, *value.levels) if each is not None]
        for end in ends:
            assert not beyond(state, {**given_values, value.name: end}), (value.name, end)


@settings(max_examples=40, deadline=None, suppress_health_check=SLOW)
@given(campaigns(), st.sampled_from(["learn", "reliable", "first design"]))
def test_nothing_beyond_is_suggested_or_recommended(state: CampaignState, goal: str) -> None:
    analysis = analyse(state)
    suggested = analysis.suggest(count=2, goal=goal, now=NOW)
    event("blocked" if analysis.limits.blocked else "suggested")
    if state.settings.oil_flash_c is None:
        assert suggested == ()
    if analysis.limits.blocked:
        assert suggested == ()
        with pytest.raises(InputError, match=r"^limits\."):
            analysis.best()
        return
    for each in (*suggested, analysis.best()):
        assert_fit_to_advise(state, each.conditions)


@settings(max_examples=40, deadline=None, suppress_health_check=SLOW)
@given(campaigns(), CONDITIONS)
def test_a_recipe_gives_no_instructions_beyond_a_block(state: CampaignState, conditions: dict[str, Value]) -> None:
    recipe = a_recipe(state, conditions)
    event("blocked" if recipe.blocked else "given")
    assert_recipe_is_safe(state, recipe)


@settings(max_examples=60, deadline=None, suppress_health_check=SLOW)
@given(campaigns(), CONDITIONS)
def test_the_form_records_nothing_beyond_a_block(state: CampaignState, conditions: dict[str, Value]) -> None:
    entries = {name: Entry(text_of(value, ".")) for name, value in conditions.items()}
    form = Form(entries=entries, parted=Parted.NO, look="bright")
    around = Surroundings(state, NOW, ".", operating_limits(state))
    shown = read_form(form, around)
    assert shown.conditions == Conditions(conditions)
    if beyond(state, conditions):
        event("closed")
        assert not shown.can_record
        assert shown.blocked is not None
        # No reason opens it; only that it was broken off is put on record.
        reasons = {item.key: "I know better" for item in shown.warned}
        assert not read_form(replace(form, reasons=reasons), around).can_record
        assert read_form(replace(form, aborted=True, abort_reason="too hot"), around).can_record
    elif shown.can_record:
        event("open")


@settings(max_examples=20, deadline=None, suppress_health_check=SLOW)
@given(campaigns(), CONDITIONS)
def test_a_script_cannot_record_or_read_conditions_beyond_a_block(
    state: CampaignState, conditions: dict[str, Value]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "trial.stirfall"
        Document.create(path, state.settings, state.factors, attempts=state.attempts).close()
        with Campaign.open(path) as campaign:
            if beyond(state, conditions, unknown_flash=False):
                with pytest.raises(InputError) as caught:
                    campaign.record(conditions, parted="no")
                assert caught.value.code.startswith("limits.")
                assert len(campaign.attempts) == len(state.attempts)
                campaign.record(conditions, aborted="went too far")  # what happened must be on record
                event("refused")
            else:
                campaign.record(conditions, parted="no")
            now = campaign.document.state
            for each in campaign.suggest(2):
                assert_fit_to_advise(now, each.conditions)
            assert_recipe_is_safe(now, campaign.recipe(conditions).recipe)


@settings(max_examples=12, deadline=None, suppress_health_check=SLOW)
@given(campaigns(), CONDITIONS)
def test_the_command_line_yields_nothing_beyond_a_block(state: CampaignState, conditions: dict[str, Value]) -> None:
    """Here the session comes from an imported package, whose attempts may lie beyond every block."""
    with tempfile.TemporaryDirectory() as folder:
        write_package(state, (), Path(folder) / "package")
        content = read_package(Path(folder) / "package").state
        assert content.attempts == state.attempts  # what was done stays as it was told
        path = Path(folder) / "trial.stirfall"
        Document.create(path, content.settings, content.factors, attempts=content.attempts).close()
        told = _output(folder, ["next", str(path), "--json"])
        for each in told["suggestions"]:
            assert_fit_to_advise(content, each["conditions"])
        asked = [f"--at={name}={value}" for name, value in conditions.items()]
        target = Path(folder) / "recipe.json"
        run(["recipe", str(path), *asked, "--out", str(target)])
        written = json.loads(target.read_text(encoding="utf-8"))
        if beyond(content, conditions):
            assert written["blocked"] is True
            assert written["steps"] == []
            assert written["curve"] is None


def _output(folder: str, arguments: list[str]) -> dict[str, object]:
    import contextlib
    import io

    stream = io.StringIO()
    with contextlib.redirect_stdout(stream):
        run(arguments)
    return json.loads(stream.getvalue())
