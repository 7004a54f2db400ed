"""The methods of a campaign in words: grading, what clean means, conditions, ageing, weighing, second grades."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from stirfall.bench.factors import Factor, Role, Scale
from stirfall.bench.outcomes import Parted
from stirfall.bench.plans import control_errors
from stirfall.bench.units import THIN_SPACE, format_number, format_quantity, unit_label
from stirfall.physics.measured import COVERAGE
from stirfall.reporting.agreement_words import agreement_lines, differing_lines
from stirfall.reporting.recipe_parts import shown_span, shown_value
from stirfall.reporting.report.telling import Telling, listed
from stirfall.reporting.report.tree import Block, Bullets, Column, Heading, Paragraph, TableBlock
from stirfall.reporting.shares import counted
from stirfall.session.regrading import compared

_AGES = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE)


def method_blocks(telling: Telling) -> list[Block]:
    """Return how attempts were made, graded, held, aged and weighed."""
    return [
        Heading(telling.say("report.heading_methods")),
        Heading(telling.say("report.heading_grading"), 3),
        Bullets(tuple(_grading(telling))),
        Heading(telling.say("report.heading_held"), 3),
        Bullets(tuple(_held(telling))),
        _factors_table(telling),
        Heading(telling.say("report.heading_ageing"), 3),
        Bullets(tuple(_ageing(telling))),
        Heading(telling.say("report.heading_weighing"), 3),
        Bullets(tuple(_weighing(telling))),
        *_agreement(telling),
    ]


def _grading(telling: Telling) -> Iterator[str]:
    state, say = telling.state, telling.say
    graded = sum(each.parted is not None for each in state.attempts)
    counts = sum(each.successes is not None for each in state.attempts)
    yield say("report.an_attempt")
    if graded or not counts:
        yield say("report.graded_by_gates", attempts=counted(graded))
        yield say("report.clean_by_gates")
        yield say("report.pieces_are_beads")
    if counts:
        yield say("report.graded_by_count", attempts=counted(counts))
    if counts and not graded:
        yield say("report.clean_by_count")
    partly = sum(each.parted is Parted.PARTLY and not each.is_struck for each in state.attempts)
    if graded or not counts:
        yield say(f"report.partly_{state.settings.partly}", attempts=counted(partly))
    yield say("report.gates_two" if len(telling.analysis.model.gates) == 2 else "report.gates_one")
    yield say("report.aborted_rule")
    examples = telling.source.examples
    yield say("report.examples", classes=listed(examples)) if examples else say("report.no_examples")


def _held(telling: Telling) -> Iterator[str]:
    state, say, source = telling.state, telling.say, telling.source
    yield say("report.conditions_reached")
    total = len(state.attempts)
    runs = sum(each.run_id is not None for each in state.attempts)
    yield say("report.guided_runs", some=runs or "none", attempts=counted(total))
    logged = sum(each.id in source.logged for each in state.attempts)
    yield say("report.logged", some=logged or "none", attempts=counted(total))
    for held in control_errors(state.factors, state.settings.plan):
        factor = next(each for each in state.factors if each.name == held.factor)
        if held.is_share:
            width = f"{format_number(held.half_width, decimal=telling.decimal)}{THIN_SPACE}%"
        else:
            label = "K" if factor.role is Role.TEMPERATURE else factor.unit
            width = format_quantity(held.half_width, label, decimal=telling.decimal)
        code = "report.held_usual" if held.is_usual else "report.held_told"
        yield say(code, factor=held.factor, width=width)
    yield say("report.held_exactly")


def _factors_table(telling: Telling) -> TableBlock:
    columns = (
        Column("Condition"),
        Column("Unit"),
        Column("Range of the campaign"),
        Column("Scale"),
        Column("Usual value"),
        Column("Tried"),
        Column("Known in", is_number=True),
    )
    rows = tuple(_factor_row(telling, factor) for factor in telling.state.factors)
    note = telling.say("report.factors_note", attempts=counted(len(telling.state.attempts)))
    return TableBlock(telling.say("report.caption_factors"), columns, rows, note)


def _factor_row(telling: Telling, factor: Factor) -> tuple[str, ...]:
    name = f"{factor.name} (hidden now)" if factor.hidden else factor.name
    values = [each.conditions[factor.name] for each in telling.attempts if factor.name in each.conditions]
    decimal = telling.decimal
    usual = shown_value(factor.middle, factor.unit, decimal=decimal)
    if factor.is_choice:
        tried = [f"{level} ({count})" for level in factor.levels if (count := values.count(level))]
        return (name, "choice", ", ".join(factor.levels), "", usual, ", ".join(tried) or "never", str(len(values)))
    numbers = [value for value in values if not isinstance(value, str)]
    tried_span = shown_span(min(numbers), max(numbers), factor.unit, decimal=decimal) if numbers else "never"
    scale = "logarithmic" if factor.scale is Scale.LOG else "linear"
    span = shown_span(*factor.bounds, factor.unit, decimal=decimal)
    return (name, unit_label(factor.unit) or "none", span, scale, usual, tried_span, str(len(values)))


def _ageing(telling: Telling) -> Iterator[str]:
    state, say = telling.state, telling.say
    ages = [factor.name for factor in state.factors if factor.role in _AGES and not factor.is_choice]
    yield say("report.aged_in_jars", lots=counted(len(state.lots), "lot"), jars=counted(len(state.jars), "jar"))
    if not ages:
        yield say("report.no_ages")
    else:
        yield say("report.ages_computed", factors=listed(ages))
        overridden = sum(bool(each.overrides) for each in state.attempts)
        yield (
            say("report.ages_typed", attempts=counted(overridden))
            if overridden
            else say("report.ages_all_computed")
        )
    if not state.settings.material.may_lengthen_age:
        yield say("report.no_longer")
    if telling.analysis.follows is not None:
        yield say("recipe.film_follows", factor=telling.analysis.follows)


def _weighing(telling: Telling) -> Iterator[str]:
    state, say = telling.state, telling.say
    weighed = [each for each in state.attempts if any(mass is not None for mass in vars(each.masses).values())]
    if not weighed:
        yield say("report.not_weighed")
        return
    yield say("report.weighed", some=len(weighed), attempts=counted(len(state.attempts)))
    steps = sorted({each.sheet.step_g for each in weighed if each.sheet.step_g is not None})
    shown = [format_quantity(step, "g", decimal=telling.decimal) for step in steps]
    yield say("report.balance_steps", steps=listed(shown)) if shown else say("report.no_balance_step")
    by_difference = sum(bool(each.sheet.tares) for each in weighed)
    if by_difference:
        yield say("report.by_difference", attempts=counted(by_difference))
    ways = Counter(each.sheet.oil_removed or "not told" for each in weighed)
    yield say("report.oil_removed", ways=listed(f"{way} ({count})" for way, count in sorted(ways.items())))
    yield say("report.yield_formulas", coverage=COVERAGE)


def _agreement(telling: Telling) -> list[Block]:
    found = compared(telling.state)
    lines = (*agreement_lines(found, decimal=telling.decimal), *differing_lines(found))
    return [
        Heading(telling.say("report.heading_regrades"), 3),
        Paragraph(telling.say("report.regrades_how")),
        Bullets(lines),
    ]
