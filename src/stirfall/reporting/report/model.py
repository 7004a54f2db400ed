"""The statement of the model: what it assumes, its forms and lots, how it was found, and how far to trust it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stirfall.bench.estimates import Reason
from stirfall.bench.units import MINUS, THIN_SPACE
from stirfall.inference.forms import FormScore
from stirfall.inference.refined import LotEffect
from stirfall.reporting.effect_words import odds_factor
from stirfall.reporting.recipe_evidence import gather_evidence
from stirfall.reporting.recipe_method import method_sentences
from stirfall.reporting.report.telling import Telling
from stirfall.reporting.report.tree import Block, Bullets, Column, Heading, Notice, Paragraph, TableBlock
from stirfall.reporting.shares import counted, level_percent, percent
from stirfall.session.health import HealthReport

_HEAVY_TAIL = 0.7


def model_blocks(telling: Telling) -> list[Block]:
    """Return everything that a reader needs to find the same answer again, and to doubt it."""
    analysis, say = telling.analysis, telling.say
    evidence = gather_evidence(analysis, (), decimal=telling.decimal)
    blocks: list[Block] = [
        Heading(say("report.heading_model")),
        Paragraph(say("report.model_first")),
        Bullets(method_sentences(analysis, decimal=telling.decimal)),
        Bullets(evidence.lines("every range")[:2]),
    ]
    blocks += _forms(telling)
    blocks += _lots(telling)
    telling.poll()
    blocks += _health(telling, analysis.health(telling.token))
    blocks += [Heading(say("report.heading_meaning"), 3), Bullets(tuple(_meaning(telling)))]
    return blocks


def _forms(telling: Telling) -> list[Block]:
    forms = telling.analysis.forms
    if not forms:
        return []
    columns = (
        Column("Form", wide=True),
        Column("Weight", is_number=True),
        Column("Log score", is_number=True),
        Column("Behind the best", is_number=True),
        Column("Largest Pareto k", is_number=True),
    )
    rows = tuple(_form_row(telling, score) for score in forms)
    return [TableBlock(telling.say("report.caption_forms"), columns, rows, telling.say("report.forms_note"))]


def _form_row(telling: Telling, score: FormScore) -> tuple[str, ...]:
    name = telling.reason(Reason(score.form.code, score.form.params)).rstrip(".")
    behind = "best"
    if score.behind:
        behind = f"{_one(telling, score.behind)} ± {_one(telling, score.behind_se)}"
    rough = " (rough)" if score.pareto_k > _HEAVY_TAIL else ""
    log_score = f"{_one(telling, score.log_score)} ± {_one(telling, score.log_score_se)}"
    return (name, percent(score.weight), log_score, behind, f"{_one(telling, score.pareto_k, places=2)}{rough}")


def _one(telling: Telling, value: float, *, places: int = 1) -> str:
    if math.isnan(value):
        return "unknown"
    return f"{value:.{places}f}".replace("-", MINUS).replace(".", telling.decimal)


def _lots(telling: Telling) -> list[Block]:
    analysis = telling.analysis
    if not analysis.lots:
        return []
    what = analysis.table.grouping
    spreads = tuple(
        telling.say(
            "report.lot_spread",
            what=what,
            gate=telling.say(f"effect.gate_{gate}"),
            mean=_one(telling, spread.mean),
            lower=_one(telling, spread.lower),
            upper=_one(telling, spread.upper),
            level=level_percent(telling.state.settings.level),
        )
        for gate, spread in analysis.lot_spread.items()
    )
    columns = (
        Column(what.capitalize()),
        Column("Of the odds of"),
        Column("Odds multiplied by", is_number=True),
        Column("Interval"),
        Column("Attempts", is_number=True),
    )
    rows = tuple(_lot_row(telling, each) for each in analysis.lots)
    caption = telling.say("report.caption_lot_effects", what=what)
    return [Bullets(spreads), TableBlock(caption, columns, rows)]


def _lot_row(telling: Telling, effect: LotEffect) -> tuple[str, ...]:
    times, low, high = (
        odds_factor(math.exp(min(max(value, -50.0), 50.0)), decimal=telling.decimal)
        for value in (effect.mean, effect.lower, effect.upper)
    )
    gate = telling.say(f"effect.gate_{effect.gate}")
    return (effect.lot, gate, times, f"{low} to {high}", str(effect.attempts))


def _health(telling: Telling, report: HealthReport) -> list[Block]:
    warnings = [Notice("warning", telling.reason(warning)) for warning in report.warnings]
    told = {"influence.some", *(warning.code for warning in report.warnings)}
    statements = {each.code: telling.reason(each) for each in report.statements.values() if each.code not in told}
    blocks: list[Block] = [Heading(telling.say("report.heading_trust"), 3), *warnings]
    blocks += [Bullets(tuple(statements.values()))] if statements else []
    columns = (
        Column("Gate"),
        Column("Yes", is_number=True),
        Column("Results", is_number=True),
        Column("Coefficients", is_number=True),
        Column("Rarer results per coefficient", is_number=True),
    )
    rows = tuple(
        (
            load.gate,
            str(load.successes),
            str(load.trials),
            str(load.coefficients),
            "none" if load.per_coefficient is None else _one(telling, load.per_coefficient),
        )
        for load in report.too_many
    )
    return [*blocks, TableBlock(telling.say("report.caption_loads"), columns, rows)]


def _meaning(telling: Telling) -> Iterator[str]:
    level = level_percent(telling.state.settings.level)
    counts = counted(telling.analysis.counts.used)
    yield telling.say("report.means_chance")
    yield telling.say("report.means_interval", level=level)
    yield telling.say("report.means_n", attempts=counts)
    yield telling.say("report.means_ends", below=f"1{THIN_SPACE}%", above=f"99{THIN_SPACE}%")
    if len(telling.analysis.model.gates) == 2:
        yield telling.say("report.means_gates")
    yield telling.say("report.means_odds")
    if telling.analysis.forms:
        yield telling.say("report.means_score")
        yield telling.say("report.means_pareto")
    yield telling.say("report.means_cause")
