"""How the person works: what is typed, what it means, and the dialog that keeps it as one step."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from looking import cut_texts, laid_out, nameless
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.plans import USUAL_PLAN, PlanSettings, control_errors
from stirfall.desktop.plan.working_dialog import WorkingDialog
from stirfall.desktop.plan.working_form import CONTROL, control_unit, form_of, held_factors, read_working
from stirfall.desktop.shown import Shown

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton
AGE = Factor("age", "h", 2.0, 480.0, Scale.LOG, role=Role.SAMPLE_AGE)
HEAT = Factor("heat", "°C", 100.0, 200.0, role=Role.TEMPERATURE)
ACTION = Factor("action", levels=("fold", "press"))
FACTORS = (AGE, HEAT, ACTION, Factor("gone", "mm", 1.0, 9.0, hidden=True))


def read(shown: Shown = Shown(), **entries: object) -> tuple[PlanSettings | None, dict[str, str]]:  # noqa: B008
    form = form_of(USUAL_PLAN, FACTORS, shown)
    for name, value in entries.items():
        form = form.with_entry(name.replace("control_", CONTROL), value)
    reading = read_working(form, FACTORS, USUAL_PLAN, shown)
    return reading.plan, dict(reading.problems)


def test_a_form_that_was_not_touched_means_what_it_shows() -> None:
    for shown in (Shown(), Shown(","), Shown(".", "F")):
        plan = PlanSettings(2.5, 4, 3.25, (1, 7), 19, 6.5, 0.85, (("age", 12.5), ("heat", 2.0)))
        again = read_working(form_of(plan, FACTORS, shown), FACTORS, plan, shown).plan
        assert again is not None
        assert replace(again, control=()) == replace(plan, control=())
        assert dict(again.control) == pytest.approx(dict(plan.control))


def test_times_carry_units_and_a_target_is_in_per_cent() -> None:
    plan, problems = read(attempt_h="90 min", evening_h="0.25 days", target="95 %", horizon_weeks="4")
    assert problems == {}
    assert plan is not None
    assert (plan.attempt_h, plan.evening_h, plan.target, plan.horizon_weeks) == (1.5, 6.0, 0.95, 4.0)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("attempt_h", "", "Give a number here."),
        ("attempt_h", "0", "above zero"),
        ("evening_h", "soon", "soon"),
        ("jars_at_once", "2.5", "whole number"),
        ("jars_at_once", "0", "from 1 to 100"),
        ("evening_hour", "24", "0 to 23"),
        ("horizon_weeks", "-1", "above zero"),
        ("target", "40", "not 40 %"),
        ("target", "100", "below 100 %"),
        ("control_heat", "-2", "zero or a number above"),
        ("control_age", "much", "much"),
    ],
)
def test_what_cannot_be_is_said_at_its_entry(name: str, text: str, told: str) -> None:
    plan, problems = read(**{name: text})
    assert plan is None
    assert list(problems) == [name.replace("control_", CONTROL)]
    assert told in next(iter(problems.values()))


def test_no_bench_day_at_all_is_refused() -> None:
    plan, problems = read(bench_days=())
    assert (plan, list(problems)) == (None, ["bench_days"])


def test_how_well_a_factor_is_held_is_in_its_own_unit_and_a_share_where_its_steps_double() -> None:
    assert [factor.name for factor in held_factors(FACTORS)] == ["age", "heat"]
    assert [control_unit(factor, Shown()) for factor in (AGE, HEAT)] == ["%", "°C"]
    plan, _ = read(control_age="20 %", control_heat="± 5")
    assert plan is not None
    assert dict(plan.control) == {"age": 20.0, "heat": 5.0}
    told = {each.factor: (each.half_width, each.is_share) for each in control_errors(FACTORS, plan)}
    assert told == {"age": (20.0, True), "heat": (5.0, False)}


def test_nine_degrees_of_fahrenheit_are_five_of_celsius() -> None:
    plan, _ = read(Shown(".", "F"), control_heat="9")
    assert plan is not None
    assert dict(plan.control) == pytest.approx({"heat": 5.0})


def test_an_empty_entry_keeps_the_usual_value_and_zero_is_not_empty() -> None:
    plan, _ = read()
    assert plan is not None
    assert plan.control == ()
    assert {each.factor: each.is_usual for each in control_errors(FACTORS, plan)} == {"age": True, "heat": True}
    exact, _ = read(control_heat="0")
    assert exact is not None
    assert [each.factor for each in control_errors(FACTORS, exact)] == ["age"]
    notes = read_working(form_of(exact, FACTORS, Shown()), FACTORS, exact, Shown()).notes
    assert notes[CONTROL + "heat"] == "Held exactly."
    assert "± 10 %" in notes[CONTROL + "age"]


def test_factors_that_the_form_does_not_show_keep_what_was_said_of_them() -> None:
    base = replace(USUAL_PLAN, control=(("gone", 1.0), ("heat", 4.0)))
    form = form_of(base, FACTORS, Shown()).with_entry(CONTROL + "heat", "")
    plan = read_working(form, FACTORS, base, Shown()).plan
    assert plan is not None
    assert plan.control == (("gone", 1.0),)


# -- the dialog ------------------------------------------------------------------------------------


@pytest.fixture
def dialog(
    put_on_screen: Callable[..., WorkingDialog], workspace: Workspace, document_of_few: Document
) -> Iterator[WorkingDialog]:
    workspace.open_document(document_of_few)
    made = WorkingDialog(workspace)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, on=False)
    yield put_on_screen(made, 704, 660)
    workspace.close_document()


def type_over(dialog: WorkingDialog, name: str, text: str) -> None:
    dialog.edit(name).setFocus()
    dialog.edit(name).selectAll()
    QTest.keyClicks(dialog.edit(name), text)


def test_typing_and_toggling_is_kept_as_one_step(
    dialog: WorkingDialog, workspace: Workspace, document_of_few: Document
) -> None:
    told = []
    workspace.notified.connect(told.append)
    before = document_of_few.state.settings
    type_over(dialog, "evening_h", "4")
    type_over(dialog, CONTROL + "temperature", "5")
    QTest.mouseClick(dialog.days[2], LEFT)
    dialog.days[7].setFocus()
    QTest.keyClick(dialog.days[7], Qt.Key.Key_Space)
    QTest.mouseClick(dialog.findChild(QPushButton, "dialog_verb"), LEFT)
    plan = document_of_few.state.settings.plan
    assert (plan.evening_h, plan.bench_days, plan.control) == (4.0, (4, 6, 7), (("temperature", 5.0),))
    assert not dialog.isVisible()
    assert [(notice.kind, notice.act) for notice in told] == [("info", "Undo")]
    workspace.undo()
    assert document_of_few.state.settings == before


def test_a_problem_holds_the_dialog_and_takes_the_keyboard(
    dialog: WorkingDialog, document_of_few: Document
) -> None:
    before = document_of_few.state.settings
    type_over(dialog, "jars_at_once", "none")
    assert dialog.note("jars_at_once").text() != ""
    assert dialog.model.state.problems
    dialog._save()
    assert dialog.isVisible()
    assert dialog.problem.isVisible()
    assert dialog.focusWidget() is dialog.edit("jars_at_once")
    type_over(dialog, "jars_at_once", "2")
    assert not dialog.problem.isVisible()
    dialog.reject()
    assert document_of_few.state.settings == before


def test_nothing_is_cut_and_all_has_a_name(dialog: WorkingDialog) -> None:
    laid_out(dialog)
    assert cut_texts(dialog) == []
    assert nameless(dialog) == []
    assert dialog.days[2].accessibleName() == "Tuesday"
    assert dialog.days[2].accessibleDescription() == "a bench day"
    assert dialog.edit(CONTROL + "sample age").accessibleName() == "Sample age, %"
