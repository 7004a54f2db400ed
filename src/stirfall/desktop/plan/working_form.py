"""How the person works, as typed, and what it means; pure, without widgets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from stirfall.bench.errors import InputError
from stirfall.bench.factors import Factor, Scale
from stirfall.bench.plans import PlanSettings, control_errors
from stirfall.bench.units import format_number, parse_number, parse_quantity
from stirfall.desktop.shown import Shown
from stirfall.reporting.sentences import error_sentence, sentence

CONTROL = "control:"
"""Stands before the name of a factor in the names of entries."""
_PLAIN_NOTES = {
    "attempt_h": "working.attempt_h",
    "jars_at_once": "working.jars_at_once",
    "evening_h": "working.evening_h",
    "evening_hour": "working.hour",
    "horizon_weeks": "working.horizon",
    "target": "working.target",
}


@dataclass(frozen=True)
class WorkingForm:
    """The entries as typed. ``control`` says for each factor that is a number how well it is held, "" as usual."""

    attempt_h: str = ""
    jars_at_once: str = ""
    evening_h: str = ""
    bench_days: tuple[int, ...] = ()
    evening_hour: str = ""
    horizon_weeks: str = ""
    target: str = ""
    control: Mapping[str, str] = field(default_factory=dict)

    def with_entry(self, name: str, value: object) -> WorkingForm:
        """Return the form with one entry changed; ``control:`` before a factor's name names its entry."""
        if name.startswith(CONTROL):
            return replace(self, control={**self.control, name.removeprefix(CONTROL): str(value)})
        return replace(self, **{name: value})  # type: ignore[arg-type]


@dataclass(frozen=True)
class WorkingReading:
    """The settings that a form means, or None; one sentence per entry with a problem, and notes on the others."""

    plan: PlanSettings | None
    problems: Mapping[str, str]
    notes: Mapping[str, str]


def held_factors(factors: Iterable[Factor]) -> tuple[Factor, ...]:
    """Return the factors for which it can be said how well they are held: visible numbers."""
    return tuple(factor for factor in factors if not factor.is_choice and not factor.hidden)


def control_unit(factor: Factor, shown: Shown) -> str:
    """Return the unit in which it is said how well a factor is held: per cent where its scale is logarithmic."""
    return "%" if factor.scale is Scale.LOG else shown.label(factor.unit)


def form_of(plan: PlanSettings, factors: Iterable[Factor], shown: Shown) -> WorkingForm:
    """Return the form that shows settings."""

    def number(value: float) -> str:
        return format_number(value, digits=6, decimal=shown.decimal)

    told = dict(plan.control)
    return WorkingForm(
        attempt_h=number(plan.attempt_h),
        jars_at_once=str(plan.jars_at_once),
        evening_h=number(plan.evening_h),
        bench_days=plan.bench_days,
        evening_hour=str(plan.evening_hour),
        horizon_weeks=number(plan.horizon_weeks),
        target=number(100.0 * plan.target),
        control={
            factor.name: number(_as_shown(told[factor.name], factor, shown)) if factor.name in told else ""
            for factor in held_factors(factors)
        },
    )


def read_working(form: WorkingForm, factors: Iterable[Factor], base: PlanSettings, shown: Shown) -> WorkingReading:
    """Read a form; factors that it does not show keep what ``base`` says of them."""
    held = held_factors(factors)
    problems: dict[str, str] = {}
    attempt_h = _amount("attempt_h", form.attempt_h, "h", problems, shown)
    evening_h = _amount("evening_h", form.evening_h, "h", problems, shown)
    jars, hour = (_whole(name, getattr(form, name), problems, shown) for name in ("jars_at_once", "evening_hour"))
    weeks = _amount("horizon_weeks", form.horizon_weeks, "", problems, shown)
    target = _amount("target", form.target.replace("%", " "), "", problems, shown)
    control = _control(form, held, problems, shown)
    plan = base
    for name, value in (
        ("attempt_h", attempt_h),
        ("jars_at_once", jars),
        ("evening_h", evening_h),
        ("bench_days", tuple(sorted(form.bench_days))),
        ("evening_hour", hour),
        ("horizon_weeks", weeks),
        ("target", None if target is None else target / 100.0),
    ):
        plan = _with(plan, name, value, problems, shown)
    names = {factor.name for factor in held}
    kept = tuple(pair for pair in base.control if pair[0] not in names)
    plan = replace(plan, control=(*kept, *control)) if not problems else plan
    notes = {name: sentence(code) for name, code in _PLAIN_NOTES.items()} | _control_notes(held, control, shown)
    return WorkingReading(None if problems else plan, MappingProxyType(problems), MappingProxyType(notes))


def _with(plan: PlanSettings, name: str, value: object, problems: dict[str, str], shown: Shown) -> PlanSettings:
    if name in problems or value is None:
        return plan
    try:
        return replace(plan, **{name: value})  # type: ignore[arg-type]
    except InputError as error:
        params = dict(error.params)
        if name == "target" and isinstance(value, float):
            params["value"] = f"{format_number(100.0 * value, digits=6, decimal=shown.decimal)} %"
        problems[name] = sentence(error.code, params, decimal=shown.decimal)
        return plan


def _amount(name: str, text: str, unit: str, problems: dict[str, str], shown: Shown) -> float | None:
    try:
        if not text.strip():
            raise InputError("working.empty")
        if unit:
            return parse_quantity(text, unit, decimal=shown.decimal)
        return parse_number(text, decimal=shown.decimal)
    except InputError as error:
        problems[name] = error_sentence(error, decimal=shown.decimal)
        return None


def _whole(name: str, text: str, problems: dict[str, str], shown: Shown) -> int | None:
    value = _amount(name, text, "", problems, shown)
    if value is None or value == int(value):
        return None if value is None else int(value)
    problems[name] = sentence("working.whole", {"value": value}, decimal=shown.decimal)
    return None


def _control(
    form: WorkingForm, held: tuple[Factor, ...], problems: dict[str, str], shown: Shown
) -> tuple[tuple[str, float], ...]:
    read = []
    for factor in held:
        name, text = CONTROL + factor.name, form.control.get(factor.name, "")
        if not text.strip():
            continue
        value = _amount(name, text.replace("±", " ").replace("%", " "), "", problems, shown)
        if value is None:
            continue
        if not 0 <= value < float("inf"):
            params = {"name": factor.name, "value": value}
            problems[name] = sentence("plan_settings.control", params, decimal=shown.decimal)
            continue
        read.append((factor.name, value / _as_shown(1.0, factor, shown)))
    return tuple(read)


def _control_notes(held: tuple[Factor, ...], told: tuple[tuple[str, float], ...], shown: Shown) -> dict[str, str]:
    """Say of each factor what holds: what was typed, what is usual, or that it is held exactly."""
    usual = {each.factor: each.half_width for each in control_errors(held, PlanSettings())}
    typed = dict(told)
    notes = {}
    for factor in held:
        value = typed.get(factor.name)
        if value is not None:
            code = "working.control_is" if value > 0 else "working.control_zero"
        else:
            value = usual.get(factor.name)
            code = "working.control_exact" if value is None else "working.control_usual"
        params = {} if value is None else {"value": _with_unit(value, factor, shown)}
        notes[CONTROL + factor.name] = sentence(code, params)
    return notes


def _with_unit(value: float, factor: Factor, shown: Shown) -> str:
    """Write how well a factor is held; a difference of temperatures is in kelvins or in degrees, as it is shown."""
    number = format_number(_as_shown(value, factor, shown), digits=4, decimal=shown.decimal)
    unit = control_unit(factor, shown)
    return f"{number} {unit}" if unit else number


def _as_shown(value: float, factor: Factor, shown: Shown) -> float:
    return value if factor.scale is Scale.LOG else shown.difference(value, factor.unit)
