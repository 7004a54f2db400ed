"""Temperatures in the unit that the reader likes: what is kept never changes by it.

Reference values from outside the project: the definitions of the Celsius and Fahrenheit scales, 0 °C = 32 °F =
273.15 K and 100 °C = 212 °F (BIPM, The International System of Units, 9th edition, 2019, 2.3.1; NIST SP 811, B.8).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.number_style import NumberStyle
from stirfall.bench.outcomes import Parted
from stirfall.bench.units import THIN_SPACE, Amount, Difference, format_quantity
from stirfall.desktop.bench_form.checks import day_of
from stirfall.desktop.bench_form.draft import from_draft, to_draft
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.ledger.columns import base_columns
from stirfall.desktop.ledger.corrections import Entered, correctables, read_correction
from stirfall.desktop.odds.phrases import value_text
from stirfall.desktop.shelf.amounts import Reader, typed
from stirfall.desktop.shown import Shown, in_other_unit, round_step
from stirfall.desktop.workspace import FormRequest, Workspace
from stirfall.planning.findings import CloseAmount
from stirfall.reporting.axis_ticks import axis_title, ticks
from stirfall.reporting.cautions import load_cautions
from stirfall.session.commands import TickChecklist

if TYPE_CHECKING:
    from collections.abc import Iterator

    from stirfall.session.document import Document

F = Shown(".", "F")
KNOWN = (("C", "F", 0.0, 32.0), ("C", "F", 100.0, 212.0), ("C", "K", 0.0, 273.15), ("F", "C", 32.0, 0.0))


def text(value: str) -> str:
    return value.replace(THIN_SPACE, " ")


@pytest.mark.parametrize(("unit", "liked", "value", "expected"), KNOWN)
def test_scales_are_those_of_their_definitions(unit: str, liked: str, value: float, expected: float) -> None:
    assert Shown(".", liked).value(value, unit) == pytest.approx(expected, abs=1e-9)


def test_a_typed_311_is_155_degrees_where_fahrenheit_is_shown() -> None:
    assert F.read("311", "C") == pytest.approx(155.0, abs=1e-9)
    assert F.read("155 °C", "C") == 155.0  # a typed unit wins
    assert F.read("311 F", "C") == Shown().read("311 F", "C") == pytest.approx(155.0)
    assert Shown().read("155", "C") == 155.0


def test_times_and_masses_keep_their_units() -> None:
    assert F.read("3", "h") == 3.0
    assert F.label("mg/g") == "mg/g"
    assert text(F.text(12.0, "g")) == "12 g"


def test_a_difference_has_no_zero() -> None:
    assert F.difference(10.0, "C") == 18.0
    assert text(Difference(10.0, "C").text(decimal=F.style)) == "18 °F"
    assert text(Difference(10.0, "C").text(decimal=".")) == "10 °C"
    assert text(Amount(10.0, "C").text(decimal=F.style)) == "50 °F"
    assert text(CloseAmount(195.05, "C").text(decimal=Shown(",", "F").style)) == "383,09 °F"


def test_the_style_is_the_bare_sign_to_all_that_knows_no_units() -> None:
    style = NumberStyle(",", "F")
    assert f"{1.5}".replace(".", style) == "1,5"
    assert style != NumberStyle(",") == ","
    assert len({style, NumberStyle(",", "F"), NumberStyle(","), ","}) == 2
    with pytest.raises(ValueError, match="X"):
        NumberStyle(".", "X")


@given(st.floats(-200.0, 600.0), st.sampled_from(["C", "F", "K"]), st.sampled_from(["campaign", "C", "F", "K"]))
def test_what_is_shown_and_read_again_is_the_same_amount(value: float, unit: str, liked: str) -> None:
    shown = Shown(",", liked)
    assert shown.read(shown.number(value, unit, digits=12), unit) == pytest.approx(value, abs=1e-6)


def test_switching_units_keeps_the_amount_not_the_digits() -> None:
    assert in_other_unit("155", "C", Shown(), F) == "311"
    assert in_other_unit("311", "C", F, Shown()) == "155"
    assert in_other_unit("155,5", "C", Shown(","), Shown(",", "F")) == "311,9"
    assert in_other_unit("155 C", "C", Shown(), F) == "155 C"
    assert in_other_unit("abc", "C", Shown(), F) == "abc"
    assert in_other_unit("20", "min", Shown(), F) == "20"


@pytest.mark.parametrize(("size", "expected"), [(9.0, 10.0), (1.8, 2.0), (18.0, 20.0), (0.9, 1.0), (3.6, 5.0)])
def test_steps_are_round(size: float, expected: float) -> None:
    assert round_step(size) == expected


def test_a_factor_is_shown_whole() -> None:
    shown = F.factor(Factor("temperature", "C", 100.0, 200.0, step=5.0, default=150.0))
    assert (shown.unit, shown.low, shown.high, shown.step, shown.default) == ("F", 212.0, 392.0, 10.0, 302.0)
    choice = Factor("action", levels=("swirl", "fold"))
    assert F.factor(choice) is choice


@pytest.fixture
def in_f(workspace: Workspace, document: Document) -> Iterator[BenchFormModel]:
    """The bench form with °F shown."""
    workspace.set_temperature_unit("F")
    workspace.open_document(document)
    yield BenchFormModel(workspace)
    workspace.close_document()


def temperature(model: BenchFormModel) -> tuple[str, object]:
    assert model.state is not None
    item = model.state.field("temperature")
    return item.entry.text, item.value


def test_the_form_fills_reads_and_steps_in_the_shown_unit(in_f: BenchFormModel) -> None:
    assert temperature(in_f) == ("302", 150.0)  # the last attempt was made at 150 °C
    in_f.type_value("temperature", "311")
    assert temperature(in_f) == ("311", pytest.approx(155.0))
    assert in_f.state is not None
    assert text(in_f.state.field("temperature").echo) == "= 311 °F (155 °C kept)"
    in_f.step("temperature", 1)
    assert temperature(in_f)[0] in ("312", "315", "320")
    in_f.type_value("temperature", "160 C")
    assert temperature(in_f)[1] == 160.0


def test_switching_while_half_filled_keeps_the_amount(in_f: BenchFormModel) -> None:
    in_f.type_value("temperature", "311")
    in_f.set_seen("peak_c", "320")
    for unit, shown, peak in (("campaign", "155", "160"), ("K", "428.15", "433.15"), ("F", "311", "320")):
        in_f.workspace.set_temperature_unit(unit)
        assert temperature(in_f) == (shown, pytest.approx(155.0))
        assert in_f.state is not None
        assert in_f.state.form.seen["peak_c"] == peak
        assert in_f.state.facts.peak_c == pytest.approx(160.0)


def test_a_draft_says_in_which_unit_its_numbers_stand(in_f: BenchFormModel, document: Document) -> None:
    in_f.type_value("temperature", "311")
    in_f.flush_draft()
    in_f.workspace.set_temperature_unit("campaign")
    again = BenchFormModel(in_f.workspace, in_f)
    assert temperature(again) == ("155", pytest.approx(155.0))
    assert document.draft is not None
    form = from_draft(document.draft)
    assert form is not None
    assert (form.temperature, from_draft(to_draft(form))) == ("F", form)
    old = {key: value for key, value in document.draft.items() if key != "temperature"}
    assert (from_draft(old) or form).temperature == "campaign"
    assert from_draft({**document.draft, "temperature": "X"}) is None


def test_form_limits_and_odds_say_the_same_temperature(in_f: BenchFormModel, document: Document) -> None:
    in_f.type_value("temperature", "383")  # 195 °C: less than 50 K below the flash point of 225 °C
    assert in_f.state is not None
    said = " ".join(item.text for item in in_f.state.warned) + str(in_f.state.findings)
    assert "383 °F" in text(said) or "437 °F" in text(said)  # 225 °C = 437 °F
    factor = next(item for item in document.state.factors if item.name == "temperature")
    assert text(value_text(factor, 195.0, decimal=in_f.workspace.decimal)) == "383 °F"


def test_a_recorded_311_is_155_degrees_everywhere(in_f: BenchFormModel, document: Document) -> None:
    items = load_cautions(document.state.settings.material).checklist
    document.execute(TickChecklist(day_of(document.now()), tuple(item.key for item in items)))
    in_f.type_value("temperature", "311")
    in_f.set_seen("peak_c", "320")
    in_f.set_parted(Parted.NO)
    assert in_f.state is not None
    if in_f.state.asks_reason:
        in_f.give_limit_reason("thermometer checked")
    assert in_f.record(), in_f.state.missing
    attempt = document.state.attempts[-1]
    assert (attempt.conditions["temperature"], attempt.facts.peak_c) == (155.0, 160.0)
    style = in_f.workspace.decimal
    column = next(each for each in base_columns(document.state.factors, style) if "Temperature" in each.title)
    assert (column.title, column.text(attempt)) == ("Temperature, °F", "311")
    wrong = next(each for each in correctables(attempt, document.state, style) if each.key == "factor:temperature")
    assert (wrong.label, text(wrong.now), wrong.raw) == ("Temperature, °F", "311 °F", "311")
    entered = Entered("factor:temperature", "302", reason="misread")
    read = read_correction(entered, attempt, document.state, style)
    assert read.changes is not None
    assert read.changes["conditions"]["temperature"] == 150.0  # type: ignore[index]
    assert text(read.echo) == "= 302 °F (150 °C kept)"
    factor = next(each for each in document.state.factors if each.name == "temperature")
    found = ticks(factor, *factor.bounds, most=6, decimal=style)
    for tick in found:
        assert float(tick.label) == pytest.approx(tick.value * 9 / 5 + 32, abs=1e-6)
    assert axis_title(factor, decimal=style) == "temperature, °F"
    in_f.workspace.request_form(FormRequest(Conditions({"temperature": 160.0})))
    assert temperature(in_f) == ("320", 160.0)


def test_a_reason_given_for_a_warning_outlives_a_change_of_units(in_f: BenchFormModel) -> None:
    in_f.type_value("temperature", "370")
    assert in_f.state is not None
    if in_f.state.warned:
        in_f.give_limit_reason("thermometer checked")
        in_f.workspace.set_temperature_unit("campaign")
        assert in_f.state.reason == "thermometer checked"


def test_files_keep_the_campaign_unit() -> None:
    assert text(format_quantity(155.0, "C", decimal=str(F.style))) == "155 °C"


def test_what_is_written_with_a_comma_is_read_again_by_who_writes_commas() -> None:
    assert Shown(",").read("12,345", "g") == 12.345
    with pytest.raises(InputError, match="ambiguous"):
        Shown(".").read("12,345", "g")


def test_the_forms_of_the_shelf_read_again_what_they_write_with_a_comma() -> None:
    reader = Reader()
    for value in (12.345, 1.5, 999.125, 1234.5, 0.125):
        assert reader.amount("charge", typed(value, ","), "g") == value
    assert reader.problems == {}
