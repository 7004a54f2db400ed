"""What was found: the recommended recipe, effects, recovery, proofs, and recipes that were issued."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import whole_percent
from stirfall.reporting.effect_words import effect_sentence, note_lines, untried_lines
from stirfall.reporting.proof_words import rule_line, standing_lines
from stirfall.reporting.recipe import make_recipe
from stirfall.reporting.recipe_parts import Recipe, RecipeValue
from stirfall.reporting.recovery_words import recovery_lines
from stirfall.reporting.report.telling import Telling, moment_words
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    Column,
    Heading,
    Notice,
    Paragraph,
    TableBlock,
    Weight,
)
from stirfall.reporting.sentences import error_sentence
from stirfall.reporting.shares import counted, in_full, level_percent
from stirfall.session.proving import ProofStanding, all_standings

_WEIGHTS: dict[str, Weight] = {"block": "stop", "warn": "warning", "note": "note"}
_SHORT = 12


@dataclass(frozen=True)
class Recommended:
    """The recipe that a report recommends, or the sentence that says why there is none."""

    recipe: Recipe | None
    why_none: str = ""


def recommended(telling: Telling) -> Recommended:
    """Return the recipe at the best condition now; none where limits block or nothing was attempted."""
    analysis, source = telling.analysis, telling.source
    if not analysis.counts.used:
        return Recommended(None, telling.say("report.no_recipe_yet"))
    try:
        conditions = analysis.best().conditions
    except InputError as error:
        return Recommended(None, error_sentence(error, decimal=telling.decimal))
    return Recommended(
        make_recipe(
            analysis,
            conditions,
            fingerprint=source.fingerprint,
            session_name=source.session_name,
            created_at=source.created_at,
            decimal=telling.decimal,
            corrections=source.corrections,
        )
    )


def recipe_blocks(telling: Telling, found: Recommended) -> list[Block]:
    """Return the recommended conditions with their ranges and their chance."""
    blocks: list[Block] = [Heading(telling.say("report.heading_recipe"), 3)]
    recipe = found.recipe
    if recipe is None:
        return [*blocks, Notice("stop", found.why_none)]
    level = level_percent(recipe.probability.level)
    chance = telling.say("report.chance", chance=in_full(recipe.probability), level=level)
    blocks.append(Paragraph(chance, "strong"))
    if recipe.gates:
        gates = (
            telling.say("report.gate_chance", gate=telling.say(f"effect.gate_{name}"), chance=in_full(estimate))
            for name, estimate in recipe.gates
        )
        blocks.append(Bullets(tuple(gates)))
    blocks += [Notice(_WEIGHTS[remark.level], remark.text) for remark in recipe.remarks]
    columns = (
        Column("Condition"),
        Column("Value"),
        Column("Holds within"),
        Column("What ends the range", wide=True),
    )
    rows = tuple(_value_row(value, telling.decimal) for value in recipe.values)
    note = telling.say("report.recipe_note", points=whole_percent(recipe.drop))
    return [*blocks, TableBlock(telling.say("report.caption_recipe"), columns, rows, note)]


def _value_row(value: RecipeValue, decimal: str) -> tuple[str, ...]:
    span = value.shown_range(decimal=decimal) or "no range"
    return (value.name, value.shown(decimal=decimal), span, "; ".join(value.notes))


def effect_blocks(telling: Telling) -> list[Block]:
    """Return the effect of each factor on each gate, with its interval and how sure its sign is."""
    analysis, decimal = telling.analysis, telling.decimal
    effects = analysis.effects()
    blocks: list[Block] = [Heading(telling.say("report.heading_effects"), 3)]
    may_wait = analysis.limits.may_wait
    for gate in dict.fromkeys(effect.gate for effect in effects):
        here = [effect for effect in effects if effect.gate == gate]
        told = [effect for effect in here if effect.is_known or effect.level is None]
        n = next(each.n for each in analysis.model.gates if each.name == gate)
        heading = telling.say(f"effect.heading_{gate}")
        level = level_percent(telling.state.settings.level)
        blocks.append(Paragraph(telling.say("report.effects_of", heading=heading, level=level, n=n)))
        lines = [effect_sentence(effect, may_wait=may_wait, decimal=decimal) for effect in told]
        blocks.append(Bullets((*lines, *untried_lines(here))))
    notes = tuple(note_lines(effects))
    return [*blocks, *([Bullets(notes)] if notes else [])]


def recovery_blocks(telling: Telling, found: Recommended) -> list[Block]:
    """Return how much metal clean attempts brought back, at the recommended recipe where there is one."""
    recovery = telling.analysis.recovery
    at = grams = None
    if recovery is not None and found.recipe is not None:
        conditions = telling.analysis.complete(telling.analysis.best().conditions)
        at, grams = recovery.at(conditions), recovery.expected_grams(conditions)
    lines = recovery_lines(recovery, at, grams, decimal=telling.decimal)
    return [Heading(telling.say("report.heading_recovery"), 3), Bullets(tuple(lines))]


def proof_blocks(telling: Telling) -> list[Block]:
    """Return every proof with its rule, how it stands or ended, and its attempts."""
    blocks: list[Block] = [Heading(telling.say("report.heading_proofs"), 3)]
    standings = all_standings(telling.state, telling.source.corrections) if telling.state.proofs else ()
    if not standings:
        return [*blocks, Paragraph(telling.say("report.no_proofs"))]
    for standing in standings:
        blocks += _proof(telling, standing)
    return blocks


def _proof(telling: Telling, standing: ProofStanding) -> list[Block]:
    proof = standing.proof
    title = f"“{proof.title}”, " if proof.title else ""
    started = telling.say("report.proof_started", title=title, started=moment_words(proof.started_at))
    fixed = ", ".join(
        f"{name} {telling.number(value) if not isinstance(value, str) else value}"
        for name, value in proof.recipe.items()
    )
    numbers = ", ".join(str(each.number) for each in standing.used) or "none yet"
    lines = (
        rule_line(standing.plan, decimal=telling.decimal),
        telling.say("report.proof_recipe", conditions=fixed),
        *standing_lines(standing, decimal=telling.decimal),
        telling.say("report.proof_attempts", numbers=numbers),
    )
    return [Paragraph(started, "strong"), Bullets(lines)]


def issued_blocks(telling: Telling) -> list[Block]:
    """Return the recipes that were issued before, if any."""
    if not telling.state.recipes:
        return []
    columns = (
        Column("Recipe", is_number=True),
        Column("Issued (UTC)", whole=True),
        Column("Title", wide=True),
        Column("Session then"),
        Column("Note", wide=True),
    )
    rows = tuple(
        (str(each.number), moment_words(each.issued_at), each.title, each.fingerprint[:_SHORT], each.note)
        for each in telling.state.recipes
    )
    caption = telling.say("report.caption_issued", recipes=counted(len(rows), "recipe"))
    return [Heading(telling.say("report.heading_issued"), 3), TableBlock(caption, columns, rows)]
