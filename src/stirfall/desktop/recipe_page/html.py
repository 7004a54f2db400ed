"""A recipe typeset for the screen, in the colours of the theme; the words are those of the exported recipe."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from stirfall.bench.estimates import whole_percent
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.theme import Theme
from stirfall.reporting.recipe_parts import Recipe, RecipeValue, Step
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
from stirfall.reporting.shares import in_full, interval, level_percent, percent

_WEIGHT = {"block": "⛔ Stop", "warn": "⚠ Warning", "note": "Note"}
_GATE_WORDS = {"parted": "The solids leave the metal", "pooled": "It then becomes one pool", "clean": "Clean"}


def recipe_html(recipe: Recipe, theme: Theme, *, decimal: str = ".", muted: bool = False) -> str:
    """Return the recipe as HTML for a text browser; ``muted`` greys it while a newer one is being made."""
    colour = theme.muted if muted else theme.text
    parts = [
        *_head(recipe, theme),
        *_sections(purpose_section(recipe)),
        *_remarks(recipe, theme),
        _title("Materials"),
        _bullets(recipe.materials),
        *_batch(recipe, theme),
        *_sections(apparatus_section(recipe)),
        _title("Conditions"),
        _conditions(recipe, theme, decimal),
        _title("Steps"),
        _steps(recipe, theme),
        _title("Evidence"),
        _bullets(recipe.evidence.lines("every range above")),
        *_sections(record_sections(recipe)),
        _title("Proof"),
        _bullets(recipe.proof_lines),
        _title("Limits"),
        _bullets(recipe.limits),
        _title("Cautions"),
        f"<p><b>{escape(recipe.cautions.headline)}</b></p>",
        _bullets(f"{item.text} ({item.source})" for item in recipe.cautions.items),
        *_sections(last_sections(recipe)),
    ]
    return f"<body style='color:{colour}'>{''.join(parts)}</body>"


def _title(text: str) -> str:
    return f"<h3 style='margin:14px 0 4px 0'>{escape(text)}</h3>"


def _head(recipe: Recipe, theme: Theme) -> list[str]:
    estimate = recipe.probability
    parts = [f"<h2 style='margin:0 0 2px 0'>{escape(recipe.title)}</h2>"]
    if recipe.invented:
        parts.append(f"<p style='color:{theme.caution};margin:0'><b>{INVENTED_NOTICE}</b></p>")
    parts.append(
        f"<p style='margin:6px 0 0 0'><span style='font-size:26pt;font-weight:600'>{percent(estimate.mean)}</span>"
        f"&nbsp; chance of a clean separation: {interval(estimate)} "
        f"({level_percent(estimate.level)} interval, {estimate.n} attempts)</p>"
    )
    gates = [f"{_GATE_WORDS.get(name, name)}: {in_full(gate)}" for name, gate in recipe.gates]
    facts = [
        recipe.metal and f"Metal: {recipe.metal}",
        f"Class: {recipe.cautions.material}",
        recipe.oil and f"Oil: {recipe.oil}",
        f"Session: {recipe.session_name}, fingerprint {recipe.fingerprint[:12]}",
        f"Made {recipe.created_at.astimezone():%Y-%m-%d %H:%M} with Stirfall {recipe.program_version}",
    ]
    muted = "<br>".join(escape(str(fact)) for fact in (*gates, *facts) if fact)
    parts.append(f"<p style='color:{theme.muted};margin:6px 0 0 0'>{muted}</p>")
    return parts


def _remarks(recipe: Recipe, theme: Theme) -> list[str]:
    if not recipe.remarks:
        return []
    colours = {"block": theme.danger, "warn": theme.caution, "note": theme.muted}
    lines = [
        f"<p style='margin:2px 0'><b style='color:{colours[remark.level]}'>{_WEIGHT[remark.level]}:</b> "
        f"{escape(remark.text)}</p>"
        for remark in recipe.remarks
    ]
    return [_title("Heed first"), *lines]


def _conditions(recipe: Recipe, theme: Theme, decimal: str) -> str:
    head = "".join(
        f"<td style='color:{theme.muted}'><b>{text}</b></td>" for text in ("Condition", "Value", "Holds within")
    )
    rows = "".join(_condition(value, theme, decimal) for value in recipe.values)
    drop = whole_percent(recipe.drop)
    return (
        f"<table cellspacing='0' cellpadding='4' width='100%'><tr>{head}</tr>{rows}</table>"
        f"<p style='color:{theme.muted};margin:4px 0 0 0'>“Holds within”: with all else as in the recipe, "
        f"the lower end of the interval stays within {drop} points.</p>"
    )


def _condition(value: RecipeValue, theme: Theme, decimal: str) -> str:
    flags = [value.note, "" if value.tried else "untested", "not given" if value.filled else ""]
    notes = "; ".join(flag for flag in flags if flag)
    span = escape(value.shown_range(decimal=decimal) or "no range")
    small = f"<br><span style='color:{theme.muted}'>{escape(notes)}</span>" if notes else ""
    return (
        f"<tr><td>{escape(value.name)}</td><td><b>{escape(value.shown(decimal=decimal))}</b></td>"
        f"<td>{span}{small}</td></tr>"
    )


def _sections(sections: Sequence[Section]) -> list[str]:
    return [part for each in sections for part in (_title(each.title), _bullets(each.lines))]


def _batch(recipe: Recipe, theme: Theme) -> list[str]:
    rows = batch_rows(recipe)
    if recipe.batch is None:
        return []
    head = "".join(f"<td style='color:{theme.muted}'><b>{text}</b></td>" for text in BATCH_HEADINGS)
    body = "".join(_batch_row(row, theme) for row in rows)
    table = [f"<table cellspacing='0' cellpadding='4' width='100%'><tr>{head}</tr>{body}</table>"] if rows else []
    asked = batch_notes(recipe)
    return [_title("Amounts"), *table, *([_bullets(asked)] if asked else [])]


def _batch_row(row: tuple[str, str, str, str], theme: Theme) -> str:
    name, before, after, how = map(escape, row)
    small = f"<td style='color:{theme.muted}'>{how}</td>"
    return f"<tr><td>{name}</td><td>{before}</td><td><b>{after}</b></td>{small}</tr>"


def _steps(recipe: Recipe, theme: Theme) -> str:
    if recipe.blocked:
        return "<p>No steps are given: see what must be heeded first.</p>"
    return f"<ol style='margin:0'>{''.join(_step(step, theme) for step in recipe.steps)}</ol>"


def _step(step: Step, theme: Theme) -> str:
    amounts = f" <b>{escape(step.amounts_text)}</b>" if step.amounts else ""
    below = "".join(f"<br><span style='color:{theme.muted}'>{escape(line)}</span>" for line in signs(step))
    return f"<li style='margin-bottom:4px'><b>{escape(step.heading)}.</b> {escape(step.text)}{amounts}{below}</li>"


def _bullets(lines: Iterable[str]) -> str:
    return f"<ul style='margin:0'>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"
