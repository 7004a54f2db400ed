"""The bench sheet of a recipe without a page: steps to tick, tolerances, timers, fields, limits and all cautions.

It is made from the recipe alone, so the sheet of an issued recipe says what was issued. Nothing here leaves a
caution or a limit out; how many pages that takes is for whoever draws it.
"""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.materials import Cautions
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.bench.units import unit_kind
from stirfall.reporting.cautions import shortened
from stirfall.reporting.recipe_parts import Recipe, RecipeValue, Step
from stirfall.reporting.recipe_scaled import scaled_values
from stirfall.reporting.shares import in_full

SCHEMA = "stirfall.bench-sheet/1"
_AT_THE_HEAD = (
    "never_age_on_purpose",
    "look_first",
    "fire_wrong_agents",
    "watch_hot_oil",
    "lift_cool_only",
    "lift_solid_only",
)
_SHORT = 190
HEAD_BLANKS = ("Date", "By", "Jar", "Lot", "No.")
MASS_BLANKS = ("Charge, g", "Product, g", "Beads, g", "Residue, g")
QUESTIONS = (
    ("Solids left the metal", ("no", "partly", "yes")),
    ("One pool", ("beads", "few pieces", "one pool")),
)


@dataclass(frozen=True)
class SheetValue:
    """One condition of a step: its value and tolerance in words; what was reached is written beside it."""

    name: str
    value: str
    tolerance: str


@dataclass(frozen=True)
class SheetStep:
    """One step to tick: few words, conditions, amounts, and the timer as minutes:seconds ("" none).

    ``timed`` is the condition whose time the timer shows.
    """

    number: int
    heading: str
    text: str
    values: tuple[SheetValue, ...]
    amounts: tuple[tuple[str, str], ...]
    timer: str
    timed: str = ""


@dataclass(frozen=True)
class BenchSheet:
    """Everything that stands on the sheet, in its order.

    ``mark`` is the short mark of the session, ``code`` the text of the square code, "" where the recipe was not
    issued. ``stops`` forbid the work, ``warnings`` ask for thought; ``hazards`` are the cautions that stand at the
    head as well.
    """

    title: str
    facts: tuple[str, ...]
    batch: str
    chance: str
    mark: str
    issued: str
    code: str
    notice: str
    stops: tuple[str, ...]
    warnings: tuple[str, ...]
    hazards: tuple[str, ...]
    steps: tuple[SheetStep, ...]
    limits: tuple[str, ...]
    cautions: Cautions


def make_bench_sheet(recipe: Recipe, *, decimal: str = ".") -> BenchSheet:
    """Return the sheet of a recipe; a blocked one has no steps and says why."""
    by_key = {item.key: item.text for item in recipe.cautions.items}
    return BenchSheet(
        title=recipe.title,
        facts=_facts(recipe),
        batch=_batch(recipe),
        chance=f"Chance of a clean separation: {in_full(recipe.probability)}",
        mark=short_mark(recipe.fingerprint),
        issued="not issued" if recipe.number is None else f"Recipe no. {recipe.number}",
        code=code_text(recipe),
        notice=f"{INVENTED_NOTICE}." if recipe.invented else "",
        stops=tuple(each.text for each in recipe.remarks if each.level == "block"),
        warnings=tuple(each.text for each in recipe.remarks if each.level == "warn"),
        hazards=tuple(shortened(by_key[key], _SHORT) for key in _AT_THE_HEAD if key in by_key),
        steps=tuple(_steps(recipe, decimal)),
        limits=recipe.limits,
        cautions=recipe.cautions,
    )


def short_mark(fingerprint: str) -> str:
    """Return the start of the session's fingerprint in groups of four, as a person can compare it."""
    return " ".join(fingerprint[start : start + 4] for start in range(0, 12, 4))


def code_text(recipe: Recipe) -> str:
    """Return what the square code says: number and session, in the letters that make a code small."""
    if recipe.number is None:
        return ""
    return f"STIRFALL RECIPE {recipe.number} {recipe.fingerprint[:12].upper()}"


def clock_text(seconds: float) -> str:
    """Write a duration as a timer shows it: "5:00", "1:30:00"."""
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole // 60 % 60, whole % 60
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def _facts(recipe: Recipe) -> tuple[str, ...]:
    told = (recipe.metal, str(recipe.cautions.material), recipe.oil)
    return tuple(each for each in told if each)


def _batch(recipe: Recipe) -> str:
    charge = recipe.batch.line("charge") if recipe.batch is not None else None
    return f"Batch {charge.shown_after}" if charge is not None else "Batch size not known"


def _steps(recipe: Recipe, decimal: str) -> list[SheetStep]:
    moved = recipe.values if recipe.batch is None else scaled_values(recipe.values, recipe.batch)
    values = {value.name: value for value in moved}
    return [_step(number, step, values, decimal) for number, step in enumerate(recipe.steps, 1)]


def _step(number: int, step: Step, values: dict[str, RecipeValue], decimal: str) -> SheetStep:
    told = [values[name] for name in step.names if name in values]
    return SheetStep(
        number=number,
        heading=step.heading,
        text=step.bench or step.text,
        values=tuple(
            SheetValue(each.name, each.shown(decimal=decimal), _tolerance(each, decimal)) for each in told
        ),
        amounts=step.amounts,
        timer="" if step.timer_s is None else clock_text(step.timer_s),
        timed=next((each.name for each in told if _is_time(each)), "") if step.timer_s is not None else "",
    )


def _is_time(value: RecipeValue) -> bool:
    return not isinstance(value.value, str) and unit_kind(value.unit) == "time"


def _tolerance(value: RecipeValue, decimal: str) -> str:
    if value.levels:
        others = [level for level in value.levels if level != value.value]
        return f"or {', '.join(others)}" if others else "only this"
    span = value.shown_range(decimal=decimal)
    shown = value.shown(decimal=decimal)
    if not span:
        return "no range known" if value.tried else "untested, no range"
    return "no slack" if span == shown else span


# ------------------------------------------------------------------------------------------------- other forms


def sheet_json(sheet: BenchSheet) -> dict[str, object]:
    """Return the sheet as a JSON document."""
    return {
        "schema": SCHEMA,
        "title": sheet.title,
        "notice": sheet.notice,
        "facts": list(sheet.facts),
        "batch": sheet.batch,
        "chance": sheet.chance,
        "mark": sheet.mark,
        "issued": sheet.issued,
        "code": sheet.code,
        "stops": list(sheet.stops),
        "warnings": list(sheet.warnings),
        "hazards": list(sheet.hazards),
        "steps": [
            {
                "number": step.number,
                "heading": step.heading,
                "text": step.text,
                "values": [dict(vars(value)) for value in step.values],
                "amounts": [{"label": label, "amount": amount} for label, amount in step.amounts],
                "timer": step.timer,
                "timed": step.timed,
            }
            for step in sheet.steps
        ],
        "limits": list(sheet.limits),
        "cautions": {
            "headline": sheet.cautions.headline,
            "items": [
                {"text": each.text, "source": each.source, "check": each.check} for each in sheet.cautions.items
            ],
        },
    }
