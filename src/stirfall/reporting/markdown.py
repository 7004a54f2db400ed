"""A recipe as Markdown: for a lab book, a web page, or a stranger who must repeat it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from stirfall.bench.ages import as_utc
from stirfall.bench.estimates import whole_percent
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.bench.units import THIN_SPACE
from stirfall.reporting.recipe_curve import round_places
from stirfall.reporting.recipe_parts import Recipe, RecipeCurve, RecipeValue, Step, shown_value
from stirfall.reporting.recipe_sections import (
    BATCH_HEADINGS,
    Section,
    apparatus_section,
    batch_notes,
    batch_rows,
    last_sections,
    purpose_section,
    record_sections,
    signs,
)
from stirfall.reporting.shares import in_full, level_percent, percent, span

_MARKS = re.compile(r"([\\`*_{}\[\]<>#|~])")
_WEIGHT = {"block": "Stop", "warn": "Warning", "note": "Note"}


def render_markdown(recipe: Recipe, *, decimal: str = ".") -> str:
    """Return the whole recipe as Markdown; cautions and limits are always in it."""
    blocks = [
        *_head(recipe),
        *_sections(purpose_section(recipe)),
        *_remarks(recipe),
        "## Materials",
        _bullets(plain(line) for line in recipe.materials),
        *_batch(recipe),
        *_sections(apparatus_section(recipe)),
        *_conditions(recipe, decimal),
        *_steps(recipe),
        *_curve(recipe.curve, decimal),
        *_evidence(recipe),
        *_sections(record_sections(recipe)),
        "## Proof",
        _bullets(plain(line) for line in recipe.proof_lines),
        "## Limits",
        _bullets(plain(line) for line in recipe.limits),
        *_cautions(recipe),
        *_sections(last_sections(recipe)),
    ]
    return "\n\n".join(blocks) + "\n"


def plain(text: str) -> str:
    """Return text whose characters mean nothing to Markdown, on one line."""
    return " ".join(_MARKS.sub(r"\\\1", text).split(" ")).replace("\n", " ").replace("\r", " ")


def _head(recipe: Recipe) -> list[str]:
    made = as_utc(recipe.created_at).strftime("%Y-%m-%d %H:%M UTC")
    issued = "" if recipe.number is None else f" (issued no. {recipe.number})"
    blocks = [f"# Recipe: {plain(recipe.title)}{issued}"]
    if recipe.invented:
        blocks.append(f"**{INVENTED_NOTICE}.**")
    level = level_percent(recipe.probability.level)
    blocks.append(f"Chance of a clean separation: **{in_full(recipe.probability)}** ({level} interval).")
    if recipe.gates:
        blocks.append(_bullets(f"{name}: {in_full(estimate)}" for name, estimate in recipe.gates))
    facts = [
        f"Metal: {plain(recipe.metal)}" if recipe.metal else "",
        f"Class: {recipe.cautions.material}",
        f"Oil: {plain(recipe.oil)}" if recipe.oil else "",
        f"Session: {plain(recipe.session_name)}, fingerprint {recipe.fingerprint}",
        f"Made {made} with Stirfall {recipe.program_version}",
    ]
    return [*blocks, _bullets(fact for fact in facts if fact)]


def _remarks(recipe: Recipe) -> list[str]:
    if not recipe.remarks:
        return []
    return [
        "## Heed first",
        _bullets(f"**{_WEIGHT[remark.level]}:** {plain(remark.text)}" for remark in recipe.remarks),
    ]


def _conditions(recipe: Recipe, decimal: str) -> list[str]:
    drop = whole_percent(recipe.drop)
    rows = [_condition_row(value, decimal) for value in recipe.values]
    return [
        "## Conditions",
        _table(["Condition", "Value", "Holds within", "What ends the range"], rows),
        f"“Holds within”: all else as in the recipe, the lower bound of the interval stays within {drop} points.",
    ]


def _condition_row(value: RecipeValue, decimal: str) -> list[str]:
    span = value.shown_range(decimal=decimal) or "no range"
    return [plain(value.name), plain(value.shown(decimal=decimal)), plain(span), plain("; ".join(value.notes))]


def _steps(recipe: Recipe) -> list[str]:
    if recipe.blocked:
        return ["## Steps", "No steps are given: see what must be heeded first."]
    lines = [_step(number, step) for number, step in enumerate(recipe.steps, 1)]
    return ["## Steps", "\n".join(lines)]


def _step(number: int, step: Step) -> str:
    said = " ".join(part for part in (step.text, step.amounts_text) if part)
    below = "".join(f"\n   - {plain(line)}" for line in signs(step))
    return f"{number}. **{step.heading}.** {plain(said)}{below}"


def _sections(sections: Sequence[Section]) -> list[str]:
    return [block for each in sections for block in (f"## {each.title}", _bullets(map(plain, each.lines)))]


def _batch(recipe: Recipe) -> list[str]:
    if recipe.batch is None:
        return []
    rows = [[plain(cell) for cell in row] for row in batch_rows(recipe)]
    asked = _bullets(map(plain, batch_notes(recipe)))
    table = [_table(BATCH_HEADINGS, rows)] if rows else []
    return ["## Amounts", *table, *([asked] if asked else [])]


def _curve(curve: RecipeCurve | None, decimal: str) -> list[str]:
    if curve is None:
        return []
    rows = []
    for x in round_places(curve):
        mean, lower, upper = curve.at_place(x)
        tried = curve.tried is not None and curve.tried[0] <= x <= curve.tried[1]
        shown = shown_value(x, curve.unit, decimal=decimal)
        rows.append([shown, percent(mean), span(lower, upper), "" if tried else "untested"])
    return [f"## Chance along {plain(curve.factor)}", _table([plain(curve.factor), "Chance", "Interval", ""], rows)]


def _evidence(recipe: Recipe) -> list[str]:
    lines = recipe.evidence.lines("every range above")
    return ["## Evidence", _bullets(plain(line) for line in lines)]


def _cautions(recipe: Recipe) -> list[str]:
    cautions = recipe.cautions
    lines = [f"{plain(item.text)} ({plain(item.source)})" for item in cautions.items]
    return ["## Cautions", f"**{plain(cautions.headline)}**", _bullets(lines)]


def _bullets(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [header, ["---"] * len(header), *rows]
    return "\n".join("| " + " | ".join(cell or THIN_SPACE for cell in line) + " |" for line in lines)
