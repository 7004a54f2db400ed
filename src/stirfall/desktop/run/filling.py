"""How a run's result goes into the bench form, which records it; pure."""

from __future__ import annotations

from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.running import Run
from stirfall.desktop.bench_form.filling import jar_filled
from stirfall.desktop.bench_form.form import Entry, Form, Origin, is_age, is_oil_depth, text_of, with_jar
from stirfall.session.run_result import (
    answers_of,
    grade_of,
    lifted_at_c,
    peak_c,
    reached_conditions,
)


def begun_form(form: Form, run: Run) -> Form:
    """Return the form that a run was begun with, now belonging to it."""
    return replace(form, run_id=run.id, started_at=run.started_at)


def bare_form(form: Form) -> Form:
    """Return the form as it stands before an attempt: a result that stands there already is not that of a run."""
    return replace(
        form,
        parted=None,
        pooled=None,
        aborted=False,
        abort_reason="",
        masses={name: text for name, text in form.masses.items() if name == "charge_g"},
        tares={name: text for name, text in form.tares.items() if name == "charge_g"},
        seen={name: text for name, text in form.seen.items() if name not in ("peak_c", "lifted_at_c")},
    )


def filled_form(form: Form, state: CampaignState, run: Run, decimal: str, *, aborted_for: str = "") -> Form:
    """Return the form with everything that the run reached; what was not measured keeps its plan.

    Masses, look, reasons and the note stay as they were typed. ``aborted_for`` says why the run was broken off.
    """
    form = _of_run(form, state, run, decimal)
    reached = reached_conditions(state, run)
    entries = dict(form.entries)
    for factor in state.visible_factors:
        if is_age(factor) or (is_oil_depth(factor) and form.entry(factor.name).origin is Origin.JAR):
            continue
        value = reached.get(factor.name)
        entries[factor.name] = Entry("" if value is None else text_of(value, decimal, factor.unit))
    form = graded_form(replace(form, entries=entries), run)
    aborted = bool(aborted_for.strip())
    return replace(form, seen=_seen(form, run, decimal), aborted=aborted, abort_reason=aborted_for.strip())


def graded_form(form: Form, run: Run) -> Form:
    """Return the form with both questions answered by the grade of the run; without one they stay as they are."""
    grade = grade_of(run)
    if grade is None:
        return form
    parted, pooled = answers_of(grade)
    return replace(form, parted=parted, pooled=pooled)


def _of_run(form: Form, state: CampaignState, run: Run, decimal: str) -> Form:
    """Return the form if it is the one that the run was begun with, else one with the run's jar or lot."""
    if form.run_id == run.id and form.jar_id == run.jar_id:
        return form
    bare = replace(form.without_result(), run_id=run.id)
    jar = state.jar(run.jar_id)
    if jar is None:
        filled = with_jar(bare, None, run.lot_id, state, decimal)
    else:
        filled = jar_filled(bare, jar, state, decimal, run.started_at)
    return replace(filled, started_at=run.started_at)


def _seen(form: Form, run: Run, decimal: str) -> dict[str, str]:
    measured = {"peak_c": peak_c(run), "lifted_at_c": lifted_at_c(run)}
    told = {name: text_of(value, decimal, "C") for name, value in measured.items() if value is not None}
    return {**form.seen, **told}
